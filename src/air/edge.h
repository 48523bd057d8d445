/* edge.h - how far from an edge of the tool a hole comes out. */
#ifndef UL_AIR_EDGE_H
#define UL_AIR_EDGE_H

#include "ullage/attitude.h"

/* A hole nearer to an edge than this many of its diameters breaks out of it, or cracks it: common
 * practice, no source. */
#define UL_EDGE_DIAMETERS 1.5

/* From `through_mm`, on the outside of the tool's box, to the nearest edge of it, mm. */
double ul_box_edge_mm(const ul_tool *tool, const double through_mm[3]);
/* The same of the tool's mesh, where there is one, for a hole that comes out along the unit `axis`:
 * to the nearest triangle turned by more than 30 degrees against the one it comes out of, but for
 * those that look back (the cavity's side of the wall). INFINITY: there is none. Time is the number
 * of triangles. */
double ul_tool_edge_mm(const ul_tool *tool, const double through_mm[3], const double axis[3]);

#endif
