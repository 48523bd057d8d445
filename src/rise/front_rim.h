/* front_rim.h - the rim: the cubes not full that hold foam or touch a full one. All that moves in a
 * step moves there, so its work goes with the front's area, not with the cavity's volume. */
#ifndef UL_RISE_FRONT_RIM_H
#define UL_RISE_FRONT_RIM_H

#include "rise/front.h"

/* The rim as the filling stands at the start of a step. */
ul_status ul_rim_begin(ul_step *step, ul_error *err);
/* The cube fills up, or falls back to be one of the part of air; the rim takes in what it touches.
 */
ul_status ul_rim_join(ul_step *step, uint32_t cube, ul_error *err);
ul_status ul_rim_leave(ul_step *step, uint32_t cube, int32_t part, ul_error *err);
/* Full cubes and their air as they were when the step began. */
void ul_rim_undo(ul_step *step);

#endif
