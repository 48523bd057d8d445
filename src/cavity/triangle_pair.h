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
  double normal[3]; /* rounded, not of unit length */
  double
      doubt; /* normal . d is right in sign when larger than doubt |d|, |d| the sum over x, y, z */
} ul_face;

void ul_face_load(const ul_mesh *mesh, uint32_t triangle, ul_face *face);

/* Exact. Triangles cross when their insides do, or when an edge of one lies in the other and its
 * two triangles are on different sides of it. Sides and intervals as in Guigue and Devillers 2003
 * (J. Graphics Tools 8(1)), with what only touches told apart. */
ul_pair ul_face_pair(const ul_mesh *mesh, const ul_edges *edges, const ul_face *f, uint32_t other);

#endif
