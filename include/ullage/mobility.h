/* mobility.h - how easily foam moves along the cavity at each place: K in u = -(K/mu) grad p. */
#ifndef ULLAGE_MOBILITY_H
#define ULLAGE_MOBILITY_H

#include "ullage/columns.h"
#include "ullage/grid.h"

/* Set by ul_mobility_opts_default(); lengths are multiples of the half-gap R at the place. */
typedef struct ul_mobility_opts {
  double floor; /* K is at least floor R^2, 0.015: K is mobility along a wall, and flow towards a
                   wall, into a corner, is not held back by it */
  double slip;  /* slip length over R, 0: none. Foam at a wall then moves slip R times the shear */
} ul_mobility_opts;

ul_mobility_opts ul_mobility_opts_default(void);

/* K, mm2, into mobility_mm2[cube_count], 0 outside the cavity. K solves lap K = -1 with K = 0 on
 * the wall: the velocity of creeping flow along a straight duct of any section under a unit
 * gradient (Saint-Venant's torsion problem; Shah & London 1978), so that there the flow is
 * Poiseuille's, and elsewhere a mean of what the walls around allow. Cubes are cut by the wall
 * where the runs of `columns` end; second order in the cube. `opts` NULL: the default. UL_E_USAGE
 * when an option is negative or not finite, or when `columns` and `grid` are not of one lattice. */
ul_status ul_mobility(const ul_grid *grid, const ul_columns *columns, const ul_mobility_opts *opts,
                      const ul_job *job, float *mobility_mm2, ul_error *err);

/* The same of a part of the cavity: cubes with `wet` 0 are left out, as if foam ended there at a
 * free surface, and nothing is written for them. */
ul_status ul_mobility_of(const ul_grid *grid, const ul_columns *columns,
                         const ul_mobility_opts *opts, const uint8_t *wet, const ul_job *job,
                         float *mobility_mm2, ul_error *err);

#endif
