#include "base/parallel.h"

#include <stdatomic.h>
#include <threads.h>
#include <unistd.h>

enum { MOST_THREADS = 256 };

typedef struct {
  ul_block_fn block;
  void *context;
  size_t count;
  atomic_size_t next;
  atomic_size_t done;
  atomic_bool stop;
  mtx_t lock; /* guards the two below */
  size_t failed_block;
  ul_status failure;
} run;

typedef struct {
  run *run;
  int worker;
} seat;

int ul_job_threads(const ul_job *job) {
  long n = job && job->threads > 0 ? job->threads : sysconf(_SC_NPROCESSORS_ONLN);
  return n < 1 ? 1 : n > MOST_THREADS ? MOST_THREADS : (int)n;
}

bool ul_job_tell(const ul_job *job, const char *stage, double done) {
  return !job || !job->progress || job->progress(job->user, stage, done);
}

static void note_failure(run *r, size_t block, ul_status status) {
  mtx_lock(&r->lock);
  if (r->failure == UL_OK || block < r->failed_block) {
    r->failed_block = block;
    r->failure = status;
  }
  mtx_unlock(&r->lock);
  atomic_store(&r->stop, true);
}

static bool take_one(run *r, int worker) {
  if (atomic_load(&r->stop)) return false;
  size_t block = atomic_fetch_add(&r->next, 1);
  if (block >= r->count) return false;
  ul_status status = r->block(r->context, block, worker);
  if (status != UL_OK) note_failure(r, block, status);
  atomic_fetch_add(&r->done, 1);
  return true;
}

static int work(void *arg) {
  seat *s = arg;
  while (take_one(s->run, s->worker)) {
  }
  return 0;
}

ul_status ul_parallel(const ul_job *job, const char *stage, size_t count, ul_block_fn block,
                      void *context) {
  run r = {.block = block, .context = context, .count = count, .failure = UL_OK};
  if (mtx_init(&r.lock, mtx_plain) != thrd_success) return UL_E_MACHINE;
  int threads = ul_job_threads(job);
  if ((size_t)threads > count) threads = count ? (int)count : 1;
  thrd_t thread[MOST_THREADS];
  seat seats[MOST_THREADS];
  int started = 0;
  while (started < threads - 1) {
    seats[started] = (seat){&r, started + 1};
    if (thrd_create(&thread[started], work, &seats[started]) != thrd_success) break;
    started++;
  }
  while (take_one(&r, 0)) {
    double done = (double)atomic_load(&r.done) / (double)count;
    if (stage && !ul_job_tell(job, stage, done)) note_failure(&r, 0, UL_E_STOPPED);
  }
  for (int i = 0; i < started; i++) thrd_join(thread[i], NULL);
  mtx_destroy(&r.lock);
  return r.failure;
}
