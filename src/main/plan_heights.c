#include "main/plan_heights.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/vec.h"
#include "main/plan_off_level.h"
#include "report/words.h"

/* ---- one new vent at a time, beside those of a plan that is kept ---- */

static bool has_a_vent(const ul_vents *vents, uint32_t cavity) {
  for (size_t i = 0; i < vents->count; i++) {
    const ul_vent *v = &vents->vent[i];
    if (v->exists && v->ok && !v->closed && v->cavity == cavity) return true;
  }
  return false;
}

/* One that can be made; in a cavity that has none; then the one that lets out the most. */
static bool is_better_vent(const ul_vents *vents, const ul_vent *a, const ul_vent *b) {
  const bool a_has = has_a_vent(vents, a->cavity), b_has = has_a_vent(vents, b->cavity);
  if (a->ok != b->ok) return a->ok;
  return a_has != b_has ? b_has : a->air_mm3 > b->air_mm3;
}

/* One new one at a time; the rest is left to the verdict. */
static void keep_one_new(ul_vents *vents) {
  size_t best = SIZE_MAX, count = 0;
  for (size_t i = 0; i < vents->count; i++) {
    const ul_vent *v = &vents->vent[i];
    if (v->exists) continue;
    if (best == SIZE_MAX || is_better_vent(vents, v, &vents->vent[best])) best = i;
  }
  for (size_t i = 0; i < vents->count; i++)
    if (vents->vent[i].exists || i == best) {
      vents->vent[count] = vents->vent[i];
      vents->vent[count].id = (uint32_t)count + 1;
      count++;
    }
  vents->count = count;
}

/* ---- which tilt ---- */

/* A tilt with its vents as the tool lets them be made. */
typedef struct {
  vent_set set;
  plan_sure sure;
} fitted;

static ul_status fit(const cavity_case *c, const plan *p, const double up[3], fitted *out,
                     ul_error *err) {
  *out = (fitted){0};
  ul_copy3(up, out->set.up);
  ul_status status = vent_set_fit(c, p->keep, &out->set, err);
  if (status == UL_OK && p->keep) keep_one_new(out->set.vents);
  return status == UL_OK ? sure_on_heights(c, &out->set, &out->sure, err) : status;
}

static void drop(fitted *f) {
  vent_set_clear(&f->set);
  plan_sure_free(&f->sure);
}

/* As the verdict has it. */
static bool is_sound(const fitted *f) {
  return !vents_not_made(f->set.vents) && 2 * f->sure.good >= f->sure.tries;
}

static bool is_better(const fitted *a, const fitted *b) {
  if (vents_not_made(a->set.vents)) return false;
  return vents_not_made(b->set.vents) ? a->sure.good >= b->sure.good : a->sure.good > b->sure.good;
}

/* The search takes it that a vent can be made wherever air gathers. */
static void say_but(ul_tilt *t, double void_ok_mm3, const char *but) {
  const char *vents = t->vents_needed == 1 ? "vent" : "vents";
  if (t->left_largest_mm3 <= void_ok_mm3) {
    snprintf(t->why, sizeof t->why, "in a level rise %zu %s would let all the air out, but %.120s",
             t->vents_needed, vents, but);
    return;
  }
  const size_t used = strlen(t->why);
  snprintf(t->why + used, sizeof t->why - used, "; %.120s", but);
}

static void say_unmade(ul_tilt *t, double void_ok_mm3, const ul_vents *vents) {
  char but[80] = "no hole can be made there";
  const size_t unmade = vents_not_made(vents);
  if (unmade < vents->count)
    snprintf(but, sizeof but, "%zu of the plan's %zu cannot be made as holes", unmade,
             vents->count);
  say_but(t, void_ok_mm3, but);
}

static void say_passed_over(const fitted *f, double void_ok_mm3, ul_tilt *t) {
  char but[80];
  if (vents_not_made(f->set.vents)) {
    say_unmade(t, void_ok_mm3, f->set.vents);
    return;
  }
  snprintf(but, sizeof but, "where holes can be made it fills in %ld of %ld tries", f->sure.good,
           f->sure.tries);
  say_but(t, void_ok_mm3, but);
}

static void put_first(ul_tilts *tilts, size_t which) {
  const ul_tilt first = tilts->tilt[which];
  memmove(&tilts->tilt[1], &tilts->tilt[0], which * sizeof first);
  tilts->tilt[0] = first;
}

/* *best is the first tilt's, and then that of the one taken. */
static ul_status look_further(const cavity_case *c, plan *p, fitted *best, ul_error *err) {
  size_t taken = 0;
  ul_status status = UL_OK;
  if (!is_sound(best)) say_passed_over(best, c->opts->void_ok_cm3 * 1000, &p->tilts->tilt[0]);
  for (size_t i = 1; i < p->tilts->count && status == UL_OK && !is_sound(best); i++) {
    fitted other;
    status = fit(c, p, p->tilts->tilt[i].up, &other, err);
    if (status == UL_OK && !is_sound(&other))
      say_passed_over(&other, c->opts->void_ok_cm3 * 1000, &p->tilts->tilt[i]);
    if (status == UL_OK && is_better(&other, best)) {
      const fitted was = *best;
      *best = other;
      other = was;
      taken = i;
    }
    drop(&other);
  }
  if (taken) put_first(p->tilts, taken);
  return status;
}

ul_status plan_on_heights(cavity_case *c, plan *p, ul_error *err) {
  fitted f;
  ul_status status = fit(c, p, p->keep && !p->given ? p->keep_up : p->up, &f, err);
  if (status == UL_OK && !p->keep && !p->given) status = look_further(c, p, &f, err);
  if (status == UL_OK && !p->keep) status = off_level_vents(c, &f.set, &f.sure, err);
  ul_copy3(f.set.up, p->up);
  p->peaks = f.set.peaks;
  p->vents = f.set.vents;
  p->sure = f.sure;
  return status;
}

/* ---- a tilt that is given ---- */

static void tell(const plan *p, double let_be_mm3, ul_tilt *t) {
  char but[120], volume[UL_WORDS];
  /* A foam may want other vents than a level rise: while it fills with them, all is well. */
  const bool foam_fills = p->foam.rise && p->foam.worst_mm3 <= let_be_mm3;
  if (vents_not_made(p->vents)) {
    say_unmade(t, let_be_mm3, p->vents);
  } else if (p->worst_mm3 > let_be_mm3 && !foam_fills) {
    snprintf(but, sizeof but, "with the plan's %zu, where holes can be made, %.60s stay",
             p->vents->count, ul_words_volume(p->worst_mm3, volume));
    say_but(t, let_be_mm3, but);
  } else if (!p->foam.rise && p->vents->count > t->vents_needed) {
    snprintf(but, sizeof but, "with the plan's %zu it fills in %ld of %ld tries", p->vents->count,
             p->sure.good, p->sure.tries);
    say_but(t, let_be_mm3, but);
  }
}

void plan_tell_given(const cavity_case *c, plan *p) {
  const double let_be_mm3 = c->opts->void_ok_cm3 * 1000;
  if (!p->given) return;
  tell(p, let_be_mm3, &p->given->tilt[0]);
  for (size_t i = 0; !p->foam.rise && i < p->tilts->count; i++)
    if (ul_dot(p->tilts->tilt[i].up, p->up) > 1 - 1e-9) tell(p, let_be_mm3, &p->tilts->tilt[i]);
}
