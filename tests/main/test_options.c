/* What people type becomes options, or one line that says what to type instead. */
#include "main/options.h"
#include "main/values.h"
#include "shapes/check.h"

#include <math.h>
#include <string.h>

static ul_status parse(int verb, options *o, ul_error *err, int argc, const char *const *words) {
  char *argv[16];
  for (int i = 0; i < argc; i++) argv[i] = (char *)words[i];
  return options_parse(verb, argc, argv, o, err);
}

#define PARSE(verb, o, err, ...)                                                                   \
  parse(verb, o, err, (int)(sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *)),          \
        (const char *const[]){__VA_ARGS__})

static void refused(int verb, const char *says, int argc, const char *const *words) {
  options o;
  ul_error err = {0};
  assert_int_equal(parse(verb, &o, &err, argc, words), UL_E_USAGE);
  if (!strstr(err.text, says)) print_error("\"%s\" does not say \"%s\"\n", err.text, says);
  assert_non_null(strstr(err.text, says));
}

#define REFUSED(verb, says, ...)                                                                   \
  refused(verb, says, (int)(sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *)),          \
          (const char *const[]){__VA_ARGS__})

static void values_are_taken_with_a_space_or_an_equals_sign(void **state) {
  (void)state;
  options o;
  ul_error err = {0};
  assert_ok(PARSE(VERB_PLAN, &o, &err, "--tries", "500", "a.stl", "--void-ok=0.2", "-o", "out"),
            &err);
  assert_int_equal(o.tries, 500);
  assert_true(o.void_ok_cm3 == 0.2);
  assert_string_equal(o.cavity_file, "a.stl");
  assert_string_equal(o.out_dir, "out");
}

static void defaults_are_those_of_the_manual(void **state) {
  (void)state;
  options o;
  ul_error err = {0};
  assert_ok(PARSE(VERB_TILTS, &o, &err, "a.stl"), &err);
  assert_true(o.up[2] == 1 && !o.has_up);
  assert_int_equal(o.tries, 2000);
  assert_int_equal(o.vents_at_most, 8);
  assert_true(o.void_ok_cm3 == 0.05 && o.wall_mm == 25 && !o.has_wall);
}

static void raise_is_what_a_level_reads(void **state) {
  (void)state;
  options o;
  ul_error err = {0};
  assert_ok(PARSE(VERB_PEAKS, &o, &err, "a.stl", "--raise", "+x=30"), &err);
  assert_near(o.up[0], 0.5, 1e-15);
  assert_near(o.up[2], sqrt(0.75), 1e-15);
  assert_ok(PARSE(VERB_PEAKS, &o, &err, "a.stl", "--raise", "-x=30,+y=20"), &err);
  assert_near(o.up[0], -0.5, 1e-15);
  assert_near(o.up[1], sin(20 * M_PI / 180), 1e-15);
  assert_ok(PARSE(VERB_PEAKS, &o, &err, "a.stl", "--raise", "+x=90"), &err);
  assert_true(o.up[0] == 1 && o.up[1] == 0 && fabs(o.up[2]) < 1e-15);
}

static void a_side_answers_to_its_name(void **state) {
  (void)state;
  options o;
  ul_error err = {0};
  assert_ok(PARSE(VERB_PEAKS, &o, &err, "--raise", "hinge=30", "a.stl", "--side", "-x=hinge"),
            &err);
  assert_near(o.up[0], -0.5, 1e-15);
  assert_string_equal(o.side_name[0], "hinge");
}

static void compare_holds_several_attitudes(void **state) {
  (void)state;
  options o;
  ul_error err = {0};
  assert_ok(PARSE(VERB_TILTS, &o, &err, "a.stl", "--compare", "+x=0;+x=15;+x=90"), &err);
  assert_int_equal(o.compare_count, 3);
  assert_near(o.compare_up[1][0], sin(15 * M_PI / 180), 1e-15);
}

static void what_makes_no_sense_is_refused_with_advice(void **state) {
  (void)state;
  REFUSED(VERB_CHECK, "no file named", "--json");
  REFUSED(VERB_CHECK, "one file at a time", "a.stl", "b.stl");
  REFUSED(VERB_CHECK, "use mm, cm, m or in", "a.stl", "--unit", "feet");
  REFUSED(VERB_CHECK, "did you mean --unit?", "a.stl", "--unti", "mm");
  REFUSED(VERB_CHECK, "not for this verb", "a.stl", "--tries", "5");
  REFUSED(VERB_CHECK, "needs a value", "a.stl", "--unit");
  REFUSED(VERB_CHECK, "takes no value", "a.stl", "--json=1");
  REFUSED(VERB_PLAN, "-o DIR", "a.stl");
  REFUSED(VERB_PEAKS, "no length", "a.stl", "--up", "0,0,0");
  REFUSED(VERB_PEAKS, "3 numbers", "a.stl", "--up", "0,0");
  REFUSED(VERB_PEAKS, "3 numbers", "a.stl", "--up", "0,0,1,2");
  REFUSED(VERB_PEAKS, "3 numbers", "a.stl", "--up", "0,,1");
  REFUSED(VERB_PEAKS, "3 numbers", "a.stl", "--up", "0,0,nan");
  REFUSED(VERB_PEAKS, "give one", "a.stl", "--up", "0,0,1", "--raise", "+x=5");
  REFUSED(VERB_PEAKS, "--raise is given twice", "a.stl", "--raise", "+x=5", "--raise", "+y=3");
  REFUSED(VERB_PEAKS, "another side has that name", "a.stl", "--side", "+x=a", "--side", "-y=a");
  REFUSED(VERB_PEAKS, "another side has that name", "a.stl", "--side", "+x=-y");
  REFUSED(VERB_CHECK, "--part needs a part's name", "a.stl", "--part", "");
  REFUSED(VERB_PLAN, "--keep-off needs a part's name", "a.stl", "-o", "x", "--keep-off=");
  REFUSED(VERB_PLAN, "-o needs a value: -o DIR", "a.stl", "-o");
  REFUSED(VERB_PEAKS, "twice what a level reads along x", "a.stl", "--raise", "+x=5,-x=3");
  REFUSED(VERB_TILTS, "names no attitude", "a.stl", "--compare", "");
  REFUSED(VERB_PEAKS, "write +x=15", "a.stl", "--raise", "15");
  REFUSED(VERB_PEAKS, "write +x=15", "a.stl", "--raise", "+z=15");
  REFUSED(VERB_PEAKS, "write +x=15", "a.stl", "--raise", "+x=15;");
  REFUSED(VERB_PEAKS, "past on edge", "a.stl", "--raise", "+x=120");
  REFUSED(VERB_PEAKS, "together", "a.stl", "--raise", "+x=80,+y=80");
  REFUSED(VERB_PEAKS, "give one", "a.stl", "--cube", "1", "--cubes", "1000");
  REFUSED(VERB_PEAKS, "out of range", "a.stl", "--cube", "-1");
  REFUSED(VERB_PEAKS, "not a number", "a.stl", "--cube", "1,5");
  REFUSED(VERB_CHECK, "not a whole number", "a.stl", "--threads", "1.5");
  REFUSED(VERB_TILTS, "give one", "a.stl", "--wall", "10", "--tool", "b.stl");
  REFUSED(VERB_RISE, "above 0", "a.stl", "--vent", "0,0,0,0");
  REFUSED(VERB_CHECK, "write z=12", "a.stl", "--parting", "12");
  REFUSED(VERB_CHECK, "write z=12", "a.stl", "--parting", "z=12,5");
  REFUSED(VERB_CHECK, "write z=12", "a.stl", "--parting", "0,0,12;0,1");
  REFUSED(VERB_CHECK, "normal without length", "a.stl", "--parting", "0,0,12;0,0,0");
  REFUSED(VERB_CHECK, "no length", "a.stl", "--draw", "0,0,0");
  REFUSED(VERB_PLAN, "write -z", "a.stl", "-o", "d", "--show-side", "top");
  REFUSED(VERB_PLAN, "draw, normal or up", "a.stl", "-o", "d", "--drill-along", "z");
}

/* `markers --datum 1e300,0,0` ended well, with empty cells. */
static void what_is_over_a_kilometre_away_is_refused(void **state) {
  (void)state;
  options o;
  ul_error err = {0};
  REFUSED(VERB_MARKERS, "--datum 1e300,0,0: 1e+300 mm is out of range: give -1000000 to 1000000 mm",
          "plan.json", "--datum", "1e300,0,0");
  REFUSED(VERB_MARKERS, "-1.5e+06 mm is out of range", "plan.json", "--datum", "0,0,-1.5e6");
  REFUSED(VERB_RISE, "mm is out of range", "a.stl", "--pour", "0,2e6,0");
  REFUSED(VERB_RISE, "mm is out of range", "a.stl", "--pour", "0,0,0;0,0,2e6");
  REFUSED(VERB_RISE, "mm is out of range", "a.stl", "--vent", "1e7,0,0");
  REFUSED(VERB_RISE, "mm is out of range", "a.stl", "--vent", "0,0,0,1e300");
  REFUSED(VERB_RISE, "mm is out of range", "a.stl", "--pour-hole", "0,0,0,1e7,plug");
  REFUSED(VERB_CHECK, "mm is out of range", "a.stl", "--parting", "z=1e300");
  REFUSED(VERB_CHECK, "mm is out of range", "a.stl", "--parting", "0,-1e7,0;0,0,1");
  REFUSED(VERB_PLAN, "mm is out of range", "a.stl", "-o", "d", "--keep-off", "0,0,0,1,1,1e7");
  REFUSED(VERB_CHARGE, "mm is out of range", "a.stl", "--lid", "100,1e300,3");
  REFUSED(VERB_CHARGE, "at most 1e+06", "a.stl", "--foam", "rigid-40", "--cup-test", "1e300,1");
  assert_ok(PARSE(VERB_MARKERS, &o, &err, "plan.json", "--datum", "1e6,-1e6,0"), &err);
  assert_ok(PARSE(VERB_CHECK, &o, &err, "a.stl", "--parting", "0,0,5;0,0,1e9"), &err);
}

/* They were taken, and nothing was made of them. */
static void a_level_rise_refuses_what_only_a_foam_has(void **state) {
  (void)state;
  options o;
  ul_error err = {0};
#define LEVEL(says, ...) REFUSED(VERB_RISE, says, "a.stl", "--level", __VA_ARGS__)
  LEVEL("--level rises no foam, so nothing is made of --foam: leave out that, or --level", "--foam",
        "rigid-40");
  LEVEL("nothing is made of --pack, --mix-s: ", "--pack", "1.2", "--mix-s=9", "--pack", "1.2");
  LEVEL("nothing is made of --seam-gap", "--parting", "z=5", "--seam-gap", "0.1");
  LEVEL("nothing is made of --mobility", "--mobility", "wet");
  LEVEL("nothing is made of --poured-up", "--poured-up", "0,1,0");
  LEVEL("nothing is made of the plug of a vent or hole", "--vent", "0,0,0,3,plug");
  LEVEL("nothing is made of the plug of a vent or hole", "--pour-hole", "0,0,0,3,plug");
  assert_ok(PARSE(VERB_RISE, &o, &err, "a.stl", "--level", "--vent", "0,0,0,3,leave", "--pour-hole",
                  "0,0,0,3", "--parting", "z=5"),
            &err);
}

static void a_parting_plane_is_a_height_or_a_point_and_a_normal(void **state) {
  (void)state;
  options o;
  ul_error err = {0};
  assert_ok(PARSE(VERB_CHECK, &o, &err, "a.stl", "--parting", "y=-12.5"), &err);
  assert_true(o.has_parting && o.parting_mm[1] == -12.5 && o.parting_normal[1] == 1);
  assert_ok(PARSE(VERB_PLAN, &o, &err, "a.stl", "-o", "d", "--parting", "1,2,3;0,3,4"), &err);
  assert_true(o.parting_mm[0] == 1 && o.parting_mm[2] == 3);
  assert_near(o.parting_normal[1], 0.6, 1e-15);
  assert_near(o.parting_normal[2], 0.8, 1e-15);
}

static void what_vents_keep_off_is_a_box_or_a_name(void **state) {
  (void)state;
  options o;
  ul_error err = {0};
  assert_ok(PARSE(VERB_PLAN, &o, &err, "a.stl", "-o", "d", "--keep-off", "5,6,7,1,2,9",
                  "--keep-off", "badge", "--show-side", "-z", "--drill-along", "up"),
            &err);
  assert_true(o.keep_box_count == 1 && o.keep_box[0][0][0] == 1 && o.keep_box[0][1][2] == 9);
  assert_int_equal(o.keep_part_count, 1);
  assert_string_equal(o.keep_part[0], "badge");
  assert_true(o.show_sides == 1u << 4 && o.along == UL_ALONG_UP);
  /* by names that are given later, too */
  assert_ok(PARSE(VERB_PLAN, &o, &err, "a.stl", "-o", "d", "--show-side", "front", "--datum-axes",
                  "hinge;front", "--side", "+y=front", "--side", "-x=hinge"),
            &err);
  assert_true(o.show_sides == 1u << 3);
  assert_near(o.datum.axis[0][0], -1, 0);
  assert_near(o.datum.axis[1][1], 1, 0);
  assert_near(o.datum.axis[2][2], -1, 0);
}

static void a_file_may_begin_with_a_dash_after_two_dashes(void **state) {
  (void)state;
  options o;
  ul_error err = {0};
  assert_ok(PARSE(VERB_CHECK, &o, &err, "--", "-odd.stl"), &err);
  assert_string_equal(o.cavity_file, "-odd.stl");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_is_over_a_kilometre_away_is_refused),
      cmocka_unit_test(a_level_rise_refuses_what_only_a_foam_has),
      cmocka_unit_test(values_are_taken_with_a_space_or_an_equals_sign),
      cmocka_unit_test(defaults_are_those_of_the_manual),
      cmocka_unit_test(raise_is_what_a_level_reads),
      cmocka_unit_test(a_side_answers_to_its_name),
      cmocka_unit_test(compare_holds_several_attitudes),
      cmocka_unit_test(what_makes_no_sense_is_refused_with_advice),
      cmocka_unit_test(a_parting_plane_is_a_height_or_a_point_and_a_normal),
      cmocka_unit_test(what_vents_keep_off_is_a_box_or_a_name),
      cmocka_unit_test(a_file_may_begin_with_a_dash_after_two_dashes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
