/* by_hand.h - a solid straight from a mesh, without the audit, so that what is tested here does not
 * lean on it. */
#ifndef TEST_BY_HAND_H
#define TEST_BY_HAND_H

#include "ullage/solid.h"

/* One cavity bounded by all of `mesh`, which the solid takes over; a shell for each connected set
 * of triangles. Release with by_hand_free(). */
ul_solid *by_hand(ul_mesh *mesh, bool overlapping);
void by_hand_free(ul_solid *solid);

/* Sum of signed tetrahedra about the box's middle. */
double by_hand_volume(const ul_mesh *mesh);
/* How often the mesh winds round the point, from the solid angles of its triangles (van Oosterom
 * & Strackee 1983, IEEE Trans. Biomed. Eng. 30(2)). */
double by_hand_winding(const ul_mesh *mesh, const double at[3]);

#endif
