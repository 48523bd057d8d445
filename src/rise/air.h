/* air.h - the air in a filling: its connected parts, and what they keep when they split and join.
 */
#ifndef UL_RISE_AIR_H
#define UL_RISE_AIR_H

#include "rise/filling.h"

/* The first parts: all air at atmospheric pressure. */
ul_status ul_air_begin(ul_filling *filling, ul_error *err);
/* After a step whose `joined` cubes filled up, in that order, the parts' volumes, moles and cubes
 * being those of its end: which parts there are now. Where cubes `fell` back, a part may have been
 * cut in two, or one is too small, they are found anew: moles are shared by volume on a split and
 * added on a join; a part under filling->smallest_m3 is taken into the foam and its moles booked.
 * `now` is the foam at the step's end. */
ul_status ul_air_follow(ul_filling *filling, const ul_foam_now *now, const uint32_t *joined,
                        size_t joined_count, bool fell, ul_error *err);

/* Content that the part loses per second at that gauge pressure, J/s. */
double ul_air_vent_w(const ul_filling *filling, int32_t part, double gauge_pa);

#endif
