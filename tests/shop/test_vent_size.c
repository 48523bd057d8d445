/* Air through vents, and the size that follows. */
#include "rise/vent_flow.h"
#include "shapes/check.h"
#include "ullage/foam_card.h"
#include "ullage/vent_size.h"

#include <math.h>

#define AT_25_C 298.15
#define P0      101325.0

/* l/min at 1 atm of an orifice of 0.61. */
static double litres_min(double d_mm, double back_pa) {
  ul_bore hole = {d_mm * 1e-3, 0, 0.61};
  double kg_s = ul_bore_air_kg_s(&hole, P0 + back_pa, P0, AT_25_C, UL_AIR_VISCOSITY);
  return kg_s * UL_AIR_J_KG_K * AT_25_C / P0 * 6e4;
}

/* Isentropic flow, gamma 1.4, worked out at high precision. */
static void an_orifice_lets_out_what_compressible_flow_says(void **state) {
  (void)state;
  assert_rel(litres_min(1, 1000), 1.18106, 1e-5);
  assert_rel(litres_min(2, 1000), 4.72425, 1e-5);
  assert_rel(litres_min(3, 1000), 10.62956, 1e-5);
  assert_rel(litres_min(3, 100), 3.36243, 1e-5);
  assert_rel(litres_min(3, 10000), 33.50696, 1e-5);
  assert_rel(litres_min(2, 50000), 32.84089, 1e-5);
}

/* Choked above 90 476 Pa gauge: flow then goes with the absolute pressure inside. */
static void a_choked_orifice_follows_the_pressure_inside_alone(void **state) {
  (void)state;
  assert_rel(litres_min(2, 300000) / litres_min(2, 91000), (300000 + P0) / (91000 + P0), 1e-12);
  assert_true(litres_min(2, 80000) / litres_min(2, 91000) < (80000 + P0) / (91000 + P0));
  ul_bore hole = {2e-3, 0, 0.61};
  double kg_s = ul_bore_air_kg_s(&hole, 3 * P0, P0, AT_25_C, UL_AIR_VISCOSITY);
  double choked = 0.684731456 * 0.61 * M_PI / 4 * 4e-6 * 3 * P0 / sqrt(UL_AIR_J_KG_K * AT_25_C);
  assert_rel(kg_s, choked, 1e-8);
}

/* dp = 128 mu L Q/(pi d^4) + K rho Q^2/(2 A^2), K 1.5 (from memory), air at 25 C; this bore's
 * orifice part is compressible, hence the tolerance. */
static void a_short_tube_is_far_from_pure_poiseuille(void **state) {
  (void)state;
  static const struct {
    double d, length, back, want;
  } rows[] = {{1e-3, 10e-3, 100, 6.130908e-6},
              {1e-3, 10e-3, 1000, 2.388502e-5},
              {2e-3, 20e-3, 100, 2.85424e-5}};
  for (size_t i = 0; i < 3; i++) {
    ul_bore bore = ul_bore_of(rows[i].d, rows[i].length);
    double kg_s = ul_bore_air_kg_s(&bore, P0 + rows[i].back, P0, AT_25_C, 1.83723e-5);
    assert_rel(kg_s / 1.18391, rows[i].want, 0.02);
  }
}

/* 1 - 0.02^(s^2) is steepest where 2 s^2 ln 50 = 1; but a packed mould is full before its end. */
static void the_fastest_moment_is_that_of_the_curve(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling(); /* cream 25, rise 110 s, shape 2, 0.98 */
  double at, rate = ul_vent_air_rate(&f, 1.2, &at), c = log(50), s = sqrt(1 / (2 * c));
  assert_near(at, 25 + 85 * s, 0.05);
  assert_rel(rate, 2 * c * s * exp(-c * s * s) / 85 * 1.2 * (1 - 64.0 / 1080), 1e-5);
  rate = ul_vent_air_rate(&f, 5, &at); /* full long before that */
  double full = (1.0 / 5 - 64.0 / 1080) / (1 - 64.0 / 1080);
  double s_full = sqrt(-log(1 - full) / c);
  assert_near(at, 25 + 85 * s_full, 0.05);
}

static void a_measured_curve_gives_its_steepest_piece(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  f.curve_count = 3;
  const double s[] = {25, 65, 110}, e[] = {0, 0.2, 0.98};
  for (int i = 0; i < 3; i++) f.curve_s[i] = s[i], f.curve_progress[i] = e[i];
  double at;
  assert_rel(ul_vent_air_rate(&f, 1, &at), 0.78 / 45 * (1 - 64.0 / 1080), 1e-9);
  assert_true(at > 65);
}

/* 10 l displaced in 60 s want about one 3 mm hole at 1 kPa. */
static void ten_litres_in_a_minute_leave_by_one_3_mm_hole(void **state) {
  (void)state;
  ul_vent_size size;
  assert_ok(ul_vent_size_for(UL_FOAM_CUSHION, 10e6 / 60, 0, UL_DRILLS_SHOP, &size, NULL), NULL);
  assert_int_equal(size.holes, 1);
  assert_string_equal(size.drill.name, "3 mm");
  assert_near(size.least_mm, 2.9, 0.1);
  assert_true(size.most_mm > size.least_mm);
  assert_true(size.back_pa > 200 && size.back_pa < 1000);
}

static void little_air_still_gets_a_hole_that_can_be_cleared(void **state) {
  (void)state;
  ul_vent_size size;
  assert_ok(ul_vent_size_for(UL_FOAM_RIGID, 10, 25, UL_DRILLS_METRIC, &size, NULL), NULL);
  assert_string_equal(size.drill.name, "1.5 mm");
  assert_true(size.least_mm == 1.5 && size.most_mm == 1.5);
}

static void much_air_asks_for_several_holes_and_they_do(void **state) {
  (void)state;
  for (double rate = 1e5; rate < 1e8; rate *= 1.7) {
    ul_vent_size size;
    assert_ok(ul_vent_size_for(UL_FOAM_RIGID, rate, 25, UL_DRILLS_SHOP, &size, NULL), NULL);
    ul_vent_size one_less;
    double share = rate / (double)size.holes;
    assert_true(size.back_pa <= 2000 * (1 + 1e-6));
    assert_ok(ul_vent_size_for(UL_FOAM_RIGID, share, 25, UL_DRILLS_SHOP, &one_less, NULL), NULL);
    assert_int_equal(one_less.holes, 1);
    if (size.holes > 1) { /* and one fewer would not: each would have to be wider than the set */
      share = rate / (double)(size.holes - 1);
      assert_ok(ul_vent_size_for(UL_FOAM_RIGID, share, 25, UL_DRILLS_SHOP, &one_less, NULL), NULL);
      assert_true(one_less.holes > 1);
    }
  }
}

/* All of one size: more of them are thinner, never under 1.5 mm, and each builds no more than the
 * class bears; one alone that cannot is said. */
static void as_many_holes_as_there_are_share_the_air(void **state) {
  (void)state;
  double before = INFINITY;
  for (size_t holes = 1; holes <= 12; holes++) {
    ul_vent_size s;
    assert_ok(ul_vent_size_of(UL_FOAM_RIGID, 4e6, holes, 25, UL_DRILLS_SHOP, &s, NULL), NULL);
    assert_int_equal(s.holes, holes);
    assert_true(s.drill.diameter_mm >= 1.5 && s.drill.diameter_mm <= before);
    before = s.drill.diameter_mm;
    assert_int_equal(s.enough, s.back_pa <= 2000 * (1 + 1e-6));
    double area = M_PI / 4 * before * before;
    assert_rel(s.air_m_s * 1000 * area * (double)holes, 4e6, 1e-9);
    if (holes == 1) assert_false(s.enough); /* 4 litres a second: over 140 m/s in 6 mm */
    if (holes == 12) assert_true(s.enough);
  }
  ul_vent_size none;
  assert_int_equal(ul_vent_size_of(UL_FOAM_RIGID, 1, 0, 25, UL_DRILLS_SHOP, &none, NULL),
                   UL_E_USAGE);
}

static void nonsense_is_refused(void **state) {
  (void)state;
  ul_vent_size size;
  ul_error err;
  assert_int_equal(ul_vent_size_for(UL_FOAM_RIGID, -1, 25, UL_DRILLS_SHOP, &size, &err),
                   UL_E_USAGE);
  assert_int_equal(ul_vent_size_for(UL_FOAM_RIGID, 1, NAN, UL_DRILLS_SHOP, &size, &err),
                   UL_E_USAGE);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(an_orifice_lets_out_what_compressible_flow_says),
      cmocka_unit_test(a_choked_orifice_follows_the_pressure_inside_alone),
      cmocka_unit_test(a_short_tube_is_far_from_pure_poiseuille),
      cmocka_unit_test(the_fastest_moment_is_that_of_the_curve),
      cmocka_unit_test(a_measured_curve_gives_its_steepest_piece),
      cmocka_unit_test(ten_litres_in_a_minute_leave_by_one_3_mm_hole),
      cmocka_unit_test(little_air_still_gets_a_hole_that_can_be_cleared),
      cmocka_unit_test(much_air_asks_for_several_holes_and_they_do),
      cmocka_unit_test(as_many_holes_as_there_are_share_the_air),
      cmocka_unit_test(nonsense_is_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
