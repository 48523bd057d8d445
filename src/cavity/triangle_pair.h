/* triangle_pair.h - do two triangles of one mesh cross, or only touch? */
#ifndef UL_CAVITY_TRIANGLE_PAIR_H
#define UL_CAVITY_TRIANGLE_PAIR_H

#include "cavity/edges.h"

typedef enum {
  UL_PAIR_APART, /* or touching: at a corner, along an edge, edge on face */
  UL_PAIR_CROSS, /* the surface of one goes through the other */
  UL_PAIR_ALIKE, /* in one plane, one over the other, facing the same way */
  UL_PAIR_FACING /* in one plane, one over the other, facing opposite ways */
} ul_pair;

/* A triangle made ready for comparing. */
typedef struct ul_face {
  uint32_t triangle;
  const uint32_t *corner;
  const double *at[3];
  double normal[3]; /* of unit length; zero when the triangle is no higher than the touch */
} ul_face;

/* What is nearer than this touches: float coordinates are off by half a unit in the last place, and
 * lie on no plane nearer than a few of these; nobody machines to the 2^-22nd part of the distance
 * from the origin. */
double ul_touching_distance(const ul_mesh *mesh);

void ul_face_load(const ul_mesh *mesh, uint32_t triangle, double touch_mm, ul_face *face);

/* What reaches through something by `touch_mm` or less only touches it: a CAD file's coordinates
 * are rounded, and its slivers cross their neighbours by as much. Triangles cross when the insides
 * do, or when an edge of one lies in the other and its two triangles are on different sides of it
 * (intervals on the common line: Moller 1997, J. Graphics Tools 2(2), from memory). `touch_mm` must
 * be well above the rounding of the coordinates. */
ul_pair ul_face_pair(const ul_mesh *mesh, const ul_edges *edges, double touch_mm, const ul_face *f,
                     uint32_t other);

#endif
