#include "main/plan_sure.h"

#include <math.h>
#include <stdlib.h>

#include "air/stays.h"
#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "report/json.h"

void plan_sure_free(plan_sure *sure) {
  ul_repeats_free(sure->repeats);
  free(sure->vent_id);
  *sure = (plan_sure){0};
}

/* ---- on heights alone ---- */

/* Propped to within this: common practice, no source. */
static const double OFF_DEG = 2;

/* splitmix64 (Steele, Lea & Flood 2014), uniform in [0,1). */
static double draw(uint64_t *state) {
  uint64_t z = *state += 0x9e3779b97f4a7c15u;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
  return (double)((z ^ (z >> 31)) >> 11) * 0x1p-53;
}

/* `up` turned by up to OFF_DEG in any direction, evenly over the disc. */
static void scattered(const double up[3], uint64_t *state, double out[3]) {
  double x[3], y[3];
  double off = OFF_DEG * M_PI / 180 * sqrt(draw(state)), round = 2 * M_PI * draw(state);
  ul_across(up, x, y);
  for (int i = 0; i < 3; i++) out[i] = up[i] + off * (cos(round) * x[i] + sin(round) * y[i]);
}

/* The places of a set's holes, one after the other. */
typedef struct {
  double (*at)[3];
  size_t count;
} places;

/* Yours, free(); whatever came back. */
static ul_status list_places(const cavity_case *c, const vent_set *set, places *out,
                             ul_error *err) {
  *out = (places){.at = ul_new(set->vents->count + c->opts->hole_count, sizeof *out->at)};
  if (!out->at) return ul_fail_memory(err);
  for (size_t i = 0; i < set->vents->count; i++) {
    const ul_vent *v = &set->vents->vent[i];
    if (v->ok && !v->closed) ul_copy3(v->at_mm, out->at[out->count++]);
  }
  for (size_t i = 0; i < c->opts->hole_count; i++)
    ul_copy3(c->opts->hole[i].at_mm, out->at[out->count++]);
  return UL_OK;
}

/* The most that stays in one place, lying so; its top is told where the skin knows it. */
static ul_status left_at(const cavity_case *c, ul_air *air, const places *p, const double lies[3],
                         double *most_mm3, double top_mm[3]) {
  double trapped, stays = 0;
  const double(*at)[3] = (const double(*)[3])p->at;
  ul_status status = ul_air_trapped_mm3(air, lies, at, p->count, &trapped);
  if (status == UL_OK) status = ul_stays_most_mm3(c->heights, lies, at, p->count, &stays, top_mm);
  /* The limit is for one void, as it is for a rise's. */
  if (status == UL_OK) *most_mm3 = fmax(ul_air_largest_mm3(air), stays);
  return status;
}

static ul_status say_why(ul_status status, ul_error *err) {
  if (status == UL_E_OUTSIDE)
    return ul_fail(err, status,
                   "a vent or a pour hole lies over 4 cubes from the cavity's wall: give its place "
                   "on the wall");
  return status == UL_E_MEMORY ? ul_fail_memory(err) : status;
}

static ul_status repeat(const cavity_case *c, const double up[3], const places *p, plan_sure *out,
                        ul_error *err) {
  ul_air *air;
  uint64_t state = 20;
  ul_status status = ul_air_new(c->heights, &air, err);
  if (status != UL_OK) return status;
  for (out->tries = 0; out->tries < c->opts->scatter && status == UL_OK; out->tries++) {
    double tilted[3], lies[3], left = 0, top_mm[3] = {NAN, NAN, NAN};
    scattered(up, &state, tilted);
    status = ul_up_normalise(tilted, lies, err);
    if (status == UL_OK) status = left_at(c, air, p, lies, &left, top_mm);
    if (status == UL_OK && left <= out->limit_mm3) out->good++;
    if (status != UL_OK || left <= out->most_mm3) continue;
    out->most_mm3 = left;
    ul_copy3(top_mm, out->most_at_mm);
  }
  ul_air_free(air);
  return say_why(status, err);
}

ul_status sure_on_heights(const cavity_case *c, const vent_set *set, plan_sure *out,
                          ul_error *err) {
  places p;
  *out = (plan_sure){.limit_mm3 = fmax(c->opts->void_ok_cm3 * 1000, 1e-9)};
  ul_status status = list_places(c, set, &p, err);
  if (status == UL_OK) status = repeat(c, set->up, &p, out, err);
  free(p.at);
  return status;
}

ul_status sure_left_on_heights(const cavity_case *c, const vent_set *set, double *most_mm3,
                               ul_error *err) {
  places p;
  double top_mm[3];
  ul_air *air = NULL;
  ul_status status = list_places(c, set, &p, err);
  if (status == UL_OK) status = ul_air_new(c->heights, &air, err);
  if (status == UL_OK) status = say_why(left_at(c, air, &p, set->up, most_mm3, top_mm), err);
  ul_air_free(air);
  free(p.at);
  return status;
}

/* ---- with the foam ---- */

/* So many coarse cubes round a place voids are one that fell in pieces. */
static const double round_cubes = 6;

/* The pours as the rise took them, which says more than the options. */
typedef struct {
  double (*at_mm)[3], (*end_mm)[3];
} poured;

static ul_status pours_of(const ul_rise *rise, poured *p, ul_error *err) {
  p->at_mm = ul_new(rise->cavity_count, sizeof *p->at_mm);
  p->end_mm = ul_new(rise->cavity_count, sizeof *p->end_mm);
  if (!p->at_mm || !p->end_mm) return ul_fail_memory(err);
  for (size_t i = 0; i < rise->cavity_count; i++) {
    ul_copy3(rise->cavity[i].pour_mm, p->at_mm[i]);
    ul_copy3(rise->cavity[i].pour_end_mm, p->end_mm[i]);
  }
  return UL_OK;
}

/* The most that stays round one place. What stays there in pieces where all goes as planned stays
 * in one piece where it lies aslant. */
static double most_round_a_place(const ul_rise *rise, double reach_mm) {
  double most = 0;
  for (size_t c = 0; c < rise->cavity_count; c++)
    for (size_t i = 0; i < rise->cavity[c].void_count; i++) {
      double sum = 0;
      for (size_t k = 0; k < rise->cavity[c].void_count; k++) {
        const ul_rise_void *a = &rise->cavity[c].voids[i], *b = &rise->cavity[c].voids[k];
        if (ul_distance(a->at_mm, b->at_mm) <= reach_mm) sum += b->void_mm3;
      }
      most = fmax(most, sum);
    }
  return most;
}

/* What the tries' cubes leave where the finer ones leave nothing is these cubes' own: a layer of
 * them is as flat under a dome as under a lid. A void that is seen is larger by one of them. */
static ul_status see_no_less(const foam_search *s, const foam_shot *shot, const ul_rise *proof,
                             plan_sure *out, ul_error *err) {
  ul_rise *rise = NULL;
  const double ok_mm3 = s->c->opts->void_ok_cm3 * 1000;
  if (foam_left_by(proof, ok_mm3).worst_mm3 > ok_mm3) return UL_OK;
  ul_status status =
      ul_rise_run(s->bed->grid, s->bed->columns, &shot->opts, &s->c->job, &rise, err);
  if (status != UL_OK) return status;
  const double coarse_mm3 = most_round_a_place(rise, round_cubes * s->bed->grid->lattice.cube_mm);
  if (coarse_mm3 > out->limit_mm3) out->limit_mm3 = coarse_mm3 + foam_bed_cube_mm3(s->bed);
  ul_rise_free(rise);
  return UL_OK;
}

static ul_status shoot(const foam_search *s, const tried_set *set, const ul_rise *proof, long tries,
                       long wanted, plan_sure *out, ul_error *err) {
  const double cube_mm = s->bed->grid->lattice.cube_mm;
  *out = (plan_sure){.tries = tries, .limit_mm3 = search_limit_mm3(s), .cube_mm = cube_mm};
  if (s->c->thin_count && s->c->thin[0].thick_mm < cube_mm) out->misses_mm = cube_mm;
  poured pour = {0};
  foam_shot shot;
  ul_status status =
      foam_shot_make(s->c, s->choice, s->bed, set->set.up, set->set.vents, &shot, err);
  if (status == UL_OK) status = pours_of(proof, &pour, err);
  shot.opts.pour_mm = (const double(*)[3])pour.at_mm;
  shot.opts.pour_end_mm = (const double(*)[3])pour.end_mm;
  shot.opts.pour_moves = true;
  if (status == UL_OK) status = see_no_less(s, &shot, proof, out, err);
  ul_repeats_opts opts = ul_repeats_opts_default();
  opts.tries = (size_t)out->tries;
  opts.void_ok_mm3 = out->limit_mm3;
  opts.good_wanted = (size_t)wanted;
  if (status == UL_OK)
    status = ul_repeats_run(s->bed->grid, s->bed->columns, &shot.opts, &opts, &s->c->job,
                            &out->repeats, err);
  if (status == UL_OK) out->good = (long)out->repeats->good;
  out->vent_id = shot.vent_id;
  out->vent_count = shot.first_hole;
  shot.vent_id = NULL;
  foam_shot_free(&shot);
  free(pour.at_mm);
  free(pour.end_mm);
  return status;
}

ul_status sure_with_foam(const foam_search *s, const tried_set *set, const ul_rise *proof,
                         long wanted, plan_sure *out, ul_error *err) {
  return shoot(s, set, proof, s->c->opts->scatter, wanted, out, err);
}

/* The rise in coarse cubes says where it is poured. */
ul_status sure_at_first(const foam_search *s, const tried_set *set, long tries, long *good,
                        ul_error *err) {
  plan_sure sure = {0};
  ul_rise *rise = NULL;
  tried_set again = *set;
  *good = 0;
  ul_status status = search_rise(s, &again, 1, "which is the surest", &rise, err);
  if (status == UL_OK) status = shoot(s, set, rise, tries, 0, &sure, err);
  if (status == UL_OK) *good = sure.good;
  plan_sure_free(&sure);
  ul_rise_free(rise);
  return status;
}

/* ---- added, moved, doubled ---- */

/* A plan that fills in so many of its tries is not tinkered with. */
static const double sure_enough = 0.9;

bool plan_is_sure(long good, long tries) {
  return (double)good >= sure_enough * (double)tries;
}

/* Coarse cubes within which the air of two tries is left in one place. */
enum { SAME_CUBES = 3 };

/* The new vent whose pocket is most often elsewhere; SIZE_MAX: none. */
static size_t most_missed(const tried_set *set, const plan_sure *sure) {
  size_t worst = SIZE_MAX, there = (size_t)sure->tries;
  for (size_t i = 0; i < sure->vent_count; i++) {
    const ul_repeat_vent *seen = &sure->repeats->vent[i];
    if (seen->there >= there || set->set.vents->vent[sure->vent_id[i] - 1].exists) continue;
    there = seen->there;
    worst = i;
  }
  return worst;
}

static size_t wish_of(const tried_set *set, const ul_vent *vent) {
  size_t best = SIZE_MAX;
  double nearest = INFINITY;
  for (size_t i = 0; i < set->set.wish_count; i++) {
    double far = ul_distance(set->set.wish[i].at_mm, vent->for_mm);
    if (set->set.wish[i].cavity != vent->cavity || far >= nearest) continue;
    nearest = far;
    best = i;
  }
  return best;
}

static void copy_asked(const tried_set *from, tried_set *to) {
  *to = *from;
  to->set.peaks = NULL;
  to->set.vents = NULL;
}

/* The middle of where its pocket is: at the vent in the tries that it serves, else where air stays.
 */
static void make_moved(const tried_set *set, size_t wish, const ul_vent *vent,
                       const ul_repeat_vent *seen, size_t tries, tried_set *out) {
  copy_asked(set, out);
  double missed = 1 - (double)seen->there / (double)tries, to[3];
  ul_sub(seen->middle_mm, vent->at_mm, to);
  ul_add_scaled(vent->at_mm, missed, to, out->set.wish[wish].at_mm);
  out->set.wish[wish].peak = 0;
}

static bool make_added(const foam_search *s, const tried_set *set, uint32_t cavity, double air_mm3,
                       const double at_mm[3], tried_set *out) {
  const size_t most = (size_t)s->c->opts->vents_at_most;
  if (s->keep || vent_set_usable(&set->set) >= most || set->set.wish_count >= VENTS_MOST)
    return false;
  copy_asked(set, out);
  ul_vent_wish *wish = &out->set.wish[out->set.wish_count++];
  *wish = (ul_vent_wish){.cavity = cavity, .air_mm3 = air_mm3};
  ul_copy3(at_mm, wish->at_mm);
  return true;
}

static bool same_place(const ul_repeat *a, const ul_repeat *b, double within_mm) {
  return a->worst_cavity == b->worst_cavity &&
         ul_distance(a->worst_at_mm, b->worst_at_mm) < within_mm;
}

/* The try whose worst void lies where most tries that are not good leave theirs; NULL: all are. */
static const ul_repeat *most_alike(const plan_sure *sure) {
  const ul_repeats *r = sure->repeats;
  const ul_repeat *best = NULL;
  size_t most = 0;
  for (size_t i = 0; i < r->count; i++) {
    size_t alike = 0;
    if (r->list[i].worst_mm3 <= sure->limit_mm3) continue;
    for (size_t k = 0; k < r->count; k++)
      alike += r->list[k].worst_mm3 > sure->limit_mm3 &&
               same_place(&r->list[i], &r->list[k], SAME_CUBES * sure->cube_mm);
    if (alike <= most) continue;
    most = alike;
    best = &r->list[i];
  }
  return best;
}

/* Takes the other one if it is good in more tries than `most`. */
static ul_status try_other(const foam_search *s, const ul_rise *proof, tried_set *other,
                           tried_set *set, plan_sure *better, long *most, ul_error *err) {
  plan_sure now = {0};
  ul_status status = vent_set_fit(s->c, s->keep, &other->set, err);
  if (status == UL_OK) vent_set_close(&other->set, other->closed);
  if (status == UL_OK) status = sure_with_foam(s, other, proof, *most + 1, &now, err);
  if (status == UL_OK && now.good > *most) {
    *most = now.good;
    plan_sure_free(better);
    vent_set_clear(&set->set);
    *better = now;
    *set = *other;
    return UL_OK;
  }
  plan_sure_free(&now);
  vent_set_clear(&other->set);
  return status;
}

/* A new vent where most tries leave their air; the vent most often in the wrong place, moved, and
 * doubled. */
static size_t list_others(const foam_search *s, const tried_set *set, const plan_sure *sure,
                          tried_set *list) {
  size_t count = 0;
  const ul_repeat *alike = most_alike(sure);
  if (alike)
    count += make_added(s, set, alike->worst_cavity, alike->worst_mm3, alike->worst_at_mm, list);
  const size_t worst = most_missed(set, sure);
  if (worst == SIZE_MAX) return count;
  const ul_repeat_vent *seen = &sure->repeats->vent[worst];
  const ul_vent *vent = &set->set.vents->vent[sure->vent_id[worst] - 1];
  const size_t wish = wish_of(set, vent);
  if (wish == SIZE_MAX) return count;
  make_moved(set, wish, vent, seen, (size_t)sure->tries, &list[count++]);
  return count + make_added(s, set, vent->cavity, vent->air_mm3, seen->middle_mm, &list[count]);
}

ul_status sure_mend(const foam_search *s, const ul_rise *proof, const plan_sure *sure,
                    tried_set *set, plan_sure *better, bool *mended, ul_error *err) {
  tried_set list[3];
  const size_t count = sure->good < sure->tries ? list_others(s, set, sure, list) : 0;
  ul_status status = UL_OK;
  long most = sure->good;
  *better = (plan_sure){0};
  for (size_t i = 0; i < count && status == UL_OK && !plan_is_sure(most, sure->tries); i++)
    status = try_other(s, proof, &list[i], set, better, &most, err);
  *mended = status == UL_OK && most > sure->good;
  return status;
}

/* ---- told ---- */

json_t *plan_sure_json(const plan_sure *sure) {
  json_t *root = json_pack("{s:I,s:I,s:s,s:o}", "tries", (json_int_t)sure->tries, "good",
                           (json_int_t)sure->good, "by", sure->repeats ? "foam" : "heights",
                           "void_cm3", ul_json_number(sure->limit_mm3 * 1e-3));
  if (!sure->repeats) return root;
  ul_json_put(root, "misses_mm", sure->misses_mm > 0 ? json_real(sure->misses_mm) : json_null());
  json_t *list = json_array();
  for (size_t i = 0; i < sure->repeats->count; i++) {
    const ul_repeat *r = &sure->repeats->list[i];
    json_array_append_new(list, json_pack("{s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:b}", "up",
                                          ul_json_vector(r->up), "pack", ul_json_number(r->pack),
                                          "slow", ul_json_number(r->slow), "pour_off_mm",
                                          ul_json_vector(r->pour_off_mm), "void_cm3",
                                          ul_json_number(r->worst_mm3 * 1e-3), "short_cm3",
                                          ul_json_number(r->short_mm3 * 1e-3), "peak_kpa",
                                          ul_json_number(r->peak_kpa), "good", r->good));
  }
  ul_json_put(root, "cube_mm", ul_json_number(sure->cube_mm));
  ul_json_put(root, "list", list);
  return root;
}

void plan_sure_vents(const plan_sure *sure, json_t *vents) {
  size_t i;
  json_t *vent;
  json_array_foreach(vents, i, vent) ul_json_put(vent, "pocket", json_null());
  for (size_t v = 0; sure->repeats && v < sure->vent_count; v++) {
    const ul_repeat_vent *seen = &sure->repeats->vent[v];
    bool missed = isfinite(seen->else_mm[0]);
    ul_json_put(json_array_get(vents, sure->vent_id[v] - 1), "pocket",
                json_pack("{s:I,s:I,s:o,s:o}", "tries", (json_int_t)sure->tries, "there",
                          (json_int_t)seen->there, "else_at_mm",
                          missed ? ul_json_vector(seen->else_mm) : json_null(), "wanders_mm",
                          missed ? ul_json_number(seen->wanders_mm) : json_null()));
  }
}
