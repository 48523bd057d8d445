/* place.h - a place to vent becomes a hole that a shop can make: along which axis, and why. */
#ifndef UL_AIR_PLACE_H
#define UL_AIR_PLACE_H

#include "air/bore.h"
#include "air/skin_tree.h"
#include "ullage/vents.h"

/* What makes one hole better than another. */
typedef struct ul_place_rules {
  double draw[3];           /* unit, or zeros: none known */
  const ul_skin_tree *skin; /* of the attitude; NULL where the mesh is not the cavity's wall */
  double void_ok_mm3;
} ul_place_rules;

/* Fills what a vent owes to its place: at_mm, axis, diameter, length, through, back, past, moved,
 * ok and note. Tried in this order: the draw in either sense, then the main axes from the one
 * nearest to up. The first is taken whose mouth leaves no more air of the place's pocket than may
 * be let be; failing that, the one that leaves the least, or the surface's own normal where that
 * halves it or nothing else fits. (A mouth a millimetre below a level edge leaves a whole layer;
 * below a point it leaves nothing to speak of.) Without a skin, depth below the place stands in for
 * air, and 1.25 radii for what may be let be. Errors: UL_E_MEMORY. */
ul_status ul_place_vent(const ul_bore_site *site, const ul_place_rules *rules, ul_vent *out,
                        ul_error *err);

#endif
