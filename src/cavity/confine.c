#define _GNU_SOURCE /* close_range() */
#include "cavity/confine.h"

#include <errno.h>
#include <fcntl.h>
#include <seccomp.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <unistd.h>

/* Where the kernel cannot close a range at once. */
enum { MOST_FDS = 65536 };

/* What computing takes: memory, the files already open, the clock, and a way to end. The list is
 * of what may be done, so a system call nobody thought of fails too. */
static const int allowed[] = {
    SCMP_SYS(read),          SCMP_SYS(pread64),        SCMP_SYS(write),
    SCMP_SYS(pwrite64),      SCMP_SYS(lseek),          SCMP_SYS(close),
    SCMP_SYS(fstat),         SCMP_SYS(newfstatat),     SCMP_SYS(ftruncate),
    SCMP_SYS(fcntl),         SCMP_SYS(mmap),           SCMP_SYS(munmap),
    SCMP_SYS(mremap),        SCMP_SYS(mprotect),       SCMP_SYS(madvise),
    SCMP_SYS(brk),           SCMP_SYS(futex),          SCMP_SYS(sched_yield),
    SCMP_SYS(clock_gettime), SCMP_SYS(gettimeofday),   SCMP_SYS(time),
    SCMP_SYS(getrandom),     SCMP_SYS(getpid),         SCMP_SYS(gettid),
    SCMP_SYS(tgkill),        SCMP_SYS(rt_sigaction),   SCMP_SYS(rt_sigprocmask),
    SCMP_SYS(rt_sigreturn),  SCMP_SYS(sigaltstack),    SCMP_SYS(exit),
    SCMP_SYS(exit_group),    SCMP_SYS(restart_syscall)};

static bool filter(void) {
  scmp_filter_ctx rules = seccomp_init(SCMP_ACT_ERRNO(EPERM));
  if (!rules) return false;
  /* A call this architecture does not have cannot be added, nor made: not an error. */
  for (size_t i = 0; i < sizeof allowed / sizeof *allowed; i++)
    seccomp_rule_add(rules, SCMP_ACT_ALLOW, allowed[i], 0);
  bool loaded = seccomp_load(rules) == 0;
  seccomp_release(rules);
  return loaded;
}

static bool limit(__rlimit_resource_t what, size_t soft, size_t hard) {
  struct rlimit now, want = {soft, hard};
  if (getrlimit(what, &now) != 0) return false;
  if (want.rlim_max > now.rlim_max) want.rlim_max = now.rlim_max;
  if (want.rlim_cur > want.rlim_max) want.rlim_cur = want.rlim_max;
  if (setrlimit(what, &want) == 0) return true;
  want.rlim_max = now.rlim_max; /* an emulator such as valgrind may lower the soft one alone */
  return setrlimit(what, &want) == 0;
}

static bool is_kept(const ul_confinement *to, int fd) {
  return fd == to->keep_fd || fd == to->output_fd || fd == to->alarm_fd;
}

static void close_others(const ul_confinement *to) {
  int null = open("/dev/null", O_RDWR);
  for (int fd = 0; fd <= 2; fd++)
    if (!is_kept(to, fd) && (null < 0 || dup2(null, fd) < 0)) close(fd);
  int last = to->keep_fd > to->output_fd ? to->keep_fd : to->output_fd;
  if (to->alarm_fd > last) last = to->alarm_fd;
  if (last < 2) last = 2;
  for (int fd = 3; fd < last; fd++)
    if (!is_kept(to, fd)) close(fd);
  if (close_range((unsigned)last + 1, ~0u, 0) == 0) return;
  for (int fd = last + 1; fd < sysconf(_SC_OPEN_MAX) && fd < MOST_FDS; fd++) close(fd);
}

bool ul_confine(const ul_confinement *to, bool *filtered) {
  for (int s = 1; s < NSIG; s++) signal(s, SIG_DFL);
  sigset_t none;
  sigemptyset(&none);
  sigprocmask(SIG_SETMASK, &none, NULL);
  prctl(PR_SET_PDEATHSIG, SIGKILL); /* nobody would collect it */
  prctl(PR_SET_DUMPABLE, 0);        /* no core file for a crash that is expected */
  close_others(to);
  bool limited = limit(RLIMIT_CPU, to->cpu_s, to->cpu_s + 1) &&
                 limit(RLIMIT_AS, to->address_space, to->address_space) &&
                 limit(RLIMIT_FSIZE, to->output_bytes, to->output_bytes) &&
                 limit(RLIMIT_NPROC, 0, 0) && limit(RLIMIT_CORE, 0, 0) &&
                 limit(RLIMIT_NOFILE, 0, 0);
  *filtered = filter(); /* last: it bars all that precedes */
  return limited;
}
