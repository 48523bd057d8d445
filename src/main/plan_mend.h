/* plan_mend.h - vents after a fine rise: mended while it leaves air, then those spared that nothing
 * comes of. */
#ifndef UL_MAIN_PLAN_MEND_H
#define UL_MAIN_PLAN_MEND_H

#include "main/plan_making.h"

/* While voids over the limit stay: new vents there, or vents close by moved there, or, where air
 * stays at a vent's own mouth, all made the next size wider; whatever leaves less air. */
ul_status plan_mend_vents(making *m, ul_error *err);

/* New vents without which no more air stays over the limit, and no fewer tries are good, are left
 * out, one after the other, those that let out the least first. */
ul_status plan_spare_vents(making *m, ul_error *err);

#endif
