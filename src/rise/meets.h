/* meets.h - where fronts of foam run into each other. */
#ifndef UL_RISE_MEETS_H
#define UL_RISE_MEETS_H

#include "rise/filling.h"

/* Appends to *meet (room *room, count *count) the places of the filling where foam arrived from two
 * sides in directions at least 60 degrees apart, grouped into connected ones, by time. */
ul_status ul_meets_find(const ul_filling *filling, uint32_t cavity, ul_rise_meet **meet,
                        size_t *room, size_t *count, ul_error *err);

#endif
