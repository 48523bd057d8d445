/* sandbox.h - runs one function in a child process that may compute and hand bytes back, and
 * nothing else: whatever a hostile file makes of it, the caller gets bytes or an error. */
#ifndef UL_CAVITY_SANDBOX_H
#define UL_CAVITY_SANDBOX_H

#include <stdbool.h>

#include "ullage/job.h"
#include "ullage/status.h"

typedef struct ul_sandbox_limits {
  double cpu_s;      /* processor time; whole seconds are used */
  double wall_s;     /* by the clock, for a child that sleeps */
  double memory_mib; /* on top of what the calling process has mapped; also for the output */
  void (*prepare)(void *context); /* in the child, while it still has its rights: to load code,
                                     never to look at the file; NULL: nothing to prepare */
} ul_sandbox_limits;

/* Runs in the child. It may read `keep_fd`, allocate, and write to `output_fd`; it can open nothing
 * and start nothing. When it returns the child ends. */
typedef void (*ul_sandbox_fn)(void *context, int output_fd);

/* UL_OK: the function returned; *output_fd is what it wrote, sealed against any change and yours to
 * close. *filtered is false where the kernel would not take the system call filter, so that limits
 * alone held the child. Errors: UL_E_FORMAT (it crashed), _LIMIT, _STOPPED, _MACHINE. */
ul_status ul_sandbox_run(ul_sandbox_fn function, void *context, int keep_fd,
                         const ul_sandbox_limits *limits, const ul_job *job, int *output_fd,
                         bool *filtered, ul_error *err);

#endif
