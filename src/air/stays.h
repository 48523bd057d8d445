/* stays.h - the air that holes leave because of where they are, in words of a level rise. */
#ifndef UL_AIR_STAYS_H
#define UL_AIR_STAYS_H

#include "ullage/grid.h"
#include "ullage/level.h"
#include "ullage/peaks.h"

/* The largest region of the cavities, lying at `up`, that is cut off from all of these
 * places on their wall as the foam rises level. Exact for the polyhedron; 0 where the mesh is not
 * the cavities' wall. Of regions in which no place is, those under two cubes are left out, as among
 * peaks. `top_mm` is its highest place; as it was where there is none. Errors: UL_E_MEMORY. */
ul_status ul_stays_most_mm3(const ul_heights *heights, const double up[3], const double (*at_mm)[3],
                            size_t count, double *most_mm3, double top_mm[3]);

/* Cubes see no air that is shallower than they are; the skin does. Each such region of over
 * `least_mm3` becomes a void of `level`, a rise with the same holes, or takes the place of those
 * within it if they make less. The cubes' arrivals stay as they are. Errors: UL_E_MEMORY. */
ul_status ul_stays_tell(const ul_heights *heights, const ul_grid *grid, const double up[3],
                        const double (*at_mm)[3], size_t count, double least_mm3, ul_level *level);

#endif
