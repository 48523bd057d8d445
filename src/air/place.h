/* place.h - a place to vent becomes a hole that a shop can make: along which axis, and why. */
#ifndef UL_AIR_PLACE_H
#define UL_AIR_PLACE_H

#include <stdbool.h>

#include "air/bore.h"
#include "air/off.h"
#include "air/skin_outlet.h"
#include "ullage/vents.h"

/* What makes one hole better than another. */
typedef struct ul_place_rules {
  double draw[3];           /* unit, or zeros: none known */
  const ul_skin_tree *skin; /* of the attitude; NULL where the mesh is not the cavity's wall */
  ul_off *off;              /* of the same attitude; NULL where skin is */
  double void_ok_mm3;
  const ul_parting *parting; /* NULL, or without a plane: no grooves */
  ul_drill_along along;
  ul_drill_set drills;
  double land_mm;
} ul_place_rules;

/* Fills what a vent owes to its place. Tried in this order: a groove in the parting face, at the
 * place or, for a peak's, farther off if 2 degrees off it, too, leaves no more than may be let be
 * or a hole does, or if no hole is as good, which its note says; the draw
 * in either sense, then the main axes from the one nearest to up (as rules->along says: the
 * surface's normal before these, or the draw after them). The first is taken whose mouth leaves no
 * more air of the place's pocket than may be let be, but for one that meets the tool's outside over
 * 15 degrees off square, or the cavity's wall over 60, where another as good is square and not half
 * as long again; failing that, the one that leaves the least, of two that leave the same to a
 * hundredth the squarer, or the surface's own normal where that halves it or nothing else fits. (A
 * mouth a millimetre below a level edge leaves a whole layer; below a point it leaves nothing to
 * speak of.) Without a skin, depth below the place stands in for air, and 1.25 radii for what may
 * be let be. Where vents keep off the top, the same is tried at lower places of the pocket, of
 * those as high at the nearest. A hole along the parting face keeps a web to it (web.h), or one
 * without leaves under a tenth of the air: then a groove does instead, if it leaves no more, or the
 * note says that it crosses the face. Errors: UL_E_MEMORY. */
ul_status ul_place_vent(const ul_bore_site *site, const ul_place_rules *rules, ul_vent *out,
                        ul_error *err);

/* A groove in the middle, site->at_mm, of a level top, that leaves no more over any of its ends
 * than may be let be, 2 degrees off in any direction, either: it is the whole top's vent. *does:
 * there is one, in *out. Errors: UL_E_MEMORY. */
ul_status ul_place_groove_for_top(const ul_bore_site *site, const ul_place_rules *rules,
                                  const double (*end_mm)[3], size_t ends, ul_vent *out, bool *does,
                                  ul_error *err);

/* The air of the place's pocket that a mouth leaves, mm3; without a skin, how far below it is, mm.
 * Errors: UL_E_MEMORY. */
ul_status ul_place_leaves(const ul_skin_tree *skin, const ul_outlet *place,
                          const double place_mm[3], const double up[3], const double mouth[3],
                          double *left, ul_error *err);

#endif
