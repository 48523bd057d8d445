#include "air/flat.h"

#include "air/nearest.h"
#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* Level for a moulder: what half a degree of error in setting the mould would turn. */
static const double level_slope = 0.008726867790758; /* tan 0.5 degrees */
/* Level to rounding, as a share of the height's size: float files have seven digits. */
static const double rounding = 1e-6;
/* A rim of facets round a convex end turns by a degree or more at each. */
static const double STICKS_OUT_DEG = 179;

ul_status ul_flat_init(ul_flat_scratch *s, const ul_surface *surface) {
  *s = (ul_flat_scratch){.seen = ul_new(surface->node_count, sizeof *s->seen)};
  return s->seen ? UL_OK : UL_E_MEMORY;
}

void ul_flat_clear(ul_flat_scratch *s) {
  free(s->seen);
  free(s->list);
  free(s->hull);
  free(s->hull_node);
}

/* --- the region --- */

static bool is_in(const ul_flat_scratch *s, uint32_t node) {
  return s->seen[node] == s->region;
}

/* Whether one may go on from `node` to `other`: neither this step nor the way from the top falls
 * more than the slope allows. */
static bool is_level(const ul_view *v, uint32_t top, uint32_t node, uint32_t other, double slope,
                     double slack) {
  const double *to = v->plan[other], *from = v->plan[node], *first = v->plan[top];
  double step = hypot(to[0] - from[0], to[1] - from[1]);
  double way = hypot(to[0] - first[0], to[1] - first[1]);
  return v->height[node] - v->height[other] <= slope * step + slack &&
         v->height[top] - v->height[other] <= slope * way + slack;
}

/* The nodes reached from `top` that are level to `slope`, or to `slack` at least. */
static ul_status gather(ul_flat_scratch *s, const ul_view *v, uint32_t top, double slope,
                        double slack) {
  const ul_surface *skin = v->surface;
  if (!ul_grow((void **)&s->list, &s->room, 1, sizeof *s->list)) return UL_E_MEMORY;
  s->list[0] = top;
  s->count = 1;
  s->seen[top] = ++s->region;
  for (size_t i = 0; i < s->count; i++) {
    uint32_t node = s->list[i];
    for (uint32_t f = skin->fan_first[node]; f < skin->fan_first[node + 1]; f++) {
      uint32_t other = skin->neighbour[f];
      if (is_in(s, other) || !is_level(v, top, node, other, slope, slack)) continue;
      if (!ul_grow((void **)&s->list, &s->room, s->count + 1, sizeof *s->list)) return UL_E_MEMORY;
      s->seen[other] = s->region;
      s->list[s->count++] = other;
    }
  }
  return UL_OK;
}

/* --- its outline --- */

typedef struct {
  double at[2];
  uint32_t node;
} spot;

static int by_place(const void *a, const void *b) {
  const spot *x = a, *y = b;
  for (int c = 0; c < 2; c++)
    if (x->at[c] != y->at[c]) return x->at[c] < y->at[c] ? -1 : 1;
  return (x->node > y->node) - (x->node < y->node);
}

/* Whether b lies strictly to the right of a-c, by more than rounding: a corner of the outline. */
static bool is_corner(const double a[2], const double b[2], const double c[2]) {
  double turn = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]);
  double size = hypot(b[0] - a[0], b[1] - a[1]) * hypot(c[0] - b[0], c[1] - b[1]);
  return turn > 1e-9 * size;
}

/* Convex hull, its corners only (Andrew 1979, Inf. Process. Lett. 9: lower, then upper chain). */
static size_t walk_round(const spot *spots, size_t count, spot *hull) {
  size_t n = 0;
  for (int upper = 0; upper < 2; upper++) {
    size_t base = n;
    for (size_t i = 0; i < count; i++) {
      const spot *next = &spots[upper ? count - 1 - i : i];
      while (n >= base + 2 && !is_corner(hull[n - 2].at, hull[n - 1].at, next->at)) n--;
      hull[n++] = *next;
    }
    n--; /* the last is the next chain's first */
  }
  return n;
}

/* A billionth of how wide the region is: places are told apart by no less, or corners in one line,
 * off it by rounding, would be walked in any order. */
static double grain(const ul_flat_scratch *s, const ul_view *v) {
  double low[2] = {INFINITY, INFINITY}, high[2] = {-INFINITY, -INFINITY};
  for (size_t i = 0; i < s->count; i++)
    for (int c = 0; c < 2; c++) {
      low[c] = fmin(low[c], v->plan[s->list[i]][c]);
      high[c] = fmax(high[c], v->plan[s->list[i]][c]);
    }
  return 1e-9 * fmax(high[0] - low[0], high[1] - low[1]);
}

static spot spot_at(const ul_view *v, uint32_t node, double grain) {
  spot p = {.node = node};
  for (int c = 0; c < 2; c++)
    p.at[c] = grain > 0 ? grain * rint(v->plan[node][c] / grain) : v->plan[node][c];
  return p;
}

static ul_status outline(ul_flat_scratch *s, const ul_view *v) {
  spot *spots = ul_new_raw(s->count, sizeof *spots),
       *hull = ul_new_raw(2 * s->count + 2, sizeof *hull);
  bool room = spots && hull &&
              ul_grow((void **)&s->hull, &s->hull_room, s->count, sizeof *s->hull) &&
              ul_grow((void **)&s->hull_node, &s->hull_node_room, s->count, sizeof *s->hull_node);
  if (room) {
    size_t distinct = 0;
    const double apart = grain(s, v);
    for (size_t i = 0; i < s->count; i++) spots[i] = spot_at(v, s->list[i], apart);
    qsort(spots, s->count, sizeof *spots, by_place);
    for (size_t i = 0; i < s->count; i++)
      if (i == 0 || spots[i].at[0] != spots[distinct - 1].at[0] ||
          spots[i].at[1] != spots[distinct - 1].at[1])
        spots[distinct++] = spots[i];
    s->hull_count = distinct < 2 ? distinct : walk_round(spots, distinct, hull);
    for (size_t i = 0; i < s->hull_count; i++) {
      const spot *corner = distinct < 2 ? &spots[i] : &hull[i];
      s->hull[i][0] = v->plan[corner->node][0];
      s->hull[i][1] = v->plan[corner->node][1];
      s->hull_node[i] = corner->node;
    }
  }
  free(spots);
  free(hull);
  return room ? UL_OK : UL_E_MEMORY;
}

static double apart(const ul_flat_scratch *s, size_t a, size_t b) {
  return hypot(s->hull[a][0] - s->hull[b][0], s->hull[a][1] - s->hull[b][1]);
}

/* The two corners farthest from each other. */
static double longest(const ul_flat_scratch *s, size_t pair[2]) {
  double best = 0;
  pair[0] = pair[1] = 0;
  for (size_t a = 0; a < s->hull_count; a++)
    for (size_t b = a + 1; b < s->hull_count; b++)
      if (apart(s, a, b) > best * (1 + 1e-12)) {
        best = apart(s, a, b);
        pair[0] = a;
        pair[1] = b;
      }
  return best;
}

/* How wide the outline is across the direction. */
static double width_across(const ul_flat_scratch *s, const double along[2]) {
  double low = INFINITY, high = -INFINITY;
  for (size_t i = 0; i < s->hull_count; i++) {
    double across = along[0] * s->hull[i][1] - along[1] * s->hull[i][0];
    low = fmin(low, across);
    high = fmax(high, across);
  }
  return s->hull_count ? high - low : 0;
}

/* --- its ends --- */

static bool triangle_is_in(const ul_flat_scratch *s, const ul_surface *skin, uint32_t t) {
  return is_in(s, skin->node[t][0]) && is_in(s, skin->node[t][1]) && is_in(s, skin->node[t][2]);
}

/* The angle of the region at a node, from above, degrees: 180 along a straight rim, less at a
 * corner that sticks out, more at one that reaches in. */
static double angle_at(const ul_flat_scratch *s, const ul_view *v, uint32_t node) {
  const ul_surface *skin = v->surface;
  double sum = 0;
  for (uint32_t f = skin->fan_first[node]; f < skin->fan_first[node + 1]; f++) {
    const uint32_t t = skin->fan[f] / 3, c = skin->fan[f] % 3;
    if (!triangle_is_in(s, skin, t)) continue;
    const double *at = v->plan[node];
    const double *p = v->plan[skin->node[t][(c + 1) % 3]], *q = v->plan[skin->node[t][(c + 2) % 3]];
    const double a[2] = {p[0] - at[0], p[1] - at[1]}, b[2] = {q[0] - at[0], q[1] - at[1]};
    sum += fabs(atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]));
  }
  return sum * 180 / M_PI;
}

/* Puts the corners of the region that stick out after those of its hull: foam comes last into the
 * tip of an arm between two longer ones, too. How many there are then. */
static ul_status add_tips(ul_flat_scratch *s, const ul_view *v, size_t *count) {
  *count = s->hull_count;
  if (!ul_grow((void **)&s->hull, &s->hull_room, s->hull_count + s->count, sizeof *s->hull) ||
      !ul_grow((void **)&s->hull_node, &s->hull_node_room, s->hull_count + s->count,
               sizeof *s->hull_node))
    return UL_E_MEMORY;
  for (size_t i = 0; i < s->count; i++) {
    const uint32_t node = s->list[i];
    const double angle = angle_at(s, v, node);
    if (!(angle > 0 && angle < STICKS_OUT_DEG)) continue;
    s->hull[*count][0] = v->plan[node][0];
    s->hull[*count][1] = v->plan[node][1];
    s->hull_node[(*count)++] = node;
  }
  return UL_OK;
}

static void add_end(const ul_view *v, ul_peak *peak, uint32_t node) {
  ul_copy3(ul_surface_at(v->surface, node), peak->end_mm[peak->end_count++]);
}

/* Corners as far from each other as can be, one by one, as long as the next is an eighth of the
 * extent away from all so far: a lid five times as long as wide has four corners to vent. */
static ul_status spread_ends(ul_flat_scratch *s, const ul_view *v, const size_t pair[2],
                             ul_peak *peak) {
  size_t chosen[8] = {pair[0], pair[1]}, most = peak->kind == UL_PEAK_FACE ? 8 : 2;
  size_t corners = s->hull_count;
  if (most > 2 && add_tips(s, v, &corners) != UL_OK) return UL_E_MEMORY;
  peak->end_count = 0;
  add_end(v, peak, s->hull_node[pair[0]]);
  add_end(v, peak, s->hull_node[pair[1]]);
  while (peak->end_count < most) {
    size_t best = 0;
    double far = 0;
    for (size_t i = 0; i < corners; i++) {
      double near = INFINITY;
      for (size_t c = 0; c < peak->end_count; c++) near = fmin(near, apart(s, i, chosen[c]));
      if (near <= far * (1 + 1e-12)) continue;
      far = near;
      best = i;
    }
    if (far < 0.125 * peak->extent_mm) break;
    chosen[peak->end_count] = best;
    add_end(v, peak, s->hull_node[best]);
  }
  return UL_OK;
}

/* --- its middle --- */

/* Centroid of the region's triangles, each met three times; of its ends' middle if it has none. */
static void find_centroid(const ul_flat_scratch *s, const ul_view *v, const ul_peak *peak,
                          double out[3]) {
  const ul_surface *skin = v->surface;
  const double *near = ul_surface_at(skin, s->list[0]);
  double sum[3] = {0, 0, 0}, area = 0;
  for (size_t i = 0; i < s->count; i++)
    for (uint32_t f = skin->fan_first[s->list[i]]; f < skin->fan_first[s->list[i] + 1]; f++) {
      uint32_t t = skin->fan[f] / 3;
      if (!triangle_is_in(s, skin, t)) continue;
      double a = fabs(ul_plan_area2(v, t));
      area += a;
      for (int c = 0; c < 3; c++)
        for (int k = 0; k < 3; k++)
          sum[k] += a * (ul_surface_at(skin, skin->node[t][c])[k] - near[k]) / 3;
    }
  for (int c = 0; c < 3; c++)
    out[c] = area > 0 ? near[c] + sum[c] / area : 0.5 * (peak->end_mm[0][c] + peak->end_mm[1][c]);
}

/* The point of the region nearest to `wanted`: a ring's centroid is not on the ring. */
static void put_on_region(const ul_flat_scratch *s, const ul_view *v, const double wanted[3],
                          double out[3]) {
  const ul_surface *skin = v->surface;
  double best = INFINITY;
  for (size_t i = 0; i < s->count; i++)
    for (uint32_t f = skin->fan_first[s->list[i]]; f < skin->fan_first[s->list[i] + 1]; f++) {
      uint32_t t = skin->fan[f] / 3, c = skin->fan[f] % 3;
      const uint32_t *n = skin->node[t];
      const double *p[3];
      double near[3];
      for (int k = 0; k < 3; k++) p[k] = ul_surface_at(skin, n[(c + (uint32_t)k) % 3]);
      if (triangle_is_in(s, skin, t))
        ul_nearest_on_triangle(wanted, p[0], p[1], p[2], near);
      else if (is_in(s, n[(c + 1) % 3]))
        ul_nearest_on_segment(wanted, p[0], p[1], near);
      else
        ul_copy3(p[0], near);
      double away = ul_distance(near, wanted);
      if (away >= best) continue;
      best = away;
      ul_copy3(near, out);
    }
}

/* Where the top is level to rounding its middle is the place; else its highest vertex. */
static ul_status find_middle(ul_flat_scratch *s, const ul_view *v, uint32_t top, ul_peak *peak) {
  double wanted[3];
  ul_status status = gather(s, v, top, 0, rounding * fmax(peak->extent_mm, 1));
  if (status == UL_OK) status = outline(s, v);
  if (status != UL_OK) return status;
  ul_copy3(ul_surface_at(v->surface, top), peak->at_mm);
  if (peak->kind == UL_PEAK_POINT || s->count < 2) return UL_OK;
  ul_peak level = {.kind = UL_PEAK_EDGE};
  size_t pair[2];
  longest(s, pair);
  status = spread_ends(s, v, pair, &level);
  if (status != UL_OK) return status;
  find_centroid(s, v, &level, wanted);
  put_on_region(s, v, wanted, peak->at_mm);
  return UL_OK;
}

/* --- all together --- */

/* Extent and width of the region within `slope`; the width is across `along`, which is the longest
 * direction, and is set unless `keep` says it is another region's. */
static ul_status size_up(ul_flat_scratch *s, const ul_view *v, uint32_t top, double slope,
                         double along[2], bool keep, double size[2]) {
  size_t pair[2];
  ul_status status = gather(s, v, top, slope, 1e-9);
  if (status == UL_OK) status = outline(s, v);
  if (status != UL_OK) return status;
  size[0] = longest(s, pair);
  if (!keep && size[0] > 0)
    for (int c = 0; c < 2; c++) along[c] = (s->hull[pair[1]][c] - s->hull[pair[0]][c]) / size[0];
  size[1] = width_across(s, along);
  return UL_OK;
}

ul_status ul_flat_describe(ul_flat_scratch *s, const ul_view *v, uint32_t top, ul_peak *peak) {
  double along[2] = {1, 0}, wide[2], size[2];
  size_t pair[2];
  ul_status status = size_up(s, v, top, level_slope, along, false, size);
  if (status == UL_OK) status = size_up(s, v, top, 2 * level_slope, along, true, wide);
  if (status == UL_OK) status = size_up(s, v, top, level_slope, along, true, size);
  if (status != UL_OK) return status;
  bool round = wide[0] > 1.6 * size[0];
  bool thin = size[1] < 0.01 * size[0] || wide[1] > 1.6 * size[1];
  peak->kind = size[0] == 0 || round ? UL_PEAK_POINT : thin ? UL_PEAK_EDGE : UL_PEAK_FACE;
  peak->extent_mm = peak->kind == UL_PEAK_POINT ? 0 : size[0];
  longest(s, pair);
  if (peak->kind == UL_PEAK_POINT) {
    peak->end_count = 0;
    add_end(v, peak, top);
  } else {
    status = spread_ends(s, v, pair, peak);
    if (status != UL_OK) return status;
  }
  return find_middle(s, v, top, peak);
}

ul_status ul_flat_mark(ul_flat_scratch *s, const ul_view *v, uint32_t top, uint32_t mark,
                       uint32_t *of_node) {
  ul_status status = gather(s, v, top, level_slope, 1e-9);
  for (size_t i = 0; status == UL_OK && i < s->count; i++) of_node[s->list[i]] = mark;
  return status;
}
