#include "rise/turn.h"

#include <math.h>
#include <stdlib.h>

#include "base/vec.h"
#include "rise/pool.h"

enum { STEPS = 10 };
/* Foam that has grown to no more than this much of its liquid still runs as that does: the
 * program's own choice. */
static const double RUNNY = 2;
static const double SAMPLE = 5 * 3.14159265358979323846 / 180; /* between attitudes looked at */
static const double STILL = 1e-6; /* rad: what differs by less is one attitude */

void ul_turn_make(const ul_rise_opts *opts, const double up[3], ul_turn *t) {
  *t = (ul_turn){.begin_s = opts->shut_s, .end_s = opts->turned_s};
  ul_copy3(up, t->from);
  ul_copy3(up, t->to);
  double length = ul_norm(opts->poured_up), across[3];
  if (!(length > 0)) return;
  for (int a = 0; a < 3; a++) t->from[a] = opts->poured_up[a] / length;
  double along = ul_dot(t->from, up);
  ul_add_scaled(up, -along, t->from, t->side);
  double apart = ul_norm(t->side);
  t->angle = atan2(apart, along);
  t->turns = t->angle > STILL;
  if (apart < STILL) ul_across(t->from, t->side, across); /* upside down: either way round */
  length = ul_norm(t->side);
  for (int a = 0; a < 3; a++) t->side[a] /= length;
}

void ul_turn_up(const ul_turn *t, double s, double up[3]) {
  if (!t->turns || s >= t->end_s) {
    ul_copy3(t->to, up);
    return;
  }
  double share = s <= t->begin_s ? 0 : (s - t->begin_s) / (t->end_s - t->begin_s);
  double turned = share * t->angle;
  for (int a = 0; a < 3; a++) up[a] = cos(turned) * t->from[a] + sin(turned) * t->side[a];
}

/* ---- the liquid ---- */

/* Aims the filling and lays the charge level (time INFINITY), or as far as it gets in that time. */
static ul_status lay(ul_filling *f, const ul_pour *pour, const double up[3], double time,
                     ul_lying *out, ul_error *err) {
  const double density = ul_mid(f->foam->liquid_kg_m3);
  const double nu = ul_mid(f->foam->viscosity_pa_s) / density;
  ul_pool_free(&out->pool);
  out->pour = *pour;
  out->time_s = time;
  ul_status status = ul_filling_aim(f, up, err);
  if (status == UL_OK) status = ul_pool_new(f, &out->pour, up, isinf(time), &out->pool, err);
  if (status != UL_OK) return status;
  if (isinf(time))
    ul_pool_reach_all(&out->pool);
  else
    ul_pool_reach(f, &out->pool, f->charge_kg / density, nu, time);
  status = ul_pool_lay(f, &out->pool, density, err);
  out->reach_m = out->pool.reach_m;
  return status;
}

void ul_lying_free(ul_lying *l) {
  ul_pool_free(&l->pool);
  free(l->wets.wet);
}

/* Through a hole the mould is shut before anything comes in. */
static bool rim_lets_out(const ul_filling *f, const ul_rise_opts *opts) {
  return !opts->poured_shut || !opts->poured_shut[ul_cube_cavity(f->cubes, 0)] ||
         opts->seam_gap_mm > 0;
}

/* The rim is shut by then, unless its seam gapes. Between the two ends, level in each attitude:
 * what lies higher than it could get is no danger. */
static ul_status look_on_the_way(ul_filling *f, const ul_pour *pour, const ul_turn *turn,
                                 const ul_rise_opts *opts, ul_lying *out, ul_error *err) {
  const double cream = ul_mid(f->foam->cream_s);
  int samples = (int)ceil(turn->angle / SAMPLE);
  ul_status status = UL_OK;
  for (int i = 1; i < samples && status == UL_OK; i++) {
    double up[3], s = turn->begin_s + (turn->end_s - turn->begin_s) * i / samples;
    if (s > cream && !out->turned) break;
    ul_turn_up(turn, s, up);
    status = lay(f, pour, up, INFINITY, out, err);
    if (status == UL_OK)
      status = ul_wets_look(f, opts, up, opts->seam_gap_mm > 0, s, &out->wets, err);
  }
  return status;
}

/* Creamed or not, it runs down until the turn is over. */
static bool still_runs(const ul_filling *f, double turned_s) {
  return turned_s < ul_mid(f->foam->gel_s) &&
         ul_foam_at(f, f->t).density <= RUNNY * ul_foam_at(f, turned_s).density;
}

/* From where it lies in the poured attitude. */
static ul_status run_over(ul_filling *f, const ul_pour *pour, const ul_turn *turn,
                          const ul_rise_opts *opts, ul_lying *out, ul_error *err) {
  const double cream = ul_mid(f->foam->cream_s);
  ul_pour again;
  ul_pour_again(f, &again);
  ul_status status = look_on_the_way(f, &again, turn, opts, out, err);
  if (status != UL_OK) return status;
  if (!out->turned) { /* it creams where it lies; the looks have moved it */
    double up[3], until = fmin(turn->begin_s, cream);
    status = lay(f, pour, turn->from, fmax(1, until - opts->poured_s), out, err);
    ul_turn_up(turn, cream, up);
    return status == UL_OK ? ul_filling_aim(f, up, err) : status;
  }
  status = lay(f, &again, turn->to, fmax(1, cream - turn->end_s), out, err);
  if (status == UL_OK)
    status = ul_wets_look(f, opts, turn->to, opts->seam_gap_mm > 0, turn->end_s, &out->wets, err);
  return status;
}

static int by_time(const void *a, const void *b) {
  const ul_wet *x = a, *y = b;
  if (x->s != y->s) return x->s < y->s ? -1 : 1;
  return x->vent < y->vent ? -1 : x->vent > y->vent;
}

static void note_arrivals(ul_filling *f, double poured_s) {
  const double liquid = ul_mid(f->foam->liquid_kg_m3);
  for (size_t i = 0; i < f->count; i++)
    if (f->mass[i] >= 0.5 * liquid * f->volume[i]) f->arrival_s[i] = (float)poured_s;
}

ul_status ul_charge_lay(ul_filling *f, const ul_pour *pour, const ul_turn *turn,
                        const ul_rise_opts *opts, ul_lying *out, ul_error *err) {
  const double cream = ul_mid(f->foam->cream_s);
  *out = (ul_lying){0};
  double until = turn->turns ? fmin(turn->begin_s, cream) : cream;
  ul_status status = ul_wets_new(f, &out->wets, err);
  if (status == UL_OK) status = lay(f, pour, turn->from, fmax(1, until - opts->poured_s), out, err);
  if (status == UL_OK)
    status = ul_wets_look(f, opts, turn->from, rim_lets_out(f, opts), fmin(opts->poured_s, cream),
                          &out->wets, err);
  out->turned = turn->turns && still_runs(f, fmax(cream, turn->end_s));
  if (status == UL_OK && turn->turns && (turn->begin_s < cream || out->turned))
    status = run_over(f, pour, turn, opts, out, err);
  if (status != UL_OK) return status;
  if (out->wets.count) qsort(out->wets.wet, out->wets.count, sizeof *out->wets.wet, by_time);
  note_arrivals(f, fmin(opts->poured_s, cream));
  if (!turn->turns) return UL_OK;
  f->turn_begin_s = turn->begin_s;
  f->turn_end_s = turn->end_s;
  return UL_OK;
}

/* ---- the foam ---- */

ul_status ul_turn_follow(ul_filling *f, const ul_turn *turn, ul_error *err) {
  double up[3], middle = f->t + (turn->end_s - turn->begin_s) / (2 * STEPS);
  const double hair = 1e-9 * turn->end_s;
  if (!turn->turns || f->t < turn->begin_s - hair) return UL_OK;
  if (f->t >= turn->end_s + 1e-3 * (turn->end_s - turn->begin_s) + hair) return UL_OK;
  ul_turn_up(turn, f->t >= turn->end_s - hair ? turn->end_s : middle, up);
  return ul_filling_aim(f, up, err);
}

double ul_turn_longest_step_s(const ul_filling *f) {
  const double hair = 1e-9 * f->turn_end_s;
  if (f->t >= f->turn_end_s - hair) return INFINITY;
  if (f->t < f->turn_begin_s - hair) return f->turn_begin_s - f->t;
  return fmin(f->turn_end_s - f->t, (f->turn_end_s - f->turn_begin_s) / STEPS);
}
