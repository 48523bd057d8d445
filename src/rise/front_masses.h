/* front_masses.h - what the step's pressures move from cube to cube. */
#ifndef UL_RISE_FRONT_MASSES_H
#define UL_RISE_FRONT_MASSES_H

#include "rise/front.h"

/* What leaves each full cube as the pressures found have it, kg/s, into step->hold. Returns how far
 * the full cube that is furthest off would be from holding what it then has room for, as a share of
 * a whole cube. The full cubes must be those of the last solve. */
double ul_masses_find(ul_step *step);
/* Moves those masses; mean and peak pressure, and what bled. */
void ul_masses_move(ul_step *step);

#endif
