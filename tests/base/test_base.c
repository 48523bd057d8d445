#include "base/comma.h"
#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "shapes/check.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

static ul_status mark(void *context, size_t block, int worker) {
  (void)worker;
  ((unsigned char *)context)[block]++;
  return UL_OK;
}

static void every_block_is_done_exactly_once(void **state) {
  (void)state;
  for (int threads = 1; threads <= 7; threads++) {
    unsigned char done[1000] = {0};
    ul_job job = {.threads = threads};
    assert_int_equal(ul_parallel(&job, NULL, 1000, mark, done), UL_OK);
    for (int i = 0; i < 1000; i++) assert_int_equal(done[i], 1);
  }
  assert_int_equal(ul_parallel(NULL, NULL, 0, mark, NULL), UL_OK);
}

static ul_status fail_on_30(void *context, size_t block, int worker) {
  (void)context, (void)worker;
  return block == 30 ? UL_E_FLAT : UL_OK;
}

static void a_failing_block_ends_the_run_with_its_status(void **state) {
  (void)state;
  ul_job job = {.threads = 4};
  assert_int_equal(ul_parallel(&job, NULL, 100, fail_on_30, NULL), UL_E_FLAT);
}

static bool stop_at_half(void *user, const char *stage, double done) {
  (void)user, (void)stage;
  return done < 0.5;
}

static void progress_can_stop_a_run(void **state) {
  (void)state;
  unsigned char done[64] = {0};
  ul_job job = {.threads = 1, .progress = stop_at_half};
  assert_int_equal(ul_parallel(&job, "marking", 64, mark, done), UL_E_STOPPED);
  assert_int_equal(done[63], 0);
}

/* ---- threads ---- */

static ul_status count_within(void *context, size_t block, int worker) {
  (void)worker;
  unsigned char *done = (unsigned char *)context + 20 * block;
  return ul_parallel(&(ul_job){.threads = 3}, NULL, 20, mark, done);
}

static void a_block_may_call_for_blocks_of_its_own(void **state) {
  (void)state;
  unsigned char done[2000] = {0};
  assert_int_equal(ul_parallel(&(ul_job){.threads = 3}, NULL, 100, count_within, done), UL_OK);
  for (int i = 0; i < 2000; i++) assert_int_equal(done[i], 1);
}

enum { CALLS = 2000, BLOCKS = 5 };

static void *call_often(void *context) {
  unsigned char *done = context;
  for (size_t i = 0; i < CALLS; i++)
    if (ul_parallel(&(ul_job){.threads = 3}, NULL, BLOCKS, mark, done + i * BLOCKS) != UL_OK) break;
  return NULL;
}

static void several_threads_may_call_at_once(void **state) {
  (void)state;
  pthread_t thread[3];
  unsigned char *done[3];
  for (int t = 0; t < 3; t++) {
    done[t] = ul_new(CALLS * BLOCKS, 1);
    assert_int_equal(pthread_create(&thread[t], NULL, call_often, done[t]), 0);
  }
  for (int t = 0; t < 3; t++) {
    pthread_join(thread[t], NULL);
    for (size_t i = 0; i < CALLS * BLOCKS; i++) assert_int_equal(done[t][i], 1);
    free(done[t]);
  }
}

typedef struct {
  atomic_int at_work[8], most_at_work, highest;
} seats;

static ul_status sit_down(void *context, size_t block, int worker) {
  (void)block;
  seats *s = context;
  const int others = atomic_fetch_add(&s->at_work[worker], 1);
  if (others) atomic_store(&s->most_at_work, others + 1);
  if (worker > atomic_load(&s->highest)) atomic_store(&s->highest, worker);
  usleep(100);
  atomic_fetch_sub(&s->at_work[worker], 1);
  return UL_OK;
}

/* A worker's scratch memory is its own, and within what was asked for, also when there have been
 * more threads before. */
static void no_two_blocks_at_once_have_the_same_worker(void **state) {
  (void)state;
  for (int threads = 8; threads >= 2; threads -= 3) {
    seats s = {.highest = -1};
    assert_int_equal(ul_parallel(&(ul_job){.threads = threads}, NULL, 200, sit_down, &s), UL_OK);
    assert_int_equal(atomic_load(&s.most_at_work), 0);
    assert_in_range(atomic_load(&s.highest), 0, threads - 1);
  }
}

#ifndef __SANITIZE_THREAD__ /* it knows no threads in the child of a process with threads */
/* In a child process; its exit code is 0 when every block was done once. */
static int blocks_in_child(bool threads_refused) {
  const pid_t pid = fork();
  if (pid == 0) {
    unsigned char done[300] = {0};
    const struct rlimit none = {0, 0};
    if (threads_refused && setrlimit(RLIMIT_AS, &none) != 0) _exit(3);
    if (ul_parallel(&(ul_job){.threads = 4}, NULL, 300, mark, done) != UL_OK) _exit(2);
    for (int i = 0; i < 300; i++)
      if (done[i] != 1) _exit(1);
#ifdef __SANITIZE_ADDRESS__
    _exit(0); /* its search for leaks cannot stop what it takes for threads */
#endif
    exit(0);
  }
  int status = -1;
  waitpid(pid, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static void a_child_process_works_on_without_the_threads_of_its_parent(void **state) {
  (void)state;
  unsigned char done[300] = {0};
  for (int i = 0; i < 5; i++) {
    assert_int_equal(ul_parallel(&(ul_job){.threads = 4}, NULL, 300, mark, done), UL_OK);
    assert_int_equal(blocks_in_child(false), 0);
  }
}

static void threads_that_cannot_be_started_are_done_without(void **state) {
  (void)state;
#ifdef __SANITIZE_ADDRESS__
  return; /* it needs address space of its own */
#endif
  assert_int_equal(blocks_in_child(true), 0);
}
#endif

/* ---- memory, statuses ---- */

static void allocations_refuse_overflow_and_fail_when_told(void **state) {
  (void)state;
  assert_null(ul_new(SIZE_MAX / 4, 8));
  void *block = ul_new(0, 8);
  assert_non_null(block);
  free(block);
  ul_memory_fail_at(2);
  void *first = ul_new(4, 4), *second = ul_new(4, 4), *third = ul_new(4, 4);
  assert_non_null(first);
  assert_null(second);
  assert_non_null(third);
  free(first);
  free(third);
}

static void every_status_has_a_text_and_an_exit_code(void **state) {
  (void)state;
  for (int s = 0; s < UL_STATUS_END; s++) {
    assert_true(strlen(ul_status_text((ul_status)s)) > 1);
    int code = ul_status_exit_code((ul_status)s);
    assert_true(s == UL_OK ? code == 0 : code >= 2 && code <= 4);
  }
}

static void an_error_says_where(void **state) {
  (void)state;
  ul_error err;
  const double at[3] = {1, 2, 3};
  assert_int_equal(ul_fail_at(&err, UL_E_OPEN, at, 7, "%d edges", 14), UL_E_OPEN);
  assert_string_equal(err.text, "14 edges");
  assert_int_equal(err.triangle, 7);
  assert_true(err.has_place && err.at_mm[2] == 3);
  assert_int_equal(ul_fail(NULL, UL_E_OPEN, "nobody listens"), UL_E_OPEN);
}

static void a_comma_that_may_be_of_thousands_is_found(void **state) {
  (void)state;
  static const char *const doubtful[][2] = {
      {"6,500 cP", "6500 or 6.5"},         {"-1,250", "1250 or 1.25"},
      {"12,345", "12345 or 12.345"},       {"100,000 s", "100000 or 100"},
      {"30 to 1,200 s", "1200 or 1.2"},    {"4,500-6,500 cP", "4500 or 4.5"},
      {"0.5 +- 1,125 s", "1125 or 1.125"},
  };
  static const char *const plain[] = {"",       "6,5",      "6,50",      "6500",   "0,125",
                                      "1250,5", "1250,125", "6,5000",    "6.500",  "1.234,567",
                                      ",500",   "6,",       "6,500,000", "6, 500", "6,500.5"};
  char words[UL_COMMA_WORDS];
  for (size_t i = 0; i < sizeof doubtful / sizeof *doubtful; i++) {
    assert_true(ul_comma_is_doubtful(doubtful[i][0], words));
    assert_string_equal(words, doubtful[i][1]);
  }
  for (size_t i = 0; i < sizeof plain / sizeof *plain; i++)
    assert_false(ul_comma_is_doubtful(plain[i], words));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_block_is_done_exactly_once),
      cmocka_unit_test(a_failing_block_ends_the_run_with_its_status),
      cmocka_unit_test(progress_can_stop_a_run),
      cmocka_unit_test(a_block_may_call_for_blocks_of_its_own),
      cmocka_unit_test(several_threads_may_call_at_once),
      cmocka_unit_test(no_two_blocks_at_once_have_the_same_worker),
#ifndef __SANITIZE_THREAD__
      cmocka_unit_test(a_child_process_works_on_without_the_threads_of_its_parent),
      cmocka_unit_test(threads_that_cannot_be_started_are_done_without),
#endif
      cmocka_unit_test(allocations_refuse_overflow_and_fail_when_told),
      cmocka_unit_test(every_status_has_a_text_and_an_exit_code),
      cmocka_unit_test(a_comma_that_may_be_of_thousands_is_found),
      cmocka_unit_test(an_error_says_where),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
