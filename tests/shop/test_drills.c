/* Drill sizes: rules and single published values. */
#include "shapes/check.h"
#include "ullage/drills.h"

static ul_drill at_least(ul_drill_set set, double mm) {
  ul_drill drill = {0};
  assert_true(ul_drill_at_least(set, mm, &drill));
  return drill;
}

static void every_set_rises_and_finds_each_of_its_own_sizes(void **state) {
  (void)state;
  for (int set = 0; set < UL_DRILL_SET_END; set++) {
    double before = 0;
    for (size_t i = 0; i < ul_drill_count((ul_drill_set)set); i++) {
      ul_drill drill = ul_drill_get((ul_drill_set)set, i);
      assert_true(drill.diameter_mm > before);
      assert_string_equal(at_least((ul_drill_set)set, drill.diameter_mm).name, drill.name);
      assert_string_equal(at_least((ul_drill_set)set, before + 1e-5).name, drill.name);
      before = drill.diameter_mm;
    }
    ul_drill none;
    assert_false(ul_drill_at_least((ul_drill_set)set, before + 0.01, &none));
  }
}

static void the_shop_set_is_what_hangs_on_the_wall(void **state) {
  (void)state;
  static const char *const names[] = {"1.5 mm", "2 mm", "2.5 mm", "3 mm", "4 mm", "5 mm", "6 mm"};
  assert_int_equal(ul_drill_count(UL_DRILLS_SHOP), 7);
  for (size_t i = 0; i < 7; i++)
    assert_string_equal(ul_drill_get(UL_DRILLS_SHOP, i).name, names[i]);
  assert_string_equal(at_least(UL_DRILLS_SHOP, 3.01).name, "4 mm");
}

/* BS 328 as an encyclopaedia describes it: 227 sizes; 0.2 to 0.98 in .00 .02 .05 .08, then steps of
 * 0.05 to 2.95, 0.1 to 13.9, 0.25 to 25. */
static void metric_sizes_follow_their_rule(void **state) {
  (void)state;
  assert_int_equal(ul_drill_count(UL_DRILLS_METRIC), 227);
  assert_string_equal(ul_drill_get(UL_DRILLS_METRIC, 0).name, "0.2 mm");
  assert_string_equal(ul_drill_get(UL_DRILLS_METRIC, 226).name, "25 mm");
  assert_string_equal(at_least(UL_DRILLS_METRIC, 0.96).name, "0.98 mm");
  assert_string_equal(at_least(UL_DRILLS_METRIC, 0.99).name, "1 mm");
  assert_string_equal(at_least(UL_DRILLS_METRIC, 2.91).name, "2.95 mm");
  assert_string_equal(at_least(UL_DRILLS_METRIC, 2.96).name, "3 mm");
  assert_string_equal(at_least(UL_DRILLS_METRIC, 13.91).name, "14 mm");
  assert_string_equal(at_least(UL_DRILLS_METRIC, 14.1).name, "14.25 mm");
}

static void fractions_are_in_their_lowest_terms(void **state) {
  (void)state;
  assert_string_equal(at_least(UL_DRILLS_INCH, 3.175).name, "1/8 in");
  assert_string_equal(at_least(UL_DRILLS_INCH, 3.18).name, "9/64 in");
  assert_string_equal(at_least(UL_DRILLS_INCH, 25.4).name, "1 in");
  assert_rel(ul_drill_get(UL_DRILLS_INCH, 3).diameter_mm, 1.5875, 1e-14); /* 1/16 in */
}

/* Drill charts (those seen in print): #1 0.228, #7 0.201, #10 0.1935, #21 0.159, #25 0.1495,
 * A 0.234, Z 0.413 in; #30 0.1285 from memory. 1/4 in is letter E. */
static void numbers_and_letters_are_those_of_the_charts(void **state) {
  (void)state;
  static const struct {
    const char *name;
    double inch;
  } seen[] = {{"#1", 0.228},   {"#7", 0.201},       {"#10", 0.1935},     {"#21", 0.159},
              {"#25", 0.1495}, {"#30", 0.1285},     {"letter A", 0.234}, {"letter E", 0.25},
              {"#80", 0.0135}, {"letter Z", 0.413}, {"#66", 0.033}};
  assert_int_equal(ul_drill_count(UL_DRILLS_NUMBER), 106);
  for (size_t i = 0; i < sizeof seen / sizeof *seen; i++) {
    ul_drill drill = at_least(UL_DRILLS_NUMBER, seen[i].inch * 25.4);
    assert_string_equal(drill.name, seen[i].name);
    assert_rel(drill.diameter_mm, seen[i].inch * 25.4, 1e-14);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_set_rises_and_finds_each_of_its_own_sizes),
      cmocka_unit_test(the_shop_set_is_what_hangs_on_the_wall),
      cmocka_unit_test(metric_sizes_follow_their_rule),
      cmocka_unit_test(fractions_are_in_their_lowest_terms),
      cmocka_unit_test(numbers_and_letters_are_those_of_the_charts),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
