/* shadow.c - the exact area of a solid's shadow.
 *
 * The faces that look along the direction form a chain whose boundary is the outline; projected, it
 * winds round a point once for each such face over it, so the shadow is where it winds at all. That
 * needs the outline only, some square root of the triangles. */
#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "ullage/hold.h"

typedef struct {
  uint32_t from, to; /* vertices, from < to */
  int32_t turn;      /* how often it is run through in that sense */
} chain_edge;

/* An outline's edge across the strips: from (x0, y0) up to (x1, y1). */
typedef struct {
  double x0, y0, x1, y1;
  int32_t turn; /* +1 or more when it runs upwards */
} edge;

/* What one strip sees of an edge: where it enters and leaves. */
typedef struct {
  double low, high;
  int32_t turn;
} crossing;

typedef struct {
  size_t edge_count;
  edge *edges; /* by y0 */
  size_t level_count;
  double *levels; /* distinct y, rising */
  double slack;   /* two edges out of order by less than this do not cross: rounding */
  edge *active;
  crossing *strip; /* of the active edges */
} outline;

/* ---- the outline ---- */

static int by_vertices(const void *a, const void *b) {
  const chain_edge *p = a, *q = b;
  if (p->from != q->from) return p->from < q->from ? -1 : 1;
  return p->to < q->to ? -1 : p->to > q->to;
}

static double doubled_area(const double (*flat)[2], const uint32_t t[3]) {
  const double *a = flat[t[0]], *b = flat[t[1]], *c = flat[t[2]];
  return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
}

/* Edges of all facing triangles, equal ones merged; returns how many do not cancel. */
static size_t boundary(const ul_mesh *m, const double (*flat)[2], chain_edge *edges) {
  size_t count = 0, kept = 0;
  for (size_t t = 0; t < m->triangle_count; t++) {
    if (!(doubled_area(flat, m->triangle[t]) > 0)) continue;
    for (int k = 0; k < 3; k++) {
      uint32_t a = m->triangle[t][k], b = m->triangle[t][(k + 1) % 3];
      edges[count++] = a < b ? (chain_edge){a, b, 1} : (chain_edge){b, a, -1};
    }
  }
  qsort(edges, count, sizeof *edges, by_vertices);
  for (size_t i = 0; i < count;) {
    chain_edge sum = edges[i++];
    while (i < count && by_vertices(&sum, &edges[i]) == 0) sum.turn += edges[i++].turn;
    if (sum.turn) edges[kept++] = sum;
  }
  return kept;
}

static int by_low_end(const void *a, const void *b) {
  const edge *p = a, *q = b;
  if (p->y0 != q->y0) return p->y0 < q->y0 ? -1 : 1;
  if (p->x0 != q->x0) return p->x0 < q->x0 ? -1 : 1;
  return 0;
}

static int by_value(const void *a, const void *b) {
  double x = *(const double *)a, y = *(const double *)b;
  return x < y ? -1 : x > y;
}

/* Edges that run upwards, level ones left out: they border nothing sideways. */
static void raise_edges(const double (*flat)[2], const chain_edge *chain, size_t count,
                        outline *o) {
  for (size_t i = 0; i < count; i++) {
    const double *a = flat[chain[i].from], *b = flat[chain[i].to];
    if (a[1] == b[1]) continue;
    o->edges[o->edge_count++] = a[1] < b[1] ? (edge){a[0], a[1], b[0], b[1], chain[i].turn}
                                            : (edge){b[0], b[1], a[0], a[1], -chain[i].turn};
    o->levels[o->level_count++] = a[1];
    o->levels[o->level_count++] = b[1];
  }
  qsort(o->edges, o->edge_count, sizeof *o->edges, by_low_end);
  qsort(o->levels, o->level_count, sizeof *o->levels, by_value);
  size_t kept = 0;
  for (size_t i = 0; i < o->level_count; i++)
    if (kept == 0 || o->levels[i] != o->levels[kept - 1]) o->levels[kept++] = o->levels[i];
  o->level_count = kept;
  double widest = 0;
  for (size_t i = 0; i < o->edge_count; i++)
    widest = fmax(widest, fmax(fabs(o->edges[i].x0), fabs(o->edges[i].x1)));
  o->slack = 1e-12 * widest;
}

/* ---- strips ---- */

static double x_at(const edge *e, double y) {
  double t = (y - e->y0) / (e->y1 - e->y0);
  return e->x0 + t * (e->x1 - e->x0);
}

static int by_middle(const void *a, const void *b) {
  const crossing *p = a, *q = b;
  double x = p->low + p->high, y = q->low + q->high;
  return x < y ? -1 : x > y;
}

/* Length in which the outline winds, at the foot or the top of the strip, its edges in order. */
static double covered(const crossing *c, size_t count, bool top) {
  double length = 0, begin = 0;
  int32_t winding = 0;
  for (size_t i = 0; i < count; i++) {
    double x = top ? c[i].high : c[i].low;
    if (winding == 0) begin = x;
    winding += c[i].turn;
    if (winding == 0) length += x - begin;
  }
  return length;
}

static bool crosses(const outline *o, size_t active) {
  const crossing *c = o->strip;
  for (size_t i = 1; i < active; i++)
    if (c[i].low < c[i - 1].low - o->slack || c[i].high < c[i - 1].high - o->slack) return true;
  return false;
}

/* Area of the strip from y0 to y1, which every active edge spans. Where two of them cross in it, it
 * is halved; after 40 times what is left is a 10^-12 of it. */
static double strip_area(outline *o, size_t active, double y0, double y1, int halvings) {
  for (size_t i = 0; i < active; i++)
    o->strip[i] = (crossing){x_at(&o->active[i], y0), x_at(&o->active[i], y1), o->active[i].turn};
  qsort(o->strip, active, sizeof *o->strip, by_middle);
  if (halvings == 0 || !crosses(o, active))
    return (y1 - y0) * (covered(o->strip, active, false) + covered(o->strip, active, true)) / 2;
  double mid = (y0 + y1) / 2;
  return strip_area(o, active, y0, mid, halvings - 1) +
         strip_area(o, active, mid, y1, halvings - 1);
}

static double shadow(outline *o) {
  double area = 0;
  size_t next = 0, active = 0;
  for (size_t i = 0; i + 1 < o->level_count; i++) {
    double y0 = o->levels[i], y1 = o->levels[i + 1];
    size_t kept = 0;
    for (size_t k = 0; k < active; k++)
      if (o->active[k].y1 > y0) o->active[kept++] = o->active[k];
    active = kept;
    while (next < o->edge_count && o->edges[next].y0 <= y0) o->active[active++] = o->edges[next++];
    area += strip_area(o, active, y0, y1, 40);
  }
  return area;
}

/* ---- all of it ---- */

static void flatten(const ul_mesh *m, const double direction[3], double (*flat)[2]) {
  double axis[3], x[3], y[3], at[3], length = ul_norm(direction);
  for (int c = 0; c < 3; c++) axis[c] = direction[c] / length;
  ul_across(axis, x, y);
  for (size_t v = 0; v < m->vertex_count; v++) {
    ul_sub(m->vertex_mm[v], m->vertex_mm[0], at); /* far from the origin nothing is lost */
    flat[v][0] = ul_dot(at, x);
    flat[v][1] = ul_dot(at, y);
  }
}

static ul_status measure(const ul_mesh *m, const double (*flat)[2], chain_edge *chain,
                         double *area_mm2, ul_error *err) {
  size_t count = boundary(m, flat, chain);
  outline o = {.edges = ul_new_raw(count, sizeof *o.edges),
               .levels = ul_new_raw(2 * count, sizeof *o.levels),
               .active = ul_new_raw(count, sizeof *o.active),
               .strip = ul_new_raw(count, sizeof *o.strip)};
  bool room = o.edges && o.levels && o.active && o.strip;
  if (room) {
    raise_edges(flat, chain, count, &o);
    *area_mm2 = shadow(&o);
  }
  free(o.edges);
  free(o.levels);
  free(o.active);
  free(o.strip);
  return room ? UL_OK : ul_fail_memory(err);
}

ul_status ul_shadow_mm2(const ul_mesh *m, const double direction[3], double *area_mm2,
                        ul_error *err) {
  double length = ul_norm(direction);
  if (!(length > 0 && isfinite(length)))
    return ul_fail(err, UL_E_USAGE, "a direction %g,%g,%g has no length: give one such as 0,0,1",
                   direction[0], direction[1], direction[2]);
  double(*flat)[2] = ul_new_raw(m->vertex_count, sizeof *flat);
  chain_edge *chain = ul_new_raw(3 * m->triangle_count, sizeof *chain);
  ul_status status = UL_OK;
  if (flat && chain) {
    flatten(m, direction, flat);
    status = measure(m, (const double(*)[2])flat, chain, area_mm2, err);
  } else {
    status = ul_fail_memory(err);
  }
  free(flat);
  free(chain);
  return status;
}
