/* walls_round.h - the walls round a piece of air: for a hole where the nearest one will not do. */
#ifndef UL_AIR_WALLS_ROUND_H
#define UL_AIR_WALLS_ROUND_H

#include <stddef.h>

#include "ullage/mesh.h"

enum { UL_WALLS_ROUND = 6 };

/* From the middle of the gap behind `at`, on the surface of the closed mesh `cavity`, but no deeper
 * than `deepest_mm`, straight along each main axis: where it leaves the cavity, the nearest to `at`
 * first. *count of them. Errors: UL_E_MEMORY. */
ul_status ul_walls_round(const ul_mesh *cavity, const double at[3], double deepest_mm,
                         double place[UL_WALLS_ROUND][3], size_t *count, ul_error *err);

#endif
