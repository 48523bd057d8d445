#include "rise/books.h"

#include <math.h>

#include "base/memory.h"
#include "rise/cubes.h"
#include "shapes/check.h"

static const double P0_KPA = 101.325;

/* ---- the air ---- */

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

/* ---- the foam ---- */

/* Of mean density and of all mass; seen: 1e-5 and 1e-4. */
static const double FULL_TO = 5e-5, ALL_FOAM_TO = 3e-4;

/* kg/m3 at a gauge pressure: (1 + 1e-9 p) / (1/rho_l + (1/rho_f - 1/rho_l) e p0/P), gas that is
 * kept in liquid that gives by 1e-9 a pascal. */
static double density_at(const ul_foam *f, double e, double kpa) {
  const double liquid = 1 / ul_mid(f->liquid_kg_m3), gas = 1 / ul_mid(f->free_kg_m3) - liquid;
  return (1 + 1e-6 * kpa) / (liquid + gas * e * P0_KPA / (P0_KPA + kpa));
}

/* What all cubes of the cavity hold, full ones at their pressure and the others, but for the air,
 * at the air's. */
static void demand_foam_law(const ul_cubes *cubes, const ul_rise *r, uint32_t cavity,
                            const ul_foam *f) {
  const ul_rise_cavity *c = &r->cavity[cavity];
  const double e = ul_foam_progress(f, c->end_s);
  double full_mm3 = 0, full = 0, rest = -c->short_mm3 * density_at(f, e, c->short_kpa);
  for (size_t k = 0; k < c->void_count; k++)
    rest -= c->voids[k].void_mm3 * density_at(f, e, c->voids[k].pressure_kpa);
  for (size_t i = 0; i < cubes->count; i++) {
    if (ul_cube_cavity(cubes, i) != cavity) continue;
    const size_t at = cubes->at[i];
    const double mass = cubes->volume_mm3[i] * density_at(f, e, (double)r->pressure_kpa[at]);
    full_mm3 += r->void_id[at] ? 0 : cubes->volume_mm3[i];
    full += r->void_id[at] ? 0 : mass;
    rest += r->void_id[at] ? mass : 0;
  }
  if (full_mm3 > 0) assert_rel(c->density_mean, full / full_mm3, FULL_TO);
  assert_rel(1e6 * (c->mass_in_g - c->mass_out_g), full + rest, ALL_FOAM_TO);
}

void books_demand(const ul_grid *g, const ul_columns *columns, const ul_rise *r,
                  const ul_rise_opts *o) {
  ul_cubes *cubes;
  ul_error err;
  assert_ok(ul_cubes_new(g, columns, &cubes, &err), &err);
  const double pack = o->pack > 0 ? o->pack : ul_mid(o->foam.pack);
  for (uint32_t v = 0; v < r->cavity_count; v++) {
    const ul_rise_cavity *c = &r->cavity[v];
    const double volume_mm3 = c->mass_in_g / (pack * ul_mid(o->foam.free_kg_m3)) * 1e6;
    assert_near(c->mass_error, 0, 1e-9);
    assert_near(c->air_error, 0, 1e-9);
    assert_int_equal(c->rough_steps, 0);
    demand_foam_law(cubes, r, v, &o->foam);
    if (!o->open) demand_gas_law(c, volume_mm3);
  }
  ul_cubes_free(cubes);
}

void books_survive_failures(const ul_grid *grid, const ul_rise_opts *opts, long singly) {
  const ul_job one_thread = {.threads = 1};
  long last = 0;
  for (long n = 1; last == 0; n = n < singly ? n + 1 : n + n / 12) {
    ul_rise *r = NULL;
    ul_memory_fail_at(n);
    ul_status status = ul_rise_run(grid, NULL, opts, &one_thread, &r, NULL);
    assert_true(status == UL_OK ? r != NULL : status == UL_E_MEMORY && r == NULL);
    if (status == UL_OK) {
      last = n;
      assert_near(r->cavity[0].mass_error, 0, 1e-9);
      assert_near(r->cavity[0].air_error, 0, 1e-9);
    }
    ul_rise_free(r);
  }
  ul_memory_fail_at(0);
  assert_true(last > singly);
}
