/* web.h - how much of the tool stays between a hole and what it runs beside. */
#ifndef UL_AIR_WEB_H
#define UL_AIR_WEB_H

#include "ullage/parting.h"

/* The least web beside a hole of that radius: as thick as half the hole, and 1 mm. Our choice: what
 * a drill that wanders, and a face that is dressed, leave. */
double ul_web_mm(double radius_mm);

/* What of the tool is left between the parting face and a straight hole of that radius, along the
 * unit `axis` from one place to another, mm; below 0: so far it reaches through. INFINITY without a
 * plane, and for a hole that leads through the parting face, or away from it, at 30 degrees or
 * more: the halves are drilled shut then, and the seam at it is a short one. */
double ul_web_to_parting_mm(const ul_parting *parting, const double axis[3], const double from[3],
                            const double to[3], double radius_mm);

#endif
