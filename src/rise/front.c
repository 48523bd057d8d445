#include "rise/front.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "rise/air.h"
#include "rise/front_assemble.h"
#include "rise/front_cubes.h"
#include "rise/front_faces.h"
#include "rise/front_masses.h"
#include "rise/front_move.h"
#include "rise/front_renew.h"
#include "rise/front_rim.h"

enum { MOST_ITERATIONS = 40 };

/* What the pressures may leave undone, as shares of the mass that has to move in a step. Masses
 * close whatever is left: a cube's miss is in the next step's equation. A tenth of them
 * moves arrivals in a tilted box by a third of what halving the step does (0.05 and 0.15 s). */
static const double SOLVE_TO = 0.01;       /* by the linear system */
static const double SHARE_OF_START = 0.05; /* or by one solve, of what was there before it */
static const double MISSED_TO = 0.03;      /* by the system and the straight law together */
/* And of a full cube, a share of a whole one. Where much foam grows behind few cubes the shares
 * above are many of them: the eight at a wide vent's mouth once ended with less than no foam. */
static const double CUBE_TO = 0.5;

/* Air that a vent lets out loses volume without its pressure following, so that a change of its
 * volume counts for this much of one of shut air; the pressure's own change counts in full. */
static const double VENTED_COUNTS = 0.4;

/* ---- memory ---- */

ul_status ul_step_new(ul_filling *f, ul_step *s, ul_error *err) {
  size_t n = f->count;
  *s = (ul_step){.f = f, .settle = 1};
  for (int a = 0; a < 3; a++) s->link[a] = ul_new(n, sizeof *s->link[a]);
  s->density = ul_new(n, sizeof *s->density);
  s->slope = ul_new(n, sizeof *s->slope);
  s->hold = ul_new(n, sizeof *s->hold);
  s->gain = ul_new(n, sizeof *s->gain);
  s->begun = ul_new(n, sizeof *s->begun);
  s->reached = ul_new(n, sizeof *s->reached);
  s->was_full = ul_new(n, 1);
  s->ajar = ul_new(n, 1);
  s->left = ul_new(n, 1);
  s->barred = ul_new(n, 1);
  s->renew = ul_new(n, 1);
  s->in_rim = ul_new(n, 1);
  s->sum = ul_new(ul_cubes_blocks(f), 3 * sizeof *s->sum);
  bool all = s->link[0] && s->link[1] && s->link[2] && s->density && s->slope && s->hold &&
             s->gain && s->begun && s->reached && s->was_full && s->ajar && s->left && s->barred &&
             s->renew && s->in_rim && s->sum;
  if (!all) return ul_fail_memory(err);
  memset(s->ajar, UL_AJAR, n);
  return ul_rim_begin(s, err);
}

void ul_step_free(ul_step *s) {
  void *const owned[] = {s->link[0],     s->link[1],   s->link[2],     s->density,   s->slope,
                         s->hold,        s->source,    s->value,       s->before,    s->gain,
                         s->begun,       s->reached,   s->was_full,    s->ajar,      s->left,
                         s->barred,      s->in_rim,    s->rim,         s->renew,     s->renewed,
                         s->rim_faces,   s->joined,    s->fallen,      s->front,     s->sum,
                         s->part_volume, s->part_mass, s->part_gain,   s->part_hold, s->part_cubes,
                         s->first,       s->link_cube, s->link_conduct};
  for (size_t i = 0; i < sizeof owned / sizeof *owned; i++) free(owned[i]);
}

/* The arrays that grow with the number of parts. */
static ul_status room_for_parts(ul_step *s, ul_error *err) {
  size_t need = s->f->part_count + 2;
  if (need <= s->part_room) return UL_OK;
  void **const block[] = {(void **)&s->value,       (void **)&s->before,     (void **)&s->source,
                          (void **)&s->part_volume, (void **)&s->part_mass,  (void **)&s->part_gain,
                          (void **)&s->part_hold,   (void **)&s->part_cubes, (void **)&s->first};
  size_t room = 2 * need;
  for (size_t i = 0; i < sizeof block / sizeof *block; i++) {
    free(*block[i]);
    *block[i] = ul_new((i < 3 ? s->f->count : 0) + room, sizeof(double));
    if (!*block[i]) return ul_fail_memory(err);
  }
  s->part_room = room;
  return UL_OK;
}

/* ---- the start of a step ---- */

static ul_status begin(ul_step *s, double dt, ul_error *err) {
  ul_filling *f = s->f;
  ul_status status = room_for_parts(s, err);
  if (status == UL_OK) status = ul_rim_begin(s, err);
  if (status != UL_OK) return status;
  ul_foam_now before = ul_foam_at(f, f->t);
  double longer = s->dt > 0 ? dt / s->dt : 0;
  s->dt = dt;
  s->now = ul_foam_at(f, f->t + dt);
  s->source_kg = f->charge_kg * fmax(before.density / s->now.density - 1, 1e-5);
  const bool like_liquid = s->now.density * s->now.liquid > 0.5 && f->t < ul_mid(f->foam->gel_s);
  s->runs = like_liquid || (f->turn_end_s > 0 && f->t >= f->turn_begin_s);
  s->iterations = s->solver_iterations = 0;
  s->whole = true;
  memcpy(s->value, f->pressure, f->count * sizeof *s->value);
  for (size_t a = 0; a < f->part_count; a++) s->value[f->count + a] = f->part[a].gauge_pa;
  for (size_t k = 0; k < s->rim_count; k++) {
    uint32_t i = s->rim[k];
    double foam = f->mass[i] * ul_volume_at(&before, f->part[f->air[i]].gauge_pa);
    s->begun[i] = (float)fmin(1, foam / f->volume[i]);
  }
  return ul_front_foresee(s, longer, err);
}

void ul_step_undo(ul_step *s) {
  ul_rim_undo(s);
  s->dt = 0; /* nothing is known of how foam arrives */
}

/* ---- the step ---- */

/* *missed: mass that the pressures found leave unexplained, kg. */
static ul_status solve_once(ul_step *s, double *missed, ul_error *err) {
  ul_filling *f = s->f;
  ul_status status = ul_renew_begin(s, err);
  if (status == UL_OK) status = ul_front_list(s, err);
  if (status == UL_OK) status = ul_renew_front(s, err);
  if (status == UL_OK) status = ul_front_assemble(s, err);
  if (status != UL_OK) return status;
  ul_solved solved = {0};
  double stop = s->settle * s->tighter * SOLVE_TO * s->source_kg / s->dt;
  status = ul_solver_improve(f->solver, s->source, s->value, stop,
                             s->settle * s->tighter * SHARE_OF_START, f->job, &solved, err);
  if (status != UL_OK) return status;
  s->solver_iterations += solved.iterations;
  *missed = s->dt * solved.residual + ul_cubes_limit(s);
  ul_front_gather(s);
  *missed += ul_front_air_error(s);
  return UL_OK;
}

ul_status ul_step_solve(ul_step *s, double dt, bool *converged, ul_error *err) {
  ul_status status = begin(s, dt, err);
  double before = INFINITY;
  s->tighter = 1;
  *converged = false;
  while (status == UL_OK && !*converged && s->iterations < MOST_ITERATIONS) {
    double missed = 0;
    bool moved = s->iterations + 1 == MOST_ITERATIONS; /* full cubes stay those of the last solve */
    status = solve_once(s, &missed, err);
    s->iterations++;
    if (status == UL_OK && s->iterations < MOST_ITERATIONS) status = ul_front_move(s, &moved, err);
    *converged = !moved && missed <= s->settle * MISSED_TO * s->source_kg;
    s->whole = !moved && missed > 0.5 * before;
    before = missed;
    if (status != UL_OK || !(*converged || s->iterations == MOST_ITERATIONS)) continue;
    if (*converged) ul_front_keep(s);
    if (ul_masses_find(s) <= CUBE_TO) continue;
    *converged = false;
    s->tighter /= 4;
  }
  return status;
}

double ul_step_air_change(const ul_step *s) {
  const ul_filling *f = s->f;
  double most = 0;
  for (size_t a = 0; a < f->part_count; a++) {
    const ul_part *p = &f->part[a];
    if (p->volume_m3 < 1e-4 * f->volume_m3) continue;
    double volume = fabs(ul_front_air_volume(s, a) / p->volume_m3 - 1);
    double absolute = UL_ATMOSPHERE_PA + s->value[f->count + a];
    double pressure = fabs(log(absolute / (UL_ATMOSPHERE_PA + p->gauge_pa)));
    most = fmax(most, fmax(pressure, p->mouth_area > 0 ? VENTED_COUNTS * volume : volume));
  }
  return most;
}

/* Air of fewer cubes than this, two or three across, is more the lattice's than the foam's: which
 * of them is the last to fill is not known to a cube, nor whether that is the vent's. */
static const double FEW_CUBES = 16;

/* The least share of a step after which a cube counts as filled in it. One that the step before
 * left just full, but not counted so, is full at once, or its vent would let air out to the step's
 * end; where few cubes of air are left it may. */
static double soonest(const ul_step *s, uint32_t cube) {
  const ul_filling *f = s->f;
  const double left = f->part[f->air[cube]].volume_m3;
  return left > FEW_CUBES * pow(f->cube_m, 3) ? 1e-6 : 0;
}

/* When the cube became full, as a share of the step; 0 before it, 1 not in it. */
static double full_at(const ul_step *s, uint32_t cube) {
  if (s->was_full[cube] || !s->f->full[cube]) return s->was_full[cube] ? 0 : 1;
  double before = (double)s->begun[cube], after = (double)s->reached[cube];
  return after > 1 ? fmax(soonest(s, cube), (1 - before) / (after - before)) : 1;
}

static double shuts_at(const ul_step *s, const ul_mouth *m) {
  double first = 1, last = 0;
  for (size_t k = 0; k < m->count; k++) {
    double at = full_at(s, m->cube[k]);
    first = fmin(first, at);
    last = fmax(last, at);
  }
  double shut = m->plug ? first : last;
  return shut > 0 ? shut : 1;
}

double ul_step_shuts_vent(const ul_step *s) {
  double first = 1;
  for (size_t i = 0; i < s->f->mouth_count; i++)
    if (!s->f->mouth[i].seam) first = fmin(first, shuts_at(s, &s->f->mouth[i]));
  return first;
}

double ul_step_front_volume(ul_step *s) {
  double volume = 0;
  for (size_t k = 0; k < s->rim_count; k++)
    if (!s->f->full[s->rim[k]]) volume += s->f->volume[s->rim[k]];
  return volume;
}

/* ---- acceptance ---- */

/* Half full, taken as if it filled evenly over the step. */
static void note_arrivals(ul_step *s) {
  ul_filling *f = s->f;
  for (size_t k = 0; k < s->rim_count; k++) {
    uint32_t i = s->rim[k];
    if (f->arrival_s[i] < INFINITY) continue;
    double before = (double)s->begun[i], after = (double)s->reached[i];
    if (!f->full[i])
      after =
          f->mass[i] * ul_volume_at(&s->now, s->value[f->count + (size_t)f->air[i]]) / f->volume[i];
    if (after < 0.5) continue;
    double share = after > before ? (0.5 - before) / (after - before) : 0;
    f->arrival_s[i] = (float)(f->t + s->dt * fmin(1, fmax(0, share)));
  }
}

static double taken_from_air(const ul_step *s) {
  double taken = 0;
  for (size_t a = 0; a < s->f->part_count; a++)
    taken += s->f->part[a].volume_m3 - ul_front_air_volume(s, a);
  return fmax(0, taken);
}

/* What the part loses through vents in the step: never more than it has, which the flow would come
 * to where foam took its last room. */
static double vented(const ul_step *s, size_t a) {
  const ul_filling *f = s->f;
  double loses = s->dt * ul_air_vent_w(f, (int32_t)a, s->value[f->count + a]);
  return fmin(f->part[a].content_j, loses);
}

/* Shut air takes room back from when no foam comes any more to when foam comes for good: that share
 * of its volume in a step. */
static const double FOR_GOOD = 1e-3;

static void note_growth(ul_step *s) {
  ul_filling *f = s->f;
  for (size_t a = 0; a < f->part_count; a++) s->part_hold[a] = 0;
  for (size_t i = 0; i < s->front_count && !f->open; i++)
    s->part_hold[s->front[i].part] += ul_front_flux(s, &s->front[i]);
  for (size_t a = 0; a < f->part_count; a++) {
    ul_part *p = &f->part[a];
    const double comes = s->dt * s->part_hold[a] / s->now.density;
    p->grows = !(p->mouth_area > 0) && comes <= (p->grows ? FOR_GOOD * p->volume_m3 : 0);
  }
}

ul_status ul_step_accept(ul_step *s, ul_error *err) {
  ul_filling *f = s->f;
  note_growth(s);
  f->into_front = taken_from_air(s) * s->now.density / s->source_kg;
  for (size_t a = 0; a < f->part_count; a++) {
    ul_part *p = &f->part[a];
    double volume = s->part_cubes[a] ? ul_front_air_volume(s, a) : 0;
    p->cube_count = s->part_cubes[a];
    p->cubes_m3 = s->part_volume[a];
    p->held_kg = s->part_mass[a] + s->part_gain[a];
    p->shrink_m3_s = (p->volume_m3 - volume) / s->dt;
    p->volume_m3 = volume;
    p->climb_pa_s = 0;
    if (f->open) continue;
    p->climb_pa_s = (s->value[f->count + a] - p->gauge_pa) / s->dt;
    double gone = vented(s, a);
    p->gauge_pa = s->value[f->count + a];
    p->content_j -= gone;
    f->vented_j += gone;
  }
  ul_masses_move(s);
  note_arrivals(s);
  f->t += s->dt;
  return ul_air_follow(f, &s->now, s->joined, s->joined_count, s->fallen_count > 0, err);
}
