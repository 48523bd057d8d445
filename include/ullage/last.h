/* last.h - where foam comes last: the leaves of the air tree of its arrival. */
#ifndef ULLAGE_LAST_H
#define ULLAGE_LAST_H

#include "ullage/grid.h"
#include "ullage/tree.h"

typedef struct ul_last_place {
  double at_mm[3]; /* the end of that cube's own air which lies farthest along up */
  uint32_t cavity; /* 0-based */
  double arrival_s;
  double adds_mm3; /* the air that a vent here lets out and that no vent listed before it does */
} ul_last_place;

/* The best `most` places for vents by the arrival tree, those that add the most first: of every
 * number of vents the first ones are the best (ul_tree_best_leaves()). Cubes of one cavity hang
 * together where no wall is between them, a vent lets out what hangs on its way to the pour, and
 * weights are volumes. `arrival_s` is a rise's, best of one from which air may leave everywhere
 * (ul_rise_opts.open): it must not depend on the vents; cubes never reached come last of all.
 * Places that add less than `least_mm3` are left out, but for the first of each cavity. Writes at
 * most `most` into out[]; *count of them. UL_E_MEMORY; UL_E_THIN as for a rise. */
ul_status ul_last_places(const ul_grid *grid, const ul_columns *columns, const float *arrival_s,
                         const double up[3], double least_mm3, size_t most, ul_last_place *out,
                         size_t *count, ul_error *err);

#endif
