/* In the plane across the rays, (u, v), the rays stand on scanlines v = v_j. A triangle's edge
 * crosses the scanline when one end is above it and the other is not: of a triangle always none or
 * two edges do, one going up and one going down. An edge's crossing is computed from its lower to
 * its upper end, so the two triangles that share the edge get the same bits. A ray at u counts
 * [u >= up crossing] - [u >= down crossing]; over a closed mesh each edge is used once as going up
 * and once as going down, the counts cancel in pairs, and the winding closes on every ray without
 * any tolerance. It is as if the rays were moved by an infinitesimal (simulation of simplicity,
 * Edelsbrunner & Muecke 1990, ACM Trans. Graphics 9(1)). */
#include "cavity/crossing.h"

#include "base/memory.h"

typedef struct {
  double u, height;
} edge_point;

static double between(double x, double a, double b) {
  return a < b ? fmin(fmax(x, a), b) : fmin(fmax(x, b), a);
}

/* Where the edge from lo to hi crosses the scanline at v. Held between its ends, so that rounding
 * never carries it past a centre that lies beyond both. */
static edge_point cross_edge(const double lo[3], const double hi[3], int axis, double v) {
  int u = (axis + 1) % 3, w = (axis + 2) % 3;
  double t = between((v - lo[w]) / (hi[w] - lo[w]), 0, 1);
  return (edge_point){between(lo[u] + t * (hi[u] - lo[u]), lo[u], hi[u]),
                      between(lo[axis] + t * (hi[axis] - lo[axis]), lo[axis], hi[axis])};
}

/* Rays from the one crossing to the other on scanline j; the height is interpolated between them,
 * which keeps it inside the triangle however steep that is. */
static bool add_span(const ul_caster *c, int axis, int32_t j, uint32_t triangle, edge_point up,
                     edge_point down, ul_crossing_list *list) {
  int u = (axis + 1) % 3;
  int32_t i_up = ul_centres_below(c->lattice, u, up.u);
  int32_t i_down = ul_centres_below(c->lattice, u, down.u);
  if (i_up == i_down) return true;
  int32_t step = i_up < i_down ? c->body + 1 : -(c->body + 1);
  int32_t begin = i_up < i_down ? i_up : i_down, end = i_up < i_down ? i_down : i_up;
  double slope = (down.height - up.height) / (down.u - up.u);
  size_t need = list->count + (size_t)(end - begin);
  if (!ul_grow((void **)&list->item, &list->room, need, sizeof *list->item)) return false;
  for (int32_t i = begin; i < end; i++) {
    double h = up.height + (ul_centre(c->lattice, u, i) - up.u) * slope;
    list->item[list->count++] =
        (ul_crossing){between(h, up.height, down.height), (uint32_t)ul_ray(c->lattice, axis, i, j),
                      triangle, step};
  }
  return true;
}

/* Corners sorted by scanline: 0 lowest, 2 highest. True when that turned the triangle over. */
static bool sort_corners(const int32_t j[3], int order[3]) {
  bool odd = false;
  for (int k = 0; k < 3; k++) order[k] = k;
  for (int pass = 0; pass < 3; pass++) {
    int k = pass == 1 ? 1 : 0;
    if (j[order[k]] <= j[order[k + 1]]) continue;
    int swap = order[k];
    order[k] = order[k + 1];
    order[k + 1] = swap;
    odd = !odd;
  }
  return odd;
}

static bool cast_triangle(const ul_caster *c, int axis, uint32_t triangle, const int32_t j[3],
                          ul_crossing_list *list) {
  const uint32_t *corner = c->mesh->triangle[triangle];
  int order[3], w = (axis + 2) % 3;
  bool odd = sort_corners(j, order);
  const double *p[3];
  for (int k = 0; k < 3; k++) p[k] = c->mesh->vertex_mm[corner[order[k]]];
  int32_t first = j[order[0]], middle = j[order[1]], last = j[order[2]];
  int32_t rows = ul_rows_per_band(c->lattice, axis);
  for (int32_t row = first; row < last; row++) {
    double v = ul_centre(c->lattice, w, row);
    edge_point a = cross_edge(p[0], p[2], axis, v);
    edge_point b = row < middle ? cross_edge(p[0], p[1], axis, v) : cross_edge(p[1], p[2], axis, v);
    if (!add_span(c, axis, row, triangle, odd ? a : b, odd ? b : a, &list[row / rows]))
      return false;
  }
  return true;
}

bool ul_cast(const ul_caster *c, int axis, size_t first, size_t last,
             ul_crossing_list list[UL_BANDS]) {
  int u = (axis + 1) % 3, v = (axis + 2) % 3;
  for (size_t t = first; t < last; t++) {
    const uint32_t *corner = c->mesh->triangle[t];
    const int32_t *a = c->below[corner[0]], *b = c->below[corner[1]], *d = c->below[corner[2]];
    if ((a[u] == b[u] && a[u] == d[u]) || (a[v] == b[v] && a[v] == d[v])) continue;
    if (!cast_triangle(c, axis, (uint32_t)t, (int32_t[3]){a[v], b[v], d[v]}, list)) return false;
  }
  return true;
}
