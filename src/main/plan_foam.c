#include "main/plan_foam.h"

#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "main/plan_loss.h"
#include "main/plan_mend.h"
#include "main/plan_tilts.h"

enum {
  SURER = 3,    /* rounds of vents added, moved or doubled for the tries that fail */
  AT_FIRST = 8, /* tries, before a tilt is made in full, in its first vents */
  IN_FULL = 3   /* tilts made in full until one is sound */
};

/* A vent that bleeds more than this share of its cavity's charge is plugged when foam shows: the
 * program's own choice. */
static const double bleed_ok = 5e-4;

/* Which tilts: the one that the user fixed; else that of the plan kept, then the search's best. */
static size_t list_tilts(const plan *p, double up[TILTS_LOOKED_AT][3]) {
  if (p->given) {
    ul_copy3(p->given->tilt[0].up, up[0]);
    return 1;
  }
  size_t count = 0;
  if (p->keep) ul_copy3(p->keep_up, up[count++]);
  for (size_t i = 0; i < p->tilts->count && count < TILTS_LOOKED_AT; i++)
    if (!count || ul_dot(up[0], p->tilts->tilt[i].up) < 1 - 1e-9)
      ul_copy3(p->tilts->tilt[i].up, up[count++]);
  return count;
}

/* ---- how sure it is ---- */

/* A set with which more tries are good, if its fine rise leaves less than `share` of the air. *sure
 * is used up. */
static ul_status take_surer(making *m, making_other *other, double share, plan_sure *sure,
                            bool *taken, ul_error *err) {
  ul_status status = making_prove(m, other, 1, err);
  *taken = status == UL_OK && making_leaves_no_more(m, &other->proof, share);
  plan_sure_free(*taken ? &m->now.sure : sure);
  if (!*taken) return status;
  m->now.sure = *sure;
  making_take(m, other);
  return UL_OK;
}

static ul_status make_surer(making *m, bool *surer, ul_error *err) {
  making_other other;
  plan_sure better = {0};
  bool mended = false;
  *surer = false;
  making_copy(m, &other);
  ul_status status = making_fit(m, &other, 1, err);
  if (status == UL_OK)
    status =
        sure_mend(&m->search, m->now.foam.rise, &m->now.sure, &other.set, &better, &mended, err);
  if (status == UL_OK && mended)
    status = take_surer(m, &other, 1.1, &better, surer, err);
  else
    plan_sure_free(&better);
  making_clear(&other);
  return status;
}

static ul_status make_sure(making *m, ul_error *err) {
  ul_status status =
      sure_with_foam(&m->search, &m->now.set, m->now.foam.rise, 0, &m->now.sure, err);
  bool surer = true;
  for (int round = 0; surer && round < SURER && status == UL_OK; round++) {
    if (plan_is_sure(m->now.sure.good, m->now.sure.tries)) break;
    status = make_surer(m, &surer, err);
  }
  return status;
}

/* ---- plugs ---- */

/* Those that bleed are to be plugged. A groove is not: there is nothing to plug. */
static size_t plug(const foam_proof *foam, ul_vents *vents) {
  size_t plugged = 0;
  for (size_t i = 0; i < foam->first_hole; i++) {
    const ul_rise_vent_seen *seen = &foam->rise->vent[i];
    ul_vent *vent = &vents->vent[foam->vent_id[i] - 1];
    double in_g = foam->rise->cavity[seen->cavity].mass_in_g;
    vent->plug = vent->kind == UL_VENT_HOLE && seen->bled_g > bleed_ok * in_g;
    plugged += vent->plug;
  }
  return plugged;
}

/* Vents that bleed are plugged when foam shows, if that leaves no more air, and as many of the
 * tries are good. */
static ul_status plug_bleeding(making *m, ul_error *err) {
  making_other other;
  making_copy(m, &other);
  ul_status status = making_fit(m, &other, 1, err);
  if (status == UL_OK && plug(&m->now.foam, other.set.set.vents)) {
    plan_sure sure = {0};
    bool taken = false;
    status = sure_with_foam(&m->search, &other.set, m->now.foam.rise, m->now.sure.good, &sure, err);
    if (status == UL_OK && sure.good >= m->now.sure.good)
      status = take_surer(m, &other, 1.02, &sure, &taken, err);
    else
      plan_sure_free(&sure);
  }
  making_clear(&other);
  return status;
}

static ul_status prepare(making *m, double up[TILTS_LOOKED_AT][3], size_t *tilts, ul_error *err) {
  plan *p = m->p;
  *tilts = list_tilts(p, up);
  ul_status status = pack_plain(m->c->opts, &p->choice, err);
  if (status == UL_OK) status = foam_bed_coarse(m->c, &p->coarse, err);
  if (status == UL_OK) status = foam_bed_fine(m->c, &p->fine, err);
  if (status == UL_OK) status = pack_search(m->c, &p->coarse, up[0], &p->choice, err);
  m->search = (foam_search){m->c, &p->choice, &p->coarse, p->keep};
  return status;
}

/* ---- the best tilts, one after the other ---- */

/* The fine rise with what the search found. */
static ul_status prove(making *m, ul_error *err) {
  making_other first = {.set = m->now.set};
  m->now.set.set.peaks = NULL;
  m->now.set.set.vents = NULL;
  ul_status status = making_prove(m, &first, 1, err);
  making_take(m, &first);
  return status;
}

/* Fewer vents, or a rise that fills; else one that leaves clearly less. */
static bool is_worth_it(const making *m, const making_other *other) {
  const bool fills = making_fills(m, &other->proof), now = making_fills(m, &m->now.foam);
  if (fills && now) return vent_set_usable(&other->set.set) < vent_set_usable(&m->now.set.set);
  return fills || making_left_by(&other->proof) < 0.9 * making_left_by(&m->now.foam);
}

/* Coarse cubes know little of a dome's top, which is flat in a layer of them: where foam came last
 * in these is off by several, and more vents are wanted there than the air needs. So the peaks' own
 * are risen in full, too, where they are fewer, or the others do not do. */
static ul_status try_level_vents(making *m, ul_error *err) {
  making_other level;
  if (m->p->keep) return UL_OK;
  making_copy(m, &level);
  level.set.set.only_wishes = false;
  level.set.set.wish_count = 0;
  ul_status status = making_fit(m, &level, 1, err);
  if (status == UL_OK) vent_set_settle(&level.set.set);
  const size_t usable = status == UL_OK ? vent_set_usable(&level.set.set) : 0;
  const bool fewer = usable < vent_set_usable(&m->now.set.set);
  if (usable && (fewer || !making_fills(m, &m->now.foam))) {
    status = making_prove(m, &level, 1, err);
    if (status == UL_OK && is_worth_it(m, &level)) making_take(m, &level);
  }
  making_clear(&level);
  return status;
}

/* m->now has its tilt's vents, as they were risen first. How sure it is matters where it fills. */
static ul_status make_way(making *m, ul_error *err) {
  ul_status status = search_vents(&m->search, &m->now.set, err);
  if (status == UL_OK) status = search_size(&m->search, &m->now.set, &m->now.size, err);
  if (status == UL_OK) status = prove(m, err);
  if (status == UL_OK) status = try_level_vents(m, err);
  if (status == UL_OK) status = plan_mend_vents(m, err);
  return status == UL_OK && making_fills(m, &m->now.foam) ? make_sure(m, err) : status;
}

/* Liquid stands over the rim or an opening. */
static bool runs_out(const making *m, const made *w) {
  return foam_left_by(w->foam.rise, m->c->opts->void_ok_cm3 * 1000).over_mm > 0;
}

static bool is_sound(const making *m, const made *w) {
  return !runs_out(m, w) && making_fills(m, &w->foam) && plan_is_sure(w->sure.good, w->sure.tries);
}

/* One that runs out nowhere; then one that fills; of two that do, the surer one; else that which
 * leaves clearly less. */
static bool is_better(const making *m, const made *a, const made *b) {
  if (runs_out(m, a) != runs_out(m, b)) return runs_out(m, b);
  const bool fills = making_fills(m, &a->foam);
  if (fills != making_fills(m, &b->foam)) return fills;
  return fills ? a->sure.good > b->sure.good
               : making_left_by(&a->foam) < 0.9 * making_left_by(&b->foam);
}

static void bring_first(tried_set *list, size_t which) {
  const tried_set first = list[which];
  for (; which > 0; which--) list[which] = list[which - 1];
  list[0] = first;
}

/* Coarse cubes often see no air left in any of the best tilts. Of those that are alike in that, the
 * first that is sure comes first, else the surest. */
static ul_status put_surest_first(making *m, tilts_looked *tilts, ul_error *err) {
  const foam_search *s = &m->search;
  const long tries = m->c->opts->scatter < AT_FIRST ? m->c->opts->scatter : AT_FIRST;
  const double least = tilts->taken ? search_air_mm3(s, &tilts->best[0]) : 0;
  size_t surest = 0;
  long most = -1;
  for (size_t i = 0; i < tilts->taken && !(most >= 0 && plan_is_sure(most, tries)); i++) {
    long good;
    if (search_air_mm3(s, &tilts->best[i]) > least || tilts->taken < 2) break;
    ul_status status = sure_at_first(s, &tilts->best[i], tries, &good, err);
    if (status == UL_E_NUMBER || status == UL_E_OUTSIDE)
      good = 0; /* of a rise that fails: made in full, it is passed over */
    else if (status != UL_OK)
      return status;
    if (good <= most) continue;
    most = good;
    surest = i;
  }
  bring_first(tilts->best, surest);
  return UL_OK;
}

/* Of the best tilts the first whose plan is sound; else the best plan. A tilt whose rise fails is
 * passed over while there is another. */
static ul_status make_best(making *m, tilts_looked *tilts, ul_error *err) {
  made best = {0};
  bool some = false;
  ul_status status = put_surest_first(m, tilts, err);
  for (size_t i = 0; i < tilts->taken && i < IN_FULL && status == UL_OK; i++) {
    m->now = (made){.set = tilts->best[i]};
    tilts->best[i] = (tried_set){0};
    status = make_way(m, err);
    const bool fails = status == UL_E_NUMBER || status == UL_E_OUTSIDE;
    if (status != UL_OK && !(fails && (some || (i + 1 < tilts->taken && i + 1 < IN_FULL)))) break;
    if (status != UL_OK || (some && !is_better(m, &m->now, &best))) {
      made_clear(&m->now);
      m->now = best;
    } else {
      made_clear(&best);
      best = m->now;
      some = true;
    }
    status = UL_OK;
    if (some && is_sound(m, &best)) break;
  }
  if (status != UL_OK && some) made_clear(&best);
  return status == UL_OK && !m->now.sure.tries ? make_sure(m, err) : status;
}

/* ---- the whole ---- */

/* The findings become the plan's. */
static void hand_over(making *m) {
  plan *p = m->p;
  vent_set *set = &m->now.set.set;
  ul_copy3(set->up, p->up);
  p->peaks = set->peaks;
  p->vents = set->vents;
  p->size = m->now.size;
  p->foam = m->now.foam;
  p->sure = m->now.sure;
  set->peaks = NULL;
  set->vents = NULL;
  m->now = (made){0};
}

ul_status plan_with_foam(cavity_case *c, plan *p, ul_error *err) {
  making m = {.c = c, .p = p};
  tilts_looked *tilts = ul_new(1, sizeof *tilts);
  double up[TILTS_LOOKED_AT][3];
  size_t count;
  if (!tilts) return ul_fail_memory(err);
  ul_status status = prepare(&m, up, &count, err);
  if (status == UL_OK) status = tilts_look(&m.search, (const double(*)[3])up, count, tilts, err);
  if (status == UL_OK && !p->given) {
    tilts_tell(tilts, p->tilts, p->look);
    p->looked = p->tilts->count;
  }
  if (status == UL_OK) status = make_best(&m, tilts, err);
  if (status == UL_OK) status = plan_spare_vents(&m, err);
  if (status == UL_OK) status = plug_bleeding(&m, err);
  if (status == UL_OK) status = plan_make_good_loss(&m, err);
  if (status == UL_OK) status = plan_proof_make(&m.search, &m.now.set, &p->proof, err);
  if (status == UL_OK) hand_over(&m);
  made_clear(&m.now);
  tilts_drop(tilts);
  free(tilts);
  return status;
}
