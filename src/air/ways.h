/* ways.h - the ways a hole may lead from a place, in the order in which they are tried. */
#ifndef UL_AIR_WAYS_H
#define UL_AIR_WAYS_H

#include "air/place.h"

enum { UL_WAYS_MOST = 9 }; /* two senses of the draw, six main axes, a normal */

typedef enum { UL_WAY_DRAW, UL_WAY_MAIN, UL_WAY_NORMAL } ul_way_along;

typedef struct ul_way {
  ul_way_along along;
  double axis[3]; /* unit */
} ul_way;

/* A hole may lead a little downhill, but one steeper than 30 degrees drains foam: its sine. */
extern const double ul_least_climb;

/* As rules->along says; how many. At least one is a main axis. */
size_t ul_ways_list(const ul_bore_site *site, const ul_place_rules *rules,
                    ul_way list[UL_WAYS_MOST]);
/* Of these, filled anew, the first main axis. */
const ul_way *ul_ways_first_main(const ul_bore_site *site, const ul_place_rules *rules,
                                 ul_way list[UL_WAYS_MOST]);

#endif
