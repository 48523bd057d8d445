/* directions.h - the attitudes worth trying: the whole sphere evenly, and those a shop thinks of.
 */
#ifndef UL_AIR_DIRECTIONS_H
#define UL_AIR_DIRECTIONS_H

#include "ullage/solid.h"

typedef struct directions {
  size_t count, room;
  double (*up)[3]; /* unit vectors; owned, free() */
} directions;

/* `tries` directions spread evenly over the sphere (Gonzalez 2010, Math. Geosci. 42: the Fibonacci
 * lattice), then the faces, edges and corners of the box, each face with one side raised in steps
 * of 5 degrees, and the attitudes in which a large flat face of the cavity lies level.
 * UL_E_MEMORY. */
ul_status ul_directions_make(const ul_solid *solid, size_t tries, directions *out);

/* The nearest attitude that a shop can set: the tool stands on the face most nearly down, and a
 * level laid along its two edges reads a multiple of 5 degrees on each. Unit in, unit out. */
void ul_direction_to_shop(const double up[3], double out[3]);

/* `up` turned by `deg` towards the `eighth`-th of eight directions around it. */
void ul_direction_beside(const double up[3], double deg, int eighth, double out[3]);

#endif
