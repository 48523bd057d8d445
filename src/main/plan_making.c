#include "main/plan_making.h"

#include "base/vec.h"

void made_clear(made *w) {
  vent_set_clear(&w->set.set);
  foam_proof_free(&w->foam);
  plan_sure_free(&w->sure);
  *w = (made){0};
}

void making_copy(const making *m, making_other *out) {
  *out = (making_other){.set = m->now.set};
  out->set.set.peaks = NULL;
  out->set.set.vents = NULL;
}

void making_clear(making_other *other) {
  vent_set_clear(&other->set.set);
  foam_proof_free(&other->proof);
}

ul_status making_fit(const making *m, making_other *list, size_t count, ul_error *err) {
  ul_status status = UL_OK;
  for (size_t i = 0; i < count && status == UL_OK; i++) {
    vent_set *set = &list[i].set.set;
    status = vent_set_fit(m->c, m->p->keep, set, err);
    if (status == UL_OK) vent_set_close(set, list[i].set.closed);
  }
  return status;
}

ul_status making_prove(const making *m, making_other *list, size_t count, ul_error *err) {
  foam_asked asked[FOAM_PROOFS_MOST] = {0};
  foam_proof proof[FOAM_PROOFS_MOST];
  for (size_t i = 0; i < count; i++) {
    ul_copy3(list[i].set.set.up, asked[i].up);
    asked[i].vents = list[i].set.set.vents;
  }
  ul_status status = foam_proofs_make(m->c, &m->p->choice, &m->p->fine, asked, count, proof, err);
  for (size_t i = 0; i < count; i++) list[i].proof = proof[i];
  return status;
}

double making_left_by(const foam_proof *proof) {
  return proof->voids_mm3 + proof->short_mm3;
}

bool making_fills(const making *m, const foam_proof *proof) {
  return making_left_by(proof) <= m->c->opts->void_ok_cm3 * 1000;
}

bool making_leaves_no_more(const making *m, const foam_proof *proof, double share) {
  return making_fills(m, proof) || making_left_by(proof) <= share * making_left_by(&m->now.foam);
}

void making_take(making *m, making_other *other) {
  vent_set_clear(&m->now.set.set);
  foam_proof_free(&m->now.foam);
  m->now.set = other->set;
  m->now.foam = other->proof;
  *other = (making_other){0};
}
