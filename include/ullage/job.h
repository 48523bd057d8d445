/* job.h - how much of the machine a long call may use, and whom it tells how far it is. */
#ifndef ULLAGE_JOB_H
#define ULLAGE_JOB_H

#include <stdbool.h>

/* Called now and then with the stage's name and how much of it is done, 0 to 1.
 * Never called from two threads at once. Return false to stop the call: it then ends with
 * UL_E_STOPPED and frees what it made. */
typedef bool (*ul_progress_fn)(void *user, const char *stage, double done);

/* Everywhere a `const ul_job *` is asked for, NULL means: all cores, silently. The number of
 * threads never changes a byte of any result. */
typedef struct ul_job {
  int threads;             /* 0: as many as there are cores */
  ul_progress_fn progress; /* may be NULL */
  void *user;
} ul_job;

#endif
