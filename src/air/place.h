/* place.h - a place to vent becomes a hole that a shop can make: along which axis, and why. */
#ifndef UL_AIR_PLACE_H
#define UL_AIR_PLACE_H

#include "air/bore.h"
#include "ullage/vents.h"

/* Fills what a vent owes to its place: at_mm, axis, diameter, length, through, back, past, moved,
 * ok and note. Tried in this order: the draw in either sense (`draw` unit, or zeros: none known),
 * then the main axes from the one nearest to up. The first that fits is taken, unless it puts the
 * mouth too far below the place for its kind: a level edge or face holds a whole layer of air above
 * such a mouth, a point little. Then the one with the least drop is, or the surface's own normal
 * where that halves the drop or nothing else fits. Errors: UL_E_MEMORY. */
ul_status ul_place_vent(const ul_bore_site *site, const double draw[3], ul_peak_kind kind,
                        ul_vent *out, ul_error *err);

#endif
