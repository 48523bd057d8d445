/* level_verdict.h - whether a level rise fills the cavity, and if not, why. */
#ifndef UL_MAIN_LEVEL_VERDICT_H
#define UL_MAIN_LEVEL_VERDICT_H

#include "main/cavity_case.h"
#include "main/rise_verdict.h"

/* `opening`: the vents and pour holes that it was given; voids up to --void-ok are let be. */
rise_verdict level_judge(const cavity_case *c, const ul_level *level, const ul_vent_at *opening,
                         size_t count);

#endif
