#include "rise/books.h"

#include <math.h>

#include "shapes/check.h"

static const double P0_KPA = 101.325;

/* What a step may leave undone of the gas law: pressures are found until 3 % of the foam's growth
 * in the step is unexplained. A step is at most a fiftieth of the time from cream to set; in the
 * last one the S-curve 1 - 0.02^(s^2) grows by 0.35 % of its volume, which makes a ten-thousandth.
 * Seen: 3.4e-5 of the air at most, and of a void over a thousandth of the cavity 1.5e-3. */
static const double LEFT_UNDONE = 1e-4, OF_A_VOID = 3e-3;

/* The foam may take into itself bodies of air under 2e-6 of the cavity each; seen: 1.8e-4 in all,
 * by thirteen pockets that closed up, and nothing in a mould that filled by its vents. */
static const double TAKEN = 5e-4;

/* Moles as volumes at atmospheric pressure, mm3. */
static void demand_gas_law(const ul_rise_cavity *c, double volume_mm3) {
  double left = c->short_mm3 * (1 + c->short_kpa / P0_KPA);
  for (size_t k = 0; k < c->void_count; k++) {
    const ul_rise_void *v = &c->voids[k];
    const double pressed = 1 + v->pressure_kpa / P0_KPA, law = v->void_mm3 * pressed;
    assert_near(v->kept_mm3, law, LEFT_UNDONE * volume_mm3 * pressed);
    if (v->void_mm3 > 1e-3 * volume_mm3) assert_rel(v->kept_mm3, law, OF_A_VOID);
    left += law;
  }
  const double there = c->air_there_mm3;
  assert_near(left + c->air_vented_mm3 + c->air_taken_mm3, there, LEFT_UNDONE * there);
  assert_true(c->air_vented_mm3 > -1e-9 * there && c->air_vented_mm3 < (1 + 1e-9) * there);
  assert_true(c->air_taken_mm3 >= 0 && c->air_taken_mm3 <= TAKEN * there);
  if (c->filled_fraction == 1) assert_true(c->air_vented_mm3 > 0.999 * there);
}

/* m (1/rho_l + (1/rho_f - 1/rho_l) e p0/p), all at the mean pressure of what is full: closer than
 * 0.3 % even where parts of the foam stand at pressures 400 kPa apart. */
static void demand_foam_law(const ul_rise_cavity *c, const ul_foam *f, double volume_mm3) {
  const double liquid = 1 / ul_mid(f->liquid_kg_m3), gas = 1 / ul_mid(f->free_kg_m3) - liquid;
  const double e = ul_foam_progress(f, c->end_s), kg = 1e-3 * (c->mass_in_g - c->mass_out_g);
  const double m3 = kg * (liquid + gas * e * P0_KPA / (P0_KPA + c->end_kpa));
  assert_rel(m3 * 1e9, volume_mm3 * c->filled_fraction, 5e-3);
}

void books_demand(const ul_rise *r, const ul_rise_opts *o) {
  const double pack = o->pack > 0 ? o->pack : ul_mid(o->foam.pack);
  for (size_t v = 0; v < r->cavity_count; v++) {
    const ul_rise_cavity *c = &r->cavity[v];
    const double volume_mm3 = c->mass_in_g / (pack * ul_mid(o->foam.free_kg_m3)) * 1e6;
    assert_near(c->mass_error, 0, 1e-9);
    assert_near(c->air_error, 0, 1e-9);
    assert_int_equal(c->rough_steps, 0);
    demand_foam_law(c, &o->foam, volume_mm3);
    if (!o->open) demand_gas_law(c, volume_mm3);
  }
}
