/* half_gap.h - how far it is to the wall, and half the thickness of the place one is in. */
#ifndef UL_CAVITY_HALF_GAP_H
#define UL_CAVITY_HALF_GAP_H

#include "cavity/bvh.h"
#include "ullage/grid.h"

/* Fills grid->wall_mm and grid->half_gap_mm from grid->inside and the wall's triangles. Both must
 * be there and zero outside. */
ul_status ul_half_gap(const ul_bvh *wall, ul_grid *grid, const ul_job *job, ul_error *err);

#endif
