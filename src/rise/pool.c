#include "rise/pool.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "rise/flood.h"

double ul_puddle_radius_m(double volume, double nu, double t) {
  return 0.894 * pow(UL_GRAVITY * pow(volume, 3) / (3 * nu) * t, 0.125);
}

/* Distance across `up` between two cubes. */
static double sideways_m(const ul_filling *f, const double up[3], size_t a, size_t b) {
  double p[3], q[3], d[3];
  ul_cube_centre_mm(f->cubes, a, p);
  ul_cube_centre_mm(f->cubes, b, q);
  ul_sub(p, q, d);
  ul_add_scaled(d, -ul_dot(d, up), up, d);
  return ul_norm(d) * 1e-3;
}

/* Cubes of one height in a row of the order share what is left, so that a pool thinner than a cube
 * lies evenly. Returns the end of that row. */
static size_t row_end(const ul_filling *f, const uint32_t *order, size_t from, size_t count) {
  size_t i = from + 1;
  while (i < count && fabs(f->height[order[i]] - f->height[order[from]]) < 1e-6 * f->cube_m) i++;
  return i;
}

static void fill_in_order(ul_filling *f, const uint32_t *order, size_t count, double density) {
  double left = f->charge_kg;
  for (size_t i = 0, end; i < count && left > 0; i = end) {
    double room = 0;
    end = row_end(f, order, i, count);
    for (size_t k = i; k < end; k++) room += f->volume[order[k]] * density;
    double share = left < room ? left / room : 1;
    for (size_t k = i; k < end; k++) {
      f->mass[order[k]] = share * f->volume[order[k]] * density;
      f->full[order[k]] = share == 1;
    }
    left -= share * room;
  }
}

static double room_in(const ul_filling *f, const uint32_t *order, size_t count) {
  double room = 0;
  for (size_t i = 0; i < count; i++) room += f->volume[order[i]];
  return room;
}

/* Keeps of the order what is no farther from the pour than that, in order. */
static size_t within(const ul_filling *f, const double up[3], size_t pour, double reach_m,
                     uint32_t *order, size_t count) {
  size_t kept = 0;
  for (size_t i = 0; i < count; i++)
    if (sideways_m(f, up, order[i], pour) <= reach_m) order[kept++] = order[i];
  return kept;
}

/* The reach, or as much more as the charge needs to find room. */
static double reach_with_room(const ul_filling *f, const double up[3], size_t pour, double reach_m,
                              const uint32_t *order, size_t count) {
  const double volume = f->charge_kg / ul_mid(f->foam->liquid_kg_m3);
  for (;; reach_m *= 1.05) {
    double room = 0;
    size_t rest = 0;
    for (size_t i = 0; i < count; i++) {
      bool near = sideways_m(f, up, order[i], pour) <= reach_m;
      room += near ? f->volume[order[i]] : 0;
      rest += !near;
    }
    if (room >= volume || rest == 0) return reach_m;
  }
}

/* How far the level pool would reach. */
static double level_reach_m(const ul_filling *f, const double up[3], size_t pour) {
  double reach = 0;
  for (size_t i = 0; i < f->count; i++)
    if (f->mass[i] > 0) reach = fmax(reach, sideways_m(f, up, i, pour));
  return reach;
}

static void clear(ul_filling *f) {
  for (size_t i = 0; i < f->count; i++) {
    f->mass[i] = 0;
    f->full[i] = 0;
  }
}

static void lay(ul_filling *f, size_t pour, const double up[3], double poured_s, uint32_t *order,
                size_t count, double *puddle_m) {
  double density = ul_mid(f->foam->liquid_kg_m3), volume = f->charge_kg / density;
  double nu = ul_mid(f->foam->viscosity_pa_s) / density;
  double time = fmax(1, ul_mid(f->foam->cream_s) - poured_s);
  double reach = ul_puddle_radius_m(volume, nu, time);
  *puddle_m = 0;
  fill_in_order(f, order, count, density);
  if (level_reach_m(f, up, pour) <= reach) return;
  reach = reach_with_room(f, up, pour, reach, order, count);
  size_t kept = within(f, up, pour, reach, order, count);
  clear(f);
  fill_in_order(f, order, kept, density);
  *puddle_m = reach;
}

ul_status ul_pool_lay(ul_filling *f, size_t pour, const double up[3], double poured_s,
                      double *puddle_m, ul_error *err) {
  double density = ul_mid(f->foam->liquid_kg_m3);
  uint32_t *order = ul_new_raw(f->count, sizeof *order);
  size_t reached = 0;
  ul_status status =
      order ? ul_flood_order(f->cubes, f->height, pour, order, &reached, err) : ul_fail_memory(err);
  if (status == UL_OK && room_in(f, order, reached) * density < f->charge_kg)
    status =
        ul_fail(err, UL_E_USAGE,
                "the charge is %.3g litres of liquid and the cavity holds %.3g where the pour can "
                "reach: use a smaller --pack",
                f->charge_kg / density * 1e3, room_in(f, order, reached) * 1e3);
  if (status == UL_OK) lay(f, pour, up, poured_s, order, reached, puddle_m);
  free(order);
  return status;
}
