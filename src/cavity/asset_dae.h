/* asset_dae.h - the unit and the up axis of a COLLADA file, which the general library mixes into
 * the scene's transforms. */
#ifndef UL_CAVITY_ASSET_DAE_H
#define UL_CAVITY_ASSET_DAE_H

#include "cavity/draft.h"

/* Fills r->mm_per_unit and r->up from <asset>; metre and y where it is silent (COLLADA 1.4.1,
 * chapter 5, <unit> and <up_axis>). */
ul_status ul_read_dae_asset(ul_draft *r);

#endif
