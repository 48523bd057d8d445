/* plan_foam.h - the plan of a foam: charge, tilt, vents and the rise that proves them. */
#ifndef UL_MAIN_PLAN_FOAM_H
#define UL_MAIN_PLAN_FOAM_H

#include "main/plan.h"

/* For a case with p->tilts, p->given and p->keep: sets the charge, up, peaks, vents, their size,
 * the foam's proof, the table beside it and how sure it is. */
ul_status plan_with_foam(cavity_case *c, plan *p, ul_error *err);

#endif
