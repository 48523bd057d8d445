/* climb.h - uphill on the skin of a solid. */
#ifndef UL_AIR_CLIMB_H
#define UL_AIR_CLIMB_H

#include "air/surface.h"

/* The node at which an ascent from `triangle` ends: always on to the highest neighbour, of equally
 * high ones to the lowest vertex, until none is higher. So everything on one level top, be it a
 * vertex, a ridge or a face, is led to one node as long as lower numbers lead there. */
uint32_t ul_climb(const ul_surface *surface, const double up[3], uint32_t triangle);

#endif
