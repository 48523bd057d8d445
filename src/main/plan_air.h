/* plan_air.h - the air that a plan leaves in the mould, under the numbers by which people know it.
 */
#ifndef UL_MAIN_PLAN_AIR_H
#define UL_MAIN_PLAN_AIR_H

#include "main/plan.h"

typedef struct plan_air {
  uint32_t id; /* from 1, through all cavities: the order of plan.json's trapped[], what is let be
                  left out */
  double at_mm[3];
  double void_mm3;
  double cut_off;           /* seconds of a foam's rise, else the filled share */
  const ul_rise_void *from; /* NULL: of the level rise */
} plan_air;

/* *count of them, the largest first, yours (free()). NULL: no memory. */
plan_air *plan_air_list(const cavity_case *c, const plan *p, size_t *count);
/* Puts the same numbers, as `id`, into plan.json's cavities[].outcome.trapped[]; null for what is
 * let be. */
void plan_air_number(json_t *cavities, double void_ok_cm3);

#endif
