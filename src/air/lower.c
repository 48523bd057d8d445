#include "air/lower.h"

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdlib.h>

#define NONE UINT32_MAX

static const double all_of_it = 0.999;
static const double level_mm = 1e-6;

typedef struct {
  double height, far, at[3]; /* far: from the pocket's top */
} place;

/* The part of the wall that is looked at, and what has been found on it. */
typedef struct {
  const ul_lower *lower;
  uint32_t arc; /* the pocket's, on the air tree */
  double low, top;
  double apart;
  bool at_level; /* only what is as high as level */
  double level;
  place *list; /* NULL: only counted */
  size_t count;
} search;

/* Of equally high ones the nearest to the top. */
static int highest_first(const void *a, const void *b) {
  const place *p = a, *q = b;
  double higher = round(p->height / level_mm) - round(q->height / level_mm);
  if (higher != 0) return higher > 0 ? -1 : 1;
  if (p->far != q->far) return p->far < q->far ? -1 : 1;
  for (int c = 0; c < 3; c++)
    if (p->at[c] != q->at[c]) return p->at[c] < q->at[c] ? -1 : 1;
  return 0;
}

/* --- the pocket --- */

/* The arc below which all of the pocket is: its own, or the whole cavity's where it is not known.
 */
static void find_pocket(search *s) {
  const ul_lower *l = s->lower;
  s->low = -INFINITY;
  if (!l->skin) return;
  const ul_tree *tree = l->skin->tree;
  double pocket = l->site->pocket_mm3;
  s->arc = l->top->arc;
  while (tree->arc[s->arc].parent != NONE &&
         !(pocket > 0 && l->skin->volume_mm3[s->arc] >= all_of_it * pocket))
    s->arc = tree->arc[s->arc].parent;
  if (tree->arc[s->arc].parent != NONE) s->low = tree->arc[s->arc].bottom;
}

/* Cavities that the skin leaves out come after its own triangles. */
static bool is_on_pocket(const search *s, size_t t) {
  const ul_lower *l = s->lower;
  if (l->site->kept && l->site->kept[t]) return false;
  if (!l->skin) return true;
  const ul_view *view = &l->skin->view;
  if (t >= view->surface->mesh->triangle_count) return false;
  uint32_t top = ul_highest_corner(view, (uint32_t)t);
  return ul_arc_is_below(l->skin->tree, s->arc, l->skin->tree->arc_of_item[top]);
}

static void corners_of(const search *s, size_t t, const double *corner[3]) {
  const ul_mesh *m = s->lower->site->cavity;
  for (int k = 0; k < 3; k++) corner[k] = m->vertex_mm[m->triangle[t][k]];
}

static void take_in(double box[2][3], const double at[3]) {
  for (int c = 0; c < 3; c++) {
    box[0][c] = fmin(box[0][c], at[c]);
    box[1][c] = fmax(box[1][c], at[c]);
  }
}

/* Across all of the pocket's wall, down to its lower end. */
static double extent(const search *s) {
  const double *up = s->lower->site->up;
  double box[2][3] = {{INFINITY, INFINITY, INFINITY}, {-INFINITY, -INFINITY, -INFINITY}};
  for (size_t t = 0; t < s->lower->site->cavity->triangle_count; t++) {
    if (!is_on_pocket(s, t)) continue;
    const double *corner[3];
    corners_of(s, t, corner);
    for (int k = 0; k < 3; k++) {
      const double *a = corner[k], *b = corner[(k + 1) % 3];
      double ha = ul_dot(up, a) - s->low, hb = ul_dot(up, b) - s->low, cut[3], way[3];
      if (ha >= 0) take_in(box, a);
      if ((ha < 0) == (hb < 0) || !isfinite(s->low)) continue;
      ul_sub(b, a, way);
      ul_add_scaled(a, ha / (ha - hb), way, cut);
      take_in(box, cut);
    }
  }
  return box[0][0] <= box[1][0] ? ul_distance(box[0], box[1]) : 0;
}

/* --- places on it --- */

static bool is_in_a_box(const ul_bore_site *site, const double at[3]) {
  for (size_t i = 0; i < site->keep_box_count; i++) {
    bool in = true;
    for (int c = 0; c < 3; c++)
      in = in && at[c] > site->keep_box[i][0][c] - site->radius_mm &&
           at[c] < site->keep_box[i][1][c] + site->radius_mm;
    if (in) return true;
  }
  return false;
}

static void add(search *s, const double at[3]) {
  const ul_bore_site *site = s->lower->site;
  double height = s->at_level ? s->level : ul_dot(site->up, at);
  if (height > s->top + 1e-9 || height < s->low || height <= s->lower->above_mm) return;
  const double *near = s->lower->near_mm;
  if (near && ul_distance(near, at) > 3 * s->apart) return;
  if (is_in_a_box(site, at)) return;
  if (s->list) {
    s->list[s->count].height = height;
    s->list[s->count].far = ul_distance(at, site->at_mm);
    ul_copy3(at, s->list[s->count].at);
  }
  s->count++;
}

/* Steps along `a` to `b`, `apart` or less. */
static double steps(const search *s, const double a[3], const double b[3]) {
  return fmax(ceil(ul_distance(a, b) / s->apart), 1);
}

static void between(const double a[3], const double b[3], double share, double out[3]) {
  for (int c = 0; c < 3; c++) out[c] = a[c] + (b[c] - a[c]) * share;
}

/* Along the longest edge, and at each step across to the other two: a sliver gets no more than it
 * is long. */
static void add_triangle(search *s, const double *corner[3]) {
  int longest = 0;
  for (int k = 1; k < 3; k++)
    if (ul_distance(corner[k], corner[(k + 1) % 3]) >
        ul_distance(corner[longest], corner[(longest + 1) % 3]))
      longest = k;
  const double *a = corner[longest], *b = corner[(longest + 1) % 3], *c = corner[(longest + 2) % 3];
  double along[3], aside[3], middle[3] = {0};
  ul_sub(b, a, along);
  ul_sub(c, a, aside);
  double length2 = ul_dot(along, along);
  double foot = length2 > 0 ? ul_dot(aside, along) / length2 : 0; /* of c, on the edge */
  double n = steps(s, a, b);
  for (double i = 0; i <= n; i++) {
    double u = i / n, on_edge[3], opposite[3], at[3];
    between(a, b, u, on_edge);
    if (u <= foot)
      between(a, c, foot > 0 ? u / foot : 0, opposite);
    else
      between(c, b, (u - foot) / (1 - foot), opposite);
    double m = steps(s, on_edge, opposite);
    for (double j = 0; j <= m; j++) {
      between(on_edge, opposite, j / m, at);
      add(s, at);
    }
  }
  add(s, c);
  for (int k = 0; k < 3; k++) ul_add_scaled(middle, 1.0 / 3, corner[k], middle);
  add(s, middle);
}

/* Where the level cuts the triangle; all of one that lies in it. */
static void add_at_level(search *s, const double *corner[3]) {
  double above[3], end[3][3];
  int level = 0, ends = 0;
  for (int k = 0; k < 3; k++) {
    above[k] = ul_dot(s->lower->site->up, corner[k]) - s->level;
    level += fabs(above[k]) <= level_mm;
  }
  if (level == 3) add_triangle(s, corner);
  for (int k = 0; k < 3; k++) {
    const int next = (k + 1) % 3;
    if ((above[k] < 0) != (above[next] < 0))
      between(corner[k], corner[next], above[k] / (above[k] - above[next]), end[ends++]);
  }
  if (level == 3 || ends < 2) return;
  const double n = steps(s, end[0], end[1]);
  for (double i = 0; i <= n; i++) {
    between(end[0], end[1], i / n, end[2]);
    add(s, end[2]);
  }
}

static void gather(search *s) {
  s->count = 0;
  for (size_t t = 0; t < s->lower->site->cavity->triangle_count; t++) {
    if (!is_on_pocket(s, t)) continue;
    const double *corner[3];
    corners_of(s, t, corner);
    if (s->at_level)
      add_at_level(s, corner);
    else
      add_triangle(s, corner);
  }
}

static bool is_near_one(double (*taken)[3], size_t count, const double at[3], double apart) {
  for (size_t i = 0; i < count; i++)
    if (ul_distance(taken[i], at) < apart) return true;
  return false;
}

/* The first ones that are apart. */
static ul_status list_places(search *s, size_t most, double (*out)[3], size_t *count,
                             ul_error *err) {
  gather(s);
  s->list = ul_new_raw(s->count, sizeof *s->list);
  if (!s->list) return ul_fail_memory(err);
  gather(s);
  qsort(s->list, s->count, sizeof *s->list, highest_first);
  for (size_t i = 0; i < s->count && *count < most; i++)
    if (!is_near_one(out, *count, s->list[i].at, s->apart))
      ul_copy3(s->list[i].at, out[(*count)++]);
  free(s->list);
  return UL_OK;
}

ul_status ul_lower_places(const ul_lower *lower, size_t most, double (*out)[3], size_t *count,
                          ul_error *err) {
  *count = 0;
  const ul_bore_site *site = lower->site;
  search s = {.lower = lower, .top = ul_dot(site->up, site->at_mm)};
  find_pocket(&s);
  s.apart = fmax(lower->share * extent(&s), 2 * site->radius_mm);
  return list_places(&s, most, out, count, err);
}

ul_status ul_level_places(const ul_lower *lower, double level, size_t most, double (*out)[3],
                          size_t *count, ul_error *err) {
  *count = 0;
  const ul_bore_site *site = lower->site;
  ul_lower all = *lower;
  all.above_mm = -INFINITY;
  all.near_mm = NULL;
  search s = {.lower = &all,
              .top = ul_dot(site->up, site->at_mm),
              .at_level = true,
              .level = level,
              .apart = 2 * site->radius_mm};
  find_pocket(&s);
  return list_places(&s, most, out, count, err);
}
