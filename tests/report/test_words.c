/* Numbers, places and attitudes as a moulder reads them. */
#include "report/words.h"
#include "shapes/check.h"

#include <math.h>
#include <string.h>

static void figures_are_three_and_never_an_exponent(void **state) {
  (void)state;
  const struct {
    double value;
    const char *text;
  } row[] = {{0, "0"},
             {1, "1"},
             {12.345, "12.3"},
             {1234.5, "1230"},
             {9.996, "10"},
             {99.95, "100"},
             {0.01234, "0.0123"},
             {-2.5, "-2.5"},
             {1234567, "1230000"},
             {0.5, "0.5"},
             {999.6, "1000"}};
  char out[UL_WORDS];
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++)
    assert_string_equal(ul_words_figure(row[i].value, out), row[i].text);
}

/* A scale shows a hundredth of a gram at best: bleeds were told as 0.0000877 g. */
static void no_grams_are_told_that_no_scale_shows(void **state) {
  (void)state;
  char out[UL_WORDS];
  assert_string_equal(ul_words_grams(0, out), "0");
  assert_string_equal(ul_words_grams(8.77e-5, out), "under 0.01");
  assert_string_equal(ul_words_grams(0.01, out), "0.01");
  assert_string_equal(ul_words_grams(12.34, out), "12.3");
}

/* 8/3, three cubes across eight: rounded to 2.67 it would be too coarse by a hair. */
static void a_limit_is_rounded_down(void **state) {
  (void)state;
  const struct {
    double value;
    const char *text;
  } row[] = {{8.0 / 3, "2.66"}, {1.25, "1.25"}, {0.1 + 0.2, "0.3"},
             {4.999, "4.99"},   {1999, "1990"}, {0.0123456, "0.0123"},
             {2, "2"}};
  char out[UL_WORDS];
  for (size_t i = 0; i < sizeof row / sizeof *row; i++)
    assert_string_equal(ul_words_at_most(row[i].value, out), row[i].text);
}

static void volumes_turn_to_litres_from_100_cm3(void **state) {
  (void)state;
  char out[UL_WORDS];
  assert_string_equal(ul_words_volume(420, out), "0.42 cm3");
  assert_string_equal(ul_words_volume(2.35e6, out), "2.35 litres (2350 cm3)");
}

static void a_direction_is_an_axis_where_it_is_one(void **state) {
  (void)state;
  char out[UL_WORDS];
  assert_string_equal(ul_words_direction((double[]){0, -1, 0}, out), "-y");
  assert_string_equal(ul_words_direction((double[]){0, 0, 1 - 1e-12}, out), "+z");
  assert_string_equal(ul_words_direction((double[]){-0.6, 0.8, -0.0}, out), "(-0.600 0.800 0.000)");
}

static void a_tilt_is_said_by_the_side_it_stands_on_and_what_is_raised(void **state) {
  (void)state;
  const char *const hinge[6] = {[1] = "hinge"};
  const double s = sin(15 * M_PI / 180), c = cos(15 * M_PI / 180);
  char out[UL_WORDS];
  assert_string_equal(ul_words_tilt((double[]){0, 0, 1}, NULL, out), "as drawn, +z up");
  assert_string_equal(ul_words_tilt((double[]){0, 0, -1}, NULL, out), "upside down, -z up");
  assert_string_equal(ul_words_tilt((double[]){1, 0, 0}, NULL, out), "on its -x side");
  assert_string_equal(ul_words_tilt((double[]){s, 0, c}, NULL, out),
                      "as drawn, +z up, +x side raised 15 degrees");
  assert_string_equal(ul_words_tilt((double[]){s, 0, c}, hinge, out),
                      "as drawn, +z up, hinge side raised 15 degrees");
  assert_string_equal(ul_words_tilt((double[]){-s, 0, -c}, NULL, out),
                      "upside down, -z up, -x side raised 15 degrees");
}

static void blocks_are_said_once_for_an_edge_and_each_for_a_corner(void **state) {
  (void)state;
  const ul_tool tool = {.box_mm = {{0, 0, 0}, {200, 100, 50}}};
  const double a = 15 * M_PI / 180;
  ul_props props;
  char out[UL_WORDS];
  ul_props_for(&tool, (double[]){0, 0, 1}, &props);
  assert_string_equal(ul_words_props(&props, NULL, out), "no blocks: it stands flat");
  ul_props_for(&tool, (double[]){sin(a), 0, cos(a)}, &props); /* 200 sin 15 = 51.8 */
  assert_string_equal(ul_words_props(&props, NULL, out),
                      "block 52 mm under both corners of the +x side");
  double up[3];
  assert_ok(ul_up_from_raise(10, 10, up, NULL), NULL);
  ul_props_for(&tool, up, &props); /* 200 sin 10 = 34.7, 100 sin 10 = 17.4 */
  assert_non_null(
      strstr(ul_words_props(&props, NULL, out), "52 mm where +x side and +y side meet"));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_grams_are_told_that_no_scale_shows),
      cmocka_unit_test(a_limit_is_rounded_down),
      cmocka_unit_test(figures_are_three_and_never_an_exponent),
      cmocka_unit_test(volumes_turn_to_litres_from_100_cm3),
      cmocka_unit_test(a_direction_is_an_axis_where_it_is_one),
      cmocka_unit_test(a_tilt_is_said_by_the_side_it_stands_on_and_what_is_raised),
      cmocka_unit_test(blocks_are_said_once_for_an_edge_and_each_for_a_corner),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
