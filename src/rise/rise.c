#include "ullage/rise.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"
#include "rise/air.h"
#include "rise/front.h"
#include "rise/rise_result.h"
#include "rise/thin_pool.h"
#include "rise/wet.h"
#include "ullage/mobility.h"

enum { COOKIE = 0x52495345, MOST_HALVINGS = 8, JUMP_HALVINGS = 3 };

/* How much of its volume or pressure a part of air may lose or gain in a step. What a vent lets out
 * may lose more when it is down to little of the cavity: its pressure does not follow its volume,
 * and the last of it is gone before it matters. */
static const double AIR_CHANGE = 0.1, VENTED_CHANGE = 0.25, VENTED_REST = 5e-4;

/* That is by how fast it changed in the last step: after one in which it jumped it tells nothing,
 * and a step is not made shorter than this share of what it may be otherwise. */
static const double LEAST_BY_AIR = 1e-3;

/* A part of air smaller than this share of the cavity does not hold up the step. */
static const double SMALL_PART = 1e-4;

ul_rise_opts ul_rise_opts_default(void) {
  return (ul_rise_opts){.cookie = COOKIE,
                        .foam = ul_foam_middling(),
                        .up = {0, 0, 1},
                        .poured_s = 35,
                        .step_factor = 1,
                        .settle_factor = 1};
}

/* ---- how long a step may be ---- */

/* Does the foam grow, or thicken, by more than that from t to t + dt? */
static bool too_much(const ul_filling *f, double dt, double growth, double thickening) {
  ul_foam_now now = ul_foam_at(f, f->t), then = ul_foam_at(f, f->t + dt);
  return now.density / then.density - 1 > growth ||
         log(then.viscosity / now.viscosity) > thickening;
}

/* The step ends no later than gel and set, where the foam's law has a corner. */
static double longest_step(const ul_filling *f, double factor) {
  double cream = ul_mid(f->foam->cream_s), set = ul_foam_set_s(f->foam);
  const double corner[] = {ul_mid(f->foam->gel_s), set};
  double dt = fmin(factor * (set - cream) / 50, ul_turn_longest_step_s(f));
  for (int i = 0; i < 2; i++) {
    double left = corner[i] - f->t;
    if (left > 1e-9 * set && dt > 0.999 * left) dt = left;
  }
  return dt;
}

/* How much the foam may grow in the step: half the cubes of the front, at the share of its growth
 * that went into the front in the last step (twice that, to be safe; the rest was squeezed). */
static double growth_allowed(ul_step *s) {
  const ul_filling *f = s->f;
  double foam = f->charge_kg / ul_foam_at(f, f->t).density, air = 0;
  for (size_t a = 0; a < f->part_count; a++) air += f->part[a].volume_m3;
  if (air < SMALL_PART * f->volume_m3) return 0.05;
  double share = fmin(1, 2 * f->into_front);
  return fmin(0.05, 0.5 * ul_step_front_volume(s) / (foam * share));
}

/* How long the part's air allows, if it goes on as in the last step. */
static double air_allows_s(const ul_filling *f, const ul_part *p, double factor) {
  double absolute = UL_ATMOSPHERE_PA + p->gauge_pa, loss = AIR_CHANGE, dt = INFINITY;
  if (p->mouth_area > 0)
    loss = fmin(VENTED_CHANGE, AIR_CHANGE + VENTED_REST * f->volume_m3 / p->volume_m3);
  if (p->shrink_m3_s > 0) dt = factor * loss * p->volume_m3 / p->shrink_m3_s;
  if (p->climb_pa_s > 0) dt = fmin(dt, factor * AIR_CHANGE * absolute / p->climb_pa_s);
  return dt;
}

static double step_length(ul_step *s, double factor) {
  const ul_filling *f = s->f;
  double growth = factor * growth_allowed(s), dt = longest_step(f, factor);
  const double least = LEAST_BY_AIR * dt;
  for (size_t a = 0; a < f->part_count && !f->open; a++)
    if (f->part[a].volume_m3 > SMALL_PART * f->volume_m3)
      dt = fmin(dt, fmax(least, air_allows_s(f, &f->part[a], factor)));
  if (!too_much(f, dt, growth, 0.2 * factor)) return dt;
  double low = 0, high = dt;
  for (int i = 0; i < 30; i++) {
    double middle = (low + high) / 2;
    if (too_much(f, middle, growth, 0.2 * factor))
      high = middle;
    else
      low = middle;
  }
  return high;
}

/* ---- one cavity ---- */

/* A step in which a vent is shut ends just after that, or air would leave by it to the step's end:
 * up to a tenth of the air, and so of the void, of a long step. */
static bool cut_at_vent(ul_step *s, double *dt) {
  double share = s->f->open ? 1 : ul_step_shuts_vent(s) + 0.02;
  if (share > 0.9) return false;
  ul_step_undo(s);
  *dt *= fmax(share, 0.05);
  return true;
}

/* Shut air that comes upon an open vent is at the atmosphere's pressure at once, however short the
 * step: a change that halving again and again does not lessen is taken as it is. */
static bool is_jump(double change, double first, int halvings) {
  return halvings == JUMP_HALVINGS && change >= 0.9 * first;
}

/* One step, shortened until it converges and no part of air changes too much in it. */
static ul_status advance(ul_step *s, double factor, ul_rise_cavity *count, ul_error *err) {
  ul_filling *f = s->f;
  double dt = s->may_s = step_length(s, factor);
  double first = INFINITY; /* the air's change in the longest, where that settles */
  bool cut = false;
  for (int tries = 0;; tries++) {
    bool converged;
    ul_status status = ul_step_solve(s, dt, &converged, err);
    count->solves += (size_t)s->iterations;
    count->solver_iterations += (size_t)s->solver_iterations;
    /* A step too long by far may end in a system that nothing solves. */
    const bool unsolved = status == UL_E_NUMBER && tries < MOST_HALVINGS;
    if (status != UL_OK && !unsolved) return status;
    const double change = unsolved || f->open ? 0 : ul_step_air_change(s);
    if (tries == 0 && !unsolved && converged) first = change;
    if (!unsolved && converged && (change <= 0.25 * factor || is_jump(change, first, tries))) {
      if (cut || !cut_at_vent(s, &dt)) break;
      cut = true;
      continue;
    }
    if (tries ==
        MOST_HALVINGS) { /* masses close all the same: go on with what there is, and say so */
      count->rough_steps++;
      break;
    }
    ul_step_undo(s);
    dt /= 2;
  }
  return ul_step_accept(s, err);
}

static ul_status fill(ul_filling *f, const ul_rise_opts *opts, const ul_turn *turn,
                      ul_recorder *record, ul_error *err) {
  const double cream = ul_mid(f->foam->cream_s), set = ul_foam_set_s(f->foam);
  ul_step step = {0};
  ul_wet_mobility wet = {0};
  ul_rise_cavity *told = &record->rise->cavity[record->cavity];
  ul_status status = ul_step_new(f, &step, err);
  step.settle = opts->settle_factor;
  if (status == UL_OK) status = ul_wet_new(f, opts, &wet, err);
  while (status == UL_OK && f->t < set * (1 - 1e-9)) {
    status = ul_turn_follow(f, turn, err);
    if (status == UL_OK) status = ul_wet_follow(f, opts, &wet, &told->wet_mobilities, err);
    if (status == UL_OK) status = advance(&step, opts->step_factor, told, err);
    if (status == UL_OK) status = ul_record_step(record, f, &step, err);
    if (status == UL_OK && !ul_job_tell(f->job, "rise", (f->t - cream) / (set - cream)))
      status = ul_fail(err, UL_E_STOPPED, "%s", ul_status_text(UL_E_STOPPED));
  }
  ul_step_free(&step);
  ul_wet_free(&wet);
  return status;
}

static ul_status rise_one(const ul_cubes *cubes, const ul_rise_opts *opts, const double up[3],
                          const ul_pour *pour, const ul_job *job, ul_recorder *record,
                          ul_error *err) {
  ul_filling *f;
  ul_turn turn;
  ul_lying lying = {0};
  double displaced = 0;
  ul_turn_make(opts, up, &turn);
  ul_status status = ul_filling_new(cubes, opts, up, job, &f, err);
  if (status != UL_OK) return status;
  f->t = ul_mid(opts->foam.cream_s);
  f->charge_kg = ul_pour_kg(opts, record->cavity, f->volume_m3);
  status = ul_charge_lay(f, pour, &turn, opts, &lying, err);
  turn.turns = turn.turns && !lying.turned;
  if (status == UL_OK) status = ul_thin_pool_spread(f, &lying, &displaced, err);
  if (status == UL_OK) status = ul_air_begin(f, err);
  f->started_j += displaced * UL_ATMOSPHERE_PA; /* it has left by now */
  f->vented_j += displaced * UL_ATMOSPHERE_PA;
  if (status == UL_OK) status = ul_record_begin(record, f, opts, &lying, pour, err);
  if (status == UL_OK) status = fill(f, opts, &turn, record, err);
  if (status == UL_OK) status = ul_record_end(record, f, opts, up, err);
  ul_lying_free(&lying);
  ul_filling_free(f);
  return status;
}

/* ---- all cavities ---- */

static ul_status check(const ul_rise_opts *opts, double up[3], ul_error *err) {
  if (opts->cookie != COOKIE)
    return ul_fail(err, UL_E_USAGE, "options of the rise not made by ul_rise_opts_default()");
  double length = ul_norm(opts->up);
  if (!(length > 0) || !isfinite(length))
    return ul_fail(err, UL_E_USAGE, "up has no length: give a direction");
  for (int a = 0; a < 3; a++) up[a] = opts->up[a] / length;
  if (opts->pack != 0 && !(opts->pack > 0.05 && opts->pack < 50))
    return ul_fail(err, UL_E_USAGE,
                   "pack of %g: give the charge as a multiple of free rise, near 1.2", opts->pack);
  if (ul_norm(opts->poured_up) > 0 && !(opts->turned_s >= opts->shut_s && opts->shut_s >= 0))
    return ul_fail(err, UL_E_USAGE, "turned from %g to %g s: give a time at which it begins first",
                   opts->shut_s, opts->turned_s);
  if (!(opts->seam_gap_mm >= 0 && opts->seam_gap_mm < 50 && opts->seam_land_mm >= 0))
    return ul_fail(err, UL_E_USAGE, "a seam %g mm high over a land of %g mm: give both, 0 or more",
                   opts->seam_gap_mm, opts->seam_land_mm);
  if (!(opts->step_factor > 0.01 && opts->step_factor <= 2))
    return ul_fail(err, UL_E_USAGE, "step factor of %g: give 0.01 to 2", opts->step_factor);
  if (!(opts->settle_factor >= 0.01 && opts->settle_factor <= 1))
    return ul_fail(err, UL_E_USAGE, "settle factor of %g: give 0.01 to 1", opts->settle_factor);
  return ul_foam_check(&opts->foam, err);
}

static ul_status check_vents(const ul_cubes *all, const ul_rise_opts *opts, ul_error *err) {
  for (size_t i = 0; i < opts->vent_count; i++) {
    char name[40];
    size_t cube;
    snprintf(name, sizeof name, "vent %zu", i + 1);
    ul_status status = ul_cubes_find(all, opts->vent[i].at_mm, name, &cube, err);
    if (status != UL_OK) return status;
  }
  return UL_OK;
}

/* As it lies while it is poured; of any length. */
static const double *poured_up(const ul_rise_opts *opts, const double up[3]) {
  return ul_norm(opts->poured_up) > 0 ? opts->poured_up : up;
}

static ul_status rise_all(const ul_cubes *all, const ul_rise_opts *opts, const double up[3],
                          const ul_job *job, ul_rise *out, ul_error *err) {
  ul_recorder record = {.rise = out};
  ul_status status = UL_OK;
  for (size_t v = 0; status == UL_OK && v < all->cavity_count; v++) {
    ul_cubes *one;
    ul_pour pour;
    status = ul_cubes_pick(all, (uint32_t)v, &one, err);
    if (status != UL_OK) break;
    record.cavity = (uint32_t)v;
    status = ul_pour_find(one, opts, v, poured_up(opts, up), &pour, err);
    if (status == UL_OK) status = rise_one(one, opts, up, &pour, job, &record, err);
    ul_cubes_free(one);
  }
  return status;
}

static ul_status rise_through(const ul_grid *grid, const ul_columns *columns,
                              const ul_rise_opts *opts, const double up[3], const ul_job *job,
                              ul_rise **out, ul_error *err) {
  ul_cubes *all;
  ul_status status = ul_cubes_new(grid, columns, &all, err);
  if (status != UL_OK) return status;
  status = check_vents(all, opts, err);
  if (status == UL_OK) status = ul_rise_new(all, opts, out, err);
  if (status == UL_OK) status = rise_all(all, opts, up, job, *out, err);
  if (status == UL_OK) {
    ul_cubes_share(all, (*out)->arrival_s);
    ul_cubes_share(all, (*out)->pressure_kpa);
    ul_cubes_share(all, (*out)->void_id);
  }
  ul_cubes_free(all);
  return status;
}

ul_status ul_rise_run(const ul_grid *grid, const ul_columns *columns, const ul_rise_opts *opts,
                      const ul_job *job, ul_rise **out, ul_error *err) {
  double up[3];
  float *own = NULL;
  ul_rise_opts whole = *opts;
  *out = NULL;
  ul_status status = check(opts, up, err);
  if (status == UL_OK && !opts->mobility_mm2) {
    whole.mobility_mm2 = own = ul_new(grid->cube_count, sizeof *own);
    status = own ? ul_mobility(grid, columns, NULL, job, own, err) : ul_fail_memory(err);
  }
  if (status == UL_OK) status = rise_through(grid, columns, &whole, up, job, out, err);
  free(own);
  if (status == UL_OK) return UL_OK;
  ul_rise_free(*out);
  *out = NULL;
  return status;
}
