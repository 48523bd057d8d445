#include "air/web.h"

#include "base/vec.h"

#include <math.h>

static const double least_web_mm = 1;
static const double leads_through = 0.5; /* sine of 30 degrees: flatter, a drill breaks through in a
                                            long slot: as for a cavity's wall (place.c) */

double ul_web_mm(double radius_mm) {
  return fmax(radius_mm, least_web_mm);
}

double ul_web_to_parting_mm(const ul_parting *parting, const double axis[3], const double from[3],
                            const double to[3], double radius_mm) {
  if (!parting || !parting->has_plane) return INFINITY;
  const double lean = ul_dot(axis, parting->normal);
  if (fabs(lean) >= leads_through) return INFINITY;
  const double one = ul_parting_height_mm(parting, from), other = ul_parting_height_mm(parting, to);
  const double rim = radius_mm * sqrt(1 - lean * lean); /* of its circle, towards the plane */
  return ((one < 0) == (other < 0) ? fmin(fabs(one), fabs(other)) : -fmin(fabs(one), fabs(other))) -
         rim;
}
