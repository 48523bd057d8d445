#include "rise/front.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "rise/air.h"
#include "rise/front_assemble.h"

enum { MOST_ITERATIONS = 40 };

/* Shares of the mass that has to move in a step. Masses close whatever is left: a cube's miss is in
 * the next step's equation. */
static const double SOLVE_TO = 1e-3;       /* residual of the linear system */
static const double LINEAR_TO = 1e-3;      /* miss of the straight law */
static const double FACES_TO = 1e-4;       /* through faces that were open or shut wrongly */
static const double FACES_NEARLY = 0.05;   /* few enough for cubes to fill and fall back */
static const double EXCESS_OF_CUBE = 0.25; /* share of what one cube holds */
static const double EXCESS_TO = 0.02;      /* held beyond their volume by cubes that are not full */

/* ---- memory ---- */

ul_status ul_step_new(ul_filling *f, ul_step *s, ul_error *err) {
  size_t n = f->count;
  *s = (ul_step){.f = f};
  for (int a = 0; a < 3; a++) s->link[a] = ul_new(n, sizeof *s->link[a]);
  s->density = ul_new(n, sizeof *s->density);
  s->hold = ul_new(n, sizeof *s->hold);
  s->gain = ul_new(n, sizeof *s->gain);
  s->begun = ul_new(n, sizeof *s->begun);
  s->reached = ul_new(n, sizeof *s->reached);
  s->was_full = ul_new(n, 1);
  s->ajar = ul_new(n, 1);
  s->left = ul_new(n, 1);
  s->barred = ul_new(n, 1);
  s->was_air = ul_new(n, sizeof *s->was_air);
  s->was_pressure = ul_new(n, sizeof *s->was_pressure);
  bool all = s->link[0] && s->link[1] && s->link[2] && s->density && s->hold && s->gain &&
             s->begun && s->reached && s->was_full && s->ajar && s->left && s->barred &&
             s->was_air && s->was_pressure;
  if (!all) return ul_fail_memory(err);
  memset(s->ajar, UL_AJAR, n);
  return UL_OK;
}

void ul_step_free(ul_step *s) {
  void *const owned[] = {
      s->link[0],   s->link[1],      s->link[2], s->density,     s->hold,
      s->source,    s->value,        s->before,  s->gain,        s->begun,
      s->reached,   s->was_full,     s->ajar,    s->left,        s->barred,
      s->was_air,   s->was_pressure, s->front,   s->part_volume, s->part_mass,
      s->part_gain, s->part_hold,    s->first,   s->link_cube,   s->link_conduct};
  for (size_t i = 0; i < sizeof owned / sizeof *owned; i++) free(owned[i]);
}

/* The arrays that grow with the number of parts. */
static ul_status room_for_parts(ul_step *s, ul_error *err) {
  size_t need = s->f->part_count + 2;
  if (need <= s->part_room) return UL_OK;
  void **const block[] = {(void **)&s->value,       (void **)&s->before,    (void **)&s->source,
                          (void **)&s->part_volume, (void **)&s->part_mass, (void **)&s->part_gain,
                          (void **)&s->part_hold,   (void **)&s->first};
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
  if (status != UL_OK) return status;
  ul_foam_now before = ul_foam_at(f, f->t);
  s->dt = dt;
  s->now = ul_foam_at(f, f->t + dt);
  s->source_kg = f->charge_kg * fmax(before.density / s->now.density - 1, 1e-5);
  s->iterations = s->solver_iterations = 0;
  memcpy(s->was_full, f->full, f->count);
  memcpy(s->was_air, f->air, f->count * sizeof *f->air);
  memcpy(s->was_pressure, f->pressure, f->count * sizeof *f->pressure);
  memset(s->left, 0, f->count);
  memset(s->barred, 0, f->count);
  for (size_t i = 0; i < f->count; i++) {
    double gauge = f->full[i] ? f->pressure[i] : f->part[f->air[i]].gauge_pa;
    s->value[i] = gauge;
    s->reached[i] = 0;
    s->begun[i] = (float)fmin(1, f->mass[i] * ul_volume_at(&before, gauge) / f->volume[i]);
  }
  for (size_t a = 0; a < f->part_count; a++) s->value[f->count + a] = f->part[a].gauge_pa;
  return UL_OK;
}

void ul_step_undo(ul_step *s) {
  memcpy(s->f->full, s->was_full, s->f->count);
  memcpy(s->f->air, s->was_air, s->f->count * sizeof *s->f->air);
  memcpy(s->f->pressure, s->was_pressure, s->f->count * sizeof *s->f->pressure);
}

/* ---- the front between solves ---- */

/* Adds up what arrives in each cube that is not full. */
static void gather_gains(ul_step *s) {
  const ul_filling *f = s->f;
  memset(s->gain, 0, f->count * sizeof *s->gain);
  for (size_t a = 0; a < f->part_count; a++) s->part_gain[a] = 0;
  for (size_t i = 0; i < s->front_count; i++) {
    double mass = s->dt * ul_front_flux(s, &s->front[i]);
    s->gain[s->front[i].next] += mass;
    s->part_gain[s->front[i].part] += mass;
  }
}

/* Opens faces that want to pass foam and shuts those that would pull it; returns the mass that went
 * wrong through those that were misjudged in this solve. */
static double retry_faces(ul_step *s) {
  double wrong = 0;
  for (size_t i = 0; i < s->front_count; i++) {
    const ul_front_face *face = &s->front[i];
    double drive = ul_front_drive(s, face);
    uint8_t bit = (uint8_t)(1 << face->side);
    s->ajar[face->cube] =
        drive > 0 ? s->ajar[face->cube] | bit : s->ajar[face->cube] & (uint8_t)~bit;
    if (face->one_way && face->shut == (drive > 0)) wrong += s->dt * face->conduct * fabs(drive);
  }
  return wrong;
}

/* A cube that would give back more foam than it has shuts its faces for the step. */
static bool bar_emptied(ul_step *s) {
  bool some = false;
  for (size_t i = 0; i < s->front_count; i++) {
    uint32_t n = s->front[i].next;
    if (s->barred[n] || s->f->mass[n] + s->gain[n] >= 0) continue;
    s->barred[n] = 1;
    some = true;
  }
  return some;
}

/* Mass that a cube not full would hold beyond its volume, kg. */
static double excess(const ul_step *s, size_t cube) {
  const ul_filling *f = s->f;
  double gauge = s->value[f->count + (size_t)f->air[cube]];
  return f->mass[cube] + s->gain[cube] - f->volume[cube] / ul_volume_at(&s->now, gauge);
}

/* First guess for a cube that has just become full: the pressure of a full one beside it, less the
 * weight between them, and never under the air's. Its faces are tried as that would have them. */
static void guess_pressure(ul_step *s, size_t cube) {
  const ul_filling *f = s->f;
  double air = s->value[f->count + (size_t)f->air[cube]], weight = s->now.density * UL_GRAVITY;
  double guess = air;
  for (int side = 0; side < UL_SIDES; side++) {
    int32_t n = f->cubes->next[cube][side];
    if (n != UL_NO_CUBE && s->was_full[n] && f->full[n])
      guess = fmax(guess, s->value[n] + weight * f->rise[side]);
  }
  s->value[cube] = guess;
  s->ajar[cube] = 0;
  for (int side = 0; side < UL_SIDES; side++)
    if (guess - air > 0.5 * weight * f->rise[side]) s->ajar[cube] |= (uint8_t)(1 << side);
}

/* Little enough for the next step to deal with: in all, and in every single cube, where it would
 * come out as a jump of pressure. */
static bool excess_is_little(const ul_step *s) {
  const ul_filling *f = s->f;
  double total = 0;
  for (size_t i = 0; i < f->count; i++) {
    if (f->full[i]) continue;
    double over = excess(s, i);
    if (over > EXCESS_OF_CUBE * (f->mass[i] + s->gain[i])) return false;
    total += fmax(0, over);
  }
  return total <= EXCESS_TO * s->source_kg;
}

/* Cubes that would hold more than their volume become full. */
static bool join_overfull(ul_step *s) {
  ul_filling *f = s->f;
  if (excess_is_little(s)) return false;
  for (size_t i = 0; i < f->count; i++) {
    if (f->full[i] || excess(s, i) <= 1e-9 * f->mass[i]) continue;
    double gauge = s->value[f->count + (size_t)f->air[i]], held = f->mass[i] + s->gain[i];
    s->reached[i] = (float)(held * ul_volume_at(&s->now, gauge) / f->volume[i]);
    f->full[i] = 1;
    guess_pressure(s, i);
  }
  return true;
}

/* No full neighbour has a lower pressure; the lower number among equals. */
static bool lowest_around(const ul_step *s, uint32_t c) {
  const int32_t *next = s->f->cubes->next[c];
  for (int side = 0; side < UL_SIDES; side++) {
    int32_t n = next[side];
    if (n == UL_NO_CUBE || !s->f->full[n]) continue;
    if (s->value[n] < s->value[c] || (s->value[n] == s->value[c] && n < (int32_t)c)) return false;
  }
  return true;
}

/* Foam does not pull: a cube under less than the air's pressure, beside one that holds no foam,
 * falls back to partly full; the lowest around first, at most once a step, and not one layer behind
 * another. */
static bool leave(ul_step *s) {
  ul_filling *f = s->f;
  bool some = false;
  for (size_t i = 0; i < s->front_count; i++) {
    const ul_front_face *face = &s->front[i];
    uint32_t c = face->cube, n = face->next;
    if (!f->full[c] || s->left[c] || s->left[n]) continue;
    double gauge = s->value[f->count + (size_t)face->part];
    if (s->value[c] >= gauge - s->now.density * UL_GRAVITY * f->cube_m) continue;
    double held = f->mass[n] + s->gain[n];
    if (held * ul_volume_at(&s->now, gauge) > 1e-6 * f->volume[n] || !lowest_around(s, c)) continue;
    f->full[c] = 0;
    f->air[c] = face->part;
    s->left[c] = 1;
    some = true;
  }
  return some;
}

/* ---- the step ---- */

static ul_status solve_once(ul_step *s, double *linear_error_kg, ul_error *err) {
  ul_filling *f = s->f;
  ul_status status = ul_front_list(s, err);
  if (status == UL_OK) status = ul_front_assemble(s, err);
  if (status != UL_OK) return status;
  ul_solved solved = {0};
  double stop = SOLVE_TO * s->source_kg / s->dt;
  status = ul_solver_solve(f->solver, s->source, s->value, stop, f->job, &solved, err);
  if (status != UL_OK) return status;
  s->solver_iterations += solved.iterations;
  memset(s->ajar, 0, f->count);
  *linear_error_kg = ul_front_limit_values(s);
  gather_gains(s);
  *linear_error_kg += ul_front_air_error(s);
  return UL_OK;
}

/* What the pressures just found ask of the front; false when it may stay as it is. A misjudged face
 * lets the line pull foam out of the air, so cubes fill and fall back only once those are few. */
static bool move_front(ul_step *s) {
  double wrong = retry_faces(s);
  bool changed = wrong > FACES_TO * s->source_kg;
  if (bar_emptied(s)) changed = true;
  if (wrong > FACES_NEARLY * s->source_kg) return true;
  if (join_overfull(s)) return true;
  return leave(s) || changed;
}

ul_status ul_step_solve(ul_step *s, double dt, bool *converged, ul_error *err) {
  ul_status status = begin(s, dt, err);
  *converged = false;
  while (status == UL_OK && !*converged && s->iterations < MOST_ITERATIONS) {
    double linear_error = 0;
    status = solve_once(s, &linear_error, err);
    s->iterations++;
    if (status != UL_OK) break;
    bool moved = move_front(s);
    *converged = !moved && linear_error <= LINEAR_TO * s->source_kg;
  }
  return status;
}

double ul_step_air_change(const ul_step *s) {
  const ul_filling *f = s->f;
  double most = 0;
  for (size_t a = 0; a < f->part_count; a++) {
    const ul_part *p = &f->part[a];
    if (p->volume_m3 < 1e-4 * f->volume_m3) continue;
    most = fmax(most, fabs(ul_front_air_volume(s, a) / p->volume_m3 - 1));
  }
  return most;
}

/* ---- acceptance ---- */

/* Half full, taken as if it filled evenly over the step. */
static void note_arrivals(ul_step *s) {
  ul_filling *f = s->f;
  for (size_t i = 0; i < f->count; i++) {
    if (f->arrival_s[i] < INFINITY) continue;
    double before = (double)s->begun[i], after = (double)s->reached[i];
    if (f->full[i] && after == 0) after = 1; /* taken into the foam with the last of its air */
    if (!f->full[i])
      after =
          f->mass[i] * ul_volume_at(&s->now, s->value[f->count + (size_t)f->air[i]]) / f->volume[i];
    if (after < 0.5) continue;
    double share = after > before ? (0.5 - before) / (after - before) : 0;
    f->arrival_s[i] = (float)(f->t + s->dt * fmin(1, fmax(0, share)));
  }
}

/* Of the foam, by mass; absolute. */
static double mean_pressure(const ul_filling *f) {
  double weighed = 0, mass = 0;
  for (size_t i = 0; i < f->count; i++) {
    weighed += f->mass[i] * (f->full[i] ? f->pressure[i] : 0);
    mass += f->mass[i];
  }
  return UL_ATMOSPHERE_PA + (mass > 0 ? weighed / mass : 0);
}

static void move_masses(ul_step *s) {
  ul_filling *f = s->f;
  const double *out = ul_front_outflow(s);
  for (size_t i = 0; i < f->count; i++) {
    if (f->full[i]) {
      f->mass[i] -= s->dt * out[i];
      f->pressure[i] = s->value[i];
    } else {
      f->mass[i] += s->gain[i];
    }
  }
  f->mean_pa = mean_pressure(f);
  for (size_t m = 0; m < f->mouth_count; m++) f->mouth[m].bled_kg += s->dt * ul_front_bleed(s, m);
}

static double taken_from_air(const ul_step *s) {
  double taken = 0;
  for (size_t a = 0; a < s->f->part_count; a++)
    taken += s->f->part[a].volume_m3 - ul_front_air_volume(s, a);
  return fmax(0, taken);
}

void ul_step_accept(ul_step *s) {
  ul_filling *f = s->f;
  for (size_t a = 0; a < f->part_count && !f->open; a++) {
    double gone = s->dt * ul_air_vent_w(f, (int32_t)a, s->value[f->count + a]);
    f->part[a].gauge_pa = s->value[f->count + a];
    f->part[a].content_j -= gone;
    f->vented_j += gone;
  }
  f->into_front = taken_from_air(s) * s->now.density / s->source_kg;
  move_masses(s);
  note_arrivals(s);
  f->t += s->dt;
}
