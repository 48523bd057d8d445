/* plan_card.h - a plan as the bench card. */
#ifndef UL_MAIN_PLAN_CARD_H
#define UL_MAIN_PLAN_CARD_H

#include "main/plan.h"

/* Writes bench-card.pdf into a folder that is there. Its date is SOURCE_DATE_EPOCH's, as builds
 * that must repeat give it, else a fixed one: same plan, same bytes. */
ul_status plan_write_card(const cavity_case *c, const plan *p, const char *dir, ul_error *err);

#endif
