/* How the foam rises, against laws of conservation and closed forms. Grids are masks of whole
 * cubes; the reference foam is ul_foam_middling(): 1080 and 64 kg/m3, cream 25, gel 80, rise 110 s.
 */
#include "base/memory.h"
#include "rise/books.h"
#include "rise/mask_mould.h"
#include "shapes/check.h"
#include "ullage/rise.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const ul_job one_thread = {.threads = 1};

/* Gauge pressure, kPa, of foam without air: p/p0 = P(1-x)e/(1-Px) (gas conserved, liquid
 * incompressible), x = 64/1080, e = 0.98 at set. */
static double packed_kpa(double pack) {
  double x = 64.0 / 1080;
  return 101.325 * (pack * (1 - x) * 0.98 / (1 - pack * x) - 1);
}

static void a_level_box_reaches_the_middle_of_the_lid_first_and_its_corners_last(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 130, 90, 40, 10, mask_everything, 20);
  vent_corners(&m, 3);
  ul_rise *r = rise(m.grid, &m.opts);
  double middle = (double)r->arrival_s[mask_cube(m.grid, 65, 45, 35)];
  double edge = (double)r->arrival_s[mask_cube(m.grid, 5, 45, 35)];
  double corner = (double)r->arrival_s[mask_cube(m.grid, 5, 5, 35)];
  assert_true(middle < edge && edge < corner); /* F2, common practice */
  assert_int_equal(r->cavity[0].void_count, 0);
  assert_rel(r->cavity[0].filled_fraction, 1, 1e-12);
  assert_rel(r->cavity[0].end_kpa, packed_kpa(1.25), 0.01);
  for (int i = 0; i < 4; i++) assert_true(r->vent[i].foam_shows_s > 60);
  ul_rise_free(r);
  free_mould(&m);
}

static void one_hole_in_the_middle_of_a_level_lid_traps_air_under_its_rim(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 130, 90, 40, 10, mask_everything, 20);
  add_vent(&m, 65, 45, 40, 3);
  ul_rise *r = rise(m.grid, &m.opts);
  double volume = 130 * 90 * 40;
  assert_true(trapped(r) > 0.01 * volume && trapped(r) < 0.15 * volume);
  const ul_rise_void *v = &r->cavity[0].voids[0];
  assert_rel(v->at_mm[2], 40, 1e-12);
  /* Air and foam stand at one pressure, but for the weight of the foam. */
  assert_near(v->pressure_kpa, r->cavity[0].end_kpa, 0.01 * r->cavity[0].end_kpa);
  /* The air is what it was, squeezed. */
  assert_rel(v->void_mm3 * (101.325 + v->pressure_kpa), v->air_mm3 * 101.325, 0.02);
  ul_rise_free(r);
  free_mould(&m);
}

static void a_sealed_mould_adds_the_pressure_of_its_air(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 60, 60, 40, 10, mask_everything, 20);
  m.opts.pack = 1.1;
  ul_rise *r = rise(m.grid, &m.opts);
  /* All air is one pocket at p; what foam there is has p too: gas and air share the volume left by
   * the liquid, so p (1 - P x) = p0 (P (1-x) e + 1 - P x). */
  assert_rel(r->cavity[0].end_kpa, packed_kpa(1.1) + 101.325, 0.01);
  ul_rise_free(r);
  free_mould(&m);
}

static bool with_a_chimney(const double at[3], const void *context) {
  (void)context;
  return at[2] < 40 || (at[0] > 60 && at[0] < 80 && at[1] < 20);
}

static void an_unvented_pocket_keeps_nine_tenths_at_a_pack_of_11_tenths(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 80, 60, 60, 5, with_a_chimney, 20);
  m.opts.pack = 1.1;
  add_vent(&m, 0, 0, 40, 4);
  add_vent(&m, 0, 60, 40, 4);
  add_vent(&m, 80, 60, 40, 4);
  ul_rise *r = rise(m.grid, &m.opts);
  double chimney = 20 * 20 * 20;
  const ul_rise_void *v = &r->cavity[0].voids[0];
  assert_rel(v->at_mm[2], 60, 1e-12);
  assert_true(v->air_mm3 > 0.9 * chimney && v->air_mm3 < 1.3 * chimney);
  assert_true(v->void_mm3 / v->air_mm3 > 0.87 && v->void_mm3 / v->air_mm3 < 0.95);
  assert_near(v->pressure_kpa, r->cavity[0].end_kpa, 0.01 * (101.325 + r->cavity[0].end_kpa));
  ul_rise_free(r);
  free_mould(&m);
}

/* F1, common practice: an open mould takes its volume times the free-rise density. The foam is then
 * what its curve says, x + 0.98 (1 - x) of its free rise, whatever the share that was poured. */
static void an_open_mould_takes_its_volume_times_the_free_rise_density(void **state) {
  (void)state;
  const double x = 64.0 / 1080;
  for (int i = 1; i <= 3; i++) {
    mould m;
    make_mould(&m, 90, 70, 60, 10, mask_everything, 30);
    m.opts.open = true;
    m.opts.pack = i / 3.0;
    ul_rise *r = rise(m.grid, &m.opts);
    assert_rel(r->cavity[0].mass_in_g, i / 3.0 * 64e-6 * 90 * 70 * 60, 1e-12);
    assert_rel(r->cavity[0].filled_fraction, i / 3.0 * (x + 0.98 * (1 - x)), 0.01);
    ul_rise_free(r);
    free_mould(&m);
  }
}

/* F2, common practice: small holes in the corners beat one in the middle of the same area. */
static void four_small_holes_in_the_corners_beat_a_large_one_in_the_middle(void **state) {
  (void)state;
  double left[2];
  for (int corners = 0; corners < 2; corners++) {
    mould m;
    make_mould(&m, 130, 90, 30, 10, mask_everything, 15);
    if (corners)
      vent_corners(&m, 2);
    else
      add_vent(&m, 65, 45, 30, 4);
    ul_rise *r = rise(m.grid, &m.opts);
    left[corners] = trapped(r) / (130 * 90 * 30);
    ul_rise_free(r);
    free_mould(&m);
  }
  assert_true(left[0] > 0.02 && left[1] < 1e-3);
}

static bool fills(mould *m, double pack) {
  m->opts.pack = pack;
  ul_rise *r = rise(m->grid, &m->opts);
  const bool full = r->cavity[0].filled_fraction > 0.999 && r->cavity[0].void_count == 0;
  ul_rise_free(r);
  return full;
}

/* F1, F3 (common practice, no source): a charge for free rise does not fill a lidded mould; the
 * trade gives it 1.15 to 1.30 of that. The model knows no losses: the least that fills this box is
 * what the progress at set alone takes, 1 / (x + 0.98 (1 - x)) = 1.019, and what the foam lacks to
 * reach the corners. So it says that F3 fills, but not that less does not. */
static void a_lidded_mould_needs_more_than_free_rise(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 130, 90, 40, 10, mask_everything, 20);
  vent_corners(&m, 3);
  double low = 1, high = 1.3;
  assert_false(fills(&m, low));
  for (double pack = 1.15; pack < 1.31; pack += 0.05) assert_true(fills(&m, pack));
  while (high - low > 1e-3) {
    const double pack = (low + high) / 2;
    if (fills(&m, pack))
      high = pack;
    else
      low = pack;
  }
  assert_near(high, 1.027, 0.003); /* 1.0270 seen */
  free_mould(&m);
}

/* F4: at one pack, the slender upright cavity is left emptier. */
static void a_slender_upright_cavity_needs_more_again(void **state) {
  (void)state;
  mould stout, slender;
  make_mould(&stout, 60, 60, 40, 5, mask_everything, 20);
  make_mould(&slender, 15, 15, 400, 5, mask_everything, 7.5);
  add_vent(&stout, 30, 30, 40, 4);
  vent_corners(&stout, 4);
  add_vent(&slender, 7.5, 7.5, 400, 4);
  stout.opts.pack = slender.opts.pack = 1.1;
  ul_rise *a = rise(stout.grid, &stout.opts), *b = rise(slender.grid, &slender.opts);
  assert_true(b->cavity[0].filled_fraction < a->cavity[0].filled_fraction - 0.01);
  ul_rise_free(a);
  ul_rise_free(b);
  free_mould(&stout);
  free_mould(&slender);
}

static double air_at(const ul_rise *r, double t) {
  size_t i = 0;
  while (i + 1 < r->sample_count && r->sample[i].s < t) i++;
  return r->sample[i].air_mm3;
}

/* F5 (common practice, no source): level, a slab's two holes clog with air still inside. */
static void the_holes_of_a_level_slab_clog_with_air_inside(void **state) {
  (void)state;
  const double volume = 120 * 80 * 20;
  mould m;
  make_mould(&m, 120, 80, 20, 5, mask_everything, 10);
  add_vent(&m, 0, 40, 20, 3);
  add_vent(&m, 120, 40, 20, 3);
  ul_rise *r = rise(m.grid, &m.opts);
  for (int i = 0; i < 2; i++) {
    assert_true(r->vent[i].clogs_s < r->cavity[0].end_s - 20); /* NAN: never, fails */
    assert_true(air_at(r, r->vent[i].clogs_s) > 0.01 * volume);
  }
  assert_true(trapped(r) > 0.01 * volume);
  ul_rise_free(r);
  free_mould(&m);
}

/* F5: stood on edge, with both holes at its top, it does not. */
static void a_slab_on_edge_lets_its_air_out(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 120, 80, 20, 2, mask_everything, 10);
  m.opts.up[2] = 0;
  m.opts.up[1] = 1;
  m.pour[1] = 1;
  add_vent(&m, 0, 80, 10, 3);
  add_vent(&m, 120, 80, 10, 3);
  ul_rise *r = rise(m.grid, &m.opts);
  assert_true(trapped(r) < 0.0005 * 120 * 80 * 20);
  ul_rise_free(r);
  free_mould(&m);
}

/* Peak pressure, and how fast the foam takes the cavity, per second, when it has so much of it. */
static double peak_at(const ul_rise *r, double filled, double *rate) {
  size_t i = 1;
  while (r->sample[i].filled_fraction < filled) i++;
  const ul_rise_sample *a = &r->sample[i - 1], *b = &r->sample[i];
  *rate = (b->filled_fraction - a->filled_fraction) / (b->s - a->s);
  const double along = (filled - a->filled_fraction) / (b->filled_fraction - a->filled_fraction);
  return a->peak_kpa + along * (b->peak_kpa - a->peak_kpa);
}

/* What drives so many m3/s of air through a long bore of that diameter, kPa: 1.5 velocity heads of
 * air of 1.204 kg/m3, and Hagen-Poiseuille's 32 mu L v / d^2 with 1.813e-5 Pa s, L = 25 mm. */
static double bore_kpa(double m3_s, double d) {
  const double v = m3_s / (M_PI / 4 * d * d);
  return (1.5 * 1.204 / 2 * v * v + 32 * 1.813e-5 * 0.025 * v / (d * d)) * 1e-3;
}

/* F6 (common practice, no source): less hole area, more pressure while it fills. Four areas, 64
 * times apart. What the foam itself adds is the same at one fill, so that the differences are the
 * air's. */
static void smaller_holes_hold_more_pressure(void **state) {
  (void)state;
  const double diameter[4] = {4, 2, 1, 0.5};
  double kpa[4], rate[4];
  for (int i = 0; i < 4; i++) {
    mould m;
    make_mould(&m, 130, 90, 40, 10, mask_everything, 20);
    vent_corners(&m, diameter[i]);
    ul_rise *r = rise(m.grid, &m.opts);
    kpa[i] = peak_at(r, 0.7, &rate[i]);
    ul_rise_free(r);
    free_mould(&m);
  }
  for (int i = 1; i < 4; i++) assert_true(kpa[i] > kpa[i - 1]);
  for (int i = 2; i < 4; i++) { /* seen: 0.0581 kPa for 0.0581 by hand, 0.938 for 0.927 */
    const double each = 468e-6 / 4, air = bore_kpa(each * rate[i], diameter[i] * 1e-3);
    assert_rel(kpa[i] - kpa[0], air - bore_kpa(each * rate[0], diameter[0] * 1e-3), 0.03);
  }
}

/* The level limit: thin foam, tilted: the front is level to a cube. */
static void thin_foam_rises_level(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 120, 40, 60, 5, mask_everything, 20);
  m.opts.up[0] = sin(20 * M_PI / 180);
  m.opts.up[2] = cos(20 * M_PI / 180);
  m.opts.foam.viscosity_pa_s = (ul_span){0.01, 0.01};
  m.opts.foam.gel_s = (ul_span){1000, 1000};
  m.opts.foam.gas_power = 0;
  m.opts.open = true;
  m.pour[0] = 2.5;
  ul_rise *r = rise(m.grid, &m.opts);
  for (double x = 22.5; x < 100; x += 5) { /* along a level line, dx sin + dz cos = 0 */
    double z = 30 - (x - 60) * tan(20 * M_PI / 180);
    double here = (double)r->arrival_s[mask_cube(m.grid, x, 22.5, z)];
    double above = (double)r->arrival_s[mask_cube(m.grid, 60, 22.5, 37)];
    double below = (double)r->arrival_s[mask_cube(m.grid, 60, 22.5, 23)];
    assert_true(here > below && here < above);
  }
  ul_rise_free(r);
  free_mould(&m);
}

static bool two_rooms(const double at[3], const void *context) {
  (void)context;
  return at[0] < 40 || at[0] > 60;
}

static void every_cavity_rises_on_its_own_charge(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 120, 40, 40, 10, two_rooms, 20);
  const double pour[2][3] = {{20, 20, 5}, {90, 20, 5}};
  m.opts.pour_mm = pour;
  add_vent(&m, 0, 0, 40, 3);
  add_vent(&m, 120, 40, 40, 3);
  ul_rise *r = rise(m.grid, &m.opts);
  assert_int_equal(r->cavity_count, 2);
  assert_rel(r->cavity[1].mass_in_g / r->cavity[0].mass_in_g, 1.5, 1e-12);
  assert_int_equal(r->vent[0].cavity, 0);
  assert_int_equal(r->vent[1].cavity, 1);
  for (int v = 0; v < 2; v++) assert_true(r->cavity[v].filled_fraction > 0.9);
  ul_rise_free(r);
  free_mould(&m);
}

static void what_cannot_rise_says_why(void **state) {
  (void)state;
  mould m;
  ul_rise *r = NULL;
  ul_error err;
  make_mould(&m, 60, 60, 40, 10, mask_everything, 20);
  m.opts.pack = 20;
  assert_int_equal(ul_rise_run(m.grid, NULL, &m.opts, &one_thread, &r, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "litres of liquid"));
  assert_null(r);
  m.opts.pack = 1.2;
  add_vent(&m, 30, 30, 60, 3);
  assert_int_equal(ul_rise_run(m.grid, NULL, &m.opts, &one_thread, &r, &err), UL_E_OUTSIDE);
  assert_non_null(strstr(err.text, "vent 1 at 30.0, 30.0, 60.0 mm"));
  m.vent[0].at_mm[2] = 40;
  m.vent[0].diameter_mm = 0;
  assert_int_equal(ul_rise_run(m.grid, NULL, &m.opts, &one_thread, &r, &err), UL_E_USAGE);
  m.opts.vent_count = 0;
  m.opts.foam.gel_s = (ul_span){20, 20};
  assert_int_equal(ul_rise_run(m.grid, NULL, &m.opts, &one_thread, &r, &err), UL_E_CARD);
  m.opts.cookie = 0;
  assert_int_equal(ul_rise_run(m.grid, NULL, &m.opts, &one_thread, &r, &err), UL_E_USAGE);
  free_mould(&m);
}

static void a_failing_allocation_leaves_nothing_behind(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 40, 30, 20, 10, mask_everything, 10);
  add_vent(&m, 20, 15, 20, 3);
  books_survive_failures(m.grid, &m.opts, 60);
  free_mould(&m);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_level_box_reaches_the_middle_of_the_lid_first_and_its_corners_last),
      cmocka_unit_test(one_hole_in_the_middle_of_a_level_lid_traps_air_under_its_rim),
      cmocka_unit_test(a_sealed_mould_adds_the_pressure_of_its_air),
      cmocka_unit_test(an_unvented_pocket_keeps_nine_tenths_at_a_pack_of_11_tenths),
      cmocka_unit_test(an_open_mould_takes_its_volume_times_the_free_rise_density),
      cmocka_unit_test(four_small_holes_in_the_corners_beat_a_large_one_in_the_middle),
      cmocka_unit_test(a_lidded_mould_needs_more_than_free_rise),
      cmocka_unit_test(a_slender_upright_cavity_needs_more_again),
      cmocka_unit_test(the_holes_of_a_level_slab_clog_with_air_inside),
      cmocka_unit_test(a_slab_on_edge_lets_its_air_out),
      cmocka_unit_test(smaller_holes_hold_more_pressure),
      cmocka_unit_test(thin_foam_rises_level),
      cmocka_unit_test(every_cavity_rises_on_its_own_charge),
      cmocka_unit_test(what_cannot_rise_says_why),
      cmocka_unit_test(a_failing_allocation_leaves_nothing_behind),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
