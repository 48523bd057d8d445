#include "air/place.h"

#include "air/nearest.h"
#include "air/skin_outlet.h"
#include "base/fail.h"
#include "base/vec.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { MOST_WAYS = 8 }; /* two senses of the draw, six main axes */

/* A hole may lead a little downhill, but one steeper than 30 degrees drains foam. */
static const double least_climb = -0.5;
static const double touch_mm = 1e-6;

typedef enum { ALONG_DRAW, ALONG_MAIN, ALONG_NORMAL } along;

typedef struct {
  along along;
  double axis[3];
} way;

typedef struct {
  ul_bore bore;
  way way;
  double drop; /* mouth below the place, mm */
  double left; /* air of the place's pocket that it leaves, mm3; without a skin, the drop */
} fitted;

typedef struct {
  fitted best;     /* left INFINITY: none */
  ul_bore_end why; /* what stopped the first way that met anything but too little room */
  way stopped;
  double again_mm;
} trial;

static size_t add_way(way *list, size_t count, along along, const double axis[3],
                      const double up[3]) {
  if (ul_dot(axis, up) < least_climb) return count;
  list[count].along = along;
  ul_copy3(axis, list[count].axis);
  return count + 1;
}

/* The six main axes, the one nearest to up first; of equals +x, -x, +y ... */
static size_t add_main_axes(way *list, size_t count, const double up[3]) {
  size_t first = count;
  for (int side = 0; side < 6; side++) {
    double axis[3] = {0};
    axis[side / 2] = side % 2 ? -1 : 1;
    size_t end = add_way(list, count, ALONG_MAIN, axis, up);
    if (end == count) continue;
    way added = list[count];
    size_t i = count;
    for (; i > first && ul_dot(list[i - 1].axis, up) < ul_dot(axis, up) - 1e-12; i--)
      list[i] = list[i - 1];
    list[i] = added;
    count = end;
  }
  return count;
}

/* Mean of the triangles that touch the place, by area. */
static bool surface_normal(const ul_mesh *mesh, const double at[3], double out[3]) {
  double sum[3] = {0};
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    const double *corner[3];
    double a[3], b[3], near[3];
    for (int k = 0; k < 3; k++) corner[k] = mesh->vertex_mm[mesh->triangle[t][k]];
    ul_nearest_on_triangle(at, corner[0], corner[1], corner[2], near);
    if (ul_distance(at, near) > touch_mm) continue;
    ul_sub(corner[1], corner[0], a);
    ul_sub(corner[2], corner[0], b);
    ul_cross(a, b, near);
    ul_add_scaled(sum, 1, near, sum);
  }
  double length = ul_norm(sum);
  for (int c = 0; c < 3; c++) out[c] = length > 0 ? sum[c] / length : 0;
  return length > 0;
}

static size_t list_ways(const ul_bore_site *site, const double draw[3], way list[MOST_WAYS]) {
  size_t count = 0;
  if (ul_dot(draw, draw) > 0) {
    double sense = ul_dot(draw, site->up) < 0 ? -1 : 1, axis[3];
    for (int turn = 0; turn < 2; turn++, sense = -sense) {
      for (int c = 0; c < 3; c++) axis[c] = sense * draw[c];
      count = add_way(list, count, ALONG_DRAW, axis, site->up);
    }
  }
  return add_main_axes(list, count, site->up);
}

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

static void explain(ul_vent *vent, const fitted *f, const way *first_main) {
  if (f->way.along == ALONG_DRAW) {
    say(vent, "along the draw");
  } else {
    say(vent, "along ");
    say_axis(vent, f->way.axis);
    if (f->way.along == ALONG_NORMAL)
      say(vent, ", the surface's normal, as no main axis leaves the cavity well here");
    else if (memcmp(f->way.axis, first_main->axis, sizeof f->way.axis) == 0)
      say(vent, ", the main axis nearest to up");
    else
      say(vent, ", as a hole nearer to up leaves the cavity less well here");
  }
  if (vent->moved_mm > 0.01) say(vent, "; moved in %.3g mm to break in wholly", vent->moved_mm);
  if (f->drop > 1) say(vent, "; mouth %.3g mm below the peak", f->drop);
}

static void take(ul_vent *vent, const ul_bore_site *site, const fitted *f, const way *first_main) {
  const ul_bore *h = &f->bore;
  ul_copy3(h->mouth_mm, vent->at_mm);
  ul_copy3(h->axis, vent->axis);
  ul_copy3(h->through_mm, vent->through_mm);
  vent->length_mm = h->length_mm;
  vent->back_mm = h->back_mm;
  vent->past_mm = h->past_mm;
  vent->moved_mm = ul_distance(h->mouth_mm, site->at_mm);
  vent->ok = true;
  explain(vent, f, first_main);
}

static void refuse(ul_vent *vent, const trial *t) {
  if (t->why == UL_BORE_MEETS_AGAIN) {
    say(vent, "no hole can be made: along ");
    say_axis(vent, t->stopped.axis);
    say(vent, " it meets a cavity again after %.3g mm, and no other axis is free", t->again_mm);
  } else if (t->why == UL_BORE_NO_OUTSIDE) {
    say(vent, "no hole can be made: the tool's mesh does not close around the cavity here");
  } else {
    say(vent, "no hole can be made: a circle of %.3g mm finds no room within %.3g mm",
        vent->diameter_mm, 2 * vent->diameter_mm);
  }
}

/* What is asked: a hole for this place, which hangs here on the air tree. */
typedef struct {
  const ul_bore_site *site;
  const ul_skin_tree *skin;
  ul_outlet place;
} asked;

static ul_status judge(const asked *q, fitted *f) {
  double below[3];
  ul_sub(q->site->at_mm, f->bore.mouth_mm, below);
  f->left = f->drop = ul_dot(below, q->site->up);
  if (!q->skin) return UL_OK;
  ul_outlet mouth;
  ul_status status = ul_outlet_at(q->skin, f->bore.mouth_mm, &mouth);
  if (status == UL_OK) f->left = ul_outlet_leaves_at(q->skin, &mouth, &q->place);
  return status;
}

static void note_end(trial *t, const way *w, ul_bore_end end, double met_mm) {
  if (t->why != UL_BORE_NO_ROOM || end == UL_BORE_NO_ROOM) return; /* the first that says more */
  t->why = end;
  t->stopped = *w;
  t->again_mm = met_mm;
}

/* Takes the way if it fits and leaves less than `share` of what the best so far does. */
static ul_status try_way(const asked *q, const way *w, double share, trial *t, ul_error *err) {
  fitted f = {.way = *w};
  ul_bore_end end;
  double met_mm;
  ul_status status = ul_bore_fit(q->site, w->axis, &f.bore, &end, &met_mm, err);
  if (status != UL_OK) return status;
  note_end(t, w, end, met_mm);
  if (end != UL_BORE_FITS) return UL_OK;
  status = judge(q, &f);
  if (status != UL_OK) return ul_fail_memory(err);
  if (f.left < t->best.left * share - 1e-9) t->best = f;
  return UL_OK;
}

/* Tries the ways in order until one is good enough; then the normal, which is no easy way to drill
 * and so must halve what the others leave. */
static ul_status try_ways(const asked *q, const way *list, size_t count, double allowed, trial *t,
                          ul_error *err) {
  *t = (trial){.best.left = INFINITY, .why = UL_BORE_NO_ROOM};
  ul_status status = UL_OK;
  for (size_t i = 0; status == UL_OK && i < count && t->best.left > allowed; i++)
    status = try_way(q, &list[i], 1, t, err);
  way normal = {.along = ALONG_NORMAL};
  if (status != UL_OK || t->best.left <= allowed ||
      !surface_normal(q->site->cavity, q->site->at_mm, normal.axis) ||
      ul_dot(normal.axis, q->site->up) < least_climb)
    return status;
  return try_way(q, &normal, 0.5, t, err);
}

ul_status ul_place_vent(const ul_bore_site *site, const ul_place_rules *rules, ul_vent *out,
                        ul_error *err) {
  way list[MOST_WAYS];
  size_t count = list_ways(site, rules->draw, list), main = 0;
  while (list[main].along != ALONG_MAIN) main++;
  out->diameter_mm = 2 * site->radius_mm;
  out->ok = false;
  out->note[0] = '\0';
  ul_copy3(site->at_mm, out->at_mm);
  ul_copy3(site->at_mm, out->through_mm);
  asked q = {.site = site, .skin = rules->skin};
  if (q.skin && ul_outlet_at(q.skin, site->at_mm, &q.place) != UL_OK) return ul_fail_memory(err);
  double allowed = q.skin ? rules->void_ok_mm3 : 1.25 * site->radius_mm;
  trial t;
  ul_status status = try_ways(&q, list, count, allowed, &t, err);
  if (status != UL_OK) return status;
  if (t.best.left < INFINITY)
    take(out, site, &t.best, &list[main]);
  else
    refuse(out, &t);
  return UL_OK;
}
