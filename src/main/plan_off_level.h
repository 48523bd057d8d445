/* plan_off_level.h - on heights: vents for the air that stays when a mould lies a little off. */
#ifndef UL_MAIN_PLAN_OFF_LEVEL_H
#define UL_MAIN_PLAN_OFF_LEVEL_H

#include "main/plan_sure.h"

/* Of a fitted set that is not sure: while more vents are allowed, one where the most air stays in
 * any try, and then none without which no fewer tries are good. As it was where that makes no more
 * of them good. */
ul_status off_level_vents(const cavity_case *c, vent_set *set, plan_sure *sure, ul_error *err);

#endif
