/* front_masses.h - what the step's pressures move from cube to cube. */
#ifndef UL_RISE_FRONT_MASSES_H
#define UL_RISE_FRONT_MASSES_H

#include "rise/front.h"

/* Moves the masses as the pressures found have it; mean and peak pressure, and what bled. The full
 * cubes must be those of the last solve. */
void ul_masses_move(ul_step *step);

#endif
