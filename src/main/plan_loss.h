/* plan_loss.h - what holes left open lose of the charge is weighed besides. */
#ifndef UL_MAIN_PLAN_LOSS_H
#define UL_MAIN_PLAN_LOSS_H

#include "main/plan_making.h"

/* Where holes lose more of a charge than a scale's care, the fine rise is made again with more in
 * the cup, until what leaves is what was added: the part then has the density meant. Where most of
 * what is added leaves, too, or too much would be wanted, all stays as it is and the verdict tells
 * of it. */
ul_status plan_make_good_loss(making *m, ul_error *err);

#endif
