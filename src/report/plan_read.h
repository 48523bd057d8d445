/* plan_read.h - what the vents' files need, read back from plan.json. */
#ifndef UL_REPORT_PLAN_READ_H
#define UL_REPORT_PLAN_READ_H

#include "ullage/markers.h"

typedef struct ul_plan_vents {
  ul_vents *vents;  /* owned */
  ul_layout layout; /* as the plan was made */
  double up[3];     /* its tilt */
} ul_plan_vents;

/* UL_OK: release out->vents with ul_vents_free(); else it is NULL. UL_E_READ with the system's
 * reason, UL_E_LIMIT for a file of over 64 MB, UL_E_FORMAT with line and column for what is no
 * JSON and with the key for what is no plan or holds a vent that cannot be. */
ul_status ul_plan_read(const char *path, ul_plan_vents *out, ul_error *err);

#endif
