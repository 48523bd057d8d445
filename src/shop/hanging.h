/* hanging.h - closed cores that nothing of the tool holds. */
#ifndef UL_SHOP_HANGING_H
#define UL_SHOP_HANGING_H

#include "ullage/job.h"
#include "ullage/solid.h"

/* Sets hanging[i] to 1 for each shell that is a core and that no other shells, one touching the
 * next, join to a wall of the tool; `hanging` has room for every shell, and holds zeros. UL_OK,
 * UL_E_MEMORY, UL_E_STOPPED. */
ul_status ul_find_hanging(const ul_solid *solid, const ul_job *job, unsigned char *hanging);

#endif
