/* pool.h - the charge as it lies before it has risen: level in its basins, or as far as it got. */
#ifndef UL_RISE_POOL_H
#define UL_RISE_POOL_H

#include "rise/pour.h"

/* A basin that pieces of the charge run down to, with their share of it. */
typedef struct ul_basin {
  uint32_t bottom;
  double share;
  size_t reached; /* cubes that a flood from there reaches */
} ul_basin;

typedef struct ul_pool {
  const ul_pour *pour;
  double up[3];
  uint32_t landing[UL_POUR_PIECES]; /* per piece: straight below it */
  uint32_t bottom[UL_POUR_PIECES];  /* and where it runs to */
  size_t basin_count;
  ul_basin basin[UL_POUR_PIECES];
  uint32_t *order;                /* per basin and cube: the flood's order */
  double radius_m;                /* how far it spreads on a level floor */
  double slide_m[UL_POUR_PIECES]; /* and down the slope it landed on, sideways; 0: no slope */
  int power;     /* reach^power of the law it spreads by grows with time: 8 a point's, 5 a line's */
  double *needs; /* per cube: liquid comes there if its reach were so many times as long */
  uint32_t *list; /* room for every cube */
  uint8_t *seen;  /* and for a mark on it; all 0 */
  double reach_m; /* how far it got when that cut it off; 0: it lies level */
} ul_pool;

/* Follows each piece down in the filling as it lies now: `up` is the filling's. `level`: it will be
 * laid level only, by liquid of its charge, which is quicker. Release with ul_pool_free() whatever
 * came back. */
ul_status ul_pool_new(const ul_filling *filling, const ul_pour *pour, const double up[3],
                      bool level, ul_pool *out, ul_error *err);
void ul_pool_free(ul_pool *pool); /* again is fine */

/* Time without end: as far as it takes. */
void ul_pool_reach_all(ul_pool *pool);
/* How far a volume of that kinematic viscosity gets in time t: a point's puddle, a line's where
 * that is less, and down a slope. */
void ul_pool_reach(const ul_filling *filling, ul_pool *pool, double volume_m3, double nu, double t);

/* What the reaches gain in dt more, when volume and viscosity are so many times those for which
 * ul_pool_reach() found them, in time `t`. */
void ul_pool_spread(ul_pool *pool, const ul_pool *begun, double volumes, double viscosities,
                    double t, double dt);
/* Its mean depth, m, as it is laid. */
double ul_pool_depth_m(const ul_filling *filling);

/* Lays the filling's charge out at that density: level, each piece in its basin and over the saddle
 * when that is full, but no farther than its reach (or as much farther as it takes to find room).
 * UL_E_USAGE when the liquid alone is more than the cavity. */
ul_status ul_pool_lay(ul_filling *filling, ul_pool *pool, double density, ul_error *err);

#endif
