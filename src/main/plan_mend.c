#include "main/plan_mend.h"

#include "base/vec.h"

enum { ROUNDS = 3, ROUNDS_MOST = 6, SPARED = 4 };

static const double clearly = 0.9;       /* what is left of the air where a change was worth it */
static const double more_clearly = 0.75; /* and where more rounds than ROUNDS are */
/* A vent so few cubes from where air stays was meant for that place: coarse cubes see no better. */
static const double near_cubes = 6;

/* A void this close to a vent, in diameters, was shut in by that vent closing. */
static const double at_mouth = 2;

/* Under this a void is let be: the limit, or the largest void that these cubes are too coarse for.
 * That one makes the verdict, and a hole for less would not change it. */
static double let_be_mm3(const making *m) {
  const ul_rise *rise = m->now.foam.rise;
  double most = m->c->opts->void_ok_cm3 * 1000;
  for (size_t i = 0; i < rise->cavity_count; i++)
    for (size_t k = 0; k < rise->cavity[i].void_count; k++) {
      const ul_rise_void *v = &rise->cavity[i].voids[k];
      if (v->void_mm3 > most && !foam_proof_believes(m->c, &m->now.foam, v->at_mm, v->void_mm3))
        most = v->void_mm3;
    }
  return most;
}

static bool at_a_vent(const making *m, const double at_mm[3]) {
  const ul_vents *vents = m->now.set.set.vents;
  for (size_t i = 0; i < vents->count; i++) {
    const ul_vent *v = &vents->vent[i];
    if (v->ok && !v->closed && ul_distance(v->at_mm, at_mm) < at_mouth * v->diameter_mm)
      return true;
  }
  return false;
}

/* A change to what is asked for because air stays in a void; false when it is none for that one. */
typedef bool (*change)(const making *m, const ul_rise_void *v, uint32_t cavity, vent_set *set);

/* Makes it for each void over `let_be`, mm3, the largest of a cavity first; false when for none. */
static bool change_for_voids(const making *m, double let_be, change make, vent_set *set) {
  const ul_rise *rise = m->now.foam.rise;
  bool some = false;
  for (size_t i = 0; i < rise->cavity_count; i++)
    for (size_t k = 0; k < rise->cavity[i].void_count; k++)
      if (rise->cavity[i].voids[k].void_mm3 > let_be &&
          make(m, &rise->cavity[i].voids[k], (uint32_t)i, set))
        some = true;
  return some;
}

/* ---- the changes ---- */

/* The nearest wish of the cavity that stands where it stood, unless it is farther than reach_mm;
 * SIZE_MAX: none. */
static size_t nearest_wish(const making *m, const vent_set *set, uint32_t cavity,
                           const double at_mm[3], double reach_mm) {
  size_t which = SIZE_MAX;
  for (size_t i = 0; i < set->wish_count; i++) {
    const double *was = m->now.set.set.wish[i].at_mm, far = ul_distance(was, at_mm);
    if (set->wish[i].cavity != cavity || ul_distance(set->wish[i].at_mm, was) > 0) continue;
    if (far >= reach_mm) continue;
    reach_mm = far;
    which = i;
  }
  return which;
}

static bool move_near(const making *m, const ul_rise_void *v, uint32_t cavity, vent_set *set) {
  const double reach_mm = near_cubes * m->now.foam.cube_mm;
  const size_t which = nearest_wish(m, set, cavity, v->at_mm, reach_mm);
  if (which == SIZE_MAX) return false;
  set->wish[which].peak = 0;
  ul_copy3(v->at_mm, set->wish[which].at_mm);
  return true;
}

static bool may_add(const making *m, const vent_set *set) {
  const size_t added = set->wish_count - m->now.set.set.wish_count;
  if (m->p->keep && set->wish_count >= 1) return false; /* one new one at a time */
  return vent_set_usable(&m->now.set.set) + added < (size_t)m->c->opts->vents_at_most &&
         set->wish_count < VENTS_MOST;
}

/* Not where a hole for a larger void is wished for already. */
static bool add(const making *m, const ul_rise_void *v, uint32_t cavity, vent_set *set) {
  if (!may_add(m, set) || at_a_vent(m, v->at_mm)) return false;
  for (size_t i = m->now.set.set.wish_count; i < set->wish_count; i++)
    if (ul_distance(set->wish[i].at_mm, v->at_mm) < 2 * m->now.foam.cube_mm) return false;
  ul_vent_wish *wish = &set->wish[set->wish_count++];
  *wish = (ul_vent_wish){.cavity = cavity, .air_mm3 = v->void_mm3};
  ul_copy3(v->at_mm, wish->at_mm);
  return true;
}

static bool widen(const making *m, const ul_rise_void *v, uint32_t cavity, vent_set *set) {
  ul_drill next;
  (void)cavity;
  if (!at_a_vent(m, v->at_mm) || !search_next_size(&m->search, &m->now.size, &next)) return false;
  set->diameter_mm = next.diameter_mm;
  return true;
}

/* ---- mending ---- */

static const change changes[] = {add, move_near, widen};
enum { CHANGES = sizeof changes / sizeof *changes };

/* The first that fills, else that which leaves least, if it is clearly less; `count`: none. */
static size_t best_of(const making *m, const making_other *list, size_t count) {
  size_t best = count;
  double least = clearly * making_left_by(&m->now.foam);
  for (size_t i = 0; i < count; i++) {
    const double left = making_left_by(&list[i].proof);
    if (making_fills(m, &list[i].proof)) return i;
    if (left >= least) continue;
    least = left;
    best = i;
  }
  return best;
}

static void take(making *m, making_other *other) {
  const double was_mm = m->now.set.set.diameter_mm;
  making_take(m, other);
  if (m->now.set.set.diameter_mm > was_mm) search_widen(&m->search, &m->now.size);
}

/* Each change is made for all voids at once, for of four pockets alike three are left as large when
 * one is vented. */
static ul_status mend_once(making *m, bool *better, ul_error *err) {
  making_other list[CHANGES];
  const double let_be = let_be_mm3(m);
  size_t count = 0;
  for (size_t i = 0; i < CHANGES; i++) {
    making_copy(m, &list[count]);
    count += change_for_voids(m, let_be, changes[i], &list[count].set.set);
  }
  ul_status status = making_fit(m, list, count, err);
  if (status == UL_OK) status = making_prove(m, list, count, err);
  const size_t best = status == UL_OK ? best_of(m, list, count) : count;
  *better = best < count;
  if (*better) take(m, &list[best]);
  for (size_t i = 0; i < count; i++) making_clear(&list[i]);
  return status;
}

ul_status plan_mend_vents(making *m, ul_error *err) {
  ul_status status = UL_OK;
  bool better = true;
  for (int round = 1; better && round <= ROUNDS_MOST && status == UL_OK; round++) {
    const double left = making_left_by(&m->now.foam);
    status = mend_once(m, &better, err);
    if (round >= ROUNDS && making_left_by(&m->now.foam) > more_clearly * left) break;
  }
  return status;
}

/* ---- sparing ---- */

/* Takes the set without a vent if no more air stays, and as many of the tries are good. */
static ul_status take_if_as_sure(making *m, making_other *other, bool *taken, ul_error *err) {
  if (!making_leaves_no_more(m, &other->proof, 1)) return UL_OK;
  plan_sure sure;
  ul_status status =
      sure_with_foam(&m->search, &other->set, other->proof.rise, m->now.sure.good, &sure, err);
  *taken = status == UL_OK && sure.good >= m->now.sure.good;
  plan_sure_free(*taken ? &m->now.sure : &sure);
  if (!*taken) return status;
  m->now.sure = sure;
  making_take(m, other);
  return UL_OK;
}

static ul_status spare_once(making *m, bool *spared, ul_error *err) {
  making_other list[2];
  size_t which[2], count = 0;
  if (vent_set_usable(&m->now.set.set) > 1) count = vent_set_least_two(&m->now.set.set, which);
  for (size_t i = 0; i < count; i++) {
    making_copy(m, &list[i]);
    vent_set_drop(&list[i].set.set, which[i]);
  }
  *spared = false;
  ul_status status = making_fit(m, list, count, err);
  if (status == UL_OK) status = making_prove(m, list, count, err);
  for (size_t i = 0; i < count && !*spared && status == UL_OK; i++)
    status = take_if_as_sure(m, &list[i], spared, err);
  for (size_t i = 0; i < count; i++) making_clear(&list[i]);
  return status;
}

ul_status plan_spare_vents(making *m, ul_error *err) {
  ul_status status = UL_OK;
  bool spared = !m->p->keep;
  for (int round = 0; spared && round < SPARED && status == UL_OK; round++)
    status = spare_once(m, &spared, err);
  return status;
}
