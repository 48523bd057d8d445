/* flood.h - the order in which a thin liquid fills the cubes, poured slowly at one place. */
#ifndef UL_RISE_FLOOD_H
#define UL_RISE_FLOOD_H

#include "rise/cubes.h"

/* Heights of the cube centres along `up`, mm, to a millionth of a cube; NULL when there is no
 * memory. Yours, free(). */
double *ul_cube_heights(const ul_cubes *cubes, const double up[3]);

/* Writes into `order` (room for cubes->count) the cubes that the liquid reaches from `pour`, in the
 * order it fills them: it runs down before it fills anything, lies level, and spills over a saddle
 * into the next basin, which fills before both rise together. Whatever escapes of air is not looked
 * at. *reached is how many. */
ul_status ul_flood_order(const ul_cubes *cubes, const double *height, size_t pour, uint32_t *order,
                         size_t *reached, ul_error *err);

/* The same, but stops at the end of the layer in which it has filled `enough_mm3`. */
ul_status ul_flood_some(const ul_cubes *cubes, const double *height, size_t pour, double enough_mm3,
                        uint32_t *order, size_t *reached, ul_error *err);

/* The first cube it fills: the lowest of the floor that the liquid runs down to. */
ul_status ul_flood_bottom(const ul_cubes *cubes, const double *height, size_t pour,
                          uint32_t *bottom, ul_error *err);

/* Cubes that meet `cube` across an edge or a corner, with cavity all the way: a slanting wall's
 * stair steps must neither hold a puddle nor a bubble. Each is two or three steps away along
 * different axes; returns how many were written. */
enum { UL_CORNERS = 20 };
int ul_cube_corners(const ul_cubes *cubes, size_t cube, int32_t out[UL_CORNERS]);

#endif
