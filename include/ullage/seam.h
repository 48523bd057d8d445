/* seam.h - the line along which the halves of a mould meet, as the cubes see it. */
#ifndef ULLAGE_SEAM_H
#define ULLAGE_SEAM_H

#include "ullage/grid.h"
#include "ullage/mesh.h"

/* Where the plane through `at_mm` cuts the cavity's wall `mesh`: writes into `length_mm` (one float
 * a cube of the lattice) how much of that line belongs to the cube inside that is nearest to it, 0
 * elsewhere, and its whole length into *total_mm. Where a floor, a lid or a ledge lies in the plane
 * (to a thousandth of a mm) the line is its outer edge, for there the halves touch. `normal`: of
 * length 1. Fails only for want of memory. */
ul_status ul_seam_lengths(const ul_mesh *mesh, const double at_mm[3], const double normal[3],
                          const ul_grid *grid, float *length_mm, double *total_mm, ul_error *err);

#endif
