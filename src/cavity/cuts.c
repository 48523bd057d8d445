#include "cavity/cuts.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A part of a segment on its way down to the regions that hold it. */
struct ul_cut_walk {
  double a[2], b[2];
  uint32_t region;
};

static double left_of(const double from[2], const double along[2], const double p[2]) {
  return along[0] * (p[1] - from[1]) - along[1] * (p[0] - from[0]);
}

static bool direction(const double a[2], const double b[2], double along[2]) {
  along[0] = b[0] - a[0];
  along[1] = b[1] - a[1];
  double length = hypot(along[0], along[1]);
  if (!(length > 0)) return false;
  along[0] /= length;
  along[1] /= length;
  return true;
}

static void between(const double a[2], const double b[2], double share, double out[2]) {
  for (int c = 0; c < 2; c++) out[c] = a[c] + share * (b[c] - a[c]);
}

static bool add_corner(ul_cuts *k, const double p[2]) {
  void *block = k->corner;
  if (!ul_grow(&block, &k->corner_room, k->corner_count + 1, sizeof *k->corner)) return false;
  k->corner = block;
  memcpy(k->corner[k->corner_count++], p, sizeof *k->corner);
  return true;
}

static bool add_region(ul_cuts *k, size_t first) {
  void *block = k->region;
  if (k->region_count == UINT32_MAX ||
      !ul_grow(&block, &k->region_room, k->region_count + 1, sizeof *k->region))
    return false;
  k->region = block;
  k->region[k->region_count++] =
      (ul_region){.first = first, .count = (uint32_t)(k->corner_count - first)};
  return true;
}

bool ul_cuts_begin(ul_cuts *k, const double corner[3][2], double near) {
  k->near = near;
  k->region_count = k->corner_count = 0;
  for (int i = 0; i < 3; i++)
    if (!add_corner(k, corner[i])) return false;
  return add_region(k, 0);
}

void ul_cuts_free(ul_cuts *k) {
  free(k->region);
  free(k->corner);
  free(k->walk);
  memset(k, 0, sizeof *k);
}

/* -- halving a region -- */

/* How far left of the line, 0 when it is as good as on it. */
static double height(const ul_cuts *k, const double from[2], const double along[2],
                     const double p[2]) {
  double h = left_of(from, along, p);
  return fabs(h) <= k->near ? 0 : h;
}

/* The region's corners on one side of the line (`sign` 1: left), and where its rim crosses it. */
static bool add_half(ul_cuts *k, const ul_region *r, double sign) {
  size_t first = k->corner_count;
  for (uint32_t i = 0; i < r->count; i++) {
    double p[2], q[2], at[2];
    memcpy(p, k->corner[r->first + i], sizeof p);
    memcpy(q, k->corner[r->first + (i + 1) % r->count], sizeof q);
    double hp = sign * height(k, r->from, r->along, p), hq = sign * height(k, r->from, r->along, q);
    if (hp >= 0 && !add_corner(k, p)) return false;
    if (hp * hq >= 0) continue;
    between(p, q, hp / (hp - hq), at);
    if (!add_corner(k, at)) return false;
  }
  return add_region(k, first);
}

/* False: the line leaves the region whole. */
static bool divides(const ul_cuts *k, const ul_region *r) {
  bool left = false, right = false;
  for (uint32_t i = 0; i < r->count; i++) {
    double h = height(k, r->from, r->along, k->corner[r->first + i]);
    left = left || h > 0;
    right = right || h < 0;
  }
  return left && right;
}

static bool halve(ul_cuts *k, uint32_t region, const double a[2], const double b[2]) {
  ul_region r = k->region[region];
  memcpy(r.from, a, sizeof r.from);
  if (!direction(a, b, r.along) || !divides(k, &r)) return true;
  r.side[0] = (uint32_t)k->region_count;
  r.side[1] = r.side[0] + 1;
  if (!add_half(k, &r, 1) || !add_half(k, &r, -1)) return false;
  k->region[region] = r;
  return true;
}

/* -- a segment -- */

static bool push(ul_cuts *k, size_t *depth, const double a[2], const double b[2], uint32_t region) {
  if (hypot(b[0] - a[0], b[1] - a[1]) <= k->near) return true;
  if (!ul_grow((void **)&k->walk, &k->walk_room, *depth + 1, sizeof *k->walk)) return false;
  struct ul_cut_walk *w = &k->walk[(*depth)++];
  memcpy(w->a, a, sizeof w->a);
  memcpy(w->b, b, sizeof w->b);
  w->region = region;
  return true;
}

/* Hands the parts left and right of the region's line on; what lies along it has nothing to cut. */
static bool pass_on(ul_cuts *k, size_t *depth, const struct ul_cut_walk *w) {
  const ul_region r = k->region[w->region];
  double ha = height(k, r.from, r.along, w->a), hb = height(k, r.from, r.along, w->b), at[2];
  if (ha == 0 && hb == 0) return true;
  if (ha >= 0 && hb >= 0) return push(k, depth, w->a, w->b, r.side[0]);
  if (ha <= 0 && hb <= 0) return push(k, depth, w->a, w->b, r.side[1]);
  between(w->a, w->b, ha / (ha - hb), at);
  return push(k, depth, w->a, at, r.side[ha < 0]) && push(k, depth, at, w->b, r.side[hb < 0]);
}

/* The part of ab within the triangle as it was at first; false if there is none. */
static bool clip(const ul_cuts *k, double a[2], double b[2]) {
  for (int i = 0; i < 3; i++) {
    double along[2], at[2];
    if (!direction(k->corner[i], k->corner[(i + 1) % 3], along)) return false;
    double ha = left_of(k->corner[i], along, a), hb = left_of(k->corner[i], along, b);
    if (ha <= k->near && hb <= k->near) return false;
    if (ha >= 0 && hb >= 0) continue;
    between(a, b, ha / (ha - hb), at);
    memcpy(ha < 0 ? a : b, at, sizeof at);
  }
  return true;
}

bool ul_cuts_add(ul_cuts *k, const double from[2], const double to[2]) {
  double a[2] = {from[0], from[1]}, b[2] = {to[0], to[1]};
  size_t depth = 0;
  if (!clip(k, a, b)) return true;
  if (!push(k, &depth, a, b, 0)) return false;
  while (depth > 0) {
    struct ul_cut_walk w = k->walk[--depth];
    bool whole = k->region[w.region].side[0] == 0;
    if (whole ? !halve(k, w.region, w.a, w.b) : !pass_on(k, &depth, &w)) return false;
  }
  return true;
}
