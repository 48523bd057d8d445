#include "air/place.h"

#include "air/groove.h"
#include "air/lower.h"
#include "air/normal.h"
#include "air/relief.h"
#include "air/ways.h"
#include "air/web.h"
#include "base/fail.h"
#include "base/figures.h"
#include "base/vec.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { LOWER_PLACES = 48 };

static const double CLEARLY = 0.01; /* less air, where it is in another place */
static const double touch_mm = 1e-6;
/* A deeper hole must halve what the others leave: common practice, no source. Long drills of the
 * size that opens a vent from outside reach about so far. */
static const double deep_mm = 100;
static const double steep_entry_deg = 15; /* a drill needs a flat to start on: common practice, no
                                             source */

/* A drill breaks through so slanting a wall in a long slot, and wanders: common practice, no
 * source. */
static const double steep_mouth_deg = 60;
static const double much_longer = 1.5;
static const double crossing_share = 0.1; /* our choice */

typedef struct {
  ul_bore bore;
  ul_way way;
  double drop; /* mouth below the place, mm */
  double left; /* air of the place's pocket that it leaves, mm3; without a skin, the drop */
} fitted;

typedef struct {
  fitted best;     /* left INFINITY: none */
  ul_bore_end why; /* what stopped the first way that met anything but too little room */
  ul_way stopped;
  double again_mm;
  double slant_deg;   /* of the last way that a squarer one was preferred to; 0: none */
  double too_deep_mm; /* of the first way that was passed over for its depth; 0: none */
} trial;

static void say(ul_vent *vent, const char *format, ...) UL_PRINTF(2, 3);
static void say(ul_vent *vent, const char *format, ...) {
  size_t used = strlen(vent->note);
  va_list args;
  va_start(args, format);
  vsnprintf(vent->note + used, sizeof vent->note - used, format, args);
  va_end(args);
}

/* "+z" for a main axis, else its three numbers. */
static void say_axis(ul_vent *vent, const double axis[3]) {
  for (int c = 0; c < 3; c++)
    if (fabs(axis[c]) == 1) {
      say(vent, "%c%c", axis[c] > 0 ? '+' : '-', "xyz"[c]);
      return;
    }
  say(vent, "%.3f %.3f %.3f", axis[0], axis[1], axis[2]);
}

/* Why this axis and no better one. */
static void explain_axis(ul_vent *vent, const trial *t, const ul_place_rules *rules,
                         const double up[3], const ul_way *first_main) {
  const fitted *f = &t->best;
  const bool stopped_higher = ul_dot(t->stopped.axis, up) > ul_dot(f->way.axis, up) + 1e-9;
  if (f->way.along == UL_WAY_DRAW) {
    say(vent, "along the draw");
    return;
  }
  say(vent, "along ");
  say_axis(vent, f->way.axis);
  if (f->way.along == UL_WAY_NORMAL)
    say(vent, rules->along == UL_ALONG_NORMAL
                  ? ", the surface's normal"
                  : ", the surface's normal, as no main axis leaves the cavity well here");
  else if (memcmp(f->way.axis, first_main->axis, sizeof f->way.axis) == 0)
    say(vent, ", the main axis nearest to up");
  else if (t->too_deep_mm > f->bore.length_mm)
    say(vent, ", as a hole nearer to up would be %.0f mm deep", t->too_deep_mm);
  else if (t->slant_deg > 0)
    say(vent, ", as a hole nearer to up would meet a wall %.0f degrees off square", t->slant_deg);
  else if (t->why == UL_BORE_AT_PARTING && stopped_higher)
    say(vent, ", as a hole nearer to up would run too near to the parting face");
  else if (t->why == UL_BORE_IN_HOLLOW)
    say(vent, ", as a hole nearer to up would come out into a hollow of the tool");
  else if (t->why == UL_BORE_MEETS_AGAIN && stopped_higher)
    say(vent, ", as a hole nearer to up would meet a cavity again after %.3g mm", t->again_mm);
  else
    say(vent, ", as a hole nearer to up leaves the cavity less well here");
  if (rules->along == UL_ALONG_DRAW && ul_norm(rules->draw) > 0)
    say(vent, "; along the draw none is as good");
}

static bool has_plane(const ul_parting *p) {
  return p && p->has_plane;
}

/* Of a hole that no other place or way was found for, too. */
static void warn_of_parting(ul_vent *vent, const ul_bore *h, const ul_parting *parting) {
  double in = ul_parting_height_mm(parting, h->mouth_mm);
  double out = ul_parting_height_mm(parting, h->through_mm);
  double radius = vent->diameter_mm / 2;
  double web = ul_web_to_parting_mm(parting, h->axis, h->mouth_mm, h->through_mm, radius);
  if ((fabs(in) > touch_mm && fabs(out) > touch_mm && (in < 0) != (out < 0)) || web <= 0)
    say(vent, "; crosses the parting face");
  else if (web < ul_web_mm(radius))
    say(vent, "; only %.2g mm of the tool are left between it and the parting face", web);
}

static void warn(ul_vent *vent, const ul_bore *h, const ul_parting *parting) {
  if (h->entry_deg > steep_entry_deg)
    say(vent, "; enters %.0f degrees off square: cut a flat first", h->entry_deg);
  if (h->length_mm > deep_mm && vent->kind == UL_VENT_HOLE)
    say(vent, "; over %.0f mm deep: a long drill, or a tube cast in", deep_mm);
  if (has_plane(parting) && vent->kind == UL_VENT_HOLE) warn_of_parting(vent, h, parting);
}

/* From which side of the parting plane the mouth lies; on it, where the hole leads. */
static int half_of(const ul_parting *p, const ul_bore *h) {
  if (!has_plane(p)) return 0;
  double height = ul_parting_height_mm(p, h->mouth_mm);
  if (fabs(height) < touch_mm) height = ul_dot(p->normal, h->axis);
  return height < 0 ? -1 : 1;
}

static void take_bore(ul_vent *vent, const double place[3], const ul_bore *h) {
  ul_copy3(h->mouth_mm, vent->at_mm);
  ul_copy3(h->axis, vent->axis);
  ul_copy3(h->through_mm, vent->through_mm);
  vent->length_mm = h->length_mm;
  vent->back_mm = h->back_mm;
  vent->past_mm = h->past_mm;
  vent->moved_mm = ul_distance(h->mouth_mm, place);
  vent->ok = true;
}

static void take_groove(ul_vent *vent, const ul_bore_site *site, const ul_place_rules *rules,
                        const ul_groove *g) {
  take_bore(vent, site->at_mm, &g->bore);
  vent->kind = UL_VENT_GROOVE;
  vent->width_mm = g->width_mm;
  vent->depth_mm = g->depth_mm;
  vent->half = g->half;
  vent->land_mm = g->bore.length_mm;
  vent->stays_mm3 = rules->skin ? fmax(g->left_mm3, 0) : 0;
  ul_copy3(g->face, vent->face);
  say(vent,
      "scraped %.3g mm wide and %.3g deep in the parting face: cleans out, leaves flash, not "
      "a post",
      g->width_mm, g->depth_mm);
}

static void refuse(ul_vent *vent, const trial *t) {
  if (t->why != UL_BORE_NO_ROOM) ul_copy3(t->stopped.axis, vent->axis);
  say(vent, "no hole can be made: ");
  if (t->why == UL_BORE_MEETS_AGAIN || t->why == UL_BORE_MEETS_INSERT) {
    say(vent, "along ");
    say_axis(vent, t->stopped.axis);
    if (t->why == UL_BORE_MEETS_INSERT)
      say(vent,
          " an insert is in the way after %.3g mm, and no other axis is free: turn the mould, "
          "move the insert, or drill a way up through it",
          t->again_mm);
    else
      say(vent, " it meets a cavity again after %.3g mm, and no other axis is free", t->again_mm);
  } else if (t->why == UL_BORE_IN_HOLLOW) {
    say(vent, "along ");
    say_axis(vent, t->stopped.axis);
    say(vent,
        " it comes out into a hollow of the tool after %.3g mm, with more of the tool behind it, "
        "and no other axis is free: move the hollow",
        t->again_mm);
  } else if (t->why == UL_BORE_NO_OUTSIDE) {
    say(vent, "the tool's mesh does not close around the cavity here");
  } else if (t->why == UL_BORE_AT_EDGE) {
    say(vent,
        "it would come out nearer than %.3g mm (1.5 diameters) to an edge of the tool: give the "
        "tool more wall here",
        1.5 * vent->diameter_mm);
  } else if (t->why == UL_BORE_KEPT_OFF) {
    say(vent, "vents are kept off everywhere that the pocket's air could get out");
  } else {
    say(vent, "a circle of %.3g mm finds no room within %.3g mm", vent->diameter_mm,
        2 * vent->diameter_mm);
  }
}

/* What is asked: a hole for this place, which hangs here on the air tree. */
typedef struct {
  const ul_bore_site *site;
  const ul_place_rules *rules;
  const double *peak_mm;
  ul_outlet place;
  double allowed; /* air that it may leave: over what a vent at the very place would, which where
                     foam comes last need not be the top */
  double deepest_mm;
  bool lower; /* asked for another place of the pocket, not the best one */
} asked;

ul_status ul_place_leaves(const ul_skin_tree *skin, const ul_outlet *place,
                          const double place_mm[3], const double up[3], const double mouth[3],
                          double *left, ul_error *err) {
  double below[3];
  ul_sub(place_mm, mouth, below);
  *left = ul_dot(below, up);
  if (!skin) return UL_OK;
  ul_outlet outlet;
  if (ul_outlet_at(skin, mouth, &outlet) != UL_OK) return ul_fail_memory(err);
  *left = ul_outlet_leaves_at(skin, &outlet, place);
  return UL_OK;
}

static ul_status judge(const asked *q, fitted *f, ul_error *err) {
  const double *mouth = f->bore.mouth_mm, *up = q->site->up;
  f->drop = ul_dot(q->peak_mm, up) - ul_dot(mouth, up);
  return ul_place_leaves(q->rules->skin, &q->place, q->peak_mm, up, mouth, &f->left, err);
}

/* A mouth on another pocket. */
static bool lets_out_nothing(const asked *q, const fitted *f) {
  double pocket = q->site->pocket_mm3;
  return q->rules->skin && pocket > 0 && f->left > 0.999 * pocket;
}

static void note_end(trial *t, const ul_way *w, ul_bore_end end, double met_mm) {
  if (t->why != UL_BORE_NO_ROOM || end == UL_BORE_NO_ROOM) return; /* the first that says more */
  t->why = end;
  t->stopped = *w;
  t->again_mm = met_mm;
}

/* Where it is so far off square that a shop minds: 2 on the tool's outside, where a drill needs a
 * flat to start on, 1 on the cavity's wall, which it breaks through, 0 nowhere. */
static int how_slanted(const ul_bore *h, double *deg) {
  bool entry = h->entry_deg > steep_entry_deg, mouth = h->mouth_deg > steep_mouth_deg;
  *deg = entry ? h->entry_deg : mouth ? h->mouth_deg : 0;
  return entry ? 2 : mouth;
}

/* Of two that leave no more than they may: squarer where a shop minds, and not much longer. */
static bool is_squarer(const ul_bore *h, const ul_bore *best) {
  double deg, was_deg;
  int here = how_slanted(h, &deg), was = how_slanted(best, &was_deg);
  return (here < was || (here == was && deg < was_deg - steep_entry_deg)) &&
         h->length_mm < much_longer * best->length_mm;
}

/* Less by more than rounding; and so much that another place is worth it, which is farther off. */
static bool leaves_less(const asked *q, double left, double best, double share) {
  if (!(best < INFINITY)) return true;
  return left < share * best - (q->lower ? fmax(q->rules->void_ok_mm3, CLEARLY * best) : 1e-9);
}

/* Of two of which either leaves more than it may: less of it, but of two that leave the same to a
 * hundredth (a layer under a level edge, say) the squarer one. */
static bool is_better_where_some_stays(const asked *q, const fitted *f, const fitted *best,
                                       double share) {
  const double same = 1 + CLEARLY;
  const bool alike =
      share == 1 && !q->lower && f->left <= same * best->left && best->left <= same * f->left;
  if (alike && is_squarer(&f->bore, &best->bore)) return true;
  return leaves_less(q, f->left, best->left, share) &&
         !(alike && is_squarer(&best->bore, &f->bore));
}

/* Takes the way if it fits and leaves less than `share` of what the best so far does. */
static ul_status try_way(const asked *q, const ul_way *w, double share, trial *t, ul_error *err) {
  fitted f = {.way = *w};
  ul_bore_end end;
  double met_mm;
  ul_status status = ul_bore_fit(q->site, w->axis, &f.bore, &end, &met_mm, err);
  if (status != UL_OK) return status;
  note_end(t, w, end, met_mm);
  if (end != UL_BORE_FITS) return UL_OK;
  if (f.bore.length_mm > q->deepest_mm) {
    if (!(t->too_deep_mm > 0)) t->too_deep_mm = f.bore.length_mm;
    return UL_OK;
  }
  status = judge(q, &f, err);
  if (status != UL_OK) return status;
  if (lets_out_nothing(q, &f)) return UL_OK;
  if (t->best.left <= q->allowed) {
    if (f.left > q->allowed || !is_squarer(&f.bore, &t->best.bore)) return UL_OK;
    how_slanted(&t->best.bore, &t->slant_deg);
    t->best = f;
  } else if (is_better_where_some_stays(q, &f, &t->best, share)) {
    t->best = f;
  }
  return UL_OK;
}

/* It leaves no more than it may, and is square where a shop minds. Where the surface's normal was
 * asked for, its slant was too. */
static bool is_settled(const asked *q, const trial *t) {
  double deg;
  return t->best.left <= q->allowed &&
         (q->rules->along == UL_ALONG_NORMAL || how_slanted(&t->best.bore, &deg) == 0);
}

/* Tries the ways in order until one is good enough; then the normal, which is no easy way to
 * drill and so must halve what the others leave, or be squarer to the tool than they are. */
static ul_status try_ways_so_deep(const asked *q, double share, trial *t, ul_error *err) {
  ul_way list[UL_WAYS_MOST];
  size_t count = ul_ways_list(q->site, q->rules, list);
  ul_status status = UL_OK;
  for (size_t i = 0; status == UL_OK && i < count && !is_settled(q, t); i++)
    status = try_way(q, &list[i], share, t, err);
  ul_way normal = {.along = UL_WAY_NORMAL};
  if (status != UL_OK || is_settled(q, t) ||
      !ul_surface_normal(q->site->cavity, q->site->at_mm, q->rules->along == UL_ALONG_NORMAL,
                         normal.axis) ||
      ul_dot(normal.axis, q->site->up) < ul_least_climb)
    return status;
  return try_way(q, &normal, fmin(share, 0.5), t, err);
}

static ul_status try_ways(const asked *q, trial *t, ul_error *err) {
  asked shallow = *q;
  shallow.deepest_mm = deep_mm;
  ul_status status = try_ways_so_deep(&shallow, 1, t, err);
  if (status != UL_OK || t->best.left <= q->allowed || !(t->too_deep_mm > 0)) return status;
  return try_ways_so_deep(q, t->best.left < INFINITY ? 0.5 : 1, t, err);
}

/* The same at lower places of the pocket, from the highest down. */
static ul_status try_lower_at(const asked *q, double share, bool near, trial *t, ul_error *err) {
  double place[LOWER_PLACES][3];
  size_t count;
  bool found = t->best.left < INFINITY;
  double mouth[3];
  ul_copy3(t->best.bore.mouth_mm, mouth);
  ul_lower lower = {.site = q->site,
                    .skin = q->rules->skin,
                    .top = &q->place,
                    .share = share,
                    .above_mm = found ? ul_dot(mouth, q->site->up) : -INFINITY,
                    .near_mm = found && near ? mouth : NULL};
  ul_status status = ul_lower_places(&lower, LOWER_PLACES, place, &count, err);
  for (size_t i = 0; status == UL_OK && i < count && t->best.left > q->allowed; i++) {
    ul_bore_site site = *q->site;
    ul_copy3(place[i], site.at_mm);
    asked there = *q;
    there.site = &site;
    there.lower = true;
    status = try_ways(&there, t, err);
  }
  return status;
}

/* The next best: over all of the pocket, closer together above what that found, and closer yet
 * beside it. Where it found nothing better than the place itself, that is it. */
static ul_status try_lower(const asked *q, trial *t, ul_error *err) {
  static const double share[] = {1.0 / 4, 1.0 / 12, 1.0 / 36};
  const double at_first = t->best.left;
  ul_status status = UL_OK;
  for (size_t i = 0; status == UL_OK && i < 3 && t->best.left > q->allowed; i++) {
    status = try_lower_at(q, share[i], i == 2, t, err);
    if (at_first < INFINITY && !(t->best.left < at_first)) break;
  }
  return status;
}

/* Of places as high as the one that was found, the nearest: those that were looked at lie as the
 * mesh and the share of the pocket have it. */
static ul_status try_nearer(const asked *q, trial *t, ul_error *err) {
  const double *peak = q->peak_mm, *mouth = t->best.bore.mouth_mm;
  const double as_good = (1 + CLEARLY) * fmax(t->best.left, 0);
  const double nearer = ul_distance(mouth, peak) - 2 * q->site->radius_mm;
  const ul_lower level = {.site = q->site, .skin = q->rules->skin, .top = &q->place};
  double place[LOWER_PLACES][3];
  size_t count;
  ul_status status =
      ul_level_places(&level, ul_dot(q->site->up, mouth), LOWER_PLACES, place, &count, err);
  for (size_t i = 0; i < count && status == UL_OK; i++) {
    ul_bore_site site = *q->site;
    ul_copy3(place[i], site.at_mm);
    asked there = *q;
    there.site = &site;
    trial now = {.best.left = INFINITY, .why = UL_BORE_NO_ROOM};
    if (ul_distance(place[i], peak) > nearer) break;
    status = try_ways(&there, &now, err);
    if (now.best.left > as_good || ul_distance(now.best.bore.mouth_mm, peak) > nearer) continue;
    t->best = now.best;
    break;
  }
  return status;
}

/* A place that foam reaches last may lie low: then that is where the air is, not above it. */
static void say_what_stays(const asked *q, ul_vent *vent) {
  const double cm3 = vent->stays_mm3 / 1000, ok = q->rules->void_ok_mm3;
  if (vent->stays_mm3 <= ok) return;
  if (q->allowed > 2 * ok) say(vent, "; it is for where the last air is, which is not the top");
  say(vent, "; " UL_FIGURES " cm3 of air stays above it in a level rise", ul_three_figures(cm3));
}

static ul_status take_hole(ul_vent *vent, const asked *q, const trial *t, bool lower,
                           ul_error *err) {
  const fitted *f = &t->best;
  ul_way list[UL_WAYS_MOST];
  take_bore(vent, q->peak_mm, &f->bore);
  vent->kind = UL_VENT_HOLE;
  vent->half = half_of(q->rules->parting, &f->bore);
  vent->stays_mm3 = q->rules->skin ? fmax(f->left, 0) : 0;
  explain_axis(vent, t, q->rules, q->site->up, ul_ways_first_main(q->site, q->rules, list));
  if (lower)
    say(vent, "; vents are kept off the top: the next best place on this pocket, %.3g mm away",
        vent->moved_mm);
  else if (vent->moved_mm > 0.01)
    say(vent, "; moved in %.3g mm to break in wholly", vent->moved_mm);
  if (f->drop > 1) say(vent, "; mouth %.3g mm below the peak", f->drop);
  say_what_stays(q, vent);
  warn(vent, &f->bore, q->rules->parting);
  return ul_relief_make(q->site, &f->bore, q->rules->drills, q->rules->land_mm, vent, err);
}

/* Where no hole with a web to the parting face lets the air out, one without, if that leaves next
 * to none of what stays: it opens the seam, or breaks into it. */
static ul_status try_crossing(const asked *q, trial *t, ul_error *err) {
  ul_bore_site site = *q->site;
  asked there = *q;
  bool none = !(t->best.left < INFINITY);
  site.parting = NULL;
  there.site = &site;
  if (none) t->why = UL_BORE_NO_ROOM;
  return try_ways_so_deep(&there, none ? 1 : crossing_share, t, err);
}

/* *lower: it is at another place of the pocket; *crosses: it keeps no web to the parting face. */
static ul_status find_hole(const asked *q, trial *t, bool *lower, bool *crosses, ul_error *err) {
  *t = (trial){.best.left = INFINITY, .why = UL_BORE_NO_ROOM};
  ul_status status = try_ways(q, t, err);
  const double at_top = t->best.left;
  if (status == UL_OK && at_top > q->allowed && (q->site->kept || q->site->keep_box_count))
    status = try_lower(q, t, err);
  if (status == UL_OK && t->best.left < at_top) status = try_nearer(q, t, err);
  const double with_web = t->best.left;
  if (status == UL_OK && with_web > q->allowed && has_plane(q->site->parting))
    status = try_crossing(q, t, err);
  *crosses = t->best.left < with_web;
  *lower = t->best.left < at_top && !*crosses;
  return status;
}

/* A groove that leaves more than may be let be, but no more than a hole that crosses the parting
 * face does: near the place, for this is asked where a rise leaves air, too. */
static ul_status groove_instead(const asked *q, double left_mm3, ul_groove *out, bool *found,
                                ul_error *err) {
  const double reach = 4 * q->site->radius_mm;
  ul_status status =
      ul_groove_find(q->site, q->rules, &q->place, fmax(left_mm3, q->allowed), out, found, err);
  if (status == UL_OK && *found && ul_distance(out->bore.mouth_mm, q->peak_mm) > reach)
    *found = false;
  return status;
}

/* In the place's own reach: scraped at a corner it is moved in by half its width. */
static bool is_beside(const asked *q, const ul_groove *g) {
  return ul_distance(g->bore.mouth_mm, q->peak_mm) <= g->width_mm / 2 + 1;
}

static ul_status leaves_off(const asked *q, const double mouth[3], double *left, ul_error *err) {
  *left = INFINITY;
  if (!q->rules->off) return UL_OK;
  return ul_off_leaves(q->rules->off, q->rules->skin, mouth, (const double(*)[3])q->peak_mm, 1,
                       left, err);
}

/* Whether a groove away from the place lets out as much as the hole that was found for it, also
 * where the mould lies 2 degrees off. Where foam comes last a height does not tell, and where
 * others vent the rest of the top it tells too much of it. *left: what the groove leaves so. */
static ul_status is_as_good(const asked *q, const ul_groove *g, const trial *hole, bool *good,
                            double *left, ul_error *err) {
  double with_hole = INFINITY;
  ul_status status = leaves_off(q, g->bore.mouth_mm, left, err);
  *good = !(hole->best.left <= q->allowed);
  if (status != UL_OK || *good || !(q->site->pocket_mm3 > 0) || q->site->shared) return status;
  *good = *left <= q->rules->void_ok_mm3;
  if (!*good) status = leaves_off(q, hole->best.bore.mouth_mm, &with_hole, err);
  *good = *good || *left <= with_hole;
  return status;
}

/* What a groove that is not at the place costs. */
static void say_how_far(const asked *q, ul_vent *vent, double left_off_mm3) {
  say(vent, "; %.3g mm from the place that it is for", vent->moved_mm);
  if (left_off_mm3 < INFINITY && left_off_mm3 > q->rules->void_ok_mm3)
    say(vent, ": propped %d degrees off, up to " UL_FIGURES " cm3 of air stays above it",
        UL_OFF_DEG, ul_three_figures(left_off_mm3 / 1000));
}

static void ask(const ul_bore_site *site, const ul_place_rules *rules, asked *q) {
  *q = (asked){.site = site,
               .rules = rules,
               .peak_mm = site->at_mm,
               .allowed = rules->skin ? rules->void_ok_mm3 : 1.25 * site->radius_mm,
               .deepest_mm = INFINITY};
}

static void begin(const ul_bore_site *site, const ul_place_rules *rules, ul_vent *out) {
  ul_way ways[UL_WAYS_MOST];
  out->diameter_mm = 2 * site->radius_mm;
  out->ok = false;
  out->note[0] = '\0';
  ul_copy3(site->at_mm, out->at_mm);
  ul_copy3(site->at_mm, out->through_mm);
  ul_ways_list(site, rules, ways);
  ul_copy3(ways[0].axis, out->axis);
}

static ul_status find_groove(asked *q, ul_groove *out, bool *found, ul_error *err) {
  const ul_place_rules *rules = q->rules;
  *found = false;
  if (rules->skin && ul_outlet_at(rules->skin, q->site->at_mm, &q->place) != UL_OK)
    return ul_fail_memory(err);
  if (!has_plane(rules->parting)) return UL_OK;
  return ul_groove_find(q->site, rules, &q->place, q->allowed, out, found, err);
}

ul_status ul_place_groove_for_top(const ul_bore_site *site, const ul_place_rules *rules,
                                  const double (*end_mm)[3], size_t ends, ul_vent *out, bool *does,
                                  ul_error *err) {
  asked q;
  ul_groove groove;
  double left = INFINITY;
  begin(site, rules, out);
  ask(site, rules, &q);
  ul_status status = find_groove(&q, &groove, does, err);
  *does = status == UL_OK && *does && rules->off && is_beside(&q, &groove);
  if (!*does) return status;
  status = ul_off_leaves(rules->off, rules->skin, groove.bore.mouth_mm, end_mm, ends, &left, err);
  *does = status == UL_OK && left <= rules->void_ok_mm3;
  if (*does) take_groove(out, site, rules, &groove);
  if (*does) say(out, "; in the middle of a level top, of whose %zu ends it serves all", ends);
  return status;
}

/* What a place gets: a groove in the parting face, or a hole. */
typedef struct {
  bool scraped, lower;
  ul_groove groove;
  trial hole;
  double left_off_mm3; /* of a groove that is not at the place, 2 degrees off; 0: not asked */
} choice;

static ul_status choose(asked *q, choice *c, ul_error *err) {
  ul_status status = find_groove(q, &c->groove, &c->scraped, err);
  if (status != UL_OK || (c->scraped && is_beside(q, &c->groove))) return status;
  bool crosses;
  /* where foam comes last a vent at the very place would leave some, too */
  if (q->rules->skin)
    q->allowed += fmax(0, ul_outlet_leaves_at(q->rules->skin, &q->place, &q->place));
  status = find_hole(q, &c->hole, &c->lower, &crosses, err);
  if (status != UL_OK) return status;
  if (c->scraped && !crosses)
    return is_as_good(q, &c->groove, &c->hole, &c->scraped, &c->left_off_mm3, err);
  return crosses ? groove_instead(q, c->hole.best.left, &c->groove, &c->scraped, err) : UL_OK;
}

ul_status ul_place_vent(const ul_bore_site *site, const ul_place_rules *rules, ul_vent *out,
                        ul_error *err) {
  asked q;
  choice c = {0};
  begin(site, rules, out);
  ask(site, rules, &q);
  ul_status status = choose(&q, &c, err);
  if (status != UL_OK) return status;
  if (c.scraped) {
    take_groove(out, site, rules, &c.groove);
    if (!is_beside(&q, &c.groove)) say_how_far(&q, out, c.left_off_mm3);
  } else if (c.hole.best.left < INFINITY) {
    return take_hole(out, &q, &c.hole, c.lower, err);
  } else {
    refuse(out, &c.hole);
  }
  return UL_OK;
}
