#define _GNU_SOURCE /* memfd_create() */
#include "cavity/sandbox.h"

#include "base/fail.h"
#include "base/parallel.h"
#include "cavity/confine.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { EXIT_UNLIMITED = 99, POLL_MS = 50 };

typedef struct {
  pid_t pid;
  int alarm_fd; /* hung up when the child is gone; carries one byte when it runs unfiltered */
  bool filtered, too_long, stopped;
} child;

/* What the calling process has mapped already counts against the child's limit. */
static size_t mapped_bytes(void) {
  unsigned long pages = 0;
  FILE *statm = fopen("/proc/self/statm", "re");
  if (!statm) return 0;
  if (fscanf(statm, "%lu", &pages) != 1) pages = 0;
  fclose(statm);
  return pages * (size_t)sysconf(_SC_PAGESIZE);
}

_Noreturn static void be_the_child(ul_sandbox_fn function, void *context,
                                   void (*prepare)(void *context),
                                   const ul_confinement *confinement) {
  bool filtered;
  if (prepare) prepare(context);
  if (!ul_confine(confinement, &filtered)) _exit(EXIT_UNLIMITED);
  if (!filtered && write(confinement->alarm_fd, "u", 1) != 1) _exit(EXIT_UNLIMITED);
  function(context, confinement->output_fd);
  _exit(0); /* not exit(): the parent's stdio buffers are not the child's to flush */
}

static double seconds(void) {
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void watch(child *c, double wall_s, const ul_job *job) {
  double end = seconds() + wall_s;
  for (;;) {
    struct pollfd alarm = {.fd = c->alarm_fd, .events = POLLIN};
    char byte;
    if (poll(&alarm, 1, POLL_MS) > 0) {
      ssize_t got = read(c->alarm_fd, &byte, 1);
      if (got == 0) return;
      if (got == 1) c->filtered = false;
    }
    c->too_long = seconds() > end;
    c->stopped = !ul_job_tell(job, "reading", 0);
    if (c->too_long || c->stopped) return;
  }
}

/* Also ends a child that only closed its side: one that is exiting already keeps its status. */
static int collect(pid_t pid) {
  int status = 0;
  kill(pid, SIGKILL);
  while (waitpid(pid, &status, 0) < 0)
    if (errno != EINTR) return 0; /* somebody else collected it: its output will tell */
  return status;
}

static ul_status judge(const child *c, int status, const ul_sandbox_limits *limits, ul_error *err) {
  int by = WIFSIGNALED(status) ? WTERMSIG(status) : 0;
  if (c->stopped || by == SIGINT || by == SIGTERM || by == SIGHUP)
    return ul_fail(err, UL_E_STOPPED, "stopped while reading");
  if (c->too_long || by == SIGXCPU)
    return ul_fail(err, UL_E_LIMIT,
                   "reading took longer than %.0f s: the file is damaged, or too large: export a "
                   "coarser mesh",
                   c->too_long ? limits->wall_s : limits->cpu_s);
  if (by == SIGKILL || by == SIGXFSZ)
    return ul_fail(err, UL_E_LIMIT,
                   "reading needs more than %.0f MiB of memory: export a coarser mesh",
                   limits->memory_mib);
  if (by)
    return ul_fail(err, UL_E_FORMAT,
                   "the file made its reader crash (%s): it is damaged: export it again",
                   strsignal(by));
  if (WEXITSTATUS(status) == EXIT_UNLIMITED)
    return ul_fail(err, UL_E_MACHINE,
                   "the system sets no limits on a process: not reading "
                   "strangers' files here");
  if (WEXITSTATUS(status))
    return ul_fail(err, UL_E_FORMAT, "the file made its reader give up (exit %d): export it again",
                   WEXITSTATUS(status));
  return UL_OK;
}

static pid_t start(ul_sandbox_fn function, void *context, int keep_fd, int output_fd,
                   const int alarm[2], const ul_sandbox_limits *limits) {
  size_t memory = (size_t)(limits->memory_mib * (1 << 20));
  ul_confinement to = {.cpu_s = limits->cpu_s < 1 ? 1 : (size_t)limits->cpu_s,
                       .address_space = mapped_bytes() + memory,
                       .output_bytes = memory,
                       .keep_fd = keep_fd,
                       .output_fd = output_fd,
                       .alarm_fd = alarm[1]};
  pid_t pid = fork();
  if (pid == 0) be_the_child(function, context, limits->prepare, &to);
  return pid;
}

ul_status ul_sandbox_run(ul_sandbox_fn function, void *context, int keep_fd,
                         const ul_sandbox_limits *limits, const ul_job *job, int *output_fd,
                         bool *filtered, ul_error *err) {
  int alarm[2], output = memfd_create("ullage-mesh", MFD_CLOEXEC | MFD_ALLOW_SEALING);
  if (output < 0 || pipe2(alarm, O_CLOEXEC) != 0) {
    if (output >= 0) close(output);
    return ul_fail(err, UL_E_MACHINE, "no memory file or pipe for the reader: %s", strerror(errno));
  }
  child c = {.alarm_fd = alarm[0], .filtered = true};
  c.pid = start(function, context, keep_fd, output, alarm, limits);
  int failure = errno;
  close(alarm[1]);
  ul_status status = UL_OK;
  if (c.pid < 0) {
    status = ul_fail(err, UL_E_MACHINE, "no process for the reader: %s", strerror(failure));
  } else {
    watch(&c, limits->wall_s, job);
    status = judge(&c, collect(c.pid), limits, err);
  }
  close(alarm[0]);
  if (status == UL_OK &&
      fcntl(output, F_ADD_SEALS, F_SEAL_WRITE | F_SEAL_GROW | F_SEAL_SHRINK | F_SEAL_SEAL) != 0)
    status = ul_fail(err, UL_E_MACHINE, "cannot seal the reader's result: %s", strerror(errno));
  if (status != UL_OK) close(output);
  *output_fd = status == UL_OK ? output : -1;
  *filtered = c.filtered;
  return status;
}
