#include "rise/front_assemble.h"

#include <math.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "rise/air.h"
#include "rise/front_cubes.h"

double ul_bleed_conduct(const ul_step *s, const ul_mouth *m, size_t k) {
  const uint32_t cube = m->cube[k];
  bool shut = m->plug || !s->was_full[cube] || !s->f->full[cube];
  if (shut) return 0;
  return ul_density_at(s, s->value[cube]) * ul_mouth_conductance(m, s->now.viscosity) *
         ul_mouth_share(m, k);
}

static void assemble_bleed(ul_step *s) {
  for (size_t i = 0; i < s->f->mouth_count; i++)
    for (size_t k = 0; k < s->f->mouth[i].count; k++) {
      uint32_t cube = s->f->mouth[i].cube[k];
      s->hold[cube] += ul_bleed_conduct(s, &s->f->mouth[i], k);
    }
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
  return rest * ul_density_at(s, gauge) / absolute;
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
  double held = s->part_mass[a], density = ul_density_at(s, gauge);
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
    if (face->shut) {
      s->source[face->cube] += face->given;
      if (!f->open) s->source[f->count + (size_t)face->part] -= face->given;
      continue;
    }
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
  ul_cubes_law(s);
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
                      .body_link = s->link_conduct,
                      .changed = s->whole ? NULL : s->renewed,
                      .changed_count = s->renewed_count};
  return ul_solver_set(f->solver, &system, f->job, err);
}
