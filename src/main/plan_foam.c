#include "main/plan_foam.h"

#include "base/vec.h"
#include "main/plan_mend.h"

enum { TILTS_TRIED = 3 }; /* best by heights first; with the foam the best of them is taken */
enum { SURER = 3 };       /* rounds of vents added, moved or doubled for the tries that fail */

/* A vent that bleeds more than this share of its cavity's charge is plugged when foam shows: the
 * program's own choice. */
static const double bleed_ok = 5e-4;

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

/* ---- how sure it is ---- */

/* A set with which more tries are good, if its fine rise leaves less than `share` of the air. *sure
 * is used up. */
static ul_status take_surer(making *m, making_other *other, double share, plan_sure *sure,
                            bool *taken, ul_error *err) {
  ul_status status = making_prove(m, other, 1, err);
  *taken = status == UL_OK && making_leaves_no_more(m, &other->proof, share);
  plan_sure_free(*taken ? &m->p->sure : sure);
  if (!*taken) return status;
  m->p->sure = *sure;
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
    status = sure_mend(&m->search, m->p->foam.rise, &m->p->sure, &other.set, &better, &mended, err);
  if (status == UL_OK && mended)
    status = take_surer(m, &other, 1.1, &better, surer, err);
  else
    plan_sure_free(&better);
  making_clear(&other);
  return status;
}

static ul_status make_sure(making *m, ul_error *err) {
  plan *p = m->p;
  ul_status status = sure_with_foam(&m->search, &m->set, p->foam.rise, &p->sure, err);
  bool surer = true;
  for (int round = 0; surer && round < SURER && status == UL_OK; round++) {
    if (plan_is_sure(p->sure.good, p->sure.tries)) break;
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
  if (status == UL_OK && plug(&m->p->foam, other.set.set.vents)) {
    plan_sure sure = {0};
    bool taken = false;
    status = sure_with_foam(&m->search, &other.set, m->p->foam.rise, &sure, err);
    if (status == UL_OK && sure.good >= m->p->sure.good)
      status = take_surer(m, &other, 1.02, &sure, &taken, err);
    else
      plan_sure_free(&sure);
  }
  making_clear(&other);
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

/* The fine rise with what the search found. */
static ul_status prove(making *m, ul_error *err) {
  making_other first = {.set = m->set};
  m->set.set.peaks = NULL;
  m->set.set.vents = NULL;
  ul_status status = making_prove(m, &first, 1, err);
  making_take(m, &first);
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
  if (status == UL_OK) status = prove(&m, err);
  if (status == UL_OK) status = plan_mend_vents(&m, err);
  if (status == UL_OK) status = make_sure(&m, err);
  if (status == UL_OK) status = plan_spare_vents(&m, err);
  if (status == UL_OK) status = plug_bleeding(&m, err);
  if (status == UL_OK) status = plan_proof_make(&m.search, &m.set, &p->proof, err);
  if (status == UL_OK) hand_over(&m);
  vent_set_clear(&m.set.set);
  return status;
}
