/* vents.c - which peaks are vented, and with how many holes. */
#include "ullage/vents.h"

#include "air/drilling.h"
#include "air/heights.h"
#include "air/keep_off.h"
#include "air/outlets.h"
#include "air/place.h"
#include "air/skin_outlet.h"
#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "ullage/insert.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { COOKIE = 0x76656e74 };

/* A peak whose pocket is more than may be left. */
typedef struct {
  const ul_peak *peak;
  ul_outlet outlet;                /* its place on the air tree */
  double spot[UL_OUTLETS_MOST][3]; /* where it would be vented */
  size_t spots;
  size_t holes; /* how many of the spots are; 0: the peak is left alone */
  double air;   /* what it lets out that no other vented peak does */
} candidate;

typedef struct {
  ul_skin_tree *skin; /* the air tree, exact; NULL where the mesh is not the cavity's wall: there */
  ul_air *air;        /* the columns must do */
  ul_off off;         /* the trees of attitudes beside, where they are asked for */
  double up[3];
  candidate *list;
  size_t count;
  double (*place)[3]; /* where air gets out, as the columns want it: what is there, then scratch, */
  ul_outlet *outlet;  /* one a candidate; and as the tree does */
  size_t there;
  uint32_t *there_in; /* which cavity each of these is in */
} choice;

const char *ul_vent_kind_word(ul_vent_kind kind) {
#define WORD(name, word) [name] = word,
  static const char *const words[] = {UL_VENT_KIND_LIST(WORD)};
  return words[kind];
}

const char *ul_drill_along_word(ul_drill_along along) {
  static const char *const words[] = {UL_DRILL_ALONG_LIST(WORD)};
  return words[along];
}

const char *ul_vent_made_word(ul_vent_made made) {
  static const char *const words[] = {UL_VENT_MADE_LIST(WORD)};
#undef WORD
  return words[made];
}

const char *ul_vent_half_word(int half) {
  return half > 0 ? "upper" : half < 0 ? "lower" : "";
}

ul_vents_opts ul_vents_opts_default(void) {
  return (ul_vents_opts){.cookie = COOKIE,
                         .void_ok_mm3 = 50,
                         .at_most = 8,
                         .diameter_mm = 3,
                         .land_mm = 5,
                         .hole_made = UL_MADE_DRILLED,
                         .groove_made = UL_MADE_SCRAPED};
}

void ul_vents_free(ul_vents *vents) {
  if (!vents) return;
  free(vents->vent);
  free(vents);
}

/* --- which peaks --- */

/* The air left when what is there and the vented peaks, but for number `without`, let air out, and
 * its largest region. */
static ul_status left_without(choice *c, size_t without, double *left, double *largest) {
  size_t n = c->there;
  for (size_t i = 0; i < c->count; i++) {
    if (!c->list[i].holes || i == without) continue;
    c->outlet[n] = c->list[i].outlet;
    ul_copy3(c->list[i].peak->at_mm, c->place[n++]);
  }
  if (c->skin) return ul_outlets_leave(c->skin, c->outlet, n, left, largest);
  ul_status status = ul_air_trapped_mm3(c->air, c->up, (const double(*)[3])c->place, n, left);
  *largest = ul_air_largest_mm3(c->air);
  return status;
}

/* What each vented peak lets out that no other does, and what none does. */
static ul_status weigh(choice *c, double *left) {
  double largest;
  ul_status status = left_without(c, SIZE_MAX, left, &largest);
  for (size_t i = 0; status == UL_OK && i < c->count; i++) {
    if (!c->list[i].holes) continue;
    double more;
    status = left_without(c, i, &more, &largest);
    c->list[i].air = more - *left;
  }
  return status;
}

/* Of equals, the lower peak: the highest is where foam shows last. */
static int least_air_first(const void *a, const void *b) {
  const candidate *x = *(candidate *const *)a, *y = *(candidate *const *)b;
  if (x->air != y->air) return x->air < y->air ? -1 : 1;
  return x->peak->id > y->peak->id ? -1 : 1;
}

/* Gives up every peak without which no single pocket is over the limit, least air first. Each
 * deepest region over the limit keeps exactly one, whatever the order: one that cannot be given up
 * now cannot be later, as the regions only grow. */
static ul_status give_up_needless(choice *c, double void_ok) {
  candidate **order = ul_new_raw(c->count, sizeof *order);
  if (!order) return UL_E_MEMORY;
  for (size_t i = 0; i < c->count; i++) order[i] = &c->list[i];
  qsort(order, c->count, sizeof *order, least_air_first);
  ul_status status = UL_OK;
  for (size_t i = 0; status == UL_OK && i < c->count; i++) {
    double left, largest;
    status = left_without(c, (size_t)(order[i] - c->list), &left, &largest);
    if (largest <= void_ok) order[i]->holes = 0;
  }
  free(order);
  return status;
}

static size_t vented(const choice *c) {
  size_t n = 0;
  for (size_t i = 0; i < c->count; i++) n += c->list[i].holes > 0;
  return n;
}

static bool has_one(const choice *c, uint32_t cavity) {
  for (size_t i = 0; i < c->there; i++)
    if (c->there_in[i] == cavity) return true;
  for (size_t i = 0; i < c->count; i++)
    if (c->list[i].holes && c->list[i].peak->cavity == cavity) return true;
  return false;
}

/* The `most` peaks that let out the most air: each time the one that adds the most. What a vent
 * lets out is the way from its leaf of the air tree to the root, and on ways of a tree choosing one
 * by one is best for every number (proof in base/best_leaves.c). But a cavity without any keeps all
 * its air, however small it is beside others: one for each comes first. */
static ul_status keep_best(choice *c, size_t most) {
  for (size_t i = 0; i < c->count; i++) c->list[i].holes = 0;
  for (size_t n = 0; n < most; n++) {
    size_t best = SIZE_MAX;
    double least = INFINITY;
    bool best_has = true;
    for (size_t i = 0; i < c->count; i++) {
      const bool has = has_one(c, c->list[i].peak->cavity);
      if (c->list[i].holes || (has && !best_has)) continue;
      double left, largest;
      c->list[i].holes = 1;
      ul_status status = left_without(c, SIZE_MAX, &left, &largest);
      c->list[i].holes = 0;
      if (status != UL_OK) return status;
      if (left >= least && has == best_has) continue;
      least = left;
      best = i;
      best_has = has;
    }
    c->list[best].holes = 1;
  }
  return UL_OK;
}

static int most_air_first(const void *a, const void *b) {
  return -least_air_first(a, b);
}

/* What is left of the number of holes goes to the ends of level tops, the largest pocket's first.
 */
static ul_status share_ends(choice *c, size_t spare) {
  candidate **order = ul_new_raw(c->count, sizeof *order);
  if (!order) return UL_E_MEMORY;
  for (size_t i = 0; i < c->count; i++) order[i] = &c->list[i];
  qsort(order, c->count, sizeof *order, most_air_first);
  for (size_t i = 0; i < c->count; i++) {
    if (!order[i]->holes) continue;
    size_t more = order[i]->spots - 1;
    if (more > spare) more = spare;
    order[i]->holes += more;
    spare -= more;
  }
  free(order);
  return UL_OK;
}

/* How many new ones there may be. */
static size_t room_for(const ul_vents_opts *opts) {
  size_t in_use = 0;
  for (size_t i = 0; i < opts->keep_count; i++) in_use += opts->keep[i].ok && !opts->keep[i].closed;
  return opts->at_most > in_use ? opts->at_most - in_use : 0;
}

static ul_status choose(choice *c, const ul_vents_opts *opts) {
  const size_t most = room_for(opts);
  double left;
  ul_status status = weigh(c, &left);
  if (status == UL_OK) status = give_up_needless(c, opts->void_ok_mm3);
  if (status == UL_OK && vented(c) > most) status = keep_best(c, most);
  if (status == UL_OK) status = weigh(c, &left);
  if (status == UL_OK) status = share_ends(c, most - vented(c));
  return status;
}

static ul_status add_outlet(choice *c, const double at[3], uint32_t cavity) {
  ul_copy3(at, c->place[c->there]);
  c->there_in[c->there] = cavity;
  ul_outlet *outlet = &c->outlet[c->there++];
  return c->skin ? ul_outlet_at(c->skin, at, outlet) : UL_OK;
}

/* Vents and pour holes that are there. */
static ul_status list_there(choice *c, const ul_solid *solid, const ul_surface *surface,
                            const ul_vents_opts *opts) {
  ul_status status = UL_OK;
  for (size_t i = 0; status == UL_OK && i < opts->keep_count; i++)
    if (opts->keep[i].ok && !opts->keep[i].closed)
      status = add_outlet(c, opts->keep[i].at_mm, opts->keep[i].cavity);
  for (size_t i = 0; status == UL_OK && i < opts->hole_count; i++) {
    const double *at = opts->hole[i].at_mm;
    double near[3];
    status = add_outlet(c, at, solid->cavity_of[ul_nearest_triangle(surface, at, near)]);
  }
  return status;
}

static ul_status list_candidates(choice *c, const ul_heights *heights, const ul_peaks *peaks,
                                 const ul_vents_opts *opts) {
  const size_t outlets = peaks->count + opts->keep_count + opts->hole_count;
  c->list = ul_new(peaks->count, sizeof *c->list);
  c->place = ul_new_raw(outlets, sizeof *c->place);
  c->outlet = ul_new_raw(outlets, sizeof *c->outlet);
  c->there_in = ul_new_raw(opts->keep_count + opts->hole_count, sizeof *c->there_in);
  if (!c->list || !c->place || !c->outlet || !c->there_in) return UL_E_MEMORY;
  ul_status status = list_there(c, heights->solid, heights->surface, opts);
  for (size_t i = 0; status == UL_OK && i < peaks->count; i++) {
    const ul_peak *p = &peaks->peak[i];
    if (!(p->pocket_mm3 > opts->void_ok_mm3)) continue;
    candidate *here = &c->list[c->count++];
    *here = (candidate){.peak = p, .holes = 1};
    here->spots = ul_peak_outlets(p, here->spot);
    if (c->skin) status = ul_outlet_at(c->skin, p->at_mm, &here->outlet);
  }
  return status;
}

/* --- their holes --- */

/* Of a level top's ends: the first, then always the one farthest from those taken. */
static size_t next_spot(const candidate *c, const size_t *taken, size_t count) {
  size_t best = 0;
  double farthest = -1;
  for (size_t s = 0; s < c->spots; s++) {
    double nearest = INFINITY;
    for (size_t i = 0; i < count; i++)
      nearest = fmin(nearest, ul_distance(c->spot[s], c->spot[taken[i]]));
    if (nearest <= farthest) continue;
    farthest = nearest;
    best = s;
  }
  return best;
}

static ul_status drill_peak(const candidate *here, ul_drilling *d, ul_error *err) {
  size_t taken[UL_OUTLETS_MOST];
  bool done = here->holes == 0;
  ul_drill_spot_of spot = {.peak = here->peak->id,
                           .cavity = here->peak->cavity,
                           .at_mm = here->peak->at_mm,
                           .top_mm = here->peak->at_mm,
                           .pocket_mm3 = here->peak->pocket_mm3,
                           .air_mm3 = here->air,
                           .holes = here->holes,
                           .ends = here->spots};
  ul_status status = UL_OK;
  if (!done && here->spots > 1)
    status = ul_drill_top(d, &spot, (const double(*)[3])here->spot, &done, err);
  for (size_t h = 0; status == UL_OK && !done && h < here->holes; h++) {
    taken[h] = next_spot(here, taken, h);
    spot.at_mm = here->spot[taken[h]];
    spot.air_mm3 = here->air / (double)here->holes;
    status = ul_drill_spot(d, &spot, err);
  }
  return status;
}

static ul_status drill_all(const choice *c, ul_drilling *d, const ul_vents_opts *opts,
                           ul_error *err) {
  size_t holes = opts->wish_count + opts->keep_count;
  for (size_t i = 0; i < c->count; i++) holes += c->list[i].holes;
  d->vents->vent = ul_new(holes, sizeof *d->vents->vent);
  if (!d->vents->vent) return ul_fail_memory(err);
  ul_drill_kept(d, opts->keep, opts->keep_count);
  ul_status status = UL_OK;
  for (size_t i = 0; status == UL_OK && i < c->count; i++) status = drill_peak(&c->list[i], d, err);
  for (size_t i = 0; status == UL_OK && i < opts->wish_count; i++)
    status = ul_drill_wish(d, &opts->wish[i], err);
  return status;
}

/* Words for what the air's questions answer without any. */
static ul_status say_why(ul_status status, ul_error *err) {
  if (status == UL_E_OUTSIDE)
    return ul_fail(
        err, status,
        "a peak or a vent lies over 4 cubes from the cavity as the columns see it: use a "
        "smaller --cube");
  return status == UL_E_MEMORY ? ul_fail_memory(err) : status;
}

/* What no hole lets out, the holes being where they are and not where the peaks are. */
static ul_status weigh_what_is_left(const choice *c, const ul_vents_opts *opts, ul_vents *vents) {
  const size_t most = vents->count + opts->hole_count;
  double(*mouth)[3] = ul_new_raw(most, sizeof *mouth), largest;
  ul_outlet *outlet = ul_new_raw(most, sizeof *outlet);
  ul_status status = mouth && outlet ? UL_OK : UL_E_MEMORY;
  size_t n = 0;
  for (size_t i = 0; status == UL_OK && i < vents->count; i++)
    if (vents->vent[i].ok && !vents->vent[i].closed) ul_copy3(vents->vent[i].at_mm, mouth[n++]);
  for (size_t i = 0; status == UL_OK && i < opts->hole_count; i++)
    ul_copy3(opts->hole[i].at_mm, mouth[n++]);
  for (size_t i = 0; status == UL_OK && c->skin && i < n; i++)
    status = ul_outlet_at(c->skin, mouth[i], &outlet[i]);
  if (status == UL_OK)
    status =
        c->skin ? ul_outlets_leave(c->skin, outlet, n, &vents->left_mm3, &largest)
                : ul_air_trapped_mm3(c->air, c->up, (const double(*)[3])mouth, n, &vents->left_mm3);
  free(mouth);
  free(outlet);
  return status;
}

static ul_status check(const ul_vents_opts *opts, double draw[3], ul_error *err) {
  if (opts->cookie != COOKIE)
    return ul_fail(err, UL_E_USAGE, "options for vents not made by ul_vents_opts_default()");
  if (!(opts->diameter_mm > 0 && isfinite(opts->diameter_mm)))
    return ul_fail(err, UL_E_USAGE, "vents of %g mm: give a diameter above 0", opts->diameter_mm);
  if (!(opts->land_mm >= 0))
    return ul_fail(err, UL_E_USAGE, "a land of %g mm: give 0 or more", opts->land_mm);
  if (!(opts->void_ok_mm3 >= 0))
    return ul_fail(err, UL_E_USAGE, "voids of %g mm3 let be: give 0 or more", opts->void_ok_mm3);
  if (ul_norm(opts->draw) > 0) return ul_up_normalise(opts->draw, draw, err);
  memset(draw, 0, 3 * sizeof *draw);
  return UL_OK;
}

/* What the holes have to do with, besides the cavity. */
typedef struct {
  ul_mesh *cavity;  /* with the inserts taken out and the other cavities; NULL: the solid's own will
                       do */
  ul_mesh *inserts; /* NULL: none */
  ul_keep_off keep;
} surroundings;

static ul_status join_others(const ul_solid *solid, const ul_vents_opts *opts, surroundings *around,
                             ul_error *err) {
  ul_mesh *alone = around->cavity;
  ul_status status = ul_inserts_join(alone ? alone : solid->mesh, opts->other, opts->other_count,
                                     false, &around->cavity, err);
  if (status != UL_OK) around->cavity = NULL;
  ul_mesh_free(alone);
  return status;
}

static ul_status surround(const ul_solid *solid, const ul_vents_opts *opts, surroundings *around,
                          ul_error *err) {
  const ul_solid *const *insert = opts->insert;
  size_t count = opts->insert_count;
  ul_status status = UL_OK;
  if (count) status = ul_inserts_join(NULL, insert, count, false, &around->inserts, err);
  if (status == UL_OK && count && !opts->inserts_are_cut)
    status = ul_inserts_join(solid->mesh, insert, count, true, &around->cavity, err);
  if (status == UL_OK && opts->other_count) status = join_others(solid, opts, around, err);
  if (status != UL_OK) return status;
  return ul_keep_off_make(around->cavity ? around->cavity : solid->mesh, opts, &around->keep, err);
}

static void surroundings_clear(surroundings *around) {
  ul_mesh_free(around->cavity);
  ul_mesh_free(around->inserts);
  ul_keep_off_clear(&around->keep);
}

static ul_status choose_and_drill(const ul_solid *solid, const ul_heights *heights,
                                  const ul_peaks *peaks, ul_bore_site *site,
                                  const ul_vents_opts *opts, const double draw[3], choice *c,
                                  ul_vents *vents, ul_error *err) {
  ul_copy3(peaks->up, c->up);
  ul_copy3(peaks->up, site->up);
  ul_status status = heights->skin_is_wall ? ul_skin_tree_new(heights->surface, c->up, &c->skin)
                                           : ul_air_new(heights, &c->air, NULL);
  if (status == UL_OK && !opts->only_wishes) status = list_candidates(c, heights, peaks, opts);
  if (status == UL_OK) status = choose(c, opts);
  if (status != UL_OK) return say_why(status, err);
  ul_place_rules rules = {.skin = c->skin,
                          .off = c->skin ? &c->off : NULL,
                          .void_ok_mm3 = opts->void_ok_mm3,
                          .parting = opts->parting,
                          .along = opts->along,
                          .drills = opts->drills,
                          .land_mm = opts->land_mm};
  ul_copy3(draw, rules.draw);
  ul_drilling d = {site, &rules, solid, opts, vents};
  status = drill_all(c, &d, opts, err);
  return status == UL_OK ? say_why(weigh_what_is_left(c, opts, vents), err) : status;
}

ul_status ul_vents_choose(const ul_solid *solid, const ul_heights *heights, const ul_peaks *peaks,
                          const ul_tool *tool, const ul_vents_opts *opts, ul_vents **out,
                          ul_error *err) {
  *out = NULL;
  double draw[3];
  ul_status status = check(opts, draw, err);
  if (status != UL_OK) return status;
  choice c = {0};
  ul_vents *vents = ul_new(1, sizeof *vents);
  if (!vents) return ul_fail_memory(err);
  surroundings around = {0};
  status = surround(solid, opts, &around, err);
  ul_bore_site site = {.cavity = around.cavity ? around.cavity : solid->mesh,
                       .tool = tool,
                       .radius_mm = opts->diameter_mm / 2,
                       .inserts = around.inserts,
                       .kept = around.keep.kept,
                       .keep_off = around.keep.mesh,
                       .keep_box = opts->keep_box,
                       .keep_box_count = opts->keep_box_count,
                       .parting = opts->parting};
  if (status == UL_OK)
    status = choose_and_drill(solid, heights, peaks, &site, opts, draw, &c, vents, err);
  surroundings_clear(&around);
  ul_off_clear(&c.off);
  ul_skin_tree_free(c.skin);
  ul_air_free(c.air);
  free(c.list);
  free(c.place);
  free(c.outlet);
  free(c.there_in);
  if (status == UL_OK)
    *out = vents;
  else
    ul_vents_free(vents);
  return status;
}
