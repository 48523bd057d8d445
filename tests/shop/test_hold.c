/* Lids, materials and clamps against published values. */
#include "shapes/check.h"
#include "ullage/hold.h"
#include "ullage/packing.h"

#include <math.h>
#include <string.h>

/* Roark's Formulas for Stress and Strain, table 11.4 case 1a (simply supported, nu 0.3). */
static void a_lid_resting_on_its_edge_bends_as_roark_says(void **state) {
  (void)state;
  static const struct {
    double long_over_short, beta, alpha;
  } rows[] = {{1, 0.2874, 0.0444},   {1.2, 0.3762, 0.0616}, {1.4, 0.4530, 0.0770},
              {1.6, 0.5172, 0.0906}, {1.8, 0.5688, 0.1017}, {2, 0.6102, 0.1110},
              {3, 0.7134, 0.1335},   {4, 0.7410, 0.1400},   {5, 0.7476, 0.1417},
              {1e9, 0.7500, 0.1421}};
  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    ul_plate_state s = ul_plate_bend(rows[i].long_over_short, 1, 1, 1, 1, UL_EDGE_SUPPORTED);
    assert_rel(s.stress_pa, rows[i].beta, 0.006);
    assert_rel(s.deflection_m, rows[i].alpha, 0.006);
  }
}

/* Roark, table 11.4 case 8a (all edges fixed), from memory. */
static void a_lid_held_all_round_bends_as_roark_says(void **state) {
  (void)state;
  static const struct {
    double long_over_short, beta, alpha;
  } rows[] = {{1, 0.3078, 0.0138},   {1.2, 0.3834, 0.0188}, {1.4, 0.4356, 0.0226},
              {1.6, 0.4680, 0.0251}, {1.8, 0.4872, 0.0267}, {2, 0.4974, 0.0277},
              {1e9, 0.5000, 0.0284}};
  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    ul_plate_state s = ul_plate_bend(rows[i].long_over_short, 1, 1, 1, 1, UL_EDGE_CLAMPED);
    assert_rel(s.stress_pa, rows[i].beta, 0.006);
    assert_rel(s.deflection_m, rows[i].alpha, 0.006);
  }
}

/* Navier's double series, summed here, also between the rows of the table. */
static void deflections_between_the_rows_follow_naviers_series(void **state) {
  (void)state;
  for (double a = 1; a < 6; a *= 1.07) {
    double sum = 0;
    for (int m = 1; m < 200; m += 2)
      for (int n = 1; n < 200; n += 2) {
        double k = m * m / (a * a) + n * n;
        sum += sin(m * M_PI / 2) * sin(n * M_PI / 2) / (m * n * k * k);
      }
    double alpha = 12 * (1 - 0.09) * 16 / pow(M_PI, 6) * sum;
    ul_plate_state s = ul_plate_bend(a, 1, 1, 1, 1, UL_EDGE_SUPPORTED);
    assert_rel(s.deflection_m, alpha, 0.005);
  }
}

/* 300 x 200 x 12 mm of 6061, 0.5 bar: 6.763 MPa, 0.0567 mm, lifted by 3000 N; from the same
 * series, worked out apart. */
static void the_lid_of_the_example(void **state) {
  (void)state;
  ul_plate_state s = ul_plate_bend(0.3, 0.2, 0.012, 5e4, 68.9e9, UL_EDGE_SUPPORTED);
  assert_rel(s.stress_pa, 6.7633e6, 1e-4);
  assert_rel(s.deflection_m, 0.05668e-3, 1e-3);
  ul_plate_state turned = ul_plate_bend(0.2, 0.3, 0.012, 5e4, 68.9e9, UL_EDGE_SUPPORTED);
  assert_true(turned.stress_pa == s.stress_pa);
}

static ul_hold held(const ul_foam *f, double pack, double cm2, const ul_hold_opts *o) {
  ul_hold h;
  ul_error err;
  assert_ok(ul_hold_make(f, pack, cm2 * 100, o, &h, &err), &err);
  return h;
}

static void force_is_pressure_times_area(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  ul_hold_opts o = ul_hold_opts_default();
  ul_hold h = held(&f, 1.25, 600, &o);
  assert_rel(h.packing_kpa, ul_pack_gauge_pa(&f, 1.25) / 1000, 1e-15);
  assert_rel(h.opening_n, h.peak_kpa * 1000 * 0.06, 1e-12);
  assert_rel(h.clamp_n, 2 * h.opening_n, 1e-15); /* 1.5 to 2: common practice */
  assert_true(isnan(h.rise_kpa) && h.material_holds && !h.has_material && !h.has_lid);
  o.rise_kpa = 40; /* the rise found more: that counts */
  assert_rel(held(&f, 1.25, 600, &o).peak_kpa, 40, 1e-15);
  o.rise_kpa = 1;
  assert_rel(held(&f, 1.25, 600, &o).peak_kpa, h.packing_kpa, 1e-15);
}

/* M8, class 8.8: proof 580 MPa on 36.6 mm2 (ISO 898-1, from memory): 21.2 kN, a quarter 5.3 kN. */
static void bolts_carry_a_quarter_of_their_proof_load(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  ul_hold_opts o = ul_hold_opts_default();
  o.rise_kpa = 100;
  ul_hold h = held(&f, 1.2, 1000, &o); /* 10 kN opens, 20 kN clamps */
  assert_rel(h.clamp_n, 20000, 1e-12);
  assert_int_equal(h.bolts_m8, 4);
  assert_int_equal(h.bolts_m6, 7);
  assert_rel(h.toggles_n, 40000, 1e-12); /* at half their rated hold: common practice */
}

static void what_the_material_cannot_hold_is_refused_aloud(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  ul_hold_opts o = ul_hold_opts_default();
  char remark[UL_HOLD_REMARKS][UL_HOLD_REMARK];
  o.rise_kpa = 60;
  for (size_t i = 0; i < ul_material_count(); i++) {
    o.material = ul_material_get(i);
    assert_ptr_equal(ul_material_find(o.material->name), o.material);
    ul_hold h = held(&f, 1.2, 100, &o);
    assert_true(h.has_material);
    assert_true(h.material_holds == (o.material->allowed_kpa >= 60));
    assert_int_equal(ul_hold_remarks(&h, &o, remark), 2);
    assert_true((strstr(remark[1], "does not hold 60 kPa") != NULL) == !h.material_holds);
    if (o.material->soft) assert_non_null(strstr(remark[1], "rigid case all round"));
  }
  assert_null(ul_material_find("cheese"));
}

static void a_thin_lid_bulges_and_a_brittle_one_breaks(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  ul_hold_opts o = ul_hold_opts_default();
  char remark[UL_HOLD_REMARKS][UL_HOLD_REMARK];
  o.rise_kpa = 50;
  o.material = ul_material_find("aluminium");
  const double thick[3] = {300, 200, 12}, thin[3] = {300, 200, 3};
  memcpy(o.lid_mm, thick, sizeof thick);
  ul_hold h = held(&f, 1.2, 600, &o);
  assert_true(h.lid.strong && h.lid.stiff);
  assert_int_equal(ul_hold_remarks(&h, &o, remark), 3);
  assert_non_null(strstr(remark[2], "it holds"));
  memcpy(o.lid_mm, thin, sizeof thin);
  h = held(&f, 1.2, 600, &o);
  assert_true(h.lid.strong && !h.lid.stiff);
  ul_hold_remarks(&h, &o, remark);
  assert_non_null(strstr(remark[2], "bulges and leaks"));
  o.material = ul_material_find("plaster");
  h = held(&f, 1.2, 600, &o);
  assert_false(h.lid.strong);
  ul_hold_remarks(&h, &o, remark);
  assert_non_null(strstr(remark[2], "it may break"));
}

static void nonsense_is_refused(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  ul_hold_opts o = ul_hold_opts_default();
  ul_hold h;
  ul_error err;
  assert_int_equal(ul_hold_make(&f, 20, 100, &o, &h, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "liquid"));
  assert_int_equal(ul_hold_make(&f, 1.2, NAN, &o, &h, &err), UL_E_USAGE);
  o.lid_mm[0] = o.lid_mm[1] = 200;
  assert_int_equal(ul_hold_make(&f, 1.2, 100, &o, &h, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "thickness above 0"));
  o.lid_mm[2] = 10;
  assert_int_equal(ul_hold_make(&f, 1.2, 100, &o, &h, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "--mould"));
  o.cookie = 0;
  assert_int_equal(ul_hold_make(&f, 1.2, 100, &o, &h, &err), UL_E_USAGE);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_lid_resting_on_its_edge_bends_as_roark_says),
      cmocka_unit_test(a_lid_held_all_round_bends_as_roark_says),
      cmocka_unit_test(deflections_between_the_rows_follow_naviers_series),
      cmocka_unit_test(the_lid_of_the_example),
      cmocka_unit_test(force_is_pressure_times_area),
      cmocka_unit_test(bolts_carry_a_quarter_of_their_proof_load),
      cmocka_unit_test(what_the_material_cannot_hold_is_refused_aloud),
      cmocka_unit_test(a_thin_lid_bulges_and_a_brittle_one_breaks),
      cmocka_unit_test(nonsense_is_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
