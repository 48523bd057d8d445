/* The search for an attitude: look at many directions fast, then judge the most promising as a shop
 * would set them, each together with its neighbours 2 degrees off, since nobody props a mould more
 * exactly than that. */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "air/air.h"
#include "air/directions.h"
#include "air/outlets.h"
#include "base/fail.h"
#include "base/figures.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"
#include "ullage/attitude.h"

enum {
  COOKIE = 0x74696c74,
  OFF_DEG = 2, /* how far off a propped mould may lie */
  NEIGHBOURS = 8,
  JUDGED_AT_FIRST = 96, /* distinct shop attitudes judged in full after the first look */
  REFINED = 6,          /* best ones whose neighbours on the shop's 5 degree grid are judged too */
  REFINE_ROUNDS = 2,
  OUTLETS_MOST = 64, /* more vents than this in one attitude are not worth comparing */
  BLOCK = 16,        /* attitudes a block of work */
};

ul_tilts_opts ul_tilts_opts_default(void) {
  return (ul_tilts_opts){.cookie = COOKIE,
                         .tries = 2000,
                         .void_ok_mm3 = 50,
                         .vents_at_most = 8,
                         .list_at_most = 6,
                         .apart_deg = 12};
}

/* An attitude under comparison. */
typedef struct {
  double up[3];
  size_t vents;       /* first look: leaves of the pruned tree */
  double trapped_mm3; /* first look: vented at each cavity's highest */
  ul_tilt_pours pours;
  ul_tilt tilt;    /* once judged */
  long left_class; /* once judged: tilt.left_mm3, coarsened */
} entry;

typedef struct {
  const ul_heights *heights;
  const ul_tilts_opts *opts;
  ul_air **scratch; /* one a worker */
  entry *entry;
  size_t count;
} search;

static ul_status find_pours(const search *s, const double up[3], ul_tilt_pours *out) {
  *out = UL_TILT_HOLDS;
  return s->opts->pours ? s->opts->pours(s->opts->pours_in, up, out) : UL_OK;
}

/* Before all else, that the charge does not run out: <0, 0, >0. */
static int by_running_out(ul_tilt_pours a, ul_tilt_pours b) {
  return (a == UL_TILT_RUNS_OUT) - (b == UL_TILT_RUNS_OUT);
}

/* --- the first look: the tree of heights alone --- */

static ul_status look(search *s, entry *e, ul_air *air) {
  ul_pocket pocket[OUTLETS_MOST];
  size_t count = 0;
  ul_status status = ul_air_pockets(air, e->up, s->opts->void_ok_mm3, OUTLETS_MOST, pocket, &count);
  if (status == UL_OK) status = find_pours(s, e->up, &e->pours);
  if (status != UL_OK) return status;
  double top[OUTLETS_MOST][3];
  size_t tops = 0;
  for (size_t i = 0; i < count && i < OUTLETS_MOST; i++)
    if (isnan(pocket[i].cut_off_mm)) ul_copy3(pocket[i].top_mm, top[tops++]);
  e->vents = count;
  e->trapped_mm3 = 0;
  if (tops == count) return UL_OK; /* no pocket but the highest: nothing worth a second look */
  return ul_air_trapped_mm3(air, e->up, (const double(*)[3])top, tops, &e->trapped_mm3);
}

static ul_status look_block(void *context, size_t block, int worker) {
  search *s = context;
  size_t end = (block + 1) * BLOCK < s->count ? (block + 1) * BLOCK : s->count;
  for (size_t i = block * BLOCK; i < end; i++) {
    ul_status status = look(s, &s->entry[i], s->scratch[worker]);
    if (status != UL_OK) return status;
  }
  return UL_OK;
}

static ul_ease shop_ease(const entry *e) {
  double shop[3];
  ul_direction_to_shop(e->up, shop);
  return ul_ease_of(shop);
}

static int order_up(const double a[3], const double b[3]) {
  for (int c = 2; c >= 0; c--)
    if (a[c] != b[c]) return a[c] > b[c] ? -1 : 1;
  return 0;
}

static int by_first_look(const void *pa, const void *pb) {
  const entry *a = pa, *b = pb;
  if (by_running_out(a->pours, b->pours)) return by_running_out(a->pours, b->pours);
  if (a->vents != b->vents) return a->vents < b->vents ? -1 : 1;
  if (a->pours != b->pours) return a->pours < b->pours ? -1 : 1;
  ul_ease ea = shop_ease(a), eb = shop_ease(b);
  if (ea != eb) return ea < eb ? -1 : 1;
  if (a->trapped_mm3 != b->trapped_mm3) return a->trapped_mm3 < b->trapped_mm3 ? -1 : 1;
  return order_up(a->up, b->up);
}

/* --- judging one attitude in full --- */

typedef struct {
  size_t count;
  double at_mm[OUTLETS_MOST][3];
} outlets;

static void add_outlet(outlets *o, const double at_mm[3]) {
  if (o->count < OUTLETS_MOST) ul_copy3(at_mm, o->at_mm[o->count++]);
}

/* Those of the cavities' highest first: a cavity that lost its own would keep all its air. */
static void list_outlets(const ul_peaks *peaks, outlets *all, outlets *tops) {
  all->count = tops->count = 0;
  for (int highest = 1; highest >= 0; highest--)
    for (size_t i = 0; i < peaks->count; i++) {
      const ul_peak *peak = &peaks->peak[i];
      if (isnan(peak->cut_off_mm) != (highest == 1)) continue;
      double place[UL_OUTLETS_MOST][3];
      size_t n = ul_peak_outlets(peak, place);
      for (size_t j = 0; j < n; j++) add_outlet(all, place[j]);
      if (highest) add_outlet(tops, peak->at_mm);
    }
}

static bool same_outlets(const outlets *a, const outlets *b) {
  return a->count == b->count && memcmp(a->at_mm, b->at_mm, a->count * sizeof a->at_mm[0]) == 0;
}

/* The air left with the first `kept` outlets and one more. */
static ul_status left_with(ul_air *air, const double up[3], const outlets *o, size_t kept,
                           size_t more, double *left) {
  double trial[OUTLETS_MOST][3];
  memcpy(trial, o->at_mm, kept * sizeof trial[0]);
  ul_copy3(o->at_mm[more], trial[kept]);
  return ul_air_trapped_mm3(air, up, (const double(*)[3])trial, kept + 1, left);
}

/* Brings outlet `from` forward to `to`; those between move back by one. */
static void bring_forward(outlets *o, double *bound, size_t from, size_t to) {
  double at[3], b = bound[from];
  ul_copy3(o->at_mm[from], at);
  memmove(o->at_mm[to + 1], o->at_mm[to], (from - to) * sizeof o->at_mm[0]);
  memmove(bound + to + 1, bound + to, (from - to) * sizeof *bound);
  ul_copy3(at, o->at_mm[to]);
  bound[to] = b;
}

/* The best `most` of the outlets, one after the other: each time the one that lets out most. What
 * an outlet adds only shrinks as others are kept, so that what it added before bounds it, and one
 * whose bound is under the best found need not be tried again (M. Minoux, 1978). */
static ul_status keep_best(ul_air *air, const double up[3], size_t most, outlets *o) {
  double bound[OUTLETS_MOST], left = 0, all = 0;
  ul_status status = ul_air_trapped_mm3(air, up, NULL, 0, &all);
  for (size_t i = 0; i < o->count; i++) bound[i] = INFINITY;
  for (size_t kept = 0; kept < most && status == UL_OK; kept++) {
    size_t best = kept;
    double best_gain = -1;
    for (size_t i = kept; i < o->count && status == UL_OK; i++) {
      if (bound[i] <= best_gain) continue;
      status = left_with(air, up, o, kept, i, &left);
      bound[i] = all - left;
      if (bound[i] > best_gain) best_gain = bound[i], best = i;
    }
    all -= best_gain;
    bring_forward(o, bound, best, kept);
  }
  o->count = most;
  return status;
}

/* The air left at `up`, vented at the highest peaks only, and the worst of that and of what is left
 * with all outlets over `up` and its neighbours. Both are asked attitude by attitude: only the
 * first time is an attitude looked at. */
static ul_status weigh(ul_air *air, const double up[3], const outlets *all, const outlets *tops,
                       ul_tilt *t) {
  bool same = same_outlets(all, tops);
  for (int i = -1; i < NEIGHBOURS; i++) {
    double beside[3], only_tops, left;
    ul_copy3(up, beside);
    if (i >= 0) ul_direction_beside(up, OFF_DEG, i, beside);
    ul_status status =
        ul_air_trapped_mm3(air, beside, (const double(*)[3])tops->at_mm, tops->count, &only_tops);
    left = only_tops;
    if (status == UL_OK && !same)
      status = ul_air_trapped_mm3(air, beside, (const double(*)[3])all->at_mm, all->count, &left);
    if (status != UL_OK) return status;
    t->left_largest_mm3 = fmax(t->left_largest_mm3, ul_air_largest_mm3(air));
    if (i < 0) t->trapped_mm3 = only_tops;
    t->trapped_2deg_mm3 = fmax(t->trapped_2deg_mm3, only_tops);
    t->left_mm3 = fmax(t->left_mm3, left);
  }
  return UL_OK;
}

static void say_why(ul_tilt *t, double void_ok_mm3) {
  const char *vents = t->vents_needed == 1 ? "vent lets" : "vents let";
  if (t->left_largest_mm3 <= void_ok_mm3)
    snprintf(t->why, sizeof t->why, "in a level rise %zu %s all the air out, also %d degrees off",
             t->vents_needed, vents, OFF_DEG);
  else
    snprintf(t->why, sizeof t->why,
             "in a level rise with %zu vent%s " UL_FIGURES
             " cm3 may stay when it lies %d degrees off",
             t->vents_needed, t->vents_needed == 1 ? "" : "s", ul_three_figures(t->left_mm3 / 1000),
             OFF_DEG);
}

static ul_status judge(search *s, entry *e, ul_air *air) {
  ul_peaks_opts peaks_opts = ul_peaks_opts_default();
  peaks_opts.void_ok_mm3 = s->opts->void_ok_mm3;
  ul_peaks *peaks;
  ul_status status = ul_peaks_find(s->heights, e->up, &peaks_opts, &peaks, NULL);
  if (status != UL_OK) return status;
  outlets all, tops;
  list_outlets(peaks, &all, &tops);
  ul_tilt *t = &e->tilt;
  *t = (ul_tilt){.ease = ul_ease_of(e->up), .peaks = peaks->count};
  ul_peaks_free(peaks);
  ul_copy3(e->up, t->up);
  ul_raise_from_up(t->up, &t->raise_x_deg, &t->raise_y_deg);
  if (all.count > s->opts->vents_at_most)
    status = keep_best(air, e->up, s->opts->vents_at_most, &all);
  t->vents_needed = all.count;
  if (status == UL_OK) status = weigh(air, e->up, &all, &tops, t);
  if (status == UL_OK) status = find_pours(s, e->up, &t->pours);
  say_why(t, s->opts->void_ok_mm3);
  return status;
}

static ul_status judge_block(void *context, size_t block, int worker) {
  search *s = context;
  return judge(s, &s->entry[block], s->scratch[worker]);
}

/* Air left, coarsened: where no void is over the limit it is nothing, and a tenth more or less is
 * the same. */
static long class_of_left(const ul_tilt *t, double void_ok_mm3) {
  double limit = fmax(void_ok_mm3, 1e-3);
  return t->left_largest_mm3 <= limit ? 0 : 1 + (long)floor(log(t->left_mm3 / limit) / log(1.1));
}

static double degrees_from_flat(const double up[3]) {
  double most = fmax(fabs(up[0]), fmax(fabs(up[1]), fabs(up[2])));
  return round(acos(fmin(1, most)) * 57.29577951308232 * 10) / 10;
}

static int by_judgement(const void *pa, const void *pb) {
  const entry *ea = pa, *eb = pb;
  const ul_tilt *a = &ea->tilt, *b = &eb->tilt;
  if (by_running_out(a->pours, b->pours)) return by_running_out(a->pours, b->pours);
  if (ea->left_class != eb->left_class) return ea->left_class < eb->left_class ? -1 : 1;
  if (a->vents_needed != b->vents_needed) return a->vents_needed < b->vents_needed ? -1 : 1;
  if (a->pours != b->pours) return a->pours < b->pours ? -1 : 1;
  if (a->ease != b->ease) return a->ease < b->ease ? -1 : 1;
  double da = degrees_from_flat(a->up), db = degrees_from_flat(b->up);
  if (da != db) return da < db ? -1 : 1;
  return order_up(a->up, b->up);
}

/* --- the search --- */

static bool has_direction(const entry *e, size_t count, const double up[3]) {
  for (size_t i = 0; i < count; i++)
    if (ul_dot(e[i].up, up) > 1 - 1e-9) return true;
  return false;
}

/* Judges entries [from, to) and sorts [0, to). */
static ul_status judge_range(search *s, const ul_job *job, size_t from, size_t to) {
  search part = *s;
  part.entry = s->entry + from;
  ul_status status = ul_parallel(job, "judging tilts", to - from, judge_block, &part);
  for (size_t i = from; i < to; i++)
    s->entry[i].left_class = class_of_left(&s->entry[i].tilt, s->opts->void_ok_mm3);
  if (status == UL_OK) qsort(s->entry, to, sizeof *s->entry, by_judgement);
  return status;
}

/* Appends the shop attitudes one step of the 5 degree grid away from the best; how many there are.
 */
static size_t add_grid_neighbours(entry *e, size_t count) {
  size_t end = count;
  for (size_t i = 0; i < count && i < REFINED; i++)
    for (int eighth = 0; eighth < NEIGHBOURS; eighth++) {
      double beside[3], shop[3];
      ul_direction_beside(e[i].up, 5.5, eighth, beside);
      ul_direction_to_shop(beside, shop);
      if (has_direction(e, end, shop)) continue;
      ul_copy3(shop, e[end++].up);
    }
  return end;
}

static ul_status first_look(search *s, const ul_job *job, const directions *d) {
  for (size_t i = 0; i < d->count; i++) ul_copy3(d->up[i], s->entry[i].up);
  s->count = d->count;
  ul_status status =
      ul_parallel(job, "trying tilts", (d->count + BLOCK - 1) / BLOCK, look_block, s);
  if (status == UL_OK) qsort(s->entry, s->count, sizeof *s->entry, by_first_look);
  return status;
}

/* The best after the first look, as a shop would set them, each once, at the front of s->entry. */
static size_t round_to_shop(search *s) {
  size_t kept = 0;
  for (size_t i = 0; i < s->count && kept < JUDGED_AT_FIRST; i++) {
    double shop[3];
    ul_direction_to_shop(s->entry[i].up, shop);
    if (!has_direction(s->entry, kept, shop)) ul_copy3(shop, s->entry[kept++].up);
  }
  return kept;
}

static ul_status search_sphere(search *s, const ul_job *job, const directions *d, size_t *judged) {
  ul_status status = first_look(s, job, d);
  if (status != UL_OK) return status;
  size_t count = round_to_shop(s);
  status = judge_range(s, job, 0, count);
  for (int round = 0; round < REFINE_ROUNDS && status == UL_OK; round++) {
    size_t more = add_grid_neighbours(s->entry, count);
    status = judge_range(s, job, count, more);
    count = more;
  }
  *judged = count;
  return status;
}

static ul_status judge_only(search *s, const ul_job *job) {
  s->count = s->opts->only_count;
  for (size_t i = 0; i < s->count; i++) {
    ul_status status = ul_up_normalise(s->opts->only[i], s->entry[i].up, NULL);
    if (status != UL_OK) return status;
  }
  return ul_parallel(job, "judging tilts", s->count, judge_block, s);
}

/* Distinct answers: those whose cosine to every better one is below `near`. */
static ul_status list_answers(const search *s, size_t count, size_t most, double near,
                              ul_tilts *out) {
  out->tilt = ul_new(count < most ? count : most, sizeof *out->tilt);
  if (!out->tilt) return UL_E_MEMORY;
  for (size_t i = 0; i < count && out->count < most; i++) {
    bool apart = true;
    for (size_t j = 0; j < out->count && apart; j++)
      apart = ul_dot(out->tilt[j].up, s->entry[i].up) < near;
    if (apart) out->tilt[out->count++] = s->entry[i].tilt;
  }
  return UL_OK;
}

static void free_scratch(search *s, int workers) {
  for (int i = 0; i < workers; i++) ul_air_free(s->scratch[i]);
  memset(s->scratch, 0, (size_t)workers * sizeof(ul_air *));
}

/* On a mesh too large to be searched on its own skin the answers are judged there all the same, so
 * that their figures are as exact as those of a small one. */
static ul_status judge_on_skin(search *s, const ul_job *job, ul_tilts *out) {
  const int workers = ul_job_threads(job);
  ul_status status = UL_OK;
  if (!s->heights->skin_is_wall || ul_air_is_skin(s->scratch[0])) return UL_OK;
  free_scratch(s, workers);
  for (int i = 0; i < workers && status == UL_OK; i++)
    status = ul_air_new_of(s->heights, &ul_air_skin, &s->scratch[i], NULL);
  for (size_t i = 0; i < out->count; i++) ul_copy3(out->tilt[i].up, s->entry[i].up);
  if (status == UL_OK && s->opts->only)
    status = ul_parallel(job, "judging tilts", out->count, judge_block, s);
  else if (status == UL_OK)
    status = judge_range(s, job, 0, out->count);
  for (size_t i = 0; i < out->count && status == UL_OK; i++) out->tilt[i] = s->entry[i].tilt;
  return status;
}

static ul_status run(search *s, const ul_solid *solid, const ul_job *job, ul_tilts *out) {
  const ul_tilts_opts *o = s->opts;
  directions d = {0};
  ul_status status = o->only ? UL_OK : ul_directions_make(solid, o->tries, &d);
  if (status != UL_OK) return status;
  size_t room = (o->only ? o->only_count : d.count) + JUDGED_AT_FIRST +
                (size_t)REFINE_ROUNDS * REFINED * NEIGHBOURS;
  s->entry = ul_new(room, sizeof *s->entry);
  size_t judged = 0;
  if (!s->entry)
    status = UL_E_MEMORY;
  else if (o->only)
    status = judge_only(s, job);
  else
    status = search_sphere(s, job, &d, &judged);
  out->tried = o->only ? o->only_count : d.count + judged;
  free(d.up);
  if (status != UL_OK) return status;
  status = o->only ? list_answers(s, o->only_count, o->only_count, 2, out) /* all of them */
                   : list_answers(s, judged, o->list_at_most, cos(o->apart_deg / 57.29577951308232),
                                  out);
  return status == UL_OK ? judge_on_skin(s, job, out) : status;
}

ul_status ul_tilts_search(const ul_solid *solid, const ul_heights *heights,
                          const ul_tilts_opts *opts, const ul_job *job, ul_tilts **out,
                          ul_error *err) {
  *out = NULL;
  if (opts->cookie != COOKIE)
    return ul_fail(err, UL_E_USAGE, "options were not made by ul_tilts_opts_default()");
  if (!opts->only && opts->tries < 1)
    return ul_fail(err, UL_E_USAGE, "--tries is 0: ask for at least 1");
  if (opts->vents_at_most < 1 || opts->vents_at_most > OUTLETS_MOST)
    return ul_fail(err, UL_E_USAGE, "--vents-at-most is %zu: ask for 1 to %d", opts->vents_at_most,
                   OUTLETS_MOST);
  int workers = ul_job_threads(job);
  search s = {
      .heights = heights, .opts = opts, .scratch = ul_new((size_t)workers, sizeof(ul_air *))};
  ul_tilts *tilts = ul_new(1, sizeof *tilts);
  ul_status status = s.scratch && tilts ? UL_OK : UL_E_MEMORY;
  for (int i = 0; i < workers && status == UL_OK; i++)
    status = ul_air_new(heights, &s.scratch[i], err);
  if (status == UL_OK) status = run(&s, solid, job, tilts);
  if (s.scratch) free_scratch(&s, workers);
  free(s.scratch);
  free(s.entry);
  if (status == UL_OK) {
    *out = tilts;
    return UL_OK;
  }
  ul_tilts_free(tilts);
  return status == UL_E_MEMORY
             ? ul_fail_memory(err)
             : ul_fail(err, status, "the search for a tilt ended: %s", ul_status_text(status));
}

void ul_tilts_free(ul_tilts *tilts) {
  if (!tilts) return;
  free(tilts->tilt);
  free(tilts);
}
