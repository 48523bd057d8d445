/* union.h - the measures of what shells that pass through one another enclose together. */
#ifndef UL_CAVITY_UNION_H
#define UL_CAVITY_UNION_H

#include "ullage/solid.h"

/* Volume, area and so on of the places that the triangles of `mesh` go round at least once (winding
 * number positive), each counted once, less what is taken out: the triangles from number `whole` on
 * are turned inside out, and no place that they go round counts. Every triangle is cut where others
 * pass through it; a piece is skin when there is room behind it and none before it. `touch_mm` as
 * in triangle_pair.h: pieces and gaps smaller than a few of these may be taken wrongly. Where
 * nothing is left, *out is all zeros. UL_OK, UL_E_MEMORY, UL_E_STOPPED, UL_E_LIMIT. */
ul_status ul_union_measure(const ul_mesh *mesh, size_t whole, double touch_mm, const ul_job *job,
                           ul_measure *out);

#endif
