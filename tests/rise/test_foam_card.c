#include "shapes/check.h"
#include "ullage/foam_card.h"

#include <locale.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char *const good = "\xef\xbb\xbf# bow balls\n"
                                "name = Bow ball #2\n"
                                "Class: Rigid\n"
                                "liquid density = 1.1 g/cm3\n"
                                "free-rise density = 3.9-4.1 pcf # of a 300 g cup\n"
                                "viscosity = 650 cP\n"
                                "A to B = 110:100\n"
                                "cream = 36 +- 4 s\n"
                                "  gel = 2,5 min\n"
                                "rise = 170 to 190 s\n"
                                "temperature = 68 F ; warm\n"
                                "gel_cap = 50\n";

static ul_status read_text(const char *text, ul_foam *foam, ul_error *err) {
  FILE *f = fmemopen((void *)(uintptr_t)text, strlen(text), "r");
  ul_status status = ul_foam_read(f, NULL, foam, err);
  fclose(f);
  return status;
}

static void values_come_with_units_and_spans(void **state) {
  (void)state;
  ul_foam f;
  ul_error err;
  assert_ok(read_text(good, &f, &err), &err);
  assert_string_equal(f.name, "Bow ball #2");
  assert_int_equal(f.foam_class, UL_FOAM_RIGID);
  assert_rel(ul_mid(f.liquid_kg_m3), 1100, 1e-12);
  assert_rel(f.free_kg_m3.lo, 3.9 * 16.018463373960,
             1e-12); /* exact by definition of pound and foot */
  assert_rel(f.free_kg_m3.hi, 4.1 * 16.018463373960, 1e-12);
  assert_rel(ul_mid(f.viscosity_pa_s), 0.65, 1e-12);
  assert_rel(ul_mid(f.a_parts), 110, 1e-12);
  assert_rel(f.cream_s.lo, 32, 1e-12);
  assert_rel(f.cream_s.hi, 40, 1e-12);
  assert_rel(ul_mid(f.gel_s), 150, 1e-12);
  assert_rel(f.rise_s.hi, 190, 1e-12);
  assert_rel(f.temperature_c, 20, 1e-12);
  assert_rel(f.gel_cap, 50, 1e-12);
}

static void a_comma_locale_changes_nothing(void **state) {
  (void)state;
  static const char *const tried[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "de_DE.utf8"};
  for (size_t i = 0; i < 3 && !setlocale(LC_ALL, tried[i]); i++) {
  }
  ul_foam f;
  ul_error err;
  assert_ok(read_text(good, &f, &err), &err);
  assert_rel(ul_mid(f.liquid_kg_m3), 1100, 1e-12);
  setlocale(LC_ALL, "C");
}

/* The good card with the line that begins with `key` replaced; an empty `line` drops it. */
static void refused(const char *key, const char *line, const char *said) {
  char text[1000] = "";
  const char *at = strstr(good, key), *end = strchr(at, '\n') + 1;
  snprintf(text, sizeof text, "%.*s%s%s%s", (int)(at - good), good, line, *line ? "\n" : "", end);
  ul_foam f = {.cm_a = 77};
  ul_error err = {0};
  assert_int_equal(read_text(text, &f, &err), UL_E_CARD);
  if (!strstr(err.text, said)) print_message("said: %s\n", err.text);
  assert_non_null(strstr(err.text, said));
  assert_rel(f.cm_a, 77, 0); /* what was there stays */
}

static void what_is_wrong_is_said_with_line_and_remedy(void **state) {
  (void)state;
  refused("cream", "creem = 30 s", "line 8: unknown key 'creem': the nearest one is 'cream'");
  refused("viscosity", "viscosity = 6,500 cP",
          "line 6: viscosity = 6,500 cP: a comma of thousands or a decimal one? write 6500 or 6.5");
  refused("cream", "cream = 30", "line 8: cream = 30: give the number with its unit: s min h");
  refused("cream", "cream = 30 cP", "give the number with its unit: s min h");
  refused("cream", "cream = soon", "line 8: cream = soon: this is no number");
  refused("cream", "cream = nan s", "this is no number");
  refused("cream", "cream = 0.0001 s", "cream is 0.0001 s, which no foam has");
  refused("cream", "cream = 160 s", "cream at 160 s does not come before gel at 150 s");
  refused("cream", "", "the card says no 'cream'");
  refused("cream", "gel = 1 min", "line 9: 'gel' is given again (first on line 8)");
  refused("Class", "class = hard", "give rigid, cushion or self-skinning");
  refused("A to B", "a to b = 1.1", "give parts of A to 100 of B");
  refused("gel_cap", "gel cap = 50-60", "one number is wanted here, not a span");
  refused("gel_cap", "gel cap = 50 s", "a number alone is wanted here");
  refused("cream", "cream 30 s", "line 8 is not `key = value unit`");
  refused("rise =", "rise = 190 to 170 s", "rise runs from 190 down to 170 s");
  refused("gel_cap", "rise curve = /nowhere/at all.csv", "rise curve /nowhere/at all.csv: ");
}

/* The good card and one line more. */
static ul_foam with_line(const char *line) {
  char text[1000];
  ul_foam f;
  ul_error err;
  snprintf(text, sizeof text, "%s%s\n", good, line);
  char *cap = strstr(text, "gel_cap = 50");
  if (strstr(line, "gel cap")) memset(cap, ' ', strlen("gel_cap = 50"));
  assert_ok(read_text(text, &f, &err), &err);
  return f;
}

static void times_that_cannot_be_are_refused_with_their_line(void **state) {
  (void)state;
  refused("cream", "cream = 160 s", "line 8: cream at 160 s does not come before gel at 150 s");
  refused("gel_cap", "demould = 100 s", "line 12: demould at 100 s comes before rise at 180 s");
  refused("gel_cap", "demould = 170 s\nset = 4 min",
          "line 12: demould at 170 s comes before set at 240 s");
  refused("rise =", "rise = 190 to 170 s", "line 10: rise runs from 190 down to 170 s");
  refused("gel_cap", "rise shape = 20", "line 12: rise shape is 20 ");
  refused("gel_cap", "rise progress = 2", "line 12: rise progress is 2 ");
  ul_foam f = with_line("demould = 3 min");
  assert_rel(ul_mid(f.demould_s), 180, 1e-12);
  f = with_line("rise shape = 2"); /* neither is said: not before it stops */
  assert_true(ul_mid(f.tack_free_s) >= 180 && ul_mid(f.demould_s) >= 180);
  f = with_line("tack-free = 170 s"); /* doubtful, and told as a caution */
  assert_rel(ul_mid(f.tack_free_s), 170, 1e-12);
}

static void units_are_read_as_people_write_them(void **state) {
  (void)state;
  static const struct {
    const char *key, *line;
  } same[] = {{"liquid", "liquid density = 1.1 g/cm\xc2\xb3"},
              {"liquid", "liquid density = 1100 kg/m^3"},
              {"liquid", "liquid density = 1100 kg/m\xc2\xb3"},
              {"viscosity", "viscosity = 650 mPa.s"},
              {"viscosity", "viscosity = 650 mPa\xc2\xb7s"},
              {"viscosity", "viscosity = 0.65 Pa.s"},
              {"viscosity", "viscosity = 650 cps"},
              {"  gel", "gel = 150 sec"},
              {"  gel", "gel = 150 seconds"},
              {"temperature", "temperature = 20 \xc2\xb0"
                              "C"},
              {"temperature", "temperature = 68 \xc2\xb0"
                              "F"},
              {"temperature", "temperature = 20 deg C"}};
  for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
    char text[1000];
    ul_foam f;
    ul_error err = {0};
    const char *at = strstr(good, same[i].key), *end = strchr(at, '\n');
    snprintf(text, sizeof text, "%.*s%s%s", (int)(at - good), good, same[i].line, end);
    assert_ok(read_text(text, &f, &err), &err);
    assert_rel(ul_mid(f.liquid_kg_m3), 1100, 1e-12);
    assert_rel(ul_mid(f.viscosity_pa_s), 0.65, 1e-12);
    assert_rel(ul_mid(f.gel_s), 150, 1e-12);
    assert_rel(f.temperature_c, 20, 1e-12);
  }
}

static void a_line_that_is_too_long_is_refused(void **state) {
  (void)state;
  char text[600] = "name = ";
  memset(text + 7, 'x', 500);
  ul_foam f;
  ul_error err;
  assert_int_equal(read_text(text, &f, &err), UL_E_CARD);
  assert_non_null(strstr(err.text, "line 1 is longer than"));
  memcpy(text + 100, "\n", 2); /* it fits the line, not the name */
  assert_int_equal(read_text(text, &f, &err), UL_E_CARD);
  assert_non_null(strstr(err.text, "too long"));
}

static void a_printed_card_reads_back_the_same(void **state) {
  (void)state;
  for (size_t i = 0; i < ul_foam_generic_count(); i++) {
    ul_foam back;
    ul_error err;
    FILE *f = tmpfile();
    assert_true(ul_foam_print(ul_foam_generic(i), f));
    rewind(f);
    assert_ok(ul_foam_read(f, NULL, &back, &err), &err);
    fclose(f);
    assert_memory_equal(&back, ul_foam_generic(i), sizeof back);
  }
}

static void every_generic_card_is_usable_and_says_what_it_is(void **state) {
  (void)state;
  int of_class[UL_FOAM_CLASS_END] = {0};
  assert_int_equal(ul_foam_generic_count(), 6);
  for (size_t i = 0; i < 6; i++) {
    ul_foam f;
    ul_error err;
    assert_ok(ul_foam_load(ul_foam_generic(i)->name, &f, &err), &err);
    assert_ok(ul_foam_check(&f, &err), &err);
    assert_string_equal(f.note, "generic example, use your own data sheet");
    of_class[f.foam_class]++;
  }
  for (int c = 0; c < UL_FOAM_CLASS_END; c++) assert_int_equal(of_class[c], 2);
  assert_null(ul_foam_generic(6));
}

static void write_file(const char *path, const char *text) {
  FILE *f = fopen(path, "w");
  assert_non_null(f);
  fputs(text, f);
  fclose(f);
}

/* Cream 36, gel 150, rise 180 s; 0.65 Pa s, 1100 and 64.07 kg/m3; every other constant as the docs
 * have it. By hand, with one constant changed at a time. */
static void every_constant_of_the_model_can_be_set_and_is_used(void **state) {
  (void)state;
  const double s = (100 - 36) / 144.0;
  ul_foam f = with_line("rise progress = 0.9");
  assert_rel(ul_foam_progress(&f, 100), 1 - pow(0.1, s * s), 1e-12);
  f = with_line("rise shape = 3");
  assert_rel(ul_foam_progress(&f, 100), 1 - pow(0.02, s * s * s), 1e-12);
  f = with_line("set = 100 s");
  assert_rel(ul_foam_progress(&f, 999), 1 - pow(0.02, s * s), 1e-12);
  /* Half way to gel the conversion is 0.325 of 0.65: the base is 2. */
  f = with_line("cure a = 2.5");
  assert_rel(ul_foam_liquid_viscosity(&f, 75), 0.65 * pow(2, 2.5 + 0.325), 1e-12);
  f = with_line("cure b = -1");
  assert_rel(ul_foam_liquid_viscosity(&f, 75), 0.65 * pow(2, 1.5 - 0.325), 1e-12);
  f = with_line("gel conversion = 0.8");
  assert_rel(ul_foam_liquid_viscosity(&f, 75), 0.65 * pow(2, 1.5 + 0.4), 1e-12);
  f = with_line("gel cap = 7");
  assert_rel(ul_foam_liquid_viscosity(&f, 150), 0.65 * 7, 1e-12);
  /* A quarter of it liquid. */
  const double v = 4 / 1100.0;
  f = with_line("gas power = 2");
  assert_rel(ul_foam_gas_factor(&f, v), 16, 1e-12);
  f = with_line("gas cap = 3");
  assert_rel(ul_foam_gas_factor(&f, v), 3, 1e-12);
  /* The card holds at 20 C. */
  f = with_line("cream per 10 K = 3");
  assert_ok(ul_foam_at_temperature(&f, 30, NULL), NULL);
  assert_rel(ul_mid(f.cream_s), 36 / 3.0, 1e-9);
  assert_rel(ul_mid(f.gel_s), 150 / 2.0, 1e-9);
  f = with_line("gel per 10 K = 1.5");
  assert_ok(ul_foam_at_temperature(&f, 30, NULL), NULL);
  assert_rel(ul_mid(f.gel_s), 100, 1e-9);
  assert_rel(ul_mid(f.rise_s), 120, 1e-9);
  f = with_line("viscosity energy = 20000");
  assert_ok(ul_foam_at_temperature(&f, 30, NULL), NULL);
  double falls = exp(20000 / 8.314462618 * (1 / 303.15 - 1 / 293.15));
  assert_rel(ul_mid(f.viscosity_pa_s), 0.65 * falls, 1e-9);
}

static void a_measured_curve_is_read_from_beside_the_card(void **state) {
  (void)state;
  char folder[] = "/tmp/ullage-card-XXXXXX", card[64], curve[64], text[1000];
  assert_non_null(mkdtemp(folder));
  snprintf(card, sizeof card, "%s/ball.card", folder);
  snprintf(curve, sizeof curve, "%s/rise.csv", folder);
  snprintf(text, sizeof text, "%srise curve = rise.csv\n", good);
  write_file(card, text);
  write_file(curve, "\xef\xbb\xbftime s;height mm\n36;20\n100;70,0\n\n180;120\n190;119\n");
  ul_foam f;
  ul_error err;
  assert_ok(ul_foam_load(card, &f, &err), &err);
  assert_int_equal(f.curve_count, 3);
  assert_rel(f.curve_progress[1], 0.5, 1e-12);
  assert_rel(ul_foam_progress(&f, 68), 0.25, 1e-12);
  assert_rel(ul_foam_progress(&f, 180), 1, 1e-12);
  write_file(curve, "t\tml\n36\t150\n100\t525\n180\t900\n"); /* the same as volumes */
  ul_foam g;
  assert_ok(ul_foam_load(card, &g, &err), &err);
  for (double t = 30; t < 200; t += 7)
    assert_near(ul_foam_progress(&g, t), ul_foam_progress(&f, t), 1e-12);
  write_file(curve, "36,20\n30,70\n180,120\n");
  assert_int_equal(ul_foam_load(card, &f, &err), UL_E_CARD);
  assert_non_null(strstr(err.text, "rise curve, point 2 (30 s"));
  write_file(curve, "36,20\n40,20\n");
  assert_int_equal(ul_foam_load(card, &f, &err), UL_E_CARD);
  assert_non_null(strstr(err.text, "shows no rise"));
  write_file(curve, "36,20\n40 and more\n");
  assert_int_equal(ul_foam_load(card, &f, &err), UL_E_CARD);
  assert_non_null(strstr(err.text, "line 2: two numbers are wanted"));
  unlink(card);
  unlink(curve);
  rmdir(folder);
  assert_int_equal(ul_foam_load(card, &f, &err), UL_E_READ);
  assert_non_null(strstr(err.text, "no generic card either"));
}

/* Cream 36, rise 180 s. */
static void a_curve_that_cannot_be_is_refused_with_its_line(void **state) {
  (void)state;
  char folder[] = "/tmp/ullage-card-XXXXXX", card[64], curve[64], text[1000];
  assert_non_null(mkdtemp(folder));
  snprintf(card, sizeof card, "%s/ball.card", folder);
  snprintf(curve, sizeof curve, "%s/rise.csv", folder);
  snprintf(text, sizeof text, "%srise curve = rise.csv\n", good);
  write_file(card, text);
  static const struct {
    const char *csv, *says;
  } wrong[] = {
      {"t,h\n36,10\n150,110\n180,105\n", "point 3 (180 s, 105), line 4 of "},
      {"t,h\n36,10\n150,110\n180,105\n", "it falls from 110; end it at its highest point"},
      {"36,10\n\n100,60\n120,50\n180,110\n", "point 3 (120 s, 50), line 4 of "},
      {"36,10\n150,50\n140,60\n180,110\n", "point 3 (140 s, 60), line 3 of "},
      {"36,10\n150,50\n150,60\n180,110\n", "times run on from the start of mixing"},
      {"-5,10\n180,110\n", "point 1 (-5 s, 10), line 1 of "},
      {"36,10\n180,inf\n", "rise.csv, line 2: two numbers are wanted"},
      {"36,nan\n180,110\n", "rise.csv, line 1: two numbers are wanted"},
      {"10,10\n20,110\n", "line 13: rise curve is 100 % up at cream, 36 s (it ends at 20 s)"},
      {"36,10\n400,110\n", "line 13: rise curve is only 40 % up at rise, 180 s, where the foam "
                           "stops; it ends at 400 s: give that as rise"},
  };
  ul_foam f;
  for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
    ul_error err = {0};
    write_file(curve, wrong[i].csv);
    assert_int_equal(ul_foam_load(card, &f, &err), UL_E_CARD);
    if (!strstr(err.text, wrong[i].says)) print_message("said: %s\n", err.text);
    assert_non_null(strstr(err.text, wrong[i].says));
  }
  ul_error err = {0};
  write_file(curve, "0,10\n36,10\n185,110\n190,108.5\n"); /* settles by 1.5 % */
  assert_ok(ul_foam_load(card, &f, &err), &err);
  snprintf(text, sizeof text, "%srise curve = rise.csv\nset = 100 s\n", good); /* so it is meant */
  write_file(card, text);
  write_file(curve, "36,10\n400,110\n");
  assert_ok(ul_foam_load(card, &f, &err), &err);
  unlink(card);
  unlink(curve);
  rmdir(folder);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(values_come_with_units_and_spans),
      cmocka_unit_test(a_comma_locale_changes_nothing),
      cmocka_unit_test(what_is_wrong_is_said_with_line_and_remedy),
      cmocka_unit_test(times_that_cannot_be_are_refused_with_their_line),
      cmocka_unit_test(units_are_read_as_people_write_them),
      cmocka_unit_test(a_line_that_is_too_long_is_refused),
      cmocka_unit_test(a_printed_card_reads_back_the_same),
      cmocka_unit_test(every_generic_card_is_usable_and_says_what_it_is),
      cmocka_unit_test(every_constant_of_the_model_can_be_set_and_is_used),
      cmocka_unit_test(a_measured_curve_is_read_from_beside_the_card),
      cmocka_unit_test(a_curve_that_cannot_be_is_refused_with_its_line),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
