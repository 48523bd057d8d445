/* front_move.h - what the pressures just found ask of the front: which faces pass foam, which cubes
 * fill up, which fall back. */
#ifndef UL_RISE_FRONT_MOVE_H
#define UL_RISE_FRONT_MOVE_H

#include "rise/front.h"

/* Adds up what arrives in each cube of the rim and in each part of air. */
void ul_front_gather(ul_step *step);
/* At the start of a step `longer` times as long as the last: cubes that fill up if foam goes on
 * arriving as it did become full at once. */
ul_status ul_front_foresee(ul_step *step, double longer, ul_error *err);
/* *moved: the front changed, so pressures have to be found again. Call it once the gains are
 * gathered. */
ul_status ul_front_move(ul_step *step, bool *moved, ul_error *err);
/* After the last solve: no cube gives back more foam than it has. What the full ones beside it miss
 * then, little as it is, is in the next step's equations. */
void ul_front_keep(ul_step *step);

#endif
