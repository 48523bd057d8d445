/* relief.h - how long a hole keeps its size, and how wide it is from there on. */
#ifndef UL_AIR_RELIEF_H
#define UL_AIR_RELIEF_H

#include "air/bore.h"
#include "ullage/vents.h"

/* Sets land_mm and relief_mm, and past_mm for the wider circle: from `land_mm` on opened from
 * outside to the next of the drills that is 3 mm wider, where there is such a drill, a millimetre
 * to gain by it, and no cavity, insert, hollow of the tool or box that vents keep off in its way;
 * else all of the hole is land. Along the parting face, a narrower drill, where only that keeps a
 * web to it. Errors: UL_E_MEMORY. */
ul_status ul_relief_make(const ul_bore_site *site, const ul_bore *bore, ul_drill_set drills,
                         double land_mm, ul_vent *vent, ul_error *err);

#endif
