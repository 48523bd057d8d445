/* pieces.h - triangles cut small. */
#ifndef UL_CAVITY_PIECES_H
#define UL_CAVITY_PIECES_H

#include <stdbool.h>

/* False stops the cutting. */
typedef bool (*ul_piece_fn)(void *context, const double corner[3][3]);

/* Halves the longest side of the triangle, and of its halves, until no side is longer than
 * `fine_mm`, and hands over the pieces. False when `fn` gave that. */
bool ul_cut_triangle(const double corner[3][3], double fine_mm, ul_piece_fn fn, void *context);

#endif
