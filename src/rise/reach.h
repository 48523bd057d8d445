/* reach.h - what a liquid gets to within the cavity, round its walls and not through them. */
#ifndef UL_RISE_REACH_H
#define UL_RISE_REACH_H

#include "rise/filling.h"

/* Lists the cubes that hang together with `from`, all within a cube of its height and
 * `within_m` of it across `up`. `list` and `seen` have room for every cube; `seen` is all 0 and is
 * so again. Returns how many. */
size_t ul_reach_level(const ul_filling *filling, const double up[3], uint32_t from, double within_m,
                      uint32_t *list, uint8_t *seen);

/* `needs` holds per cube how far it lies from the pour straight across `up`, in reaches; a reach is
 * `reach_m` at most. Raises each to what the way there through the cavity needs: the most of any
 * cube on it, and its length. What needs over `most` may be left at INFINITY. `from`: the cubes
 * that liquid sets out from. */
ul_status ul_reach_round_walls(const ul_filling *filling, const double up[3], const uint32_t *from,
                               size_t count, double reach_m, double most, double *needs,
                               ul_error *err);

#endif
