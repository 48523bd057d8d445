/* sight.h - a mesh as seen along one direction near one place: where lines that run that way enter
 * what it encloses and where they leave. Made once a direction, then asked for thousands of lines.
 */
#ifndef UL_AIR_SIGHT_H
#define UL_AIR_SIGHT_H

#include <stdbool.h>
#include <stddef.h>

#include "ullage/mesh.h"

typedef struct ul_sight ul_sight;

/* A line's way through the inside. Depths run along the axis, from the place looked at, mm. */
typedef struct ul_stretch {
  double lo, hi;
  double facing; /* cosine between the axis and the surface's normal where the line leaves */
} ul_stretch;

/* Looks along the unit `axis` at everything within `reach_mm` of the line through `at`. UL_OK: *out
 * is yours, ul_sight_free(); it keeps no pointer to the mesh. */
ul_status ul_sight_new(const ul_mesh *mesh, const double at[3], const double axis[3],
                       double reach_mm, ul_sight **out, ul_error *err);
void ul_sight_free(ul_sight *sight);

/* The stretches of positive winding on the line at (x, y) from the place, rising; at most `most`
 * are written, the number there are is returned. A line that meets an edge or a vertex is taken as
 * moved aside by an infinitesimal, the same way for all triangles. 0 also where the winding does
 * not close. Not for two threads at once. */
size_t ul_sight_stretches(ul_sight *sight, double x, double y, size_t most, ul_stretch *stretch);

/* Whether a part of the mesh that faces the axis by less than the cosine `facing` (a wall, a step,
 * an overhang) comes within `radius` of the line at (x, y) between two depths. */
bool ul_sight_meets_wall(const ul_sight *sight, double x, double y, double radius, double from,
                         double to, double facing);

/* The place (x, y, depth) in the mesh's frame. */
void ul_sight_place(const ul_sight *sight, double x, double y, double depth, double out[3]);

#endif
