/* stairs.h - where air passes along a slanting wall from one stair step of cubes to the next. */
#ifndef UL_RISE_STAIRS_H
#define UL_RISE_STAIRS_H

#include "rise/cubes.h"

/* Per cube the others, across an edge or a corner of it, to which air passes along the wall. */
typedef struct ul_stairs {
  size_t *first; /* of cube i: to[first[i]] to to[first[i + 1]] */
  uint32_t *to;
} ul_stairs;

/* Two cubes that meet across an edge are joined when one of the two between them is cavity and open
 * to both, and the other, whose centre lies in the wall, is cavity in part: the wall slants past
 * the edge and leaves a way although foam may fill the one between. A real step, square to the
 * cubes, leaves none. Likewise across a corner, by two such cubes side by side. Without this every
 * stair step under a roof is cut off as a bubble of its own: a cone of 20 cubes, vented at its tip,
 * kept 2.7 % of its volume as 88 voids. UL_E_MEMORY: *stairs holds nothing. */
ul_status ul_stairs_new(const ul_cubes *cubes, ul_stairs *stairs, ul_error *err);
void ul_stairs_free(ul_stairs *stairs);

#endif
