/* pool.h - the charge as it lies when it creams. */
#ifndef UL_RISE_POOL_H
#define UL_RISE_POOL_H

#include "rise/filling.h"

/* Radius of a puddle of volume V on a level floor after t: 0.894 (g V^3 / 3 nu)^(1/8) t^(1/8)
 * (Huppert 1982, J. Fluid Mech. 121, from memory). */
double ul_puddle_radius_m(double volume_m3, double kinematic_m2_s, double t_s);

/* Lays the filling's charge out as liquid from the cube `pour`: down to the first floor, level in
 * that basin, over its saddle when full, but no farther sideways than a puddle spreads between
 * `poured_s` and cream. *puddle_m is that reach, or 0 when the pool became level before. UL_E_USAGE
 * when the liquid alone is more than the cavity. */
ul_status ul_pool_lay(ul_filling *filling, size_t pour, const double up[3], double poured_s,
                      double *puddle_m, ul_error *err);

#endif
