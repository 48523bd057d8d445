/* floor.h - where to pour when nobody has said. */
#ifndef UL_RISE_FLOOR_H
#define UL_RISE_FLOOR_H

#include "rise/cubes.h"

/* Of the floor round the cube `lowest`, which is what hangs together with it within half a cube of
 * its height, the cube nearest to the middle: on a level floor, or along a level edge, nobody pours
 * into a corner. `up` of any length. Errors: UL_E_MEMORY. */
ul_status ul_floor_middle(const ul_cubes *cubes, const double up[3], size_t lowest, size_t *middle,
                          ul_error *err);

#endif
