/* rises.c - many rises at once. */
#include "ullage/repeats.h"

#include <stdatomic.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"

typedef struct {
  const ul_grid *grid;
  const ul_columns *columns;
  const ul_rise_opts *opts;
  size_t count;
  const ul_job *job;
  const char *stage;
  atomic_bool stopped;
  ul_rise **rise;
  ul_error *why; /* one a rise */
} batch;

typedef struct {
  batch *b;
  size_t block;
  int worker;
} seat;

/* The first worker tells how far it is and hears whether to stop; the others hear it from him. */
static bool tell(void *user, const char *stage, double done) {
  const seat *s = user;
  batch *b = s->b;
  (void)stage;
  if (s->worker == 0 &&
      !ul_job_tell(b->job, b->stage, ((double)s->block + done) / (double)b->count))
    atomic_store(&b->stopped, true);
  return !atomic_load(&b->stopped);
}

/* A rise has no use for more threads than this one: the others have rises of their own. */
static ul_status rise_one(void *context, size_t block, int worker) {
  batch *b = context;
  seat here = {b, block, worker};
  const ul_job alone = {.threads = 1, .progress = tell, .user = &here};
  return ul_rise_run(b->grid, b->columns, &b->opts[block], &alone, &b->rise[block], &b->why[block]);
}

static void say_first_failure(const batch *b, size_t count, ul_status status, ul_error *err) {
  for (size_t i = 0; i < count; i++)
    if (b->why[i].code == status) {
      if (err) *err = b->why[i];
      return;
    }
  ul_fail(err, status, "%s", ul_status_text(status));
}

ul_status ul_rises_run(const ul_grid *grid, const ul_columns *columns, const ul_rise_opts *opts,
                       size_t count, const ul_job *job, const char *stage, ul_rise **rise,
                       ul_error *err) {
  for (size_t i = 0; i < count; i++) rise[i] = NULL;
  batch b = {.grid = grid,
             .columns = columns,
             .opts = opts,
             .count = count,
             .job = job,
             .stage = stage,
             .rise = rise,
             .why = ul_new(count, sizeof(ul_error))};
  if (!b.why) return ul_fail_memory(err);
  ul_status status = ul_parallel(job, stage, count, rise_one, &b);
  if (status != UL_OK) {
    say_first_failure(&b, count, status, err);
    for (size_t i = 0; i < count; i++) {
      ul_rise_free(rise[i]);
      rise[i] = NULL;
    }
  }
  free(b.why);
  return status;
}
