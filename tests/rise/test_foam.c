#include "shapes/check.h"
#include "ullage/foam.h"

#include <math.h>
#include <string.h>

/* Baser & Khakhar 1994 (Polym Eng Sci 34:632 and 642, pages from memory): the form. The set of
 * constants is quoted for a water-blown foam; that it is Geier, Winkler & Piesche's of 2009 is from
 * memory and unsure. The tables were computed with fourth-order Runge-Kutta at 0.01 s by another
 * program: at 101 325 Pa from 300 K, all the carbon dioxide in the gas. */
static const ul_kinetics set_a = {.a_oh = 1,
                                  .e_oh = 35140,
                                  .a_w = 1050,
                                  .e_w = 27040,
                                  .c_oh = 5140,
                                  .c_nco = 4455,
                                  .c_w = 671,
                                  .dh_oh = 68500,
                                  .dh_w = 81500,
                                  .liquid_kg_m3 = 1100,
                                  .c_j_kg_k = 1800,
                                  .start_k = 300,
                                  .pressure_pa = 101325};

static void kinetics_reach_the_tabulated_values(void **state) {
  (void)state;
  static const double row[][5] = {
      {5, 0.018919, 0.108707, 306.3667, 388.1768},  {10, 0.042691, 0.230117, 313.9473, 220.9791},
      {20, 0.113057, 0.512623, 334.2625, 105.4175}, {30, 0.233011, 0.810110, 363.8095, 63.8502},
      {40, 0.397302, 0.976745, 397.6266, 49.1412},  {60, 0.579292, 0.999997, 430.6309, 44.5150},
      {100, 0.605443, 1.000000, 435.2813, 44.0583}};
  for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
    ul_kinetics_state s = ul_kinetics_run(&set_a, row[i][0], 0.01);
    assert_near(s.x_oh, row[i][1], 0.5e-6);
    assert_near(s.x_w, row[i][2], 0.5e-6);
    assert_near(s.t_k, row[i][3], 0.5e-4);
    assert_near(ul_kinetics_density(&set_a, &s), row[i][4], 0.5e-4);
  }
  ul_kinetics_state end = ul_kinetics_run(&set_a, 400, 0.01);
  assert_near(end.x_oh, 3113.0 / 5140.0, 1e-6); /* the isocyanate runs out */
  assert_near(end.t_k, 435.3167, 1e-4);
}

static void kinetics_converge_at_fourth_order(void **state) {
  (void)state;
  double exact = ul_kinetics_run(&set_a, 30, 0.005).t_k;
  double coarse = fabs(ul_kinetics_run(&set_a, 30, 2).t_k - exact);
  double fine = fabs(ul_kinetics_run(&set_a, 30, 1).t_k - exact);
  assert_true(coarse / fine > 11 && coarse / fine < 23);
}

/* The same reaction kept at 300 K, by a heat capacity that nothing warms. */
static void kinetics_at_one_temperature_reach_the_tabulated_densities(void **state) {
  (void)state;
  ul_kinetics held = set_a;
  held.c_j_kg_k = 1e30;
  static const double row[][2] = {{60, 86.5453}, {300, 62.9157}};
  for (size_t i = 0; i < 2; i++) {
    ul_kinetics_state s = ul_kinetics_run(&held, row[i][0], 0.01);
    assert_near(s.t_k, 300, 1e-9);
    assert_near(ul_kinetics_density(&held, &s), row[i][1], 0.5e-4);
  }
}

/* Gel at half of the conversion, as Baser & Khakhar have it: between 47 and 48 s. */
static void half_the_hydroxyl_is_gone_between_47_and_48_s(void **state) {
  (void)state;
  assert_true(ul_kinetics_run(&set_a, 47, 0.01).x_oh < 0.5);
  assert_true(ul_kinetics_run(&set_a, 48, 0.01).x_oh > 0.5);
}

/* mu = A exp(E/RT) (Xg/(Xg-X))^(a+bX). In turn: Castro & Macosko 1982 (AIChE J 28, doi
 * 10.1002/aic.690280213), two fits; J Appl Polym Sci 62:567, 1996; doi 10.1002/pen.760311605 (its
 * gel point is the resin's own: 0.64 taken). The values were computed elsewhere, to the digits
 * given: half of the last one is asked. */
static void viscosity_reaches_the_tabulated_values(void **state) {
  (void)state;
  static const struct {
    double a_pa_s, e, a, b, gel;
    struct {
      double t_k, x, mu, half_digit;
    } at[4];
  } set[] = {{4.1e-8,
              38300,
              4.0,
              -2.0,
              0.85,
              {{298.15, 0, 0.21021, 5e-6},
               {298.15, 0.3, 0.923517, 5e-7},
               {323.15, 0.3, 0.279477, 5e-7},
               {323.15, 0.6, 1.95747, 5e-6}}},
             {10.3e-8,
              41300,
              1.5,
              1.0,
              0.65,
              {{298.15, 0, 1.77127, 5e-6},
               {298.15, 0.3, 5.39766, 5e-6},
               {323.15, 0.3, 1.48746, 5e-6},
               {323.15, 0.6, 106.612, 5e-4}}},
             {3.32e-8,
              42900,
              2.32,
              1.4,
              0.64,
              {{298.15, 0, 1.08866, 5e-6},
               {298.15, 0.3, 6.1599, 5e-5},
               {323.15, 0.3, 1.61484, 5e-6},
               {323.15, 0.6, 1821.66, 5e-3}}},
             {1.6e-7,
              44900,
              1.29,
              1.86,
              0.64,
              {{298.15, 0, 11.756, 5e-4},
               {298.15, 0.3, 37.8362, 5e-5},
               {323.15, 0.3, 9.3187, 5e-5},
               {323.15, 0.6, 2284.65, 5e-3}}}};
  for (size_t i = 0; i < 4; i++) {
    for (size_t j = 0; j < 4; j++) {
      const double liquid = set[i].a_pa_s * exp(set[i].e / (8.314462618 * set[i].at[j].t_k));
      const double mu = liquid * ul_castro_macosko(set[i].at[j].x, set[i].gel, set[i].a, set[i].b);
      assert_near(mu, set[i].at[j].mu, set[i].at[j].half_digit);
    }
    assert_true(isinf(ul_castro_macosko(set[i].gel, set[i].gel, set[i].a, set[i].b)));
  }
}

static void progress_is_nothing_to_cream_and_98_percent_at_rise(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  assert_rel(ul_foam_progress(&f, 25), 0, 0);
  assert_rel(ul_foam_progress(&f, 110), 0.98, 1e-12);
  assert_rel(ul_foam_progress(&f, 1e6), 0.98, 1e-12); /* frozen at set */
  for (int t = 26; t < 110; t++) assert_true(ul_foam_progress(&f, t) < ul_foam_progress(&f, t + 1));
  f.curve_count = 3;
  memcpy(f.curve_s, (double[]){25, 65, 105}, 3 * sizeof(double));
  memcpy(f.curve_progress, (double[]){0, 0.5, 0.9}, 3 * sizeof(double));
  assert_rel(ul_foam_progress(&f, 45), 0.25, 1e-12);
  assert_rel(ul_foam_progress(&f, 85), 0.7, 1e-12);
  assert_rel(ul_foam_progress(&f, 108), 0.9, 1e-12);
}

/* With x = free/liquid density and no air left, p/p0 = P(1-x)e/(1-Px): gas is conserved and the
 * liquid incompressible. Solved here for the volume, not by the formula the rise uses. */
static void packed_foam_stands_at_the_closed_form_pressure(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  double x = 64.0 / 1080;
  for (double pack = 1.05; pack < 3; pack += 0.25)
    for (double e = 0.7; e <= 1; e += 0.1) {
      double p = UL_ATMOSPHERE_PA * pack * (1 - x) * e / (1 - pack * x);
      assert_rel(ul_foam_volume_m3_kg(&f, e, p), 1 / (pack * 64), 1e-12);
    }
}

static void viscosity_is_capped_at_gel_and_gas_thickens(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  assert_rel(ul_foam_liquid_viscosity(&f, 0), 1, 1e-12);
  assert_rel(ul_foam_liquid_viscosity(&f, 40), pow(2, 1.5 + 0.325), 1e-12);
  assert_rel(ul_foam_liquid_viscosity(&f, 80), 100, 1e-12);
  assert_rel(ul_foam_liquid_viscosity(&f, 1000), 100, 1e-12);
  assert_rel(ul_foam_gas_factor(&f, 1.0 / 1080), 1, 1e-12);
  assert_rel(ul_foam_gas_factor(&f, 4.0 / 1080), 4, 1e-12);
  assert_rel(ul_foam_gas_factor(&f, 1), f.gas_cap, 1e-12);
}

static void warmer_liquids_are_twice_as_fast_per_10_k(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  f.gel_per_10k = 1.5;
  assert_ok(ul_foam_at_temperature(&f, 30, NULL), NULL);
  assert_rel(ul_mid(f.cream_s), 12.5, 1e-12);
  assert_rel(ul_mid(f.gel_s), 80 / 1.5, 1e-12);
  assert_rel(ul_mid(f.rise_s), 110 / 1.5, 1e-12);
  assert_rel(ul_mid(f.viscosity_pa_s), exp(41300 / 8.314462618 * (1 / 303.15 - 1 / 293.15)), 1e-9);
  assert_int_equal(ul_foam_at_temperature(&f, 400, NULL), UL_E_USAGE);
}

static void a_cup_test_replaces_the_free_rise_density(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  ul_error err;
  assert_ok(ul_foam_cup_test(&f, 30, 500, &err), &err);
  assert_rel(ul_mid(f.free_kg_m3), 60, 1e-12);
  assert_int_equal(ul_foam_cup_test(&f, 30, 28, &err), UL_E_USAGE);
  assert_int_equal(ul_foam_cup_test(&f, 0, 500, &err), UL_E_USAGE);
  assert_rel(ul_mid(f.free_kg_m3), 60, 1e-12);
}

static void absurd_values_are_refused_with_the_number(void **state) {
  (void)state;
  ul_error err;
  ul_foam f = ul_foam_middling();
  assert_ok(ul_foam_check(&f, &err), &err);
  f.gel_s = (ul_span){20, 22};
  assert_int_equal(ul_foam_check(&f, &err), UL_E_CARD);
  assert_string_equal(err.text, "cream at 25 s does not come before gel at 21 s: check both times");
  f = ul_foam_middling();
  f.free_kg_m3 = (ul_span){6, 6};
  assert_int_equal(ul_foam_check(&f, &err), UL_E_CARD);
  assert_non_null(strstr(err.text, "free-rise density is 6 kg/m3"));
  f = ul_foam_middling();
  f.rise_s = (ul_span){NAN, NAN};
  assert_int_equal(ul_foam_check(&f, &err), UL_E_CARD);
  f = ul_foam_middling();
  f.free_kg_m3 = (ul_span){1060, 1060};
  assert_int_equal(ul_foam_check(&f, &err), UL_E_CARD);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(kinetics_reach_the_tabulated_values),
      cmocka_unit_test(kinetics_at_one_temperature_reach_the_tabulated_densities),
      cmocka_unit_test(half_the_hydroxyl_is_gone_between_47_and_48_s),
      cmocka_unit_test(kinetics_converge_at_fourth_order),
      cmocka_unit_test(viscosity_reaches_the_tabulated_values),
      cmocka_unit_test(progress_is_nothing_to_cream_and_98_percent_at_rise),
      cmocka_unit_test(packed_foam_stands_at_the_closed_form_pressure),
      cmocka_unit_test(viscosity_is_capped_at_gel_and_gas_thickens),
      cmocka_unit_test(warmer_liquids_are_twice_as_fast_per_10_k),
      cmocka_unit_test(a_cup_test_replaces_the_free_rise_density),
      cmocka_unit_test(absurd_values_are_refused_with_the_number),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
