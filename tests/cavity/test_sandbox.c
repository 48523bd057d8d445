#include "cavity/sandbox.h"
#include "shapes/check.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <unistd.h>

/* What one forbidden thing answers, as the child wrote it down. */
typedef struct {
  int opened, forked, connected, written;
} attempts;

static void put(int fd, const void *data, size_t bytes) {
  if (write(fd, data, bytes) != (ssize_t)bytes) _exit(1);
}

static void do_nothing(void *context, int fd) {
  (void)context, (void)fd;
}

static void echo(void *context, int fd) {
  put(fd, context, strlen(context));
}

static void try_everything(void *context, int fd) {
  attempts tried;
  tried.opened = open("/etc/passwd", O_RDONLY);
  tried.forked = (int)fork();
  if (tried.forked == 0) _exit(0);
  tried.connected = socket(AF_INET, SOCK_STREAM, 0);
  tried.written = open(context, O_WRONLY | O_CREAT, 0600);
  put(fd, &tried, sizeof tried);
}

static void crash(void *context, int fd) {
  (void)fd;
  raise(*(int *)context);
}

static void spin(void *context, int fd) {
  (void)fd;
  for (volatile int *forever = context; *forever;) continue;
}

static void sleep_long(void *context, int fd) {
  (void)context, (void)fd;
  for (;;) pause();
}

static void eat_memory(void *context, int fd) {
  (void)context;
  int eaten = 0; /* by mmap(): a sanitizer's malloc() does not return when there is no memory */
  while (eaten < 4096 && mmap(NULL, 1 << 20, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS,
                              -1, 0) != MAP_FAILED)
    eaten++;
  put(fd, &eaten, sizeof eaten);
}

static void give_up(void *context, int fd) {
  (void)context, (void)fd;
  _exit(7);
}

static const ul_sandbox_limits usual = {.cpu_s = 1, .wall_s = 20, .memory_mib = 64};

/* Runs it on an input nobody reads; the output's descriptor, or -1. */
static int run(ul_sandbox_fn function, void *context, const ul_sandbox_limits *limits,
               const ul_job *job, ul_status want, ul_error *err) {
  int output = -1;
  bool filtered;
  ul_status got =
      ul_sandbox_run(function, context, STDIN_FILENO, limits, job, &output, &filtered, err);
  assert_int_equal(got, want);
  assert_int_equal(output >= 0, want == UL_OK);
  return output;
}

static void what_the_child_writes_comes_back_sealed(void **state) {
  (void)state;
  char text[] = "twelve bytes", back[20] = {0};
  int fd = run(echo, text, &usual, NULL, UL_OK, NULL);
  assert_int_equal(pread(fd, back, sizeof back, 0), 12);
  assert_string_equal(back, text);
  assert_int_equal(pwrite(fd, "x", 1, 0), -1);
  assert_int_equal(ftruncate(fd, 0), -1);
  close(fd);
}

static void the_child_can_open_start_and_reach_nothing(void **state) {
  (void)state;
  char path[] = "/tmp/ullage-test-must-not-exist";
  attempts tried = {0};
  int fd = run(try_everything, path, &usual, NULL, UL_OK, NULL);
  assert_int_equal(pread(fd, &tried, sizeof tried, 0), sizeof tried);
  close(fd);
  assert_int_equal(tried.opened, -1);
  assert_int_equal(tried.forked, -1);
  assert_int_equal(tried.connected, -1);
  assert_int_equal(tried.written, -1);
  assert_int_equal(access(path, F_OK), -1);
}

static void a_crash_is_an_error_that_says_so(void **state) {
  (void)state;
  static int signals[] = {SIGSEGV, SIGABRT, SIGFPE, SIGBUS, SIGILL};
  for (size_t i = 0; i < sizeof signals / sizeof *signals; i++) {
    ul_error err;
    run(crash, &signals[i], &usual, NULL, UL_E_FORMAT, &err);
    assert_non_null(strstr(err.text, "reader crash"));
    assert_non_null(strstr(err.text, strsignal(signals[i])));
  }
  ul_error err;
  run(give_up, NULL, &usual, NULL, UL_E_FORMAT, &err);
  assert_non_null(strstr(err.text, "exit 7"));
}

static void too_much_time_is_an_error_with_the_number(void **state) {
  (void)state;
  int forever = 1;
  ul_error err;
  ul_sandbox_limits brief = {.cpu_s = 1, .wall_s = 0.2, .memory_mib = 64};
  run(spin, &forever, &usual, NULL, UL_E_LIMIT, &err);
  assert_non_null(strstr(err.text, "longer than 1 s"));
  run(sleep_long, NULL, &brief, NULL, UL_E_LIMIT, &err);
  assert_non_null(strstr(err.text, "longer than"));
}

static void memory_ends_at_the_limit(void **state) {
  (void)state;
  int eaten = 0, fd = run(eat_memory, NULL, &usual, NULL, UL_OK, NULL);
  assert_int_equal(pread(fd, &eaten, sizeof eaten, 0), sizeof eaten);
  close(fd);
  assert_in_range(eaten, 30, 64);
}

static bool stop_at_once(void *user, const char *stage, double done) {
  (void)user, (void)stage, (void)done;
  return false;
}

static void progress_can_stop_it(void **state) {
  (void)state;
  ul_job job = {.progress = stop_at_once};
  ul_error err;
  run(sleep_long, NULL, &usual, &job, UL_E_STOPPED, &err);
}

static void nothing_is_left_open(void **state) {
  (void)state;
  int forever = 0, before = dup(0);
  close(before);
  for (int i = 0; i < 20; i++) {
    close(run(do_nothing, NULL, &usual, NULL, UL_OK, NULL));
    close(run(spin, &forever, &usual, NULL, UL_OK, NULL));
    run(give_up, NULL, &usual, NULL, UL_E_FORMAT, NULL);
  }
  int after = dup(0);
  assert_int_equal(after, before);
  close(after);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_the_child_writes_comes_back_sealed),
      cmocka_unit_test(the_child_can_open_start_and_reach_nothing),
      cmocka_unit_test(a_crash_is_an_error_that_says_so),
      cmocka_unit_test(too_much_time_is_an_error_with_the_number),
      cmocka_unit_test(memory_ends_at_the_limit),
      cmocka_unit_test(progress_can_stop_it),
      cmocka_unit_test(nothing_is_left_open),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
