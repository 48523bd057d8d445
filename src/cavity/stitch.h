/* stitch.h - the pieces of a skin become one closed mesh. */
#ifndef UL_CAVITY_STITCH_H
#define UL_CAVITY_STITCH_H

#include "cavity/skin.h"

/* Corners nearer than `near_mm` become one, corners of `from` before others; a corner that lies on
 * a neighbour's side becomes a corner of that one, too; then every piece is cut into triangles,
 * which keep the part of their source. *out is NULL where some side is left with no neighbour, as
 * when pieces of about that size were taken wrongly; else it is the caller's, with *piece, the
 * number of the piece each triangle is of, in rising order: free(). UL_OK, UL_E_MEMORY, UL_E_LIMIT.
 */
ul_status ul_skin_stitch(const ul_skin *skin, const ul_mesh *from, double near_mm, ul_mesh **out,
                         uint32_t **piece);

#endif
