/* skin_outlet.h - what air a hole leaves: a place where air gets out, hung on the air tree. */
#ifndef UL_AIR_SKIN_OUTLET_H
#define UL_AIR_SKIN_OUTLET_H

#include "air/skin_tree.h"

#include <stdbool.h>

/* Air gets out here until the level has fallen to it; then what is above is cut off, unless it has
 * another way. */
typedef struct ul_outlet {
  uint32_t arc; /* the stretch of the air tree on which it hangs */
  double level_mm;
  double above_mm3; /* the region above it: what is left if nothing else lets it out */
} ul_outlet;

/* `at` is on the skin, or as near to it as rounding leaves it. Errors: UL_E_MEMORY. */
ul_status ul_outlet_at(const ul_skin_tree *tree, const double at[3], ul_outlet *out);

/* A region that is cut off from every outlet: what lies above a level on that arc. */
typedef struct ul_cut_region {
  uint32_t arc;
  double level_mm;
  double volume_mm3;
  bool over_outlet; /* it lies above one; else none was ever in it */
} ul_cut_region;

/* Those that stay as the level falls past everything, all cavities together; some are of 0 mm3,
 * under an outlet at the very top. UL_OK: *list is yours (free()). Errors: UL_E_MEMORY. */
ul_status ul_outlets_cut(const ul_skin_tree *tree, const ul_outlet *outlet, size_t count,
                         ul_cut_region **list, size_t *regions);

/* The air that is cut off from all of the outlets as the level falls past everything, all cavities
 * together, and the largest region of it. Exact for the polyhedron. Errors: UL_E_MEMORY. */
ul_status ul_outlets_leave(const ul_skin_tree *tree, const ul_outlet *outlet, size_t count,
                           double *left_mm3, double *largest_mm3);

/* The region that holds `peak` when `outlet`, on its own, is covered or cut off from it. */
double ul_outlet_leaves_at(const ul_skin_tree *tree, const ul_outlet *outlet,
                           const ul_outlet *peak);

/* Whether the arc `above` is `arc`, or leads down to it. */
bool ul_arc_is_below(const ul_tree *tree, uint32_t arc, uint32_t above);

#endif
