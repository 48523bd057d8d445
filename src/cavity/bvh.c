/* A complete binary tree in heap order: node i has children 2i+1 and 2i+2, and the triangles are
 * ordered so that every node owns one stretch of them. Each node is halved at the median of the
 * triangles' middles along the longest side of their box.
 *
 * The box of a piece of wall that stands askew reaches far off the wall, and a search from deep
 * inside would have to look into hundreds. So the last levels have plates as well: few triangles of
 * a fine mesh are nearly flat, and a thin plate round them tells their distance to second order. It
 * lies along their longest edge: the triangles of a cone, a turned cap or a flat lid's fan are long
 * and thin, and something as wide as they are long would reach over hundreds of others. */
#include "cavity/bvh.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"

enum { LEAF = 4, ALONE_LEVELS = 6, PLATE_LEVELS = 3, DEEPEST = 32 };

typedef struct {
  float lo[3], hi[3]; /* rounded outwards */
} node;

/* Holds all points whose offset from `centre` is between lo and hi along each of three unit vectors
 * square to one another, the last of them the normal. */
typedef struct {
  double centre[3], axis[3][3];
  double lo[3], hi[3];
} plate;

typedef struct facet {
  double corner[3][3];
} facet;

/* A triangle while being sorted. */
typedef struct {
  float middle[3];
  uint32_t triangle;
} item;

struct ul_bvh {
  size_t count;
  int levels;       /* leaves are the nodes of this depth */
  double origin[3]; /* of the nodes' boxes, so that floats suffice far from the file's origin */
  node *node;
  plate *plate; /* of the nodes from number `first_plate` on */
  size_t first_plate;
  uint32_t *first;  /* per leaf, and one more: where its facets begin */
  facet *facet;     /* in tree order */
  uint32_t *number; /* of each facet */
  uint32_t *place;  /* of each triangle among the facets */
  item *item;       /* only while being built */
};

/* The library's own fmin and fmax look out for NaN, and cost a call each. */
static double least(double a, double b) {
  return a < b ? a : b;
}

static double most(double a, double b) {
  return a > b ? a : b;
}

/* The stretch of facets that node `i` of depth `level` owns: halving rounds down. */
static void stretch(const ul_bvh *b, size_t i, int level, size_t *begin, size_t *end) {
  *begin = 0, *end = b->count;
  for (int l = level - 1; l >= 0; l--) {
    size_t middle = *begin + (*end - *begin) / 2;
    if (((i + 1) >> l) & 1)
      *begin = middle;
    else
      *end = middle;
  }
}

static bool before(const item *a, const item *b, int axis) {
  if (a->middle[axis] != b->middle[axis]) return a->middle[axis] < b->middle[axis];
  return a->triangle < b->triangle;
}

/* Puts the `nth` in place with all smaller ones before it (Hoare's selection). */
static void select_nth(item *it, size_t count, size_t nth, int axis) {
  size_t lo = 0, hi = count - 1;
  while (lo < hi) {
    item pivot = it[lo + (hi - lo) / 2];
    size_t i = lo, j = hi;
    for (;;) {
      while (before(&it[i], &pivot, axis)) i++;
      while (before(&pivot, &it[j], axis)) j--;
      if (i >= j) break;
      item swap = it[i];
      it[i++] = it[j];
      it[j--] = swap;
    }
    if (nth <= j)
      hi = j;
    else
      lo = j + 1;
  }
}

static int longest_side(const item *it, size_t count) {
  float lo[3] = {FLT_MAX, FLT_MAX, FLT_MAX}, hi[3] = {-FLT_MAX, -FLT_MAX, -FLT_MAX};
  for (size_t i = 0; i < count; i++)
    for (int c = 0; c < 3; c++) {
      if (it[i].middle[c] < lo[c]) lo[c] = it[i].middle[c];
      if (it[i].middle[c] > hi[c]) hi[c] = it[i].middle[c];
    }
  int axis = 0;
  for (int c = 1; c < 3; c++)
    if (hi[c] - lo[c] > hi[axis] - lo[axis]) axis = c;
  return axis;
}

static void sort_tree(item *it, size_t count, int levels) {
  if (levels == 0 || count < 2) return;
  size_t middle = count / 2;
  select_nth(it, count, middle, longest_side(it, count));
  sort_tree(it, middle, levels - 1);
  sort_tree(it + middle, count - middle, levels - 1);
}

static ul_status sort_below(void *context, size_t block, int worker) {
  (void)worker;
  ul_bvh *b = context;
  size_t begin, end;
  stretch(b, ((size_t)1 << ALONE_LEVELS) - 1 + block, ALONE_LEVELS, &begin, &end);
  sort_tree(b->item + begin, end - begin, b->levels - ALONE_LEVELS);
  return UL_OK;
}

static void join_children(const ul_bvh *b, size_t i) {
  const node *l = &b->node[2 * i + 1], *r = &b->node[2 * i + 2];
  for (int c = 0; c < 3; c++) {
    b->node[i].lo[c] = fminf(l->lo[c], r->lo[c]);
    b->node[i].hi[c] = fmaxf(l->hi[c], r->hi[c]);
  }
}

static void box_leaf(const ul_bvh *b, size_t leaf, node *n) {
  for (int c = 0; c < 3; c++) {
    double lo = INFINITY, hi = -INFINITY; /* stays so in an empty leaf: never entered */
    for (uint32_t f = b->first[leaf]; f < b->first[leaf + 1]; f++)
      for (int v = 0; v < 3; v++) {
        lo = least(lo, b->facet[f].corner[v][c] - b->origin[c]);
        hi = most(hi, b->facet[f].corner[v][c] - b->origin[c]);
      }
    n->lo[c] = nextafterf((float)lo, -INFINITY);
    n->hi[c] = nextafterf((float)hi, INFINITY);
  }
}

static void box_all(ul_bvh *b) {
  size_t leaves = (size_t)1 << b->levels, begin, end = 0;
  for (size_t i = 0; i < leaves; i++) {
    stretch(b, leaves - 1 + i, b->levels, &begin, &end);
    b->first[i] = (uint32_t)begin;
    b->first[i + 1] = (uint32_t)end;
    box_leaf(b, i, &b->node[leaves - 1 + i]);
  }
  for (size_t i = leaves - 1; i-- > 0;) join_children(b, i);
}

/* Any direction square to the unit vector. */
static void square_to_unit(const double unit[3], double out[3]) {
  const int least_axis = fabs(unit[0]) < fabs(unit[1]) ? (fabs(unit[0]) < fabs(unit[2]) ? 0 : 2)
                                                       : (fabs(unit[1]) < fabs(unit[2]) ? 1 : 2);
  double axis[3] = {least_axis == 0, least_axis == 1, least_axis == 2};
  ul_cross(unit, axis, out);
}

static void to_unit(double v[3], double length) {
  for (int c = 0; c < 3; c++) v[c] /= length;
}

/* Mean of the corners; the sum of the triangles' normals; along the longest edge, and across. */
static void place_plate(const facet *f, size_t count, const double origin[3], plate *p) {
  double sum[3] = {0}, along[3] = {0}, *normal = p->axis[2];
  for (size_t i = 0; i < count; i++) {
    double edge[3][3], n[3];
    for (int v = 0; v < 3; v++) {
      ul_sub(f[i].corner[(v + 1) % 3], f[i].corner[v], edge[v]);
      if (ul_dot(edge[v], edge[v]) > ul_dot(along, along)) ul_copy3(edge[v], along);
      for (int c = 0; c < 3; c++) sum[c] += f[i].corner[v][c] - origin[c];
    }
    ul_cross(edge[0], edge[1], n);
    for (int c = 0; c < 3; c++) normal[c] += n[c];
  }
  for (int c = 0; c < 3; c++) p->centre[c] = sum[c] / (3.0 * (double)count);
  const double area = ul_norm(normal);
  if (area > 0)
    to_unit(normal, area);
  else
    normal[2] = 1;
  ul_cross(normal, along, p->axis[1]);
  if (!(ul_norm(p->axis[1]) > 0)) square_to_unit(normal, p->axis[1]);
  to_unit(p->axis[1], ul_norm(p->axis[1]));
  ul_cross(p->axis[1], normal, p->axis[0]);
}

static void fit_plate(const ul_bvh *b, size_t begin, size_t end, plate *p) {
  *p = (plate){0};
  for (int k = 0; k < 3; k++) p->lo[k] = INFINITY, p->hi[k] = -INFINITY;
  if (begin == end) return;
  place_plate(b->facet + begin, end - begin, b->origin, p);
  for (size_t f = begin; f < end; f++)
    for (int v = 0; v < 3; v++) {
      double at[3], to[3];
      ul_sub(b->facet[f].corner[v], b->origin, at);
      ul_sub(at, p->centre, to);
      for (int k = 0; k < 3; k++) {
        const double off = ul_dot(to, p->axis[k]);
        p->lo[k] = least(p->lo[k], off);
        p->hi[k] = most(p->hi[k], off);
      }
    }
}

/* The plates above and at one block's leaves. */
static ul_status fit_plates(void *context, size_t block, int worker) {
  (void)worker;
  ul_bvh *b = context;
  size_t share = ((size_t)1 << b->levels) >> ALONE_LEVELS,
         first_leaf = ((size_t)1 << b->levels) - 1;
  for (size_t leaf = block * share; leaf < (block + 1) * share; leaf++)
    for (int up = 0; up < PLATE_LEVELS; up++) {
      if (leaf & (((size_t)1 << up) - 1)) break; /* the leftmost leaf below makes a node's plate */
      size_t node = ((first_leaf + leaf + 1) >> up) - 1;
      fit_plate(b, b->first[leaf], b->first[leaf + ((size_t)1 << up)],
                &b->plate[node - b->first_plate]);
    }
  return UL_OK;
}

static double plate_square(const plate *p, const double from[3]) {
  double to[3], sum = 0;
  ul_sub(from, p->centre, to);
  for (int k = 0; k < 3; k++) {
    const double off = ul_dot(to, p->axis[k]);
    const double beyond = most(most(p->lo[k] - off, off - p->hi[k]), 0);
    sum += beyond * beyond;
  }
  return sum;
}

static void take_triangles(ul_bvh *b, const ul_mesh *const *mesh, size_t count) {
  size_t n = 0;
  for (size_t m = 0; m < count; m++)
    for (size_t t = 0; t < mesh[m]->triangle_count; t++, n++) {
      item *it = &b->item[n];
      it->triangle = (uint32_t)n;
      for (int c = 0; c < 3; c++) {
        double sum = 0;
        for (int v = 0; v < 3; v++)
          sum += mesh[m]->vertex_mm[mesh[m]->triangle[t][v]][c] - b->origin[c];
        it->middle[c] = (float)(sum / 3);
      }
    }
}

static void take_facets(ul_bvh *b, const ul_mesh *const *mesh, size_t count) {
  for (size_t f = 0; f < b->count; f++) {
    b->number[f] = b->item[f].triangle;
    b->place[b->number[f]] = (uint32_t)f;
  }
  size_t n = 0;
  for (size_t m = 0; m < count; m++)
    for (size_t t = 0; t < mesh[m]->triangle_count; t++, n++)
      for (int v = 0; v < 3; v++)
        ul_copy3(mesh[m]->vertex_mm[mesh[m]->triangle[t][v]], b->facet[b->place[n]].corner[v]);
}

static bool bvh_alloc(ul_bvh *b) {
  while (((size_t)LEAF << b->levels) < b->count) b->levels++;
  bool plates = b->levels >= ALONE_LEVELS; /* below that a search is short anyway */
  b->first_plate = ((size_t)2 << b->levels) - 1;
  if (plates) b->first_plate = ((size_t)1 << (b->levels - PLATE_LEVELS + 1)) - 1;
  b->plate = ul_new_raw(((size_t)2 << b->levels) - 1 - b->first_plate, sizeof *b->plate);
  b->node = ul_new_raw(((size_t)2 << b->levels) - 1, sizeof *b->node);
  b->first = ul_new_raw(((size_t)1 << b->levels) + 1, sizeof *b->first);
  b->facet = ul_new_raw(b->count, sizeof *b->facet);
  b->number = ul_new_raw(b->count, sizeof *b->number);
  b->place = ul_new_raw(b->count, sizeof *b->place);
  b->item = ul_new_raw(b->count, sizeof *b->item);
  return b->node && b->plate && b->first && b->facet && b->number && b->place && b->item;
}

ul_status ul_bvh_new(const ul_mesh *const *mesh, size_t count, const ul_job *job, ul_bvh **out,
                     ul_error *err) {
  *out = NULL;
  ul_bvh *b = ul_new(1, sizeof *b);
  if (!b) return ul_fail_memory(err);
  for (size_t m = 0; m < count; m++) b->count += mesh[m]->triangle_count;
  if (!bvh_alloc(b)) {
    ul_bvh_free(b);
    return ul_fail_memory(err);
  }
  double box[2][3];
  ul_mesh_box_mm(mesh[0], box);
  for (int c = 0; c < 3; c++) b->origin[c] = (box[0][c] + box[1][c]) / 2;
  take_triangles(b, mesh, count);
  sort_tree(b->item, b->count, b->levels < ALONE_LEVELS ? b->levels : ALONE_LEVELS);
  bool deep = b->levels >= ALONE_LEVELS;
  ul_status status =
      deep ? ul_parallel(job, NULL, (size_t)1 << ALONE_LEVELS, sort_below, b) : UL_OK;
  if (!status) {
    take_facets(b, mesh, count);
    box_all(b);
    if (deep) status = ul_parallel(job, NULL, (size_t)1 << ALONE_LEVELS, fit_plates, b);
  }
  if (status) {
    ul_bvh_free(b);
    return ul_fail(err, status, "search tree: %s", ul_status_text(status));
  }
  free(b->item);
  b->item = NULL;
  *out = b;
  return UL_OK;
}

void ul_bvh_free(ul_bvh *b) {
  if (!b) return;
  free(b->node);
  free(b->plate);
  free(b->first);
  free(b->facet);
  free(b->number);
  free(b->place);
  free(b->item);
  free(b);
}

size_t ul_bvh_count(const ul_bvh *b) {
  return b->count;
}

void ul_bvh_triangle(const ul_bvh *b, uint32_t triangle, double corner[3][3]) {
  memcpy(corner, b->facet[b->place[triangle]].corner, sizeof(double[3][3]));
}

static double square_to(const double from[3], const double at[3]) {
  double d[3];
  ul_sub(from, at, d);
  return ul_dot(d, d);
}

static double nearest_on_edge(const double a[3], const double b[3], const double from[3],
                              double at[3]) {
  double ab[3], ap[3];
  ul_sub(b, a, ab);
  ul_sub(from, a, ap);
  double length = ul_dot(ab, ab), t = length > 0 ? ul_dot(ap, ab) / length : 0;
  ul_add_scaled(a, t < 0 ? 0 : t > 1 ? 1 : t, ab, at);
  return square_to(from, at);
}

double ul_triangle_nearest(const double corner[3][3], const double from[3], double at[3]) {
  double ab[3], ac[3], ap[3], normal[3], side[3];
  ul_sub(corner[1], corner[0], ab);
  ul_sub(corner[2], corner[0], ac);
  ul_sub(from, corner[0], ap);
  ul_cross(ab, ac, normal);
  double square = ul_dot(normal, normal);
  ul_cross(ab, ap, side);
  double w = ul_dot(side, normal);
  ul_cross(ap, ac, side);
  double v = ul_dot(side, normal);
  if (square > 0 && v >= 0 && w >= 0 && v + w <= square) { /* over its inside */
    double away = ul_dot(ap, normal);
    ul_add_scaled(from, -away / square, normal, at);
    return away * away / square;
  }
  double best = INFINITY, edge_at[3];
  for (int k = 0; k < 3; k++) {
    double d = nearest_on_edge(corner[k], corner[k == 2 ? 0 : k + 1], from, edge_at);
    if (d >= best) continue;
    best = d;
    ul_copy3(edge_at, at);
  }
  return best;
}

/* In double, so that it is never above the distance to what is in the box. */
static double box_square(const node *n, const double p[3]) {
  double sum = 0;
  for (int c = 0; c < 3; c++) {
    double d = most(most(n->lo[c] - p[c], p[c] - n->hi[c]), 0);
    sum += d * d;
  }
  return sum;
}

static bool search_leaf(const ul_bvh *b, size_t leaf, const double from[3], ul_nearest *near) {
  bool found = false;
  for (uint32_t f = b->first[leaf]; f < b->first[leaf + 1]; f++) {
    double at[3], d = ul_triangle_nearest((const double(*)[3])b->facet[f].corner, from, at);
    if (!(d < near->square)) continue;
    near->square = d;
    near->triangle = b->number[f];
    ul_copy3(at, near->at);
    found = true;
  }
  return found;
}

bool ul_bvh_nearest(const ul_bvh *b, const double from[3], ul_nearest *near) {
  struct {
    uint32_t node;
    double square;
  } stack[2 * DEEPEST];
  double p[3];
  ul_sub(from, b->origin, p);
  size_t first_leaf = ((size_t)1 << b->levels) - 1;
  int depth = 0;
  bool found = false;
  stack[depth].node = 0;
  stack[depth++].square = box_square(&b->node[0], p);
  while (depth > 0) {
    uint32_t i = stack[--depth].node;
    if (!(stack[depth].square < near->square)) continue;
    if (i >= b->first_plate && !(plate_square(&b->plate[i - b->first_plate], p) < near->square))
      continue;
    if (i >= first_leaf) {
      found |= search_leaf(b, i - first_leaf, from, near);
      continue;
    }
    double l = box_square(&b->node[2 * i + 1], p), r = box_square(&b->node[2 * i + 2], p);
    bool left_first = l <= r;
    stack[depth].node = 2 * i + (left_first ? 2 : 1);
    stack[depth++].square = left_first ? r : l;
    stack[depth].node = 2 * i + (left_first ? 1 : 2);
    stack[depth++].square = left_first ? l : r;
  }
  return found;
}

static bool box_meets(const node *n, const double low[3], const double high[3]) {
  for (int c = 0; c < 3; c++)
    if (n->lo[c] > high[c] || n->hi[c] < low[c]) return false;
  return true;
}

static bool facet_meets(const facet *f, const double low[3], const double high[3]) {
  for (int c = 0; c < 3; c++) {
    const double x = f->corner[0][c], y = f->corner[1][c], z = f->corner[2][c];
    if (least(x, least(y, z)) > high[c] || most(x, most(y, z)) < low[c]) return false;
  }
  return true;
}

void ul_bvh_in_box(const ul_bvh *b, const double low[3], const double high[3], ul_bvh_see see,
                   void *context) {
  double lo[3], hi[3];
  ul_sub(low, b->origin, lo);
  ul_sub(high, b->origin, hi);
  uint32_t stack[2 * DEEPEST];
  size_t first_leaf = ((size_t)1 << b->levels) - 1;
  int depth = 0;
  stack[depth++] = 0;
  while (depth > 0) {
    uint32_t i = stack[--depth];
    if (!box_meets(&b->node[i], lo, hi)) continue;
    if (i < first_leaf) {
      stack[depth++] = 2 * i + 2;
      stack[depth++] = 2 * i + 1;
      continue;
    }
    for (uint32_t f = b->first[i - first_leaf]; f < b->first[i - first_leaf + 1]; f++)
      if (facet_meets(&b->facet[f], low, high)) see(context, b->number[f]);
  }
}

/* Moller & Trumbore 1997, J. Graphics Tools 2(1). Hits on an edge count for both triangles. */
static double ray_triangle(const facet *f, const double from[3], const double way[3]) {
  double ab[3], ac[3], p[3], q[3], s[3];
  ul_sub(f->corner[1], f->corner[0], ab);
  ul_sub(f->corner[2], f->corner[0], ac);
  ul_cross(way, ac, p);
  double det = ul_dot(ab, p);
  if (det == 0) return NAN;
  ul_sub(from, f->corner[0], s);
  double u = ul_dot(s, p) / det;
  ul_cross(s, ab, q);
  double v = ul_dot(way, q) / det;
  const double slack = 1e-12; /* a ray through an edge must not slip between its two triangles */
  return u >= -slack && v >= -slack && u + v <= 1 + slack ? ul_dot(ac, q) / det : NAN;
}

static bool ray_box(const node *n, const double p[3], const double inverse[3], double t) {
  double enter = 0, leave = t;
  for (int c = 0; c < 3; c++) {
    double a = (n->lo[c] - p[c]) * inverse[c], b = (n->hi[c] - p[c]) * inverse[c];
    enter = most(enter, least(a, b));
    leave = least(leave, most(a, b));
  }
  return enter <= leave;
}

/* False only when the line misses the plate, grown by more than what rounding and the slack at
 * edges let a hit be off. */
static bool line_meets_plate(const plate *p, const double from[3], const double way[3]) {
  double to[3], off[3], enter = -INFINITY, leave = INFINITY, size = 0, away = 0;
  ul_sub(from, p->centre, to);
  for (int k = 0; k < 3; k++) {
    off[k] = ul_dot(to, p->axis[k]);
    size = most(size, p->hi[k] - p->lo[k]);
    away += fabs(off[k]);
  }
  const double grown = 1e-6 * size + 1e-12 * away;
  for (int k = 0; k < 3; k++) {
    const double along = ul_dot(way, p->axis[k]);
    const double inverse = 1 / (along == 0 ? 1e-300 : along);
    const double a = (p->lo[k] - grown - off[k]) * inverse;
    const double b = (p->hi[k] + grown - off[k]) * inverse;
    enter = most(enter, least(a, b));
    leave = least(leave, most(a, b));
  }
  return enter <= leave;
}

/* What a ray does at a hit. Returns how far the ray still goes. */
typedef double (*hit_fn)(void *context, const ul_bvh *b, uint32_t facet, double t, double reach);

static void follow_ray(const ul_bvh *b, const double from[3], const double way[3], double reach,
                       hit_fn hit, void *context) {
  double p[3], inverse[3];
  ul_sub(from, b->origin, p);
  for (int c = 0; c < 3; c++) /* finite: 0 * inf would be no number */
    inverse[c] = 1 / (way[c] == 0 ? 1e-300 : way[c]);
  uint32_t stack[2 * DEEPEST];
  size_t first_leaf = ((size_t)1 << b->levels) - 1;
  int depth = 0;
  stack[depth++] = 0;
  while (depth > 0) {
    uint32_t i = stack[--depth];
    if (!ray_box(&b->node[i], p, inverse, reach)) continue;
    if (i >= b->first_plate && !line_meets_plate(&b->plate[i - b->first_plate], p, way)) continue;
    if (i < first_leaf) {
      stack[depth++] = 2 * i + 2;
      stack[depth++] = 2 * i + 1;
      continue;
    }
    for (uint32_t f = b->first[i - first_leaf]; f < b->first[i - first_leaf + 1]; f++) {
      double t = ray_triangle(&b->facet[f], from, way);
      if (t < reach) reach = hit(context, b, f, t, reach);
    }
  }
}

typedef struct {
  double after, t;
  uint32_t skip, triangle;
  bool found;
} first_hit;

static double keep_first(void *context, const ul_bvh *b, uint32_t facet, double t, double reach) {
  first_hit *first = context;
  if (!(t > first->after) || b->number[facet] == first->skip) return reach;
  first->triangle = b->number[facet];
  first->found = true;
  first->t = t;
  return t;
}

bool ul_bvh_ray(const ul_bvh *b, const double from[3], const double way[3], double after,
                uint32_t skip, double *t, uint32_t *triangle) {
  first_hit first = {.after = after, .skip = skip};
  follow_ray(b, from, way, *t, keep_first, &first);
  if (!first.found) return false;
  *t = first.t;
  *triangle = first.triangle;
  return true;
}

static const double ASKEW[3] = {0.4241371, 0.5903117, 0.6867239};

static double count_hit(void *context, const ul_bvh *b, uint32_t facet, double t, double reach) {
  if (!(t > 0)) return reach;
  const struct facet *f = &b->facet[facet];
  double ab[3], ac[3], normal[3];
  ul_sub(f->corner[1], f->corner[0], ab);
  ul_sub(f->corner[2], f->corner[0], ac);
  ul_cross(ab, ac, normal);
  *(int *)context += ul_dot(normal, ASKEW) > 0 ? 1 : -1;
  return reach;
}

int ul_bvh_winding(const ul_bvh *b, const double from[3]) {
  int winding = 0;
  follow_ray(b, from, ASKEW, INFINITY, count_hit, &winding);
  return winding;
}
