/* mouths.h - where each cavity is open while it is poured: its pour hole, or its rim in the parting
 * plane. */
#ifndef UL_MAIN_MOUTHS_H
#define UL_MAIN_MOUTHS_H

#include "main/cavity_case.h"

typedef struct mouth {
  ul_opening opening;
  double at_mm[3];    /* its lowest place as it lies then */
  double share_below; /* of that cavity */
  size_t hole;        /* of the options; SIZE_MAX: the rim */
} mouth;

/* One a cavity, in *out (yours, free()), in the attitude `poured_up`. Where the parting plane does
 * not cut a cavity without a pour hole, its opening is not known. */
ul_status mouths_find(const cavity_case *c, const double poured_up[3], mouth **out, ul_error *err);
/* Whether that cavity is poured through a hole of its own: its rim is shut by then. */
bool mouth_is_hole(const cavity_case *c, size_t cavity);
/* How high liquid of that share of the cavity stands over its mouth once it lies level; 0: below,
 * or no mouth is known. */
double mouth_liquid_over_mm(const cavity_case *c, size_t cavity, const double poured_up[3],
                            const mouth *m, double liquid_share);

#endif
