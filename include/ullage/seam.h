/* seam.h - the line along which the halves of a mould meet, as the cubes see it. */
#ifndef ULLAGE_SEAM_H
#define ULLAGE_SEAM_H

#include "ullage/grid.h"
#include "ullage/mesh.h"

/* Where the plane through `at_mm` cuts the cavity's wall `mesh`: writes into `length_mm` (one float
 * a cube of the lattice) how much of that line belongs to the cube inside that is nearest to it, 0
 * elsewhere, and its whole length into *total_mm. A plane in which a flat lid or floor lies is cut
 * along the rim of it. */
void ul_seam_lengths(const ul_mesh *mesh, const double at_mm[3], const double normal[3],
                     const ul_grid *grid, float *length_mm, double *total_mm);

#endif
