/* What is weighed, the clock, and the cautions. */
#include "shapes/check.h"
#include "ullage/cautions.h"
#include "ullage/charge.h"
#include "ullage/foam_card.h"
#include "ullage/packing.h"

#include <math.h>
#include <string.h>

static ul_foam cushion_60(void) { /* A to B 52:100, pack 1.1 to 1.3 */
  return *ul_foam_generic(2);
}

static ul_charge made(const ul_foam *f, double litres, const ul_charge_opts *o) {
  ul_charge c;
  ul_error err;
  assert_ok(ul_charge_make(f, litres * 1e6, o, &c, &err), &err);
  return c;
}

/* By hand: 10 l x 60 x 1.2 = 720 g, bleed 1.44, cup 5: 726.44, up to 727 g. Pigment 1.5 %: 10.9 g,
 * in steps of 1 g 11; A = 716 x 52/152 = 244.95. */
static void a_charge_by_hand_comes_out_the_same(void **state) {
  (void)state;
  ul_foam f = cushion_60();
  ul_charge_opts o = ul_charge_opts_default();
  ul_charge c = made(&f, 10, &o);
  assert_rel(c.pack, 1.2, 1e-12);
  assert_rel(c.in_cavity_g, 720, 1e-12);
  assert_rel(c.bleed_g, 1.44, 1e-12);
  assert_rel(c.cup_g, 5, 1e-12);
  assert_rel(c.pigment_g, 11, 1e-12);
  assert_rel(c.a_g, 245, 1e-12);
  assert_rel(c.b_g, 471, 1e-12);
  assert_rel(c.total_g, 727, 1e-12);
  assert_int_equal(c.cups, 1);
}

static void what_is_weighed_adds_up_and_fills(void **state) {
  (void)state;
  ul_charge_opts o = ul_charge_opts_default();
  for (size_t k = 0; k < ul_foam_generic_count(); k++)
    for (double litres = 0.2; litres < 50; litres *= 1.37) {
      const ul_foam *f = ul_foam_generic(k);
      ul_charge c = made(f, litres, &o);
      double need = litres * ul_mid(f->free_kg_m3) * c.pack + c.bleed_g + c.cup_g;
      assert_rel(c.a_g + c.b_g + c.pigment_g, c.total_g, 1e-12);
      assert_true(c.total_g > need - c.scale_g && c.total_g < need + 2 * c.scale_g);
      assert_true(fabs(remainder(c.a_g, c.scale_g)) < 1e-9);
      assert_true(fabs(remainder(c.b_g, c.scale_g)) < 1e-9);
      assert_near(c.a_g / c.b_g, ul_mid(f->a_parts) / 100, 3 * c.scale_g / c.b_g);
      /* 1 to 2 % of the total, into B: common practice; a casting guide says never over 2 % */
      assert_true(c.pigment_g >= 0.01 * c.total_g && c.pigment_g <= 0.02 * c.total_g);
    }
}

static void a_density_wanted_sets_the_pack(void **state) {
  (void)state;
  ul_foam f = cushion_60();
  ul_charge_opts o = ul_charge_opts_default();
  o.want_kg_m3 = 75;
  o.pigment_percent = 0;
  ul_charge c = made(&f, 2, &o);
  assert_rel(c.pack, 1.25, 1e-12);
  assert_rel(c.in_cavity_g, 150, 1e-12);
  assert_rel(c.part_kg_m3, 75, 1e-12);
  assert_true(c.pigment_g == 0);
}

static void a_cup_test_replaces_the_cards_density(void **state) {
  (void)state;
  ul_foam f = cushion_60();
  ul_charge_opts o = ul_charge_opts_default();
  assert_ok(ul_foam_cup_test(&f, 50, 1000, NULL), NULL);
  assert_rel(made(&f, 10, &o).in_cavity_g, 10 * 50 * 1.2, 1e-12);
}

static void is_in_steps(double grams, double step) {
  assert_true(fabs(remainder(grams, step)) < 1e-9 * (1 + grams));
}

/* "2 cups of 84.75 g" were told to a scale in steps of 1 g, and pigment of 2.5 g was 2 g on the
 * card. */
static void every_cup_is_weighed_as_the_scale_can(void **state) {
  (void)state;
  static const double scales[] = {0.1, 0.5, 1, 2};
  ul_foam f = cushion_60();
  for (size_t k = 0; k < sizeof scales / sizeof *scales; k++)
    for (double litres = 0.7; litres < 30; litres *= 1.31)
      for (double most = 60; most < 700; most *= 1.7) {
        ul_charge_opts o = ul_charge_opts_default();
        o.scale_g = scales[k];
        o.cup_max_g = most;
        ul_charge c = made(&f, litres, &o);
        const double cups = (double)c.cups, goes_in = c.in_cavity_g + c.bleed_g;
        const double need = goes_in / cups + 5;
        is_in_steps(c.each.a_g, scales[k]);
        is_in_steps(c.each.b_g, scales[k]);
        is_in_steps(c.each.pigment_g, scales[k]);
        assert_rel(c.each.a_g + c.each.b_g + c.each.pigment_g, c.each.total_g, 1e-12);
        assert_true(c.each.total_g <= most + 1e-9);
        assert_true(c.each.total_g >= need - 1e-6 && c.each.total_g < need + scales[k]);
        assert_rel(c.a_g, cups * c.each.a_g, 1e-12);
        assert_rel(c.b_g, cups * c.each.b_g, 1e-12);
        assert_near(c.pigment_g, cups * c.each.pigment_g, 1e-9);
        assert_rel(c.a_g + c.b_g + c.pigment_g, c.total_g, 1e-12);
        assert_near(c.each.pigment_g, 0.015 * c.each.total_g, scales[k] / 2 + 1e-9);
        /* no fewer would hold it */
        if (c.cups > 1) assert_true(goes_in / (cups - 1) + 5 > most - scales[k]);
      }
}

static void grams_have_the_decimals_of_the_scale(void **state) {
  (void)state;
  assert_int_equal(ul_scale_decimals(1), 0);
  assert_int_equal(ul_scale_decimals(5), 0);
  assert_int_equal(ul_scale_decimals(0.1), 1);
  assert_int_equal(ul_scale_decimals(2.5), 1);
  assert_int_equal(ul_scale_decimals(0.05), 2);
  assert_int_equal(ul_scale_decimals(0.01), 2);
}

/* 720 + 1.44 g in cups of 300, 5 of which stay: 721.44 / 295 = 2.4, so three, of 245.48 g each. Of
 * 246 g 4 are pigment, and of the rest 52/152 are A: 82.8. */
static void more_than_a_cup_is_shared_by_several(void **state) {
  (void)state;
  ul_foam f = cushion_60();
  ul_charge_opts o = ul_charge_opts_default();
  o.cup_max_g = 300;
  ul_charge c = made(&f, 10, &o);
  assert_int_equal(c.cups, 3);
  assert_rel(c.cup_g, 15, 1e-12);
  assert_true(c.total_g / 3 <= 300);
  assert_rel(c.total_g, 3 * 246, 1e-12);
  char remark[UL_CHARGE_REMARKS][UL_CHARGE_REMARK], cups[UL_CHARGE_REMARK];
  assert_int_equal(ul_charge_remarks(&f, &c, &o, remark), 0);
  assert_true(ul_charge_cups(&f, &c, &o, cups));
  assert_non_null(strstr(cups, "3 cups of 246 g each (A 83, B 159, pigment 4), mixed by 3 people"));
  assert_non_null(strstr(cups, "not lifts"));
  f.foam_class = UL_FOAM_RIGID;
  ul_charge_cups(&f, &c, &o, cups);
  assert_non_null(strstr(cups, "lifts, each poured"));
  o.cup_max_g = 0;
  c = made(&f, 10, &o);
  assert_false(ul_charge_cups(&f, &c, &o, cups));
}

static void a_coarse_scale_and_too_much_pigment_are_said(void **state) {
  (void)state;
  ul_foam f = cushion_60();
  ul_charge_opts o = ul_charge_opts_default();
  o.scale_g = 5;
  o.pigment_percent = 3;
  ul_charge c = made(&f, 0.5, &o);
  char remark[UL_CHARGE_REMARKS][UL_CHARGE_REMARK];
  assert_int_equal(ul_charge_remarks(&f, &c, &o, remark), 3);
  assert_non_null(strstr(remark[0], "3 % of the total"));
  assert_non_null(strstr(remark[1], "finer scale"));
  assert_true(fabs(c.a_g / c.b_g / 0.52 - 1 - ul_charge_ratio_off(&f, &c)) < 1e-12);
  assert_non_null(strstr(remark[2], "steps of 5 g make the pigment 0 g where 1.4 g are meant"));
  o = ul_charge_opts_default();
  c = made(&f, 10, &o);
  assert_int_equal(ul_charge_remarks(&f, &c, &o, remark), 0);
}

/* 10 g of A and 5 g of B for 110:100 was "off the card's ratio by over 1 %". */
static void how_far_the_scale_puts_the_ratio_off_is_said(void **state) {
  (void)state;
  ul_foam f = cushion_60();
  f.a_parts = (ul_span){110, 110};
  ul_charge c = {.a_g = 10, .b_g = 5, .total_g = 15, .scale_g = 5, .cups = 1};
  char remark[UL_CHARGE_REMARKS][UL_CHARGE_REMARK];
  const ul_charge_opts o = ul_charge_opts_default();
  assert_near(ul_charge_ratio_off(&f, &c), 2 / 1.1 - 1, 1e-12);
  assert_true(ul_charge_remarks(&f, &c, &o, remark) >= 1);
  assert_non_null(strstr(remark[0], "put A to B 81.8 % over the card's ratio"));
  c.b_g = 10;
  assert_true(ul_charge_remarks(&f, &c, &o, remark) >= 1);
  assert_non_null(strstr(remark[0], "put A to B 9.09 % under the card's ratio"));
}

#define REFUSED(field, value, says)                                                                \
  do {                                                                                             \
    ul_charge_opts o = ul_charge_opts_default();                                                   \
    o.field = value;                                                                               \
    refused(&o, 1e6, says);                                                                        \
  } while (0)

static void refused(const ul_charge_opts *o, double volume_mm3, const char *says) {
  ul_foam f = cushion_60();
  ul_charge c;
  ul_error err;
  assert_int_equal(ul_charge_make(&f, volume_mm3, o, &c, &err), UL_E_USAGE);
  if (!strstr(err.text, says)) print_message("said: %s\n", err.text);
  assert_non_null(strstr(err.text, says));
}

static void nonsense_is_refused_with_what_to_do(void **state) {
  (void)state;
  REFUSED(pack, -1, "negative");
  REFUSED(pack, 20, "heavier than the liquid");
  REFUSED(want_kg_m3, 1100, "heavier than the liquid");
  REFUSED(want_kg_m3, NAN, "negative");
  REFUSED(left_g, -1, "negative");
  REFUSED(pigment_percent, 30, "1 to 2 %");
  REFUSED(cup_max_g, 8, "larger cup");
  REFUSED(scale_g, 500, "a scale in steps of 500 g cannot weigh A and B of");
  REFUSED(cookie, 0, "ul_charge_opts_default");
  ul_charge_opts o = ul_charge_opts_default();
  refused(&o, 0, "takes no charge");
  o.scale_g = 11;
  o.cup_max_g = 10.5;
  refused(&o, 1e6, "a cup of 10.5 g at most, of which 5 g stay in it, on a scale in steps of 11 g");
  o.scale_g = o.cup_max_g = 0;
  o.pack = 1.2;
  o.want_kg_m3 = 70;
  refused(&o, 1e6, "give one");
}

/* ---- the clock ---- */

static void the_hands_are_added_up_and_set_against_the_foam(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling(); /* cream 25, set 110 */
  ul_hands hands = {.mix_s = 12, .pour_s = 6, .close_s = 8, .turn_s = 5};
  ul_clock c = ul_clock_run(&f, 1.2, &hands, NULL);
  assert_near(c.poured_s, 18, 1e-12);
  assert_near(c.shut_s, 26, 1e-12);
  assert_near(c.turned_s, 31, 1e-12);
  assert_near(c.pour_margin_s, 7, 1e-12);
  double x = 64.0 / 1080, e = (0.5 / 1.2 - x) / (1 - x); /* half full */
  double want = 25 + 85 * sqrt(log(1 - e) / log(0.02));
  assert_near(c.half_full_s, want, 1e-6);
  assert_near(c.shut_margin_s, want - 26, 1e-6);
  assert_near(c.turn_margin_s, want - 31, 1e-6);
}

static void slow_hands_have_margins_below_nothing(void **state) {
  (void)state;
  ul_foam f = cushion_60(); /* cream 18 s */
  ul_hands hands = ul_hands_default();
  ul_clock c = ul_clock_run(&f, 1.2, &hands, NULL);
  assert_near(c.pour_margin_s, 18 - 35, 1e-12);
}

static double level_at(double share) {
  double x = 64.0 / 1080, e = (share / 1.2 - x) / (1 - x);
  return 25 + 85 * sqrt(log(1 - e) / log(0.02));
}

/* Every cavity on its own charge: what a rise saw counts before what level foam would do. */
static void the_first_cavity_to_be_reached_is_what_it_must_be_shut_before(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  ul_hands hands = ul_hands_default();
  char words[UL_CLOCK_WORDS];
  ul_clock_cavity v[] = {
      {UL_OPENING_RIM, 0.9, NAN}, {UL_OPENING_HOLE, 0.3, NAN}, {UL_OPENING_UNKNOWN, 0, NAN}};
  ul_clock_mould m = {3, v, false};
  ul_clock c = ul_clock_run(&f, 1.2, &hands, &m);
  assert_near(c.shut_by_s, level_at(0.3), 1e-6);
  assert_string_equal(ul_clock_shut_words(&c, words), "foam is at the pour hole of cavity 2");
  v[1].reached_s = 300; /* seen to be later than reckoned */
  c = ul_clock_run(&f, 1.2, &hands, &m);
  assert_near(c.shut_by_s, level_at(0.5), 1e-6);
  assert_string_equal(ul_clock_shut_words(&c, words), "cavity 3 is half full");
  v[0].reached_s = 40;
  c = ul_clock_run(&f, 1.2, &hands, &m);
  assert_near(c.shut_by_s, 40, 0);
  assert_int_equal(c.shut_by, UL_BY_RIM);
  assert_int_equal(c.shut_cavity, 1);
  m.cavity_count = 1;
  c = ul_clock_run(&f, 1.2, &hands, &m);
  assert_int_equal(c.shut_cavity, 0);
  assert_string_equal(ul_clock_shut_words(&c, words), "foam is at the rim");
}

static void a_size_that_no_hands_pour_is_seen(void **state) {
  (void)state;
  const ul_foam f = cushion_60();
  ul_charge_opts o = ul_charge_opts_default();
  o.bleed_g = 0;
  const struct {
    double mm3;
    ul_size_for_hands size;
  } made[] = {
      {0.24, UL_SIZE_TOO_SMALL},  {6.9e3, UL_SIZE_TOO_SMALL}, /* 0.5 g are 6.94 ml at 72 kg/m3 */
      {7e3, UL_SIZE_BY_HAND},     {1.3e9, UL_SIZE_BY_HAND},
      {1.4e9, UL_SIZE_TOO_LARGE}, {2.4e14, UL_SIZE_TOO_LARGE}};
  for (size_t i = 0; i < sizeof made / sizeof *made; i++) {
    ul_charge c;
    ul_error err = {0};
    assert_ok(ul_charge_make(&f, made[i].mm3, &o, &c, &err), &err);
    assert_int_equal(ul_charge_size(&c), made[i].size);
  }
}

/* ---- cautions ---- */

static bool cautioned(const ul_caution_job *job, ul_when when, const char *word) {
  ul_caution all[32];
  size_t count = ul_cautions(job, all, 32);
  assert_true(count <= 32);
  for (size_t i = 0; i < count; i++) {
    if (i) assert_true(all[i].when >= all[i - 1].when);
    assert_true(strlen(all[i].text) < UL_CAUTION_WORDS - 1); /* nothing is cut off */
    if (all[i].when == when && strstr(all[i].text, word)) return true;
  }
  return false;
}

static void cautions_stand_where_the_act_is(void **state) {
  (void)state;
  ul_foam cushion = cushion_60(), rigid = *ul_foam_generic(0);
  ul_caution_job job = {.foam = &cushion, .half_gap_mm = 40};
  assert_true(cautioned(&job, UL_WHEN_WEIGH, "isocyanate"));
  assert_true(cautioned(&job, UL_WHEN_WEIGH, "moisture"));
  assert_true(cautioned(&job, UL_WHEN_CRUSH, "hour"));
  assert_true(cautioned(&job, UL_WHEN_HOLD, "pressure"));
  assert_true(cautioned(&job, UL_WHEN_ALWAYS, "data sheet and local rules"));
  assert_false(cautioned(&job, UL_WHEN_POUR, "Thick"));
  assert_false(cautioned(&job, UL_WHEN_DRILL, "Drill"));
  assert_false(cautioned(&job, UL_WHEN_DEMOULD, "tack-free"));
  cushion.tack_free_s = (ul_span){30, 30};
  assert_true(cautioned(&job, UL_WHEN_DEMOULD, "tack-free before it stops rising"));
  job = (ul_caution_job){
      .foam = &rigid, .half_gap_mm = 40, .drilled = true, .material = ul_material_find("plaster")};
  assert_true(cautioned(&job, UL_WHEN_POUR, "Thick"));
  assert_true(cautioned(&job, UL_WHEN_DRILL, "Drill"));
  assert_true(cautioned(&job, UL_WHEN_RELEASE, "damp"));
  assert_false(cautioned(&job, UL_WHEN_CRUSH, ""));
  job.half_gap_mm = 10;
  assert_false(cautioned(&job, UL_WHEN_POUR, "Thick"));
}

/* 150 kg/m3 for the card's 57 to 63 went into the charge without a word. */
static void a_cup_far_off_its_card_is_weighed_again(void **state) {
  (void)state;
  ul_foam f = cushion_60();
  ul_caution_job job = {.foam = &f};
  assert_false(cautioned(&job, UL_WHEN_WEIGH, "cup again"));
  for (int g = 40; g < 80; g++) { /* a fifth below 57 and over 63 */
    f = cushion_60();
    assert_ok(ul_foam_cup_test(&f, g, 1000, NULL), NULL);
    assert_true(cautioned(&job, UL_WHEN_WEIGH, "Weigh the cup again") == (g < 46 || g > 75));
  }
  f = cushion_60();
  assert_ok(ul_foam_cup_test(&f, 30, 500, NULL), NULL);
  assert_ok(ul_foam_cup_test(&f, 30, 200, NULL), NULL); /* it is still the card that is told */
  assert_true(cautioned(&job, UL_WHEN_WEIGH, "makes 150 kg/m3, and the foam card says 57 to 63"));
}

/* Fourier number 0.0635: centre of a slab at 0.98997 of its start (series, worked out apart). */
static void a_thick_core_stays_hot_for_minutes(void **state) {
  (void)state;
  assert_rel(ul_core_hot_s(50), 793.75, 1e-12);
  double fo = 0.0635, centre = 0;
  for (int n = 0; n < 50; n++) {
    double m = (2 * n + 1) * M_PI / 2;
    centre += (n % 2 ? -2 : 2) / m * exp(-m * m * fo);
  }
  assert_near(centre, 0.98997, 1e-5);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_charge_by_hand_comes_out_the_same),
      cmocka_unit_test(what_is_weighed_adds_up_and_fills),
      cmocka_unit_test(a_density_wanted_sets_the_pack),
      cmocka_unit_test(a_cup_test_replaces_the_cards_density),
      cmocka_unit_test(every_cup_is_weighed_as_the_scale_can),
      cmocka_unit_test(grams_have_the_decimals_of_the_scale),
      cmocka_unit_test(more_than_a_cup_is_shared_by_several),
      cmocka_unit_test(a_coarse_scale_and_too_much_pigment_are_said),
      cmocka_unit_test(how_far_the_scale_puts_the_ratio_off_is_said),
      cmocka_unit_test(nonsense_is_refused_with_what_to_do),
      cmocka_unit_test(the_hands_are_added_up_and_set_against_the_foam),
      cmocka_unit_test(slow_hands_have_margins_below_nothing),
      cmocka_unit_test(the_first_cavity_to_be_reached_is_what_it_must_be_shut_before),
      cmocka_unit_test(cautions_stand_where_the_act_is),
      cmocka_unit_test(a_size_that_no_hands_pour_is_seen),
      cmocka_unit_test(a_cup_far_off_its_card_is_weighed_again),
      cmocka_unit_test(a_thick_core_stays_hot_for_minutes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
