#include "main/plan_foam.h"

#include <math.h>

#include "base/vec.h"

enum { TILTS_TRIED = 3 }; /* best by heights first; with the foam the best of them is taken */
enum { ROUNDS = 3 };      /* of vents added after fine rises that left air */

/* A vent that bleeds more than this share of its cavity's charge is plugged when foam shows: the
 * program's own choice. */
static const double bleed_ok = 5e-4;

/* A plan that fills in so many of its tries is not tinkered with. */
static const double sure_enough = 0.9;

typedef struct {
  cavity_case *c;
  plan *p;
  foam_search search;
  tried_set set;
} making;

static double air_left(const foam_proof *p) {
  return p->voids_mm3 + p->short_mm3;
}

static double limit_mm3(const making *m) {
  return m->c->opts->void_ok_cm3 * 1000;
}

static bool may_add(const making *m, const vent_set *set, size_t added) {
  if (m->p->keep && set->wish_count >= 1) return false; /* one new one at a time */
  return vent_set_usable(&m->set.set) + added < (size_t)m->c->opts->vents_at_most &&
         set->wish_count < VENTS_MOST;
}

/* Which tilts: the one that the user fixed; else that of the plan kept, then the search's best. */
static size_t list_tilts(const plan *p, double up[TILTS_TRIED][3]) {
  if (p->given) {
    ul_copy3(p->given->tilt[0].up, up[0]);
    return 1;
  }
  size_t count = 0;
  if (p->keep) ul_copy3(p->keep_up, up[count++]);
  for (size_t i = 0; i < p->tilts->count && count < TILTS_TRIED; i++)
    if (!count || ul_dot(up[0], p->tilts->tilt[i].up) < 1 - 1e-9)
      ul_copy3(p->tilts->tilt[i].up, up[count++]);
  return count;
}

static ul_status prove(making *m, const tried_set *set, foam_proof *proof, ul_error *err) {
  return foam_proof_make(m->c, &m->p->choice, &m->p->fine, set->set.up, set->set.vents, proof, err);
}

static ul_status fit(making *m, tried_set *set, ul_error *err) {
  ul_status status = vent_set_fit(m->c, m->p->keep, &set->set, err);
  if (status == UL_OK) vent_set_close(&set->set, set->closed);
  return status;
}

static void take(making *m, tried_set *set, foam_proof *proof) {
  vent_set_clear(&m->set.set);
  foam_proof_free(&m->p->foam);
  m->set = *set;
  m->p->foam = *proof;
  set->set = (vent_set){0};
  *proof = (foam_proof){0};
}

/* A void at a vent's own mouth was shut in by that vent closing; another hole there is the same. */
static bool at_a_vent(const making *m, const double at_mm[3]) {
  const ul_vents *vents = m->set.set.vents;
  for (size_t i = 0; i < vents->count; i++)
    if (ul_distance(vents->vent[i].at_mm, at_mm) < 2 * vents->vent[i].diameter_mm) return true;
  return false;
}

/* Fits and proves `other`; kept if it leaves no more than `share` of the air, or what may be left.
 * It is used up either way. */
static ul_status try_set(making *m, tried_set *other, double share, bool *taken, ul_error *err) {
  foam_proof proof = {0};
  ul_status status = prove(m, other, &proof, err);
  *taken = status == UL_OK &&
           (air_left(&proof) < share * air_left(&m->p->foam) || air_left(&proof) <= limit_mm3(m));
  if (*taken) take(m, other, &proof);
  foam_proof_free(&proof);
  vent_set_clear(&other->set);
  return status;
}

static void copy_asked(const making *m, tried_set *out) {
  *out = m->set;
  out->set.peaks = NULL;
  out->set.vents = NULL;
}

/* Whether the hole for one of the wishes from `first` on would serve that place too. */
static bool at_a_wish(const vent_set *set, size_t first, const double at_mm[3], double near_mm) {
  for (size_t i = first; i < set->wish_count; i++)
    if (ul_distance(set->wish[i].at_mm, at_mm) < near_mm) return true;
  return false;
}

static bool wants_vent(const making *m, const ul_rise_void *v) {
  const foam_proof *foam = &m->p->foam;
  return v->void_mm3 > limit_mm3(m) && !at_a_vent(m, v->at_mm) &&
         case_thickness_mm(m->c, v->at_mm) >= CUBES_TO_TRUST * foam->cube_mm;
}

/* A wish for each void over the limit that can be believed, the largest of a cavity first; how many
 * there are. */
static size_t wish_at_voids(const making *m, vent_set *set) {
  const ul_rise *rise = m->p->foam.rise;
  const size_t first = set->wish_count;
  for (size_t i = 0; i < rise->cavity_count; i++)
    for (size_t k = 0; k < rise->cavity[i].void_count; k++) {
      const ul_rise_void *v = &rise->cavity[i].voids[k];
      if (!may_add(m, set, set->wish_count - first)) return set->wish_count - first;
      if (!wants_vent(m, v) || at_a_wish(set, first, v->at_mm, 2 * m->p->foam.cube_mm)) continue;
      ul_vent_wish *wish = &set->wish[set->wish_count++];
      *wish = (ul_vent_wish){.cavity = (uint32_t)i, .air_mm3 = v->void_mm3};
      ul_copy3(v->at_mm, wish->at_mm);
    }
  return set->wish_count - first;
}

/* While the fine rise leaves voids over the limit and vents are left: one more at each of them. All
 * at once, for of four pockets alike three are left as large when one is vented. */
static ul_status add_vents(making *m, ul_error *err) {
  ul_status status = UL_OK;
  bool better = true;
  for (int round = 0; status == UL_OK && better && round < ROUNDS; round++) {
    tried_set other;
    copy_asked(m, &other);
    if (!wish_at_voids(m, &other.set)) break;
    status = fit(m, &other, err);
    if (status == UL_OK) status = try_set(m, &other, 0.9, &better, err);
  }
  return status;
}

/* Those that bleed are plugged when foam shows, if the rise with them plugged leaves no more air. A
 * groove is not: there is nothing to plug. */
static ul_status plug_bleeding(making *m, ul_error *err) {
  const foam_proof *foam = &m->p->foam;
  tried_set other;
  size_t plugged = 0;
  copy_asked(m, &other);
  ul_status status = fit(m, &other, err);
  for (size_t i = 0; status == UL_OK && i < foam->first_hole; i++) {
    const ul_rise_vent_seen *seen = &foam->rise->vent[i];
    ul_vent *vent = &other.set.vents->vent[foam->vent_id[i] - 1];
    double in_g = foam->rise->cavity[seen->cavity].mass_in_g;
    vent->plug = vent->kind == UL_VENT_HOLE && seen->bled_g > bleed_ok * in_g;
    plugged += vent->plug;
  }
  bool taken;
  if (status == UL_OK && plugged) return try_set(m, &other, 1.02, &taken, err);
  vent_set_clear(&other.set);
  return status;
}

/* The scatter; and if moving or doubling a vent makes more tries good, the fine rise of that. */
static ul_status make_sure(making *m, ul_error *err) {
  plan *p = m->p;
  ul_status status = sure_with_foam(&m->search, &m->set, p->foam.rise, &p->sure, err);
  tried_set other;
  copy_asked(m, &other);
  if (status == UL_OK) status = fit(m, &other, err);
  if (status != UL_OK || p->sure.good >= sure_enough * p->sure.tries) {
    vent_set_clear(&other.set);
    return status;
  }
  plan_sure better;
  bool mended, taken = false;
  status = sure_mend(&m->search, p->foam.rise, &p->sure, &other, &better, &mended, err);
  if (status == UL_OK && mended) status = try_set(m, &other, 1.1, &taken, err);
  vent_set_clear(&other.set);
  plan_sure_free(taken ? &p->sure : &better);
  if (taken) p->sure = better;
  return status;
}

static ul_status prepare(making *m, double up[TILTS_TRIED][3], size_t *tilts, ul_error *err) {
  plan *p = m->p;
  *tilts = list_tilts(p, up);
  ul_status status = pack_plain(m->c->opts, &p->choice, err);
  if (status == UL_OK) status = foam_bed_coarse(m->c, &p->coarse, err);
  if (status == UL_OK) status = foam_bed_fine(m->c, &p->fine, err);
  if (status == UL_OK) status = pack_search(m->c, &p->coarse, up[0], &p->choice, err);
  m->search = (foam_search){m->c, &p->choice, &p->coarse, p->keep};
  return status;
}

/* The set's findings become the plan's. */
static void hand_over(making *m) {
  plan *p = m->p;
  ul_copy3(m->set.set.up, p->up);
  p->peaks = m->set.set.peaks;
  p->vents = m->set.set.vents;
  m->set.set.peaks = NULL;
  m->set.set.vents = NULL;
}

ul_status plan_with_foam(cavity_case *c, plan *p, ul_error *err) {
  making m = {.c = c, .p = p};
  double up[TILTS_TRIED][3];
  size_t tilts;
  ul_status status = prepare(&m, up, &tilts, err);
  if (status == UL_OK) status = search_run(&m.search, (const double(*)[3])up, tilts, &m.set, err);
  if (status == UL_OK) status = search_size(&m.search, &m.set, &p->size, err);
  if (status == UL_OK) status = prove(&m, &m.set, &p->foam, err);
  if (status == UL_OK) status = add_vents(&m, err);
  if (status == UL_OK) status = plug_bleeding(&m, err);
  if (status == UL_OK) status = make_sure(&m, err);
  if (status == UL_OK) status = plan_proof_make(&m.search, &m.set, &p->proof, err);
  if (status == UL_OK) hand_over(&m);
  vent_set_clear(&m.set.set);
  return status;
}
