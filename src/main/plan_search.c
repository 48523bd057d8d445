#include "main/plan_search.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

enum { ROUNDS = 4, SPARED = 4, NEW_WHERE_SOME_EXIST = 1 };

static const double clearly = 0.9;
static const double costs_voids = 0.5; /* a size that leaves twice the air of the next one */

double search_limit_mm3(const foam_search *s) {
  return fmax(s->c->opts->void_ok_cm3 * 1000, foam_bed_cube_mm3(s->bed));
}

double search_air_mm3(const foam_search *s, const tried_set *t) {
  double missing = t->left.short_mm3;
  return t->left.voids_mm3 + (missing > search_limit_mm3(s) ? missing : 0);
}

/* ---- rises ---- */

static ul_status make_shots(const foam_search *s, const tried_set *list, size_t count,
                            foam_shot *shot, ul_rise_opts *opts, ul_error *err) {
  ul_status status = UL_OK;
  for (size_t i = 0; i < count && status == UL_OK; i++) {
    const tried_set *t = &list[i];
    status = foam_shot_make(s->c, s->choice, s->bed, t->set.up, t->open ? NULL : t->set.vents,
                            &shot[i], err);
    opts[i] = shot[i].opts;
    opts[i].pour_moves = true;
  }
  return status;
}

static void look(const foam_search *s, const ul_rise *rise, tried_set *t) {
  t->left = foam_left_by(rise, search_limit_mm3(s));
  ul_copy3(rise->cavity[t->left.worst_cavity].last_reached_mm, t->last_mm);
}

ul_status search_rise(const foam_search *s, tried_set *list, size_t count, const char *stage,
                      ul_rise **rise, ul_error *err) {
  foam_shot *shot = ul_new(count, sizeof *shot);
  ul_rise_opts *opts = ul_new(count, sizeof *opts);
  ul_rise **own = rise ? rise : ul_new(count, sizeof(ul_rise *));
  ul_status status = shot && opts && own ? UL_OK : ul_fail_memory(err);
  if (status == UL_OK) status = make_shots(s, list, count, shot, opts, err);
  if (status == UL_OK)
    status = ul_rises_run(s->bed->grid, s->bed->columns, opts, count, &s->c->job, stage, own, err);
  for (size_t i = 0; i < count && status == UL_OK; i++) {
    look(s, own[i], &list[i]);
    if (!rise) ul_rise_free(own[i]);
  }
  for (size_t i = 0; shot && i < count; i++) foam_shot_free(&shot[i]);
  free(shot);
  free(opts);
  if (!rise) free(own);
  return status;
}

/* A copy of what is asked for, not of what came of it. */
static void ask_again(const tried_set *from, tried_set *to) {
  *to = *from;
  to->set.peaks = NULL;
  to->set.vents = NULL;
}

ul_status search_fit(const foam_search *s, tried_set *t, ul_error *err) {
  ul_status status = vent_set_fit(s->c, s->keep, &t->set, err);
  if (status == UL_OK) vent_set_close(&t->set, t->closed);
  return status;
}

void search_drop(tried_set *list, size_t count) {
  for (size_t i = 0; i < count; i++) vent_set_clear(&list[i].set);
}

bool search_is_better(const foam_search *s, const tried_set *a, const tried_set *b) {
  const bool runs_out = a->left.over_mm > 0, other = b->left.over_mm > 0;
  double left = search_air_mm3(s, a), right = search_air_mm3(s, b);
  if (runs_out != other) return other;
  if (left < clearly * right) return true;
  if (right < clearly * left) return false;
  return vent_set_usable(&a->set) < vent_set_usable(&b->set);
}

/* Takes the best of the list, clears the others. */
static size_t best_of(const foam_search *s, const tried_set *list, size_t count) {
  size_t best = 0;
  for (size_t i = 1; i < count; i++)
    if (search_is_better(s, &list[i], &list[best])) best = i;
  return best;
}

static void take(tried_set *list, size_t count, size_t which, tried_set *out) {
  vent_set_clear(&out->set);
  *out = list[which];
  list[which].set.peaks = NULL;
  list[which].set.vents = NULL;
  search_drop(list, count);
}

/* Fits and rises the list; takes its best in place of *best where `accept` says so. */
typedef bool (*accept_fn)(const foam_search *s, const tried_set *now, const tried_set *best);

static ul_status try_list(const foam_search *s, tried_set *list, size_t count, const char *stage,
                          accept_fn accept, tried_set *best, bool *taken, ul_error *err) {
  ul_status status = UL_OK;
  *taken = false;
  for (size_t i = 0; i < count && status == UL_OK; i++) status = search_fit(s, &list[i], err);
  if (status == UL_OK && count) status = search_rise(s, list, count, stage, NULL, err);
  if (status == UL_OK && count) {
    size_t which = best_of(s, list, count);
    *taken = accept(s, &list[which], best);
    if (*taken) {
      take(list, count, which, best);
      return UL_OK;
    }
  }
  search_drop(list, count);
  return status;
}

/* ---- mending ---- */

static bool leaves_clearly_less(const foam_search *s, const tried_set *now, const tried_set *best) {
  return search_air_mm3(s, now) < clearly * search_air_mm3(s, best);
}

/* No more than a fiftieth more air, or none to speak of. */
static bool leaves_no_more(const foam_search *s, const tried_set *now, const tried_set *best) {
  double limit = search_limit_mm3(s);
  return search_air_mm3(s, now) <= fmax(limit, 1.02 * search_air_mm3(s, best));
}

static bool may_add(const foam_search *s, const vent_set *set) {
  if (s->keep && set->wish_count >= NEW_WHERE_SOME_EXIST) return false;
  return vent_set_usable(set) < (size_t)s->c->opts->vents_at_most && set->wish_count < VENTS_MOST;
}

static void add(const tried_set *best, const double at_mm[3], tried_set *out) {
  ask_again(best, out);
  ul_vent_wish *wish = &out->set.wish[out->set.wish_count++];
  *wish = (ul_vent_wish){.cavity = best->left.worst_cavity, .air_mm3 = best->left.worst_mm3};
  ul_copy3(at_mm, wish->at_mm);
}

/* The wish of that cavity nearest to where air stays, moved there; false when there is none. */
static bool move(const tried_set *best, const double at_mm[3], tried_set *out) {
  const vent_set *set = &best->set;
  size_t which = SIZE_MAX;
  double nearest = INFINITY;
  for (size_t i = 0; i < set->wish_count; i++) {
    double far = ul_distance(set->wish[i].at_mm, at_mm);
    if (set->wish[i].cavity != best->left.worst_cavity || far >= nearest) continue;
    nearest = far;
    which = i;
  }
  if (which == SIZE_MAX) return false;
  ask_again(best, out);
  out->set.wish[which].peak = 0;
  ul_copy3(at_mm, out->set.wish[which].at_mm);
  return true;
}

/* Added or moved to the top of the worst void, or to where that cavity is reached last. */
static ul_status mend(const foam_search *s, tried_set *best, ul_error *err) {
  bool better = true;
  ul_status status = UL_OK;
  for (int round = 0; round < ROUNDS && better && status == UL_OK; round++) {
    if (!(best->left.voids_mm3 > 0)) break;
    const double *const place[2] = {best->left.worst_at_mm, best->last_mm};
    tried_set list[4];
    size_t count = 0;
    for (int k = 0; k < 2; k++) {
      if (may_add(s, &best->set)) add(best, place[k], &list[count++]);
      count += move(best, place[k], &list[count]);
    }
    status = try_list(s, list, count, "mending the vents", leaves_clearly_less, best, &better, err);
  }
  return status;
}

/* ---- sparing ---- */

/* New vents without which no more air stays are left out, one after the other: those that let out
 * the least first, until neither of two can be spared. */
static ul_status spare(const foam_search *s, tried_set *best, ul_error *err) {
  ul_status status = UL_OK;
  bool spared = true;
  for (int round = 0; round < SPARED && spared && status == UL_OK; round++) {
    tried_set list[2];
    size_t which[2],
        count = vent_set_usable(&best->set) > 1 ? vent_set_least_two(&best->set, which) : 0;
    for (size_t i = 0; i < count; i++) {
      ask_again(best, &list[i]);
      vent_set_drop(&list[i].set, which[i]);
    }
    status = try_list(s, list, count, "sparing vents", leaves_no_more, best, &spared, err);
  }
  return status;
}

/* Of the vents that exist, the one that is better plugged for good, if any is. */
static ul_status close_one(const foam_search *s, tried_set *best, ul_error *err) {
  size_t count = s->keep && vent_set_usable(&best->set) > 1 ? s->keep->count : 0;
  tried_set *list = ul_new(count, sizeof *list);
  if (!list) return ul_fail_memory(err);
  size_t tried = 0;
  for (size_t i = 0; i < count; i++) {
    if (best->closed[i] || !s->keep->vent[i].ok) continue;
    ask_again(best, &list[tried]);
    list[tried++].closed[i] = true;
  }
  bool closed;
  ul_status status =
      try_list(s, list, tried, "plugging for good", leaves_clearly_less, best, &closed, err);
  free(list);
  return status;
}

ul_status search_vents(const foam_search *s, tried_set *best, ul_error *err) {
  ul_status status = close_one(s, best, err);
  if (status == UL_OK) status = mend(s, best, err);
  if (status == UL_OK && !s->keep) status = spare(s, best, err);
  return status;
}

/* ---- their size ---- */

/* The narrow part of a hole is its land. */
static double narrow_mm(const ul_vent *v) {
  return v->relief_mm > 0 ? v->land_mm : v->length_mm;
}

static ul_status size_of_cavity(const foam_search *s, const vent_set *set, size_t cavity,
                                ul_vent_size *out, ul_error *err) {
  const options *o = s->c->opts;
  size_t holes = 0;
  double at_s, length = 0;
  for (size_t i = 0; i < set->vents->count; i++) {
    const ul_vent *v = &set->vents->vent[i];
    if (!v->ok || v->closed || v->cavity != cavity) continue;
    holes++;
    length = fmax(length, narrow_mm(v));
  }
  *out = (ul_vent_size){0};
  if (!holes) return UL_OK;
  double rate = ul_vent_air_rate(&s->choice->foam, s->choice->pack, &at_s);
  return ul_vent_size_of(s->choice->foam.foam_class, rate * s->c->solid->cavity[cavity].volume_mm3,
                         holes, length, o->drills, out, err);
}

/* Of two that one drill serves, the one with more air to let out. */
static bool wants_wider(const ul_vent_size *a, const ul_vent_size *b) {
  const double mm = a->drill.diameter_mm, other_mm = b->drill.diameter_mm;
  return mm > other_mm || (mm == other_mm && a->air_mm3_s > b->air_mm3_s);
}

static ul_status widest(const foam_search *s, const vent_set *set, ul_vent_size *size,
                        ul_error *err) {
  ul_status status = UL_OK;
  *size = (ul_vent_size){0};
  for (size_t i = 0; i < s->c->solid->cavity_count && status == UL_OK; i++) {
    ul_vent_size here;
    status = size_of_cavity(s, set, i, &here, err);
    if (wants_wider(&here, size)) *size = here;
  }
  return status;
}

bool search_next_size(const foam_search *s, const ul_vent_size *size, ul_drill *next) {
  return size->drill.diameter_mm > 0 &&
         ul_drill_at_least(s->c->opts->drills, size->drill.diameter_mm + 1e-3, next);
}

void search_widen(const foam_search *s, ul_vent_size *size) {
  ul_drill next;
  if (!search_next_size(s, size, &next)) return;
  size->air_m_s *= pow(size->drill.diameter_mm / next.diameter_mm, 2);
  size->back_pa = NAN; /* under what the narrower one builds */
  size->drill = next;
}

ul_status search_size(const foam_search *s, tried_set *best, ul_vent_size *size, ul_error *err) {
  *size = (ul_vent_size){0};
  if (!best->set.wish_count) return UL_OK;
  ul_status status = widest(s, &best->set, size, err);
  if (status != UL_OK || !(size->drill.diameter_mm > 0)) return status;
  tried_set list[2];
  size_t count = 0;
  ul_drill next;
  ask_again(best, &list[count]);
  list[count++].set.diameter_mm = size->drill.diameter_mm;
  if (search_next_size(s, size, &next)) {
    ask_again(best, &list[count]);
    list[count++].set.diameter_mm = next.diameter_mm;
  }
  for (size_t i = 0; i < count && status == UL_OK; i++) status = search_fit(s, &list[i], err);
  if (status == UL_OK) status = search_rise(s, list, count, "sizing vents", NULL, err);
  if (status != UL_OK) {
    search_drop(list, count);
    return status;
  }
  bool wider = count > 1 && search_air_mm3(s, &list[1]) < costs_voids * search_air_mm3(s, &list[0]);
  take(list, count, wider, best);
  if (wider) search_widen(s, size);
  return UL_OK;
}
