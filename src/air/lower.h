/* lower.h - places on the same pocket, below its top, where a mouth may be. */
#ifndef UL_AIR_LOWER_H
#define UL_AIR_LOWER_H

#include "air/bore.h"

/* Corners and middles of the cavity's triangles that vents do not keep off, none above site->at_mm,
 * the highest first, `apart` mm from one another; at most `most`, *count of them. Errors:
 * UL_E_MEMORY. */
ul_status ul_lower_places(const ul_bore_site *site, double apart, size_t most, double (*place)[3],
                          size_t *count, ul_error *err);

#endif
