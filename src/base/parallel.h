/* parallel.h - fixed blocks of work on threads that wait between calls (crew.h). What a block
 * writes depends on its number alone, so the number of threads never shows in a result; sums are
 * made block by block, then in order. */
#ifndef UL_BASE_PARALLEL_H
#define UL_BASE_PARALLEL_H

#include <stdbool.h>
#include <stddef.h>

#include "ullage/job.h"
#include "ullage/status.h"

/* Does block `block` of the work in `context`; `worker` (0 to ul_job_threads()-1) chooses scratch
 * memory only. Anything but UL_OK stops the run; the failure of the lowest-numbered failing block
 * is the one returned. */
typedef ul_status (*ul_block_fn)(void *context, size_t block, int worker);

/* How many threads the job may use, at least 1, at most 256. */
int ul_job_threads(const ul_job *job);

/* Runs blocks 0 to count-1, each once, in any order. Reports `stage` to the job's progress (from
 * the calling thread) when stage is not NULL. Returns when all are done. A thread that cannot be
 * started is done without; a call from within a block, or while another thread's call is under way,
 * may be done by the calling thread alone, as worker 0. */
ul_status ul_parallel(const ul_job *job, const char *stage, size_t count, ul_block_fn block,
                      void *context);

/* False when the job wants to be stopped. */
bool ul_job_tell(const ul_job *job, const char *stage, double done);

#endif
