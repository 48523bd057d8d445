/* Attitudes: closed forms. */
#include "shapes/check.h"
#include "ullage/attitude.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void a_raise_gives_the_sines_of_what_the_level_reads(void **state) {
  (void)state;
  double up[3];
  ul_error err;
  assert_ok(ul_up_from_raise(0, 0, up, &err), &err);
  assert_true(up[0] == 0 && up[1] == 0 && up[2] == 1);
  assert_ok(ul_up_from_raise(90, 0, up, &err), &err);
  assert_true(up[0] == 1 && up[1] == 0 && up[2] == 0);
  assert_ok(ul_up_from_raise(0, -90, up, &err), &err);
  assert_true(up[0] == 0 && up[1] == -1 && up[2] == 0);
  assert_ok(ul_up_from_raise(30, 30, up, &err), &err);
  assert_near(up[0], 0.5, 1e-15);
  assert_near(up[1], 0.5, 1e-15);
  assert_near(up[2], sqrt(0.5), 1e-15);
  assert_ok(ul_up_from_raise(30, -60, up, &err), &err); /* the root is exactly 0 */
  assert_near(up[0], 0.5, 1e-15);
  assert_near(up[1], -sqrt(0.75), 1e-15);
  assert_true(up[2] == 0);
}

static void a_raise_comes_back_as_the_level_reads_it(void **state) {
  (void)state;
  for (int a = -90; a <= 90; a += 5)
    for (int b = -90 + abs(a); b <= 90 - abs(a); b += 5) {
      double up[3], x, y;
      ul_error err;
      assert_ok(ul_up_from_raise(a, b, up, &err), &err);
      assert_near(up[0] * up[0] + up[1] * up[1] + up[2] * up[2], 1, 1e-15);
      ul_raise_from_up(up, &x, &y);
      assert_near(x, a, 1e-10);
      assert_near(y, b, 1e-10);
      assert_false(signbit(x) && x == 0);
    }
}

static void a_raise_no_box_can_have_is_refused(void **state) {
  (void)state;
  double up[3] = {7, 8, 9};
  ul_error err;
  assert_int_equal(ul_up_from_raise(60, 31, up, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "91"));
  assert_int_equal(ul_up_from_raise(180, 0, up, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "--up"));
  assert_int_equal(ul_up_from_raise(NAN, 0, up, &err), UL_E_USAGE);
  assert_int_equal(ul_up_from_raise(0, INFINITY, up, NULL), UL_E_USAGE);
  assert_true(up[0] == 7 && up[1] == 8 && up[2] == 9);
}

static void any_length_of_up_will_do_but_none(void **state) {
  (void)state;
  const double lengths[] = {1e-308, 1e-160, 1e-3, 1, 1e3, 1e160, 1e308};
  for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++) {
    double in[3] = {0.6 * lengths[i], 0, -0.8 * lengths[i]}, up[3];
    assert_ok(ul_up_normalise(in, up, NULL), NULL);
    assert_near(up[0], 0.6, 1e-15);
    assert_near(up[2], -0.8, 1e-15);
  }
  ul_error err;
  double up[3];
  assert_int_equal(ul_up_normalise((double[3]){0, 0, 0}, up, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "no length"));
  assert_int_equal(ul_up_normalise((double[3]){0, NAN, 1}, up, &err), UL_E_USAGE);
  assert_int_equal(ul_up_normalise((double[3]){INFINITY, 0, 1}, up, &err), UL_E_USAGE);
}

static ul_ease ease_at(double x, double y, double z) {
  double up[3];
  assert_ok(ul_up_normalise((double[3]){x, y, z}, up, NULL), NULL);
  return ul_ease_of(up);
}

static void ease_says_how_a_box_would_be_held(void **state) {
  (void)state;
  const double t = tan(0.3 * M_PI / 180); /* less than a level shows */
  assert_int_equal(ease_at(0, 0, 1), UL_EASE_FLAT);
  assert_int_equal(ease_at(0, 0, -1), UL_EASE_FLAT);
  assert_int_equal(ease_at(t, -t, 1), UL_EASE_FLAT);
  assert_int_equal(ease_at(1, 0, 0), UL_EASE_SIDE);
  assert_int_equal(ease_at(t, -1, 0), UL_EASE_SIDE);
  assert_int_equal(ease_at(0.1, 0, 1), UL_EASE_ONE_SIDE);
  assert_int_equal(ease_at(1, 0, 1), UL_EASE_ONE_SIDE);
  assert_int_equal(ease_at(1, t, -0.1), UL_EASE_ONE_SIDE);
  assert_int_equal(ease_at(0.1, 0.1, 1), UL_EASE_ONE_CORNER);
  assert_int_equal(ease_at(0.1, -1, 0.1), UL_EASE_ONE_CORNER);
  assert_int_equal(ease_at(1, 1, 1), UL_EASE_OTHER); /* 54.7 degrees off every face */
  assert_string_equal(ul_ease_word(UL_EASE_ONE_CORNER), "one corner raised");
}

static void ease_does_not_change_with_a_rounding_error(void **state) {
  (void)state;
  double up[3];
  assert_ok(ul_up_from_raise(30, 30, up, NULL), NULL); /* 45 degrees off z, to the last digit */
  assert_int_equal(ul_ease_of(up), UL_EASE_ONE_CORNER);
  up[0] += 1e-12;
  assert_int_equal(ul_ease_of(up), UL_EASE_ONE_CORNER);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_raise_gives_the_sines_of_what_the_level_reads),
      cmocka_unit_test(a_raise_comes_back_as_the_level_reads_it),
      cmocka_unit_test(a_raise_no_box_can_have_is_refused),
      cmocka_unit_test(any_length_of_up_will_do_but_none),
      cmocka_unit_test(ease_says_how_a_box_would_be_held),
      cmocka_unit_test(ease_does_not_change_with_a_rounding_error),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
