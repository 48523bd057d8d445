/* thin_pool.h - foam that is still too thin for the cubes to flow. */
#ifndef UL_RISE_THIN_POOL_H
#define UL_RISE_THIN_POOL_H

#include "rise/turn.h"

/* A puddle goes on spreading by its law while its foam grows, until it is two cubes deep, or level,
 * or fills a quarter of the cavity, or touches a lid: a cube that is not full does not flow, so a
 * thinner one would stay as wide as it creamed. The filling's time moves on from cream; its
 * arrivals are noted. Only where the air that it takes the room of can leave (a vent that foam has
 * not come to, or an open rise); *displaced_m3 is how much that is. */
ul_status ul_thin_pool_spread(ul_filling *filling, ul_lying *lying, double *displaced_m3,
                              ul_error *err);

#endif
