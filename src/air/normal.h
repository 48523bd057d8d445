/* normal.h - the surface's normal at a place, be it on a face, an edge or a corner. */
#ifndef UL_AIR_NORMAL_H
#define UL_AIR_NORMAL_H

#include <stdbool.h>

#include "ullage/mesh.h"

/* Mean of the triangles that touch the place; false and zeros if there are none. By their angles
 * there it does not hang on how faces are cut into triangles (Thuermer & Wuethrich 1998, Computing
 * vertex normals from polygonal facets, Journal of Graphics Tools 3(1), 43-46): what is asked for
 * as the surface's normal. By area it leans to the widest face, where a way of last resort, taken
 * though nobody asked, is the easier to drill. */
bool ul_surface_normal(const ul_mesh *mesh, const double at[3], bool by_angle, double out[3]);

#endif
