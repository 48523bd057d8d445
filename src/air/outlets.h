/* outlets.h - where the air of a peak is let out. */
#ifndef UL_AIR_OUTLETS_H
#define UL_AIR_OUTLETS_H

#include "ullage/peaks.h"

enum { UL_OUTLETS_MOST = 8 };

/* The places on a peak's top that each want a vent: the top itself, or, of a flat wider than four
 * half-gaps, the ends of its extent: foam reaches the middle of a lid first and its corners last
 * (common practice, no source). Returns how many, 1 to UL_OUTLETS_MOST. */
size_t ul_peak_outlets(const ul_peak *peak, double place_mm[UL_OUTLETS_MOST][3]);

#endif
