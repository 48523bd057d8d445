/* front_renew.h - which equations of a step are to be made anew. From one solve of a step to the
 * next the pressures inside the foam hardly move: only cubes at the front, and those that filled up
 * or fell back, get new coefficients; the others keep the straight law of the step's first solve,
 * and what that misses is measured (a modified Newton method). Where that no longer falls by half
 * from one solve to the next, all are made anew once. */
#ifndef UL_RISE_FRONT_RENEW_H
#define UL_RISE_FRONT_RENEW_H

#include "rise/front.h"

/* What step->renew says of a cube. */
enum { UL_AS_IT_WAS, UL_RENEW_SUM, UL_RENEW_LAW };

/* Before the front is listed: the faces it had, mouths, and what moved since the last solve. Where
 * step->whole all is made anew, and there is no list. */
ul_status ul_renew_begin(ul_step *step, ul_error *err);
/* After that: the faces it has now. */
ul_status ul_renew_front(ul_step *step, ul_error *err);

#endif
