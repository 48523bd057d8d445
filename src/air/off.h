/* off.h - what a mouth leaves where the mould is not propped just so. */
#ifndef UL_AIR_OFF_H
#define UL_AIR_OFF_H

#include "air/skin_outlet.h"

enum { UL_OFF_WAYS = 8, UL_OFF_DEG = 2 };

/* The air trees of the attitudes 2 degrees off, made when first asked for. Zeroed: none is. */
typedef struct ul_off {
  ul_skin_tree *tree[UL_OFF_WAYS];
} ul_off;

void ul_off_clear(ul_off *off);

/* Of the air that stands over one of the places, the most that the mouth on its own leaves, mm3, 2
 * degrees off the attitude of `skin` in any of eight directions. Errors: UL_E_MEMORY. */
ul_status ul_off_leaves(ul_off *off, const ul_skin_tree *skin, const double mouth_mm[3],
                        const double (*place_mm)[3], size_t count, double *most_mm3, ul_error *err);

#endif
