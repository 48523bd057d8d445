#include "cavity/triangle_pair.h"

#include "base/vec.h"

#include <float.h>
#include <math.h>

/* How far each corner of one triangle is above the other's plane; 0 when it touches it. */
typedef double heights[3];

static bool has_corner(const uint32_t corner[3], uint32_t vertex) {
  return corner[0] == vertex || corner[1] == vertex || corner[2] == vertex;
}

double ul_touching_distance(const ul_mesh *mesh) {
  double box[2][3], farthest = 0;
  ul_mesh_box_mm(mesh, box);
  for (int c = 0; c < 3; c++) farthest = fmax(farthest, fmax(-box[0][c], box[1][c]));
  return 2 * FLT_EPSILON * farthest;
}

/* Twice the area over the longest side is the least height. */
void ul_face_load(const ul_mesh *mesh, uint32_t triangle, double touch_mm, ul_face *face) {
  double edge[3][3], longest = 0;
  face->triangle = triangle;
  face->corner = mesh->triangle[triangle];
  for (int k = 0; k < 3; k++) face->at[k] = mesh->vertex_mm[face->corner[k]];
  for (int k = 0; k < 3; k++) {
    ul_sub(face->at[(k + 1) % 3], face->at[k], edge[k]);
    double length2 = ul_dot(edge[k], edge[k]);
    longest = length2 > longest ? length2 : longest;
  }
  ul_cross(edge[0], edge[1], face->normal);
  double area = ul_norm(face->normal), scale = area > touch_mm * sqrt(longest) ? 1 / area : 0;
  for (int c = 0; c < 3; c++) face->normal[c] *= scale;
}

static double height_above(const ul_face *f, const double p[3]) {
  double d[3];
  ul_sub(p, f->at[0], d);
  return ul_dot(f->normal, d);
}

static void measure_heights(const ul_mesh *mesh, const uint32_t corner[3], const ul_face *above,
                            double touch_mm, heights h) {
  for (int k = 0; k < 3; k++) {
    h[k] =
        has_corner(above->corner, corner[k]) ? 0 : height_above(above, mesh->vertex_mm[corner[k]]);
    if (fabs(h[k]) <= touch_mm) h[k] = 0;
  }
}

static int count_touching(const heights h) {
  return (h[0] == 0) + (h[1] == 0) + (h[2] == 0);
}

static bool goes_through(const heights h) {
  return (h[0] > 0 || h[1] > 0 || h[2] > 0) && (h[0] < 0 || h[1] < 0 || h[2] < 0);
}

/* At most a corner touches the other's plane, and the rest is on one side of it. */
static bool keeps_off(const heights h) {
  return !goes_through(h) && count_touching(h) < 2;
}

/* They share an edge and are not in one plane. */
static bool hangs_on_edge(const ul_face *f, const uint32_t corner[3], const heights h) {
  int shared = 0;
  for (int k = 0; k < 3; k++) shared += has_corner(f->corner, corner[k]);
  return shared == 2 && count_touching(h) == 2;
}

/* None of the points reaches farther than the touch over some edge of the face, seen square to it.
 */
static bool outside_an_edge(const ul_face *f, double touch_mm, const double *const *point,
                            int count) {
  for (int k = 0; k < 3; k++) {
    double edge[3], inward[3], d[3];
    ul_sub(f->at[(k + 1) % 3], f->at[k], edge);
    ul_cross(f->normal, edge, inward);
    double limit = touch_mm * ul_norm(edge);
    int outside = 0;
    for (int j = 0; j < count; j++) {
      ul_sub(point[j], f->at[k], d);
      outside += ul_dot(d, inward) <= limit;
    }
    if (outside == count) return true;
  }
  return false;
}

/* The segment ab, which is in the face's plane, runs through the face's inside. */
static bool runs_inside(const ul_face *f, double touch_mm, const double *a, const double *b) {
  const double *ends[2] = {a, b};
  if (outside_an_edge(f, touch_mm, ends, 2)) return false;
  double along[3], side[3], d[3];
  ul_sub(b, a, along);
  ul_cross(f->normal, along, side);
  double limit = touch_mm * ul_norm(along);
  bool left = false, right = false;
  for (int k = 0; k < 3; k++) {
    ul_sub(f->at[k], a, d);
    left = left || ul_dot(d, side) > limit;
    right = right || ul_dot(d, side) < -limit;
  }
  return left && right;
}

/* The face has an edge in the other's plane: it crosses if its neighbour there is on the other
 * side. */
static bool crosses_with_neighbour(const ul_mesh *mesh, const ul_edges *edges, double touch_mm,
                                   const ul_face *f, const heights h, const ul_face *other) {
  int k = h[0] != 0 ? 1 : h[1] != 0 ? 2 : 0; /* the edge from corner k */
  uint32_t twin = edges->twin[3 * f->triangle + (uint32_t)k];
  if (twin == UL_NONE || !runs_inside(other, touch_mm, f->at[k], f->at[(k + 1) % 3])) return false;
  double beyond = height_above(other, mesh->vertex_mm[ul_half_apex(mesh, twin)]);
  return fabs(beyond) > touch_mm && (beyond > 0) != (h[(k + 2) % 3] > 0);
}

/* Where a face that goes through the other's plane is cut by it, along the line `axis`. */
static void cut_interval(const ul_face *f, const heights h, const double axis[3], double cut[2]) {
  cut[0] = INFINITY;
  cut[1] = -INFINITY;
  for (int k = 0; k < 3; k++) {
    int next = (k + 1) % 3;
    if (h[k] == 0 ? h[next] == 0 : h[k] * h[next] >= 0) continue;
    double a = ul_dot(f->at[k], axis), b = ul_dot(f->at[next], axis);
    double at = a + (b - a) * (h[k] / (h[k] - h[next]));
    cut[0] = fmin(cut[0], at);
    cut[1] = fmax(cut[1], at);
  }
}

/* Each goes through the other's plane: their cuts lie on one line and must overlap on it. */
static bool cuts_overlap(const ul_face *f, const heights f_height, const ul_face *g,
                         const heights g_height, double touch_mm) {
  double axis[3], a[2], b[2];
  ul_cross(f->normal, g->normal, axis);
  cut_interval(f, f_height, axis, a);
  cut_interval(g, g_height, axis, b);
  return fmin(a[1], b[1]) - fmax(a[0], b[0]) > touch_mm * ul_norm(axis);
}

static bool is_thin(const ul_face *f) {
  return f->normal[0] == 0 && f->normal[1] == 0 && f->normal[2] == 0;
}

static ul_pair in_one_plane(const ul_face *f, const ul_face *g, double touch_mm) {
  if (outside_an_edge(f, touch_mm, g->at, 3) || outside_an_edge(g, touch_mm, f->at, 3))
    return UL_PAIR_APART;
  return ul_dot(f->normal, g->normal) > 0 ? UL_PAIR_ALIKE : UL_PAIR_FACING;
}

ul_pair ul_face_pair(const ul_mesh *mesh, const ul_edges *edges, double touch_mm, const ul_face *f,
                     uint32_t other) {
  heights fh, gh;
  if (is_thin(f)) return UL_PAIR_APART;
  measure_heights(mesh, mesh->triangle[other], f, touch_mm, gh);
  if (keeps_off(gh) || hangs_on_edge(f, mesh->triangle[other], gh)) return UL_PAIR_APART;
  ul_face g;
  ul_face_load(mesh, other, touch_mm, &g);
  measure_heights(mesh, f->corner, &g, touch_mm, fh);
  if (is_thin(&g) || keeps_off(fh)) return UL_PAIR_APART;
  if (count_touching(fh) == 3 || count_touching(gh) == 3) return in_one_plane(f, &g, touch_mm);
  bool cross = false;
  if (count_touching(fh) == 2) cross = crosses_with_neighbour(mesh, edges, touch_mm, f, fh, &g);
  if (count_touching(gh) == 2)
    cross = cross || crosses_with_neighbour(mesh, edges, touch_mm, &g, gh, f);
  if (goes_through(fh) && goes_through(gh)) cross = cuts_overlap(f, fh, &g, gh, touch_mm);
  return cross ? UL_PAIR_CROSS : UL_PAIR_APART;
}
