#include "rise/front_assemble.h"

#include <math.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "rise/air.h"

/* Foam is never stiffer than this, 1/Pa: a liquid pool at cream has no gas yet. */
static const double least_compressibility = 1e-9;

static double density_at(const ul_step *s, double gauge) {
  return (1 + least_compressibility * gauge) / ul_volume_at(&s->now, gauge);
}

/* K h of the face on that side of the cube. */
static double face_of(const ul_filling *f, size_t cube, int side) {
  return side % 2 ? f->face[side / 2][cube] : f->face[side / 2][f->cubes->next[cube][side]];
}

/* ---- the front ---- */

static bool one_way(const ul_filling *f, int32_t part) {
  return f->open || f->part[part].mouth_area > 0;
}

double ul_front_drive(const ul_step *s, const ul_front_face *face) {
  double air = s->f->open ? 0 : s->value[s->f->count + (size_t)face->part];
  return s->value[face->cube] - air + face->lift;
}

double ul_front_flux(const ul_step *s, const ul_front_face *face) {
  if (face->shut) return 0;
  double flux = face->conduct * ul_front_drive(s, face);
  return face->one_way ? fmax(0, flux) : flux;
}

/* How the front in a partly full cube stands against a face: at (1/2 + fill) h from the full cube's
 * centre where it climbs; beside it, foam that fills more than half the cube lies there with its
 * own weight. Pa at the start of the step, and Pa more for the cube's whole volume. */
typedef struct {
  double stands, climbs;
} against;

static against against_face(const ul_step *s, size_t next, int side) {
  const ul_filling *f = s->f;
  double weight = s->now.density * UL_GRAVITY, begun = (double)s->begun[next];
  double beside = weight * (f->layer_m - fabs(f->rise[side]));
  against a = {weight * f->rise[side] * (0.5 + begun), weight * fmax(0, f->rise[side])};
  if (begun <= 0.5) return a;
  a.stands += beside * (begun - 0.5);
  a.climbs += beside;
  return a;
}

/* Where the front stands in the cube, as a share of it: at the step's end, by what was last found
 * or foreseen to arrive. Taken at the begin it was half a step short, and the pressure in a disc 16
 * cubes in radius 4.5 % low. A cube that would overflow is about to count as full, and what was
 * found for it is no measure. */
static double front_in(const ul_step *s, size_t cube) {
  double begun = (double)s->begun[cube];
  double gauge = s->value[s->f->count + (size_t)s->f->air[cube]];
  double ends = begun + s->gain[cube] * ul_volume_at(&s->now, gauge) / s->f->volume[cube];
  return ends < 1 ? fmax(0, ends) : begun;
}

/* What comes through in the step raises what it comes against: that is taken at the step's end,
 * conduct / (1 + conduct d lift / d flux), or a thin foam's level would overshoot from cube to
 * cube. */
static void describe(const ul_step *s, uint32_t cube, int side, ul_front_face *out) {
  const ul_filling *f = s->f;
  uint32_t n = (uint32_t)f->cubes->next[cube][side];
  against a = against_face(s, n, side);
  *out = (ul_front_face){.cube = cube,
                         .next = n,
                         .part = f->air[n],
                         .side = (uint8_t)side,
                         .one_way = one_way(f, f->air[n]),
                         .lift = -a.stands};
  double drive = ul_front_drive(s, out);
  out->shut = s->barred[n] || (out->one_way && !(s->ajar[cube] >> side & 1));
  double donor =
      drive > 0 || out->one_way ? s->value[cube] : s->value[f->count + (size_t)out->part];
  double away = 0.5 + front_in(s, (size_t)n);
  out->conduct = density_at(s, donor) * face_of(f, cube, side) / (s->now.viscosity * away);
  out->conduct /= 1 + out->conduct * a.climbs * s->dt / (s->now.density * f->volume[n]);
}

ul_status ul_front_list(ul_step *s, ul_error *err) {
  const ul_filling *f = s->f;
  s->front_count = 0;
  for (size_t k = 0; k < s->rim_count; k++) {
    const uint32_t n = s->rim[k];
    if (f->full[n]) continue;
    if (!ul_grow((void **)&s->front, &s->front_room, s->front_count + UL_SIDES, sizeof *s->front))
      return ul_fail_memory(err);
    for (int side = 0; side < UL_SIDES; side++) {
      int32_t c = f->cubes->next[n][side];
      if (c != UL_NO_CUBE && f->full[c])
        describe(s, (uint32_t)c, side ^ 1, &s->front[s->front_count++]);
    }
  }
  return UL_OK;
}

/* ---- cubes ---- */

enum { BLOCK = 8192 };

static size_t block_end(const ul_step *s, size_t block) {
  return (block + 1) * BLOCK < s->f->count ? (block + 1) * BLOCK : s->f->count;
}

/* Does a block function over all cubes; it writes only what belongs to its own. */
static void for_all_cubes(ul_step *s, ul_block_fn block) {
  ul_parallel(s->f->job, NULL, (s->f->count + BLOCK - 1) / BLOCK, block, s);
}

/* The same for one that leaves a sum in s->sum. */
static double sum_over_cubes(ul_step *s, ul_block_fn block) {
  double sum = 0;
  for_all_cubes(s, block);
  for (size_t b = 0; b * BLOCK < s->f->count; b++) sum += s->sum[b];
  return sum;
}

size_t ul_front_blocks(const ul_filling *f) {
  return f->count / BLOCK + 1;
}

/* Density at pressure so far, and its slope: (1 + k p) P / (l P + g), P = p + atmosphere. */
static ul_status density_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  (void)worker;
  for (size_t i = block * BLOCK; i < block_end(s, block); i++) {
    if (!s->f->full[i]) continue;
    const double p = s->before[i] = s->value[i], absolute = UL_ATMOSPHERE_PA + p;
    const double stiff = 1 + least_compressibility * p;
    const double per = 1 / (s->now.liquid * absolute + s->now.gas);
    s->density[i] = stiff * absolute * per;
    s->slope[i] = least_compressibility * absolute * per + stiff * s->now.gas * per * per;
  }
  return UL_OK;
}

/* kg/(s Pa) between full cubes and those on their + sides: the donor's density. */
static ul_status link_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  const ul_filling *f = s->f;
  const double thin = 1 / s->now.viscosity, heavy = s->now.density * UL_GRAVITY;
  const double weight[3] = {heavy * f->rise[1], heavy * f->rise[3], heavy * f->rise[5]};
  (void)worker;
  for (size_t i = block * BLOCK; i < block_end(s, block); i++) {
    if (!f->full[i]) continue;
    const int32_t *next = f->cubes->next[i];
    const double value = s->value[i], density = s->density[i];
    for (int a = 0; a < 3; a++) {
      const int32_t n = next[2 * a + 1];
      if (n == UL_NO_CUBE || !f->full[n]) continue;
      const double donor = value - s->value[n] > weight[a] ? density : s->density[n];
      s->link[a][i] = donor * f->face[a][i] * thin;
    }
  }
  return UL_OK;
}

static ul_status assemble_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  const ul_filling *f = s->f;
  const double weight = s->now.density * UL_GRAVITY, often = 1 / s->dt;
  (void)worker;
  for (size_t i = block * BLOCK; i < block_end(s, block); i++) {
    if (!f->full[i]) continue;
    double held = f->volume[i] * (s->density[i] - s->slope[i] * s->value[i]), lifted = 0;
    for (int a = 0; a < 3; a++) {
      int32_t below = f->cubes->next[i][2 * a], above = f->cubes->next[i][2 * a + 1];
      if (above != UL_NO_CUBE && f->full[above]) lifted += s->link[a][i] * f->rise[2 * a + 1];
      if (below != UL_NO_CUBE && f->full[below]) lifted += s->link[a][below] * f->rise[2 * a];
    }
    s->hold[i] = f->volume[i] * s->slope[i] * often;
    s->source[i] = (f->mass[i] - held) * often + weight * lifted;
  }
  return UL_OK;
}

/* kg/(s Pa) of foam out of the k-th cube of a mouth, if that is covered. */
static double bleed_conduct(const ul_step *s, const ul_mouth *m, size_t k) {
  const uint32_t cube = m->cube[k];
  bool shut = m->plug || !s->was_full[cube] || !s->f->full[cube];
  if (shut) return 0;
  return density_at(s, s->value[cube]) * ul_mouth_conductance(m, s->now.viscosity) *
         ul_mouth_share(m, k);
}

static void assemble_bleed(ul_step *s) {
  for (size_t i = 0; i < s->f->mouth_count; i++)
    for (size_t k = 0; k < s->f->mouth[i].count; k++) {
      uint32_t cube = s->f->mouth[i].cube[k];
      s->hold[cube] += bleed_conduct(s, &s->f->mouth[i], k);
    }
}

static double front_bleed(const ul_step *s, size_t mouth) {
  const ul_mouth *m = &s->f->mouth[mouth];
  double kg_s = 0;
  for (size_t k = 0; k < m->count; k++) kg_s += bleed_conduct(s, m, k) * s->value[m->cube[k]];
  return kg_s;
}

/* ---- air ---- */

static void count_in(ul_step *s, uint32_t cube, int32_t part, int sign) {
  s->part_volume[part] += sign * s->f->volume[cube];
  s->part_mass[part] += sign * s->f->mass[cube];
  s->part_cubes[part] += (size_t)sign;
}

/* What the parts hold, less the cubes that filled up since the step began, and with those that fell
 * back. */
static void sum_parts(ul_step *s) {
  const ul_filling *f = s->f;
  for (size_t a = 0; a < f->part_count; a++) {
    s->part_volume[a] = f->part[a].cubes_m3;
    s->part_mass[a] = f->part[a].held_kg;
    s->part_cubes[a] = f->part[a].cube_count;
  }
  for (size_t k = 0; k < s->joined_count; k++)
    if (!s->left[s->joined[k]]) count_in(s, s->joined[k], f->air[s->joined[k]], -1);
  for (size_t k = 0; k < s->fallen_count; k++) {
    const ul_fallen *was = &s->fallen[k];
    if (!s->was_full[was->cube]) count_in(s, was->cube, was->air, -1);
    if (!f->full[was->cube]) count_in(s, was->cube, f->air[was->cube], 1);
  }
}

static double part_volume_at(const ul_step *s, size_t a, double held_kg, double gauge) {
  double volume = s->part_volume[a] - held_kg * ul_volume_at(&s->now, gauge);
  return fmax(volume, 1e-3 * s->f->smallest_m3); /* squeezed, never gone */
}

double ul_front_air_volume(const ul_step *s, size_t a) {
  return part_volume_at(s, a, s->part_mass[a] + s->part_gain[a], s->value[s->f->count + a]);
}

/* What P U - content + dt Q lacks to nothing, as a mass of foam. */
static double air_balance(const ul_step *s, size_t a, double held_kg) {
  const ul_filling *f = s->f;
  double gauge = s->value[f->count + a], absolute = UL_ATMOSPHERE_PA + gauge;
  double rest = absolute * part_volume_at(s, a, held_kg, gauge) - f->part[a].content_j +
                s->dt * ul_air_vent_w(f, (int32_t)a, gauge);
  return rest * density_at(s, gauge) / absolute;
}

/* Slope of the loss through vents; every third time the chord, on which the square root cannot
 * swing. */
static double vent_slope(const ul_step *s, size_t a) {
  const ul_filling *f = s->f;
  double gauge = s->value[f->count + a], delta = fmax(0.01, 1e-4 * fabs(gauge));
  double q = ul_air_vent_w(f, (int32_t)a, gauge);
  if (s->iterations % 3 == 2 && fabs(gauge) > 1) return q / gauge;
  return (ul_air_vent_w(f, (int32_t)a, gauge + delta) - q) / delta;
}

static void assemble_part(ul_step *s, size_t a) {
  const ul_filling *f = s->f;
  double gauge = s->value[f->count + a], absolute = UL_ATMOSPHERE_PA + gauge;
  double held = s->part_mass[a], density = density_at(s, gauge);
  if (!s->part_cubes[a]) { /* foam took its last cube in this step */
    s->part_hold[a] = 1;
    s->source[f->count + a] = gauge;
    return;
  }
  double squeezed = s->now.gas / (absolute * absolute) * held; /* -dv/dP times mass */
  double hold = density / s->dt *
                (part_volume_at(s, a, held, gauge) / absolute + squeezed +
                 s->dt * vent_slope(s, a) / absolute);
  s->part_hold[a] = hold;
  s->source[f->count + a] = hold * gauge - air_balance(s, a, held) / s->dt;
}

double ul_front_air_error(const ul_step *s) {
  double error = 0;
  for (size_t a = 0; a < s->f->part_count && !s->f->open; a++)
    if (s->part_cubes[a]) error += fabs(air_balance(s, a, s->part_mass[a] + s->part_gain[a]));
  return error;
}

/* ---- the two together ---- */

/* Open faces to atmosphere are held; the others are links between cube and part, counted here into
 * first[part + 2] so that first[part + 1] can run while they are listed. */
static void couple_front(ul_step *s) {
  const ul_filling *f = s->f;
  for (size_t a = 0; a < f->part_count + 2; a++) s->first[a] = 0;
  for (size_t i = 0; i < s->front_count; i++) {
    const ul_front_face *face = &s->front[i];
    if (face->shut) continue;
    s->source[face->cube] -= face->conduct * face->lift;
    if (f->open) {
      s->hold[face->cube] += face->conduct;
      continue;
    }
    s->source[f->count + (size_t)face->part] += face->conduct * face->lift;
    s->first[face->part + 2]++;
  }
  for (size_t a = 1; a < f->part_count + 1; a++) s->first[a + 1] += s->first[a];
}

static ul_status list_links(ul_step *s, ul_error *err) {
  size_t room = s->link_room;
  if (!ul_grow((void **)&s->link_cube, &room, s->front_count, sizeof *s->link_cube) ||
      !ul_grow((void **)&s->link_conduct, &s->link_room, s->front_count, sizeof *s->link_conduct))
    return ul_fail_memory(err);
  for (size_t i = 0; i < s->front_count && !s->f->open; i++) {
    if (s->front[i].shut) continue;
    size_t k = s->first[s->front[i].part + 1]++;
    s->link_cube[k] = s->front[i].cube;
    s->link_conduct[k] = s->front[i].conduct;
  }
  return UL_OK;
}

ul_status ul_front_assemble(ul_step *s, ul_error *err) {
  const ul_filling *f = s->f;
  memcpy(s->before + f->count, s->value + f->count, f->part_count * sizeof *s->before);
  sum_parts(s);
  for_all_cubes(s, density_block);
  for_all_cubes(s, link_block);
  for_all_cubes(s, assemble_block);
  assemble_bleed(s);
  for (size_t a = 0; a < f->part_count; a++) assemble_part(s, a);
  couple_front(s);
  ul_status status = list_links(s, err);
  if (status != UL_OK) return status;
  ul_system system = {.link = {s->link[0], s->link[1], s->link[2]},
                      .hold = s->hold,
                      .active = f->full,
                      .body_count = f->open ? 0 : f->part_count,
                      .body_hold = s->part_hold,
                      .body_first = s->first,
                      .body_cube = s->link_cube,
                      .body_link = s->link_conduct};
  return ul_solver_set(f->solver, &system, f->job, err);
}

/* ---- after a solve ---- */

/* A pressure moves by at most a factor of two in one solve: far from the answer the gas law is too
 * bent for the straight line through the last one. */
static double limited(double gauge, double before) {
  double absolute = UL_ATMOSPHERE_PA + before;
  return fmin(fmax(gauge, before - absolute / 2), before + absolute);
}

static ul_status limit_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  double missed = 0;
  (void)worker;
  for (size_t i = block * BLOCK; i < block_end(s, block); i++) {
    if (!s->f->full[i]) continue;
    double before = s->before[i], after = limited(s->value[i], before);
    double line = s->density[i] + s->slope[i] * (s->value[i] - before);
    missed += s->f->volume[i] * fabs(density_at(s, after) - line);
    s->value[i] = after;
  }
  s->sum[block] = missed;
  return UL_OK;
}

double ul_front_limit_values(ul_step *s) {
  const ul_filling *f = s->f;
  for (size_t a = f->count; a < f->count + f->part_count; a++)
    s->value[a] = limited(s->value[a], s->before[a]);
  return sum_over_cubes(s, limit_block);
}

static ul_status outflow_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  const ul_filling *f = s->f;
  const double weight = s->now.density * UL_GRAVITY;
  (void)worker;
  for (size_t i = block * BLOCK; i < block_end(s, block); i++) {
    s->hold[i] = 0;
    for (int side = 0; f->full[i] && side < UL_SIDES; side++) {
      int32_t n = f->cubes->next[i][side];
      if (n == UL_NO_CUBE || !f->full[n]) continue;
      double conduct = s->link[side / 2][side % 2 ? i : (size_t)n];
      s->hold[i] += conduct * (s->value[i] - s->value[n] - weight * f->rise[side]);
    }
  }
  return UL_OK;
}

/* kg/s that leave each full cube, to all sides and through vents, into s->hold. */
static void find_outflow(ul_step *s) {
  const ul_filling *f = s->f;
  for_all_cubes(s, density_block);
  for_all_cubes(s, link_block);
  for_all_cubes(s, outflow_block);
  for (size_t i = 0; i < s->front_count; i++)
    s->hold[s->front[i].cube] += ul_front_flux(s, &s->front[i]);
  for (size_t i = 0; i < f->mouth_count; i++)
    for (size_t k = 0; k < f->mouth[i].count; k++) {
      uint32_t cube = f->mouth[i].cube[k];
      s->hold[cube] += bleed_conduct(s, &f->mouth[i], k) * s->value[cube];
    }
}

/* Sums: mass, mass times pressure; and the highest pressure. */
static ul_status move_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  ul_filling *f = s->f;
  double mass = 0, weighed = 0, peak = 0;
  (void)worker;
  for (size_t i = block * BLOCK; i < block_end(s, block); i++) {
    if (f->full[i]) {
      f->mass[i] -= s->dt * s->hold[i];
      f->pressure[i] = s->value[i];
      weighed += f->mass[i] * f->pressure[i];
      if (f->pressure[i] > peak) peak = f->pressure[i];
    } else if (s->in_rim[i]) {
      f->mass[i] += s->gain[i];
    }
    mass += f->mass[i];
  }
  s->sum[3 * block] = mass;
  s->sum[3 * block + 1] = weighed;
  s->sum[3 * block + 2] = peak;
  return UL_OK;
}

void ul_front_move_masses(ul_step *s) {
  ul_filling *f = s->f;
  double mass = 0, weighed = 0;
  find_outflow(s);
  for_all_cubes(s, move_block);
  f->peak_pa = 0;
  for (size_t b = 0; b * BLOCK < f->count; b++) {
    mass += s->sum[3 * b];
    weighed += s->sum[3 * b + 1];
    f->peak_pa = fmax(f->peak_pa, s->sum[3 * b + 2]);
  }
  f->mean_pa = UL_ATMOSPHERE_PA + (mass > 0 ? weighed / mass : 0);
  for (size_t m = 0; m < f->mouth_count; m++) f->mouth[m].bled_kg += s->dt * front_bleed(s, m);
}
