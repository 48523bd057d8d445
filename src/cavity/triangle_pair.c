#include "cavity/triangle_pair.h"

#include "base/vec.h"
#include "cavity/exact.h"

#include <float.h>
#include <math.h>

/* On which side of the other's plane each corner is; 2: not settled yet. */
typedef int sides[3];

void ul_face_load(const ul_mesh *mesh, uint32_t triangle, ul_face *face) {
  double ab[3], ac[3];
  face->triangle = triangle;
  face->corner = mesh->triangle[triangle];
  for (int k = 0; k < 3; k++) face->at[k] = mesh->vertex_mm[face->corner[k]];
  ul_sub(face->at[1], face->at[0], ab);
  ul_sub(face->at[2], face->at[0], ac);
  ul_cross(ab, ac, face->normal);
  /* Differences, products and sums round some ten times by half an ulp. */
  face->doubt = 16 * DBL_EPSILON * (fabs(ab[0]) + fabs(ab[1]) + fabs(ab[2])) *
                (fabs(ac[0]) + fabs(ac[1]) + fabs(ac[2]));
}

static bool has_corner(const uint32_t corner[3], uint32_t vertex) {
  return corner[0] == vertex || corner[1] == vertex || corner[2] == vertex;
}

/* -- quick ways out -- */

static void look_at_sides(const ul_mesh *mesh, const uint32_t corner[3], const ul_face *other,
                          sides side) {
  for (int k = 0; k < 3; k++) {
    double d[3];
    ul_sub(mesh->vertex_mm[corner[k]], other->at[0], d);
    double above = ul_dot(other->normal, d);
    double doubt = other->doubt * (fabs(d[0]) + fabs(d[1]) + fabs(d[2]));
    side[k] = has_corner(other->corner, corner[k]) ? 0
              : above > doubt                      ? 1
              : above < -doubt                     ? -1
                                                   : 2;
  }
}

static int count_side(const sides side, int which) {
  return (side[0] == which) + (side[1] == which) + (side[2] == which);
}

static bool goes_through(const sides side) {
  return count_side(side, 1) > 0 && count_side(side, -1) > 0;
}

/* At most a corner is in the other's plane, and the rest on one side of it. */
static bool keeps_off(const sides side) {
  return count_side(side, 2) == 0 && !goes_through(side) && count_side(side, 0) < 2;
}

/* They share an edge, and are not in one plane. */
static bool hangs_on_edge(const ul_face *f, const uint32_t corner[3], const sides side) {
  int shared = 0;
  for (int k = 0; k < 3; k++) shared += has_corner(f->corner, corner[k]);
  return shared == 2 && count_side(side, 2) == 0 && count_side(side, 0) == 2;
}

/* The other lies, by more than rounding, beyond the plane through one edge square to the face; a
 * corner they share on that edge may be in the plane. */
static bool edge_separates(const ul_face *f, const ul_face *other) {
  for (int k = 0; k < 3; k++) {
    int next = (k + 1) % 3;
    double edge[3], inward[3], d[3];
    ul_sub(f->at[next], f->at[k], edge);
    ul_cross(f->normal, edge, inward);
    double scale = fabs(inward[0]) + fabs(inward[1]) + fabs(inward[2]);
    bool beyond = true;
    for (int j = 0; beyond && j < 3; j++) {
      if (other->corner[j] == f->corner[k] || other->corner[j] == f->corner[next]) continue;
      ul_sub(other->at[j], f->at[k], d);
      double size = fabs(d[0]) + fabs(d[1]) + fabs(d[2]);
      beyond = ul_dot(d, inward) < -1e-13 * size * scale;
    }
    if (beyond) return true;
  }
  return false;
}

/* -- exact answers in one plane -- */

/* Two coordinates in which the face keeps an area, and its sense there; false if it has none. */
static bool choose_view(const ul_face *f, int *u, int *v, int *sense) {
  int largest = 0;
  for (int c = 1; c < 3; c++)
    if (fabs(f->normal[c]) > fabs(f->normal[largest])) largest = c;
  for (int i = 0; i < 3; i++) {
    *u = (largest + i + 1) % 3;
    *v = (largest + i + 2) % 3;
    *sense = ul_turn(f->at[0], f->at[1], f->at[2], *u, *v);
    if (*sense != 0) return true;
  }
  return false;
}

/* All of `count` points are on or beyond one edge of the face, seen in u, v. */
static bool beyond_an_edge(const ul_face *f, int u, int v, int sense, const double *const *point,
                           int count) {
  for (int k = 0; k < 3; k++) {
    int beyond = 0;
    for (int j = 0; j < count; j++)
      beyond += ul_turn(f->at[k], f->at[(k + 1) % 3], point[j], u, v) * sense <= 0;
    if (beyond == count) return true;
  }
  return false;
}

static ul_pair in_one_plane(const ul_face *f, const ul_face *other) {
  int u, v, sense, other_sense;
  if (!choose_view(f, &u, &v, &sense)) return UL_PAIR_APART;
  other_sense = ul_turn(other->at[0], other->at[1], other->at[2], u, v);
  if (other_sense == 0 || beyond_an_edge(f, u, v, sense, other->at, 3) ||
      beyond_an_edge(other, u, v, other_sense, f->at, 3))
    return UL_PAIR_APART;
  return sense == other_sense ? UL_PAIR_ALIKE : UL_PAIR_FACING;
}

/* Part of the segment ab, which is in the face's plane, is inside the face. */
static bool runs_inside(const ul_face *f, const double *a, const double *b) {
  int u, v, sense;
  const double *ends[2] = {a, b};
  if (!choose_view(f, &u, &v, &sense) || beyond_an_edge(f, u, v, sense, ends, 2)) return false;
  int side[3];
  for (int k = 0; k < 3; k++) side[k] = ul_turn(a, b, f->at[k], u, v);
  bool left = side[0] >= 0 && side[1] >= 0 && side[2] >= 0;
  bool right = side[0] <= 0 && side[1] <= 0 && side[2] <= 0;
  return !left && !right;
}

/* -- exact answers in space -- */

/* The face has an edge in the other's plane: it crosses if its neighbour there is on the other
 * side. */
static bool crosses_with_neighbour(const ul_mesh *mesh, const ul_edges *edges, const ul_face *f,
                                   const sides side, const ul_face *other) {
  int k = side[0] != 0 ? 1 : side[1] != 0 ? 2 : 0; /* the edge from corner k */
  uint32_t twin = edges->twin[3 * f->triangle + (uint32_t)k];
  if (twin == UL_NONE || !runs_inside(other, f->at[k], f->at[(k + 1) % 3])) return false;
  const double *apex = mesh->vertex_mm[ul_half_apex(mesh, twin)];
  return ul_side(other->at[0], other->at[1], other->at[2], apex) * side[(k + 2) % 3] < 0;
}

/* The corner alone on its side of the other's plane. */
static int lone_corner(const sides side) {
  int which = count_side(side, 1) == 1 ? 1 : -1;
  return side[0] == which ? 0 : side[1] == which ? 1 : 2;
}

/* Each goes through the other's plane: their cuts lie on one line and must overlap on it. */
static bool cuts_overlap(const ul_face *f, const sides f_side, const ul_face *g,
                         const sides g_side) {
  int kf = lone_corner(f_side), kg = lone_corner(g_side);
  const double *p = f->at[kf], *q = f->at[(kf + 1) % 3], *r = f->at[(kf + 2) % 3];
  const double *a = g->at[kg], *b = g->at[(kg + 1) % 3], *c = g->at[(kg + 2) % 3], *swap;
  if (f_side[kf] < 0) swap = b, b = c, c = swap; /* so that p and a are on positive sides */
  if (g_side[kg] < 0) swap = q, q = r, r = swap;
  return ul_side(q, a, p, b) < 0 && ul_side(p, a, r, c) < 0;
}

static void settle_sides(const ul_face *f, const ul_face *other, sides side) {
  for (int k = 0; k < 3; k++)
    if (side[k] == 2) side[k] = ul_side(other->at[0], other->at[1], other->at[2], f->at[k]);
}

static ul_pair decide(const ul_mesh *mesh, const ul_edges *edges, const ul_face *f, sides f_side,
                      const ul_face *g, sides g_side) {
  settle_sides(f, g, f_side);
  if (keeps_off(f_side)) return UL_PAIR_APART;
  if (count_side(f_side, 0) == 3) return in_one_plane(f, g);
  settle_sides(g, f, g_side);
  bool cross = false;
  if (count_side(f_side, 0) == 2) cross = crosses_with_neighbour(mesh, edges, f, f_side, g);
  if (count_side(g_side, 0) == 2)
    cross = cross || crosses_with_neighbour(mesh, edges, g, g_side, f);
  if (goes_through(f_side) && goes_through(g_side)) cross = cuts_overlap(f, f_side, g, g_side);
  return cross ? UL_PAIR_CROSS : UL_PAIR_APART;
}

ul_pair ul_face_pair(const ul_mesh *mesh, const ul_edges *edges, const ul_face *f, uint32_t other) {
  sides f_side, g_side;
  look_at_sides(mesh, mesh->triangle[other], f, g_side);
  if (keeps_off(g_side) || hangs_on_edge(f, mesh->triangle[other], g_side)) return UL_PAIR_APART;
  ul_face g;
  ul_face_load(mesh, other, &g);
  look_at_sides(mesh, f->corner, &g, f_side);
  if (keeps_off(f_side) || edge_separates(f, &g) || edge_separates(&g, f)) return UL_PAIR_APART;
  return decide(mesh, edges, f, f_side, &g, g_side);
}
