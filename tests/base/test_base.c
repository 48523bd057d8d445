#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "shapes/check.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

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

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_block_is_done_exactly_once),
      cmocka_unit_test(a_failing_block_ends_the_run_with_its_status),
      cmocka_unit_test(progress_can_stop_a_run),
      cmocka_unit_test(allocations_refuse_overflow_and_fail_when_told),
      cmocka_unit_test(every_status_has_a_text_and_an_exit_code),
      cmocka_unit_test(an_error_says_where),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
