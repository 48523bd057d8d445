#include "base/parallel.h"

#include <stdatomic.h>
#include <stdint.h>
#include <unistd.h>

#include "base/crew.h"

typedef struct {
  ul_block_fn block;
  void *context;
  size_t count;
  const ul_job *job;
  const char *stage;
  atomic_size_t next;
  atomic_size_t done;
  _Atomic uint64_t failure; /* lowest failing block and its status, NO_FAILURE */
} run;

static const uint64_t NO_FAILURE = UINT64_MAX;

static int processors(void) {
  static atomic_int known; /* asking takes longer than a short call */
  int n = atomic_load(&known);
  if (n) return n;
  const long online = sysconf(_SC_NPROCESSORS_ONLN);
  n = online < 1 ? 1 : online > UL_CREW_MOST ? UL_CREW_MOST : (int)online;
  atomic_store(&known, n);
  return n;
}

int ul_job_threads(const ul_job *job) {
  const int n = job && job->threads > 0 ? job->threads : processors();
  return n > UL_CREW_MOST ? UL_CREW_MOST : n;
}

bool ul_job_tell(const ul_job *job, const char *stage, double done) {
  return !job || !job->progress || job->progress(job->user, stage, done);
}

static void note_failure(run *r, size_t block, ul_status status) {
  const uint64_t failure = (uint64_t)block << 8 | (uint64_t)status;
  uint64_t before = atomic_load(&r->failure);
  while (failure >> 8 < before >> 8 &&
         !atomic_compare_exchange_weak(&r->failure, &before, failure)) {
  }
}

static bool take_one(run *r, int worker) {
  if (atomic_load(&r->failure) != NO_FAILURE) return false;
  const size_t block = atomic_fetch_add(&r->next, 1);
  if (block >= r->count) return false;
  const ul_status status = r->block(r->context, block, worker);
  if (status != UL_OK) note_failure(r, block, status);
  atomic_fetch_add(&r->done, 1);
  return true;
}

static void work(void *context, int worker) {
  run *r = context;
  while (take_one(r, worker)) {
    const double done = (double)atomic_load(&r->done) / (double)r->count;
    if (worker == 0 && r->stage && !ul_job_tell(r->job, r->stage, done))
      note_failure(r, 0, UL_E_STOPPED);
  }
}

ul_status ul_parallel(const ul_job *job, const char *stage, size_t count, ul_block_fn block,
                      void *context) {
  run r = {.block = block,
           .context = context,
           .count = count,
           .job = job,
           .stage = stage,
           .failure = NO_FAILURE};
  const int threads = ul_job_threads(job);
  ul_crew_work((size_t)threads > count ? (int)count : threads, work, &r);
  const uint64_t failure = atomic_load(&r.failure);
  return failure == NO_FAILURE ? UL_OK : (ul_status)(failure & 0xff);
}
