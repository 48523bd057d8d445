#include "main/plan_tilts.h"

#include <math.h>
#include <stdio.h>

#include "air/outlets.h"
#include "base/vec.h"
#include "report/words.h"

/* An arrival's branch of fewer coarse cubes is the lattice's own roughness. */
static const double branch_cubes = 6;
/* A leaf of the arrival this near to a peak is that peak, whose place is exact. */
static const double snap_cubes = 2.5;
/* Blocks alike to this are alike to a shop: the program's own choice. */
static const double LOWER_MM = 1;

enum {
  AT_ONCE = 8,  /* tilts, before it is asked whether one is as good as can be */
  BY_LEVEL = 3, /* of the first so many also the vents that level air asks for are tried */
  SETS_MOST = AT_ONCE + BY_LEVEL
};

void tilts_drop(tilts_looked *t) {
  search_drop(t->best, t->taken);
  t->taken = 0;
}

/* ---- vents where foam comes last ---- */

/* The peak whose place a last place means, if one is near. */
static void snap(const ul_peaks *peaks, double reach_mm, ul_vent_wish *wish) {
  double nearest = reach_mm;
  for (size_t i = 0; i < peaks->count; i++) {
    double spot[UL_OUTLETS_MOST][3];
    size_t spots = ul_peak_outlets(&peaks->peak[i], spot);
    for (size_t k = 0; k < spots && peaks->peak[i].cavity == wish->cavity; k++) {
      double far = ul_distance(spot[k], wish->at_mm);
      if (far >= nearest) continue;
      nearest = far;
      wish->peak = peaks->peak[i].id;
      ul_copy3(spot[k], wish->at_mm);
    }
  }
}

static ul_status wish_by_arrival(const foam_search *s, const ul_rise *rise, const ul_peaks *peaks,
                                 vent_set *set, ul_error *err) {
  ul_last_place place[VENTS_MOST];
  double cube_mm = s->bed->grid->lattice.cube_mm;
  double least = fmax(s->c->opts->void_ok_cm3 * 1000, branch_cubes * foam_bed_cube_mm3(s->bed));
  ul_status status =
      ul_last_places(s->bed->grid, s->bed->columns, rise->arrival_s, set->up, least,
                     (size_t)s->c->opts->vents_at_most, place, &set->wish_count, err);
  for (size_t i = 0; i < set->wish_count && status == UL_OK; i++) {
    set->wish[i] = (ul_vent_wish){.cavity = place[i].cavity, .air_mm3 = place[i].adds_mm3};
    ul_copy3(place[i].at_mm, set->wish[i].at_mm);
    snap(peaks, snap_cubes * cube_mm, &set->wish[i]);
  }
  return status;
}

/* `t` has its tilt and was fitted, which found the peaks. */
static ul_status fit_by_arrival(const foam_search *s, const ul_rise *open, const ul_peaks *peaks,
                                tried_set *t, ul_error *err) {
  t->set.only_wishes = true;
  ul_status status = wish_by_arrival(s, open, peaks, &t->set, err);
  return status == UL_OK ? search_fit(s, t, err) : status;
}

/* Those that exist; or where foam comes last; or, of the first tilts, those and those by level air,
 * which know a dome's top better than arrivals that are nearly one all over it. */
static ul_status make_set(const foam_search *s, const ul_rise *open, bool by_level,
                          tried_set list[2], size_t *count, ul_error *err) {
  tried_set *first = &list[0], *second = &list[1];
  *count = 1;
  first->set.only_wishes = s->keep != NULL;
  ul_status status = search_fit(s, first, err);
  if (s->keep || status != UL_OK) return status;
  if (!by_level) return fit_by_arrival(s, open, first->set.peaks, first, err);
  *count = 2;
  vent_set_settle(&first->set);
  ul_copy3(first->set.up, second->set.up);
  return fit_by_arrival(s, open, first->set.peaks, second, err);
}

static ul_status make_sets(const foam_search *s, const double (*up)[3], size_t tilts, size_t level,
                           tried_set list[SETS_MOST], size_t *count, ul_error *err) {
  tried_set open[AT_ONCE] = {0};
  ul_rise *rise[AT_ONCE] = {0};
  ul_status status = UL_OK;
  *count = 0;
  for (size_t i = 0; i < SETS_MOST; i++) list[i] = (tried_set){0};
  for (size_t i = 0; i < tilts; i++) {
    open[i].open = true;
    ul_copy3(up[i], open[i].set.up);
  }
  if (!s->keep) status = search_rise(s, open, tilts, "where it comes last", rise, err);
  for (size_t i = 0; i < tilts && status == UL_OK; i++) {
    size_t made;
    ul_copy3(up[i], list[*count].set.up);
    status = make_set(s, rise[i], i < level, &list[*count], &made, err);
    *count += made;
  }
  for (size_t i = 0; i < tilts; i++) ul_rise_free(rise[i]);
  return status;
}

/* ---- the best ---- */

/* One tilt is the other mirrored in the axes: in a symmetric cavity the same thing again, and in
 * another still the likeliest to fail alike. */
static bool are_mirrored(const double a[3], const double b[3]) {
  double apart = 0;
  for (int i = 0; i < 3; i++) apart = fmax(apart, fabs(fabs(a[i]) - fabs(b[i])));
  return apart < 1e-6;
}

static double highest_block_mm(const foam_search *s, const double up[3]) {
  ul_props props;
  ul_props_for(&s->c->tool, up, &props);
  double most = 0;
  for (int i = 0; i < 4; i++) most = fmax(most, props.block_mm[i]);
  return most;
}

static bool is_easier(const foam_search *s, const double a[3], const double b[3]) {
  const ul_ease ea = ul_ease_of(a), eb = ul_ease_of(b);
  if (ea != eb) return ea < eb;
  return highest_block_mm(s, a) < highest_block_mm(s, b) - LOWER_MM;
}

/* Of equals the one that is easier to prop. */
static bool is_better(const foam_search *s, const tried_set *a, const tried_set *b) {
  if (search_is_better(s, a, b)) return true;
  return !search_is_better(s, b, a) && is_easier(s, a->set.up, b->set.up);
}

/* The set is out's then, or gone. */
static void keep_if_good(const foam_search *s, tried_set *set, tilts_looked *out) {
  size_t place = 0;
  while (place < out->taken && !is_better(s, set, &out->best[place]) &&
         !are_mirrored(set->set.up, out->best[place].set.up))
    place++;
  bool again = place < out->taken && !is_better(s, set, &out->best[place]); /* of a better one */
  if (place == TILTS_TAKEN || again) {
    search_drop(set, 1);
    return;
  }
  size_t end = place; /* what is displaced: its own mirror image, if it is there, else the last */
  while (end < out->taken && !are_mirrored(set->set.up, out->best[end].set.up)) end++;
  if (end == TILTS_TAKEN) end--;
  if (end < out->taken)
    search_drop(&out->best[end], 1);
  else
    out->taken++;
  for (; end > place; end--) out->best[end] = out->best[end - 1];
  out->best[place] = *set;
}

static bool is_as_good_as_can_be(const foam_search *s, const tilts_looked *out) {
  return out->taken && !(search_air_mm3(s, &out->best[0]) > 0) &&
         !(out->best[0].left.over_mm > 0) &&
         vent_set_usable(&out->best[0].set) <= s->c->solid->cavity_count;
}

static bool comes_before(const tilt_look *a, const tilt_look *b) {
  if ((a->over_mm > 0) != (b->over_mm > 0)) return b->over_mm > 0;
  if (a->left_mm3 != b->left_mm3) return a->left_mm3 < b->left_mm3;
  return a->vents < b->vents;
}

/* Of two sets in one tilt, which follow each other, the better one counts. */
static void note(const foam_search *s, const tried_set *set, tilts_looked *out) {
  tilt_look now = {.vents = vent_set_usable(&set->set),
                   .left_mm3 = search_air_mm3(s, set),
                   .over_mm = set->left.over_mm};
  ul_copy3(set->set.up, now.up);
  tilt_look *last = out->count ? &out->look[out->count - 1] : NULL;
  if (!last || ul_distance(last->up, now.up) > 0)
    out->look[out->count++] = now;
  else if (comes_before(&now, last))
    *last = now;
}

static ul_status look_at(const foam_search *s, const double (*up)[3], size_t tilts, size_t level,
                         tilts_looked *out, ul_error *err) {
  tried_set list[SETS_MOST];
  size_t count;
  ul_status status = make_sets(s, up, tilts, level, list, &count, err);
  if (status == UL_OK) status = search_rise(s, list, count, "comparing tilts", NULL, err);
  for (size_t i = 0; i < count && status == UL_OK; i++) {
    note(s, &list[i], out);
    keep_if_good(s, &list[i], out);
  }
  if (status != UL_OK) search_drop(list, SETS_MOST);
  return status;
}

ul_status tilts_look(const foam_search *s, const double (*up)[3], size_t count, tilts_looked *out,
                     ul_error *err) {
  ul_status status = UL_OK;
  *out = (tilts_looked){0};
  for (size_t i = 0; i < count && i < TILTS_LOOKED_AT && status == UL_OK; i += AT_ONCE) {
    const size_t tilts = count - i < AT_ONCE ? count - i : AT_ONCE;
    status = look_at(s, up + i, tilts, i < BY_LEVEL ? BY_LEVEL - i : 0, out, err);
    if (is_as_good_as_can_be(s, out)) break;
  }
  return status;
}

/* ---- told ---- */

/* The one of them looked at in that tilt; NULL: it was not. */
static const tilt_look *look_of(const tilts_looked *t, const double up[3]) {
  for (size_t i = 0; i < t->count; i++)
    if (ul_dot(t->look[i].up, up) > 1 - 1e-9) return &t->look[i];
  return NULL;
}

static void say(const tilt_look *look, ul_tilt *tilt) {
  char volume[UL_WORDS], over[UL_WORDS], runs_out[80] = "";
  const bool all = !(look->left_mm3 > 0);
  if (look->over_mm > 0)
    snprintf(runs_out, sizeof runs_out, "; but its liquid stands %.20s mm over an opening",
             ul_words_figure(look->over_mm, over));
  snprintf(tilt->why, sizeof tilt->why, "at a first, coarse look %zu %s %.40s with this foam%s",
           look->vents, look->vents == 1 ? "vent leaves" : "vents leave",
           all ? "no air" : ul_words_volume(look->left_mm3, volume), runs_out);
}

void tilts_tell(const tilts_looked *t, ul_tilts *answers, tilt_look *look) {
  size_t count = 0;
  for (size_t i = 0; i < answers->count; i++) {
    const tilt_look *here = look_of(t, answers->tilt[i].up);
    if (!here) continue;
    const ul_tilt answer = answers->tilt[i];
    size_t place = count < TILTS_TOLD ? count++ : TILTS_TOLD;
    for (; place > 0 && comes_before(here, &look[place - 1]); place--) {
      if (place == TILTS_TOLD) continue;
      look[place] = look[place - 1];
      answers->tilt[place] = answers->tilt[place - 1];
    }
    if (place == TILTS_TOLD) continue;
    look[place] = *here;
    answers->tilt[place] = answer;
    say(here, &answers->tilt[place]);
  }
  answers->count = count;
}
