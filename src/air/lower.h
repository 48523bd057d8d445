/* lower.h - places on the same pocket, below its top, where a mouth may be. */
#ifndef UL_AIR_LOWER_H
#define UL_AIR_LOWER_H

#include "air/bore.h"
#include "air/skin_outlet.h"

/* What is looked for. */
typedef struct ul_lower {
  const ul_bore_site *site; /* whose at_mm is the pocket's top */
  const ul_skin_tree *skin; /* NULL: the pocket is not known, so all of the cavity */
  const ul_outlet *top;
  double share;    /* of the pocket's extent: so far from one another, but two radii at least */
  double above_mm; /* only places higher than that along up; -INFINITY: all */
  const double *near_mm; /* only places near that one, three times as far as from one another; NULL:
                            all */
} ul_lower;

/* Places on the pocket's wall, however the mesh divides it, the highest first; none above
 * site->at_mm, on a face that vents keep off, or within a radius of a box that they do. At most
 * `most`, *count of them. Errors: UL_E_MEMORY. */
ul_status ul_lower_places(const ul_lower *lower, size_t most, double (*place)[3], size_t *count,
                          ul_error *err);

/* The same places as high along up as `level_mm`, two radii from one another, the nearest to
 * site->at_mm first; share, above_mm and near_mm are not asked. Errors: UL_E_MEMORY. */
ul_status ul_level_places(const ul_lower *lower, double level_mm, size_t most, double (*place)[3],
                          size_t *count, ul_error *err);

#endif
