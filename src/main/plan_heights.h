/* plan_heights.h - a plan without a foam: its tilt and vents, by heights alone. */
#ifndef UL_MAIN_PLAN_HEIGHTS_H
#define UL_MAIN_PLAN_HEIGHTS_H

#include "main/plan.h"

/* Into p: up, peaks, vents and how sure they are. Of the search's tilts the first whose holes can
 * all be made and let the air out, put first in its list; where there is none, its first, or the
 * one that the user fixed or the kept plan has. Tilts passed over say why in their words. */
ul_status plan_on_heights(cavity_case *c, plan *p, ul_error *err);

/* Once the plan is proved: what a given tilt says of its vents must not be more than holds for the
 * holes that can be made. */
void plan_tell_given(const cavity_case *c, plan *p);

#endif
