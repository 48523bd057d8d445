#include "rise/pool.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "rise/flood.h"
#include "rise/puddle.h"
#include "rise/reach.h"

/* ---- where the pieces run ---- */

/* The last cube straight below before a wall. */
static uint32_t landing_of(const ul_cubes *c, const double up[3], uint32_t from) {
  const ul_lattice *l = &c->grid->lattice;
  double at[3];
  ul_cube_centre_mm(c, from, at);
  for (uint32_t here = from;;) {
    ul_add_scaled(at, -0.25 * l->cube_mm, up, at);
    size_t number = 0, stride = 1;
    for (int a = 0; a < 3; a++) {
      double x = floor((at[a] - l->origin_mm[a]) / l->cube_mm);
      if (x < 0 || x >= l->n[a]) return here;
      number += (size_t)x * stride;
      stride *= (size_t)l->n[a];
    }
    int32_t found = c->of_lattice[number];
    if (found == UL_NO_CUBE || c->at[found] != number) return here;
    here = (uint32_t)found;
  }
}

static void add_to_basin(ul_pool *p, uint32_t bottom) {
  size_t i = 0;
  while (i < p->basin_count && p->basin[i].bottom != bottom) i++;
  if (i == p->basin_count) p->basin[p->basin_count++] = (ul_basin){.bottom = bottom};
  p->basin[i].share += 1 / (double)p->pour->count;
}

ul_status ul_pool_new(const ul_filling *f, const ul_pour *pour, const double up[3], bool level,
                      ul_pool *p, ul_error *err) {
  *p = (ul_pool){.pour = pour};
  ul_copy3(up, p->up);
  /* What a basin gets beside its own share of the charge has gone over from another. */
  double liquid = f->charge_kg / ul_mid(f->foam->liquid_kg_m3) * 1e9;
  double enough = level ? liquid * (1 + 1e-9) : INFINITY;
  ul_status status = UL_OK;
  for (size_t i = 0; i < pour->count && status == UL_OK; i++) {
    p->landing[i] = landing_of(f->cubes, up, pour->cube[i]);
    status = ul_flood_bottom(f->cubes, f->height, pour->cube[i], &p->bottom[i], err);
    if (status == UL_OK) add_to_basin(p, p->bottom[i]);
  }
  if (status != UL_OK) return status;
  p->order = ul_new_raw(p->basin_count * f->count, sizeof *p->order);
  p->needs = ul_new_raw(f->count, sizeof *p->needs);
  p->list = ul_new_raw(f->count, sizeof *p->list);
  p->seen = ul_new(f->count, sizeof *p->seen);
  if (!p->order || !p->needs || !p->list || !p->seen) return ul_fail_memory(err);
  for (size_t b = 0; b < p->basin_count && status == UL_OK; b++)
    status = ul_flood_some(f->cubes, f->height, p->basin[b].bottom, enough, p->order + b * f->count,
                           &p->basin[b].reached, err);
  return status;
}

void ul_pool_reach_all(ul_pool *p) {
  p->radius_m = INFINITY;
}

void ul_pool_free(ul_pool *p) {
  free(p->order);
  free(p->needs);
  free(p->list);
  free(p->seen);
  p->order = p->list = NULL;
  p->needs = NULL;
  p->seen = NULL;
}

/* ---- how far they get ---- */

/* The way from a to b without its part along `up`, m. */
static void sideways(const ul_filling *f, const double up[3], size_t a, size_t b, double out[3]) {
  double p[3], q[3];
  ul_cube_centre_mm(f->cubes, a, p);
  ul_cube_centre_mm(f->cubes, b, q);
  ul_sub(q, p, out);
  ul_add_scaled(out, -ul_dot(out, up), up, out);
  for (int c = 0; c < 3; c++) out[c] *= 1e-3;
}

/* How wide the cavity is across the way down, over the cubes round `at` that are listed. */
static double width_across(const ul_filling *f, const ul_pool *p, size_t at, const double way[3],
                           size_t listed) {
  double across[3], least = 0, most = 0;
  ul_cross(p->up, way, across);
  double length = ul_norm(across);
  for (size_t i = 0; i < listed; i++) {
    double to[3];
    sideways(f, p->up, at, p->list[i], to);
    least = fmin(least, ul_dot(to, across) / length);
    most = fmax(most, ul_dot(to, across) / length);
  }
  return most - least + f->cube_m;
}

/* A stream as wide as the puddle that it would be, or as the cavity is there. */
static double slide_of(const ul_filling *f, ul_pool *p, size_t piece, double volume, double nu,
                       double t) {
  size_t from = p->landing[piece], to = p->bottom[piece];
  double way[3], drop = f->height[from] - f->height[to];
  sideways(f, p->up, from, to, way);
  double along = ul_norm(way), path = hypot(along, drop);
  if (drop < 0.5 * f->cube_m || along < f->cube_m) return 0;
  double free_width = 2 * p->radius_m + p->pour->length_m;
  size_t listed = ul_reach_level(f, p->up, (uint32_t)from, free_width, p->list, p->seen);
  double width = fmin(free_width, width_across(f, p, from, way, listed));
  return along / path * ul_puddle_downhill_m(volume / width, drop / path, nu, t);
}

/* The least width of the cavity where a piece landed, over so many directions. */
static double narrowest(const ul_filling *f, ul_pool *p, size_t piece, double within_m) {
  enum { DIRECTIONS = 8 };
  double x[3], y[3], least = INFINITY;
  ul_across(p->up, x, y);
  size_t listed = ul_reach_level(f, p->up, p->landing[piece], within_m, p->list, p->seen);
  for (int k = 0; k < DIRECTIONS; k++) {
    double way[3], turned = M_PI * k / DIRECTIONS;
    for (int a = 0; a < 3; a++) way[a] = cos(turned) * x[a] + sin(turned) * y[a];
    least = fmin(least, width_across(f, p, p->landing[piece], way, listed));
  }
  return least;
}

/* Between walls closer than a free puddle is wide it goes along them, both ways, on a level floor.
 */
void ul_pool_reach(const ul_filling *f, ul_pool *p, double volume, double nu, double t) {
  double length = p->pour->length_m;
  double side = length > 0 ? ul_puddle_side_m(volume / (2 * length), nu, t) : INFINITY;
  p->radius_m = ul_puddle_radius_m(volume, nu, t);
  p->power = side < p->radius_m ? 5 : 8;
  p->radius_m = fmin(p->radius_m, side);
  for (size_t i = 0; i < p->pour->count; i++) p->slide_m[i] = slide_of(f, p, i, volume, nu, t);
  size_t middle = p->pour->count / 2;
  if (p->slide_m[middle] > 0) return;
  double width = narrowest(f, p, middle, 2 * p->radius_m + length);
  double along = width < 2 * p->radius_m ? ul_puddle_side_m(volume / (2 * width), nu, t) : 0;
  if (along <= p->radius_m) return;
  p->radius_m = along;
  p->power = 5;
}

/* Reaches grow as (V^3 t / nu)^(1/power) on the level, and (V^2 t / nu)^(1/3) down a slope. */
void ul_pool_spread(ul_pool *p, const ul_pool *begun, double volumes, double viscosities, double t,
                    double dt) {
  double level = pow(volumes, 3) / viscosities * dt / t, slope = level / volumes;
  p->radius_m =
      pow(pow(p->radius_m, p->power) + pow(begun->radius_m, p->power) * level, 1.0 / p->power);
  for (size_t i = 0; i < p->pour->count; i++)
    p->slide_m[i] = cbrt(pow(p->slide_m[i], 3) + pow(begun->slide_m[i], 3) * slope);
}

double ul_pool_depth_m(const ul_filling *f) {
  int down = 0;
  double volume = 0;
  size_t feet = 0;
  for (int s = 1; s < UL_SIDES; s++)
    if (f->rise[s] < f->rise[down]) down = s;
  for (size_t i = 0; i < f->count; i++) {
    if (f->mass[i] <= 0) continue;
    int32_t below = f->cubes->next[i][down];
    feet += below == UL_NO_CUBE || f->mass[below] <= 0;
    volume += f->full[i] ? f->volume[i] : f->mass[i] / ul_foam_at(f, f->t).density;
  }
  return feet ? volume / ((double)feet * f->cube_m * f->cube_m) : 0;
}

/* Where cubes lie across `up`, m. */
typedef struct {
  double x[3], y[3];
} plan_view;

typedef struct {
  double x, y;
} spot;

static spot spot_of(const ul_filling *f, const plan_view *v, size_t cube) {
  double at[3];
  ul_cube_centre_mm(f->cubes, cube, at);
  return (spot){ul_dot(at, v->x) * 1e-3, ul_dot(at, v->y) * 1e-3};
}

static double apart(spot a, spot b) {
  return sqrt((a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y));
}

/* For one piece: spread about where it was let go; run down from where it landed; and spread about
 * the bottom, if it gets there. */
static double need_of(const ul_filling *f, const ul_pool *p, size_t piece, const spot at[3],
                      size_t cube, spot here) {
  double need = apart(at[0], here) / p->radius_m, slide = p->slide_m[piece];
  if (slide <= 0) return need;
  if (f->height[cube] <= f->height[p->landing[piece]])
    need = fmin(need, apart(at[1], here) / slide);
  if (apart(at[1], at[2]) <= slide) need = fmin(need, apart(at[2], here) / p->radius_m);
  return need;
}

static void straight_needs(const ul_filling *f, ul_pool *p) {
  plan_view view;
  spot at[UL_POUR_PIECES][3];
  ul_across(p->up, view.x, view.y);
  for (size_t k = 0; k < p->pour->count; k++) {
    at[k][0] = spot_of(f, &view, p->pour->cube[k]);
    at[k][1] = spot_of(f, &view, p->landing[k]);
    at[k][2] = spot_of(f, &view, p->bottom[k]);
  }
  for (size_t i = 0; i < f->count; i++) {
    p->needs[i] = 0;
    if (isinf(p->radius_m)) continue;
    spot here = spot_of(f, &view, i);
    p->needs[i] = INFINITY;
    for (size_t k = 0; k < p->pour->count; k++)
      p->needs[i] = fmin(p->needs[i], need_of(f, p, k, at[k], i, here));
  }
}

/* Up to `most`; beyond it a need may be INFINITY. */
static ul_status find_needs(const ul_filling *f, ul_pool *p, double most, ul_error *err) {
  uint32_t from[3 * UL_POUR_PIECES];
  size_t count = 0;
  double reach = p->radius_m, way[3];
  straight_needs(f, p);
  if (isinf(p->radius_m)) return UL_OK;
  for (size_t k = 0; k < p->pour->count; k++) {
    from[count++] = p->pour->cube[k];
    from[count++] = p->landing[k];
    reach = fmax(reach, p->slide_m[k]);
    sideways(f, p->up, p->landing[k], p->bottom[k], way);
    if (ul_norm(way) <= p->slide_m[k]) from[count++] = p->bottom[k];
  }
  return ul_reach_round_walls(f, p->up, from, count, reach, most, p->needs, err);
}

/* ---- laying it ---- */

/* Cubes of one height in a row of the order share what is left, so that a pool thinner than a cube
 * lies evenly. Returns the end of that row. */
static size_t row_end(const ul_filling *f, const uint32_t *order, size_t from, size_t count) {
  size_t i = from + 1;
  while (i < count && fabs(f->height[order[i]] - f->height[order[from]]) < 1e-6 * f->cube_m) i++;
  return i;
}

/* Fills what is not full yet, in order, of the cubes that need no more than `most`. Returns what
 * found no room, kg. */
static double fill_in_order(ul_filling *f, const ul_pool *p, const uint32_t *order, size_t count,
                            double most, double density, double kg) {
  for (size_t i = 0, end; i < count && kg > 0; i = end) {
    double room = 0;
    end = row_end(f, order, i, count);
    for (size_t k = i; k < end; k++)
      if (p->needs[order[k]] <= most && !f->full[order[k]])
        room += f->volume[order[k]] * density - f->mass[order[k]];
    double share = kg < room ? kg / room : 1;
    for (size_t k = i; k < end; k++) {
      uint32_t c = order[k];
      if (p->needs[c] > most || f->full[c]) continue;
      f->mass[c] += share * (f->volume[c] * density - f->mass[c]);
      f->full[c] = share == 1;
    }
    kg -= share * room;
  }
  return fmax(0, kg);
}

/* Liquid that came to lie apart from where it belongs to goes on in the next basin. */
static double fill_basins(ul_filling *f, const ul_pool *p, double most, double density) {
  double left = 0;
  for (size_t i = 0; i < f->count; i++) {
    f->mass[i] = 0;
    f->full[i] = 0;
  }
  for (size_t b = 0; b < p->basin_count; b++)
    left = fill_in_order(f, p, p->order + b * f->count, p->basin[b].reached, most, density,
                         left + p->basin[b].share * f->charge_kg);
  return left;
}

static double room_within(const ul_filling *f, const ul_pool *p, double most) {
  double room = 0;
  for (size_t k = 0; k < p->basin[0].reached; k++)
    if (p->needs[p->order[k]] <= most) room += f->volume[p->order[k]];
  return room;
}

/* The farthest that any liquid had to come, in reaches. */
static double farthest_need(const ul_filling *f, const ul_pool *p) {
  double most = 0;
  for (size_t i = 0; i < f->count; i++)
    if (f->mass[i] > 0) most = fmax(most, p->needs[i]);
  return most;
}

static double farthest_m(const ul_filling *f, const ul_pool *p) {
  plan_view view;
  spot at[UL_POUR_PIECES];
  double most = 0;
  ul_across(p->up, view.x, view.y);
  for (size_t k = 0; k < p->pour->count; k++) at[k] = spot_of(f, &view, p->pour->cube[k]);
  for (size_t i = 0; i < f->count; i++) {
    if (f->mass[i] <= 0) continue;
    double least = INFINITY;
    spot here = spot_of(f, &view, i);
    for (size_t k = 0; k < p->pour->count; k++) least = fmin(least, apart(at[k], here));
    most = fmax(most, least);
  }
  return most;
}

/* As far as it gets: where its reach holds too little of it, no farther than has room. */
static ul_status cut_to_reach(ul_filling *f, ul_pool *p, double density, double *left,
                              ul_error *err) {
  double volume = f->charge_kg / density, most = 1;
  if (room_within(f, p, most) < volume) {
    ul_status status = find_needs(f, p, INFINITY, err);
    if (status != UL_OK) return status;
  }
  while (room_within(f, p, most) < volume && isfinite(most)) most *= 1.05;
  *left = fill_basins(f, p, most, density);
  p->reach_m = farthest_m(f, p);
  return UL_OK;
}

ul_status ul_pool_lay(ul_filling *f, ul_pool *p, double density, ul_error *err) {
  ul_status status = find_needs(f, p, 1, err);
  if (status != UL_OK) return status;
  double volume = f->charge_kg / density, room = room_within(f, p, INFINITY);
  if (room < volume)
    return ul_fail(err, UL_E_USAGE,
                   "the charge is %.3g litres of liquid and the cavity holds %.3g where the pour "
                   "can reach: use a smaller --pack, or pour elsewhere",
                   volume * 1e3, room * 1e3);
  p->reach_m = 0;
  double left = fill_basins(f, p, INFINITY, density);
  if (farthest_need(f, p) > 1) status = cut_to_reach(f, p, density, &left, err);
  if (status != UL_OK || left <= 1e-9 * f->charge_kg) return status;
  return ul_fail(err, UL_E_USAGE,
                 "%.3g litres of the charge find no room where they are poured: use a smaller "
                 "--pack, or pour at one place",
                 left / density * 1e3);
}
