#include "rise/pressed.h"

#include <math.h>

#include "shapes/check.h"

/* Of a column of the charge as heavy as the cavity holds, over the whole lattice along up. */
static double weight_kpa(const ul_grid *grid, const ul_rise_opts *o) {
  const double length = sqrt(o->up[0] * o->up[0] + o->up[1] * o->up[1] + o->up[2] * o->up[2]);
  double height = 0;
  for (int a = 0; a < 3; a++)
    height += fabs(o->up[a]) / length * (grid->lattice.n[a] - 2) * grid->lattice.cube_mm;
  return o->pack * ul_mid(o->foam.free_kg_m3) * 9.80665 * height * 1e-6;
}

/* Gas is kept and liquid does not give: (p0 + p)(V - m / rho_l) = p0 m (1 / rho_f - 1 / rho_l) e,
 * and each pocket adds (p0 + p) times its volume to the right. */
static double packed_kpa(const ul_rise_cavity *c, const ul_rise_opts *o, double held_g) {
  const double free = ul_mid(o->foam.free_kg_m3), liquid = ul_mid(o->foam.liquid_kg_m3);
  const double all = c->mass_in_g / (o->pack * free); /* litres */
  const double p0 = UL_ATMOSPHERE_PA * 1e-3, e = ul_foam_progress(&o->foam, c->end_s);
  double gas = p0 * held_g * (1 / free - 1 / liquid) * e;
  for (size_t i = 0; i < c->void_count; i++)
    gas += (p0 + c->voids[i].pressure_kpa) * c->voids[i].void_mm3 * 1e-6;
  return gas / (all - held_g / liquid) - p0;
}

typedef struct {
  double low, high;
} range;

static void take(range *of, double kpa) {
  of->low = fmin(of->low, kpa);
  of->high = fmax(of->high, kpa);
}

/* Pressures of the cavity's full cubes: of all, and of those that touch the void. */
static void foam_of(const ul_rise *r, const ul_grid *g, size_t cavity, size_t id, range *all,
                    range *beside) {
  const size_t stride[3] = {1, (size_t)g->lattice.n[0],
                            (size_t)g->lattice.n[0] * (size_t)g->lattice.n[1]};
  *all = *beside = (range){INFINITY, -INFINITY};
  for (size_t i = 0; i < g->cube_count; i++) {
    if (!g->inside[i] || g->cavity[i] != cavity || r->void_id[i]) continue;
    const double kpa = (double)r->pressure_kpa[i];
    take(all, kpa);
    for (int s = 0; s < 6; s++) /* the empty rim keeps this inside the lattice */
      if (r->void_id[s % 2 ? i + stride[s / 2] : i - stride[s / 2]] == (int32_t)id)
        take(beside, kpa);
  }
}

/* Foam that still flows at set, as in a duct that gelled half filled, pushes harder than the air
 * before it. */
static bool is_at_rest(const range *foam, double within) {
  return foam->high - foam->low < within;
}

void demand_pockets_pressed(const ul_rise *r, const ul_grid *grid, const ul_rise_opts *o) {
  for (size_t v = 0; v < r->cavity_count; v++)
    for (size_t i = 0; i < r->cavity[v].void_count; i++) {
      const double kpa = r->cavity[v].voids[i].pressure_kpa;
      const double within = 0.01 * kpa + weight_kpa(grid, o);
      range all, beside;
      foam_of(r, grid, v, i + 1, &all, &beside);
      if (!is_at_rest(&all, 3 * within) || beside.low > beside.high) continue;
      assert_true(kpa > beside.low - within && kpa < beside.high + within);
    }
}

void demand_pressed(const ul_rise *r, const ul_grid *grid, const ul_rise_opts *o) {
  const double weight = weight_kpa(grid, o);
  demand_pockets_pressed(r, grid, o);
  for (size_t v = 0; v < r->cavity_count; v++) {
    const ul_rise_cavity *c = &r->cavity[v];
    const double within = 0.01 * c->end_kpa + weight;
    range all, none;
    foam_of(r, grid, v, 0, &all, &none);
    if (!is_at_rest(&all, 3 * within)) continue;
    for (size_t i = 0; i < c->void_count; i++)
      assert_near(c->voids[i].pressure_kpa, c->end_kpa, within);
    if (o->open || c->short_mm3 > 0) continue;
    assert_near(c->end_kpa, packed_kpa(c, o, c->mass_in_g - c->mass_out_g), within);
    const double most = packed_kpa(c, o, c->mass_in_g) + within;
    for (size_t i = 0; i < r->sample_count; i++)
      if (r->sample[i].cavity == v) assert_true(r->sample[i].peak_kpa < most);
  }
}
