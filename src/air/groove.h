/* groove.h - a vent scraped in the parting face, from the cavity to the outside of the tool. */
#ifndef UL_AIR_GROOVE_H
#define UL_AIR_GROOVE_H

#include "air/place.h"

typedef struct ul_groove {
  ul_bore bore;   /* of its middle line in the parting face */
  double face[3]; /* unit, from the parting face into the half it is scraped in */
  int half;       /* 1: the upper, -1: the lower */
  double width_mm, depth_mm;
  double left_mm3; /* air of the place's pocket that it leaves; without a skin, the drop in mm */
} ul_groove;

/* The shortest groove, of the area of the site's round hole, that leaves no more of the pocket at
 * site->at_mm than `allowed`: straight in the parting face along the surface's own normal or a main
 * axis, its whole opening in the wall, every line of it leaving the cavity for good. Scraped in the
 * half that lies higher, where the cavity reaches into it. *found: there is one. Errors:
 * UL_E_MEMORY. */
ul_status ul_groove_find(const ul_bore_site *site, const ul_place_rules *rules,
                         const ul_outlet *place, double allowed, ul_groove *out, bool *found,
                         ul_error *err);

#endif
