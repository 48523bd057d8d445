/* skin.h - the surface round what shells that pass through one another enclose together. */
#ifndef UL_CAVITY_SKIN_H
#define UL_CAVITY_SKIN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "ullage/job.h"
#include "ullage/mesh.h"

/* Convex and flat. */
typedef struct ul_skin_piece {
  size_t first; /* its corners, counter-clockwise seen from outside */
  uint32_t count;
  uint32_t source; /* the triangle it is a piece of */
  bool met;        /* that one meets, or all but meets, triangles it shares no corner with */
} ul_skin_piece;

typedef struct ul_skin {
  double (*corner)[3];
  ul_skin_piece *piece; /* by source */
  size_t corner_count, corner_room, piece_count, piece_room;
} ul_skin;

/* The skin of the places that the triangles of `mesh` go round at least once (winding number
 * positive), less what is taken out: the triangles from number `whole` on are turned inside out,
 * and no place that they go round counts. Every triangle is cut where others pass through it; a
 * piece is skin when there is room behind it and none before it. Neighbours' corners agree to
 * rounding, and lie on one another's sides as they come. `touch_mm` as in triangle_pair.h: pieces
 * and gaps smaller than a few of these may be taken wrongly. UL_OK, UL_E_MEMORY, UL_E_STOPPED;
 * release with ul_skin_clear() either way.
 * `plain`: those before `whole` go round nothing twice, and the work is then with the rest only. */
ul_status ul_skin_cut(const ul_mesh *mesh, size_t whole, bool plain, double touch_mm,
                      const ul_job *job, ul_skin *out);
void ul_skin_clear(ul_skin *skin);

#endif
