/* relief.c - a hole is its own size for a short land only, and wider from there on, so that it can
 * be cleared. */
#include "air/relief.h"

#include "air/edge.h"
#include "air/web.h"
#include "base/vec.h"

#include <math.h>
#include <stdio.h>

static const double wider_mm = 3; /* than the vent: common practice, no source */

/* Not nearer to the parting face than a web, from the land to the outside. */
static bool keeps_a_web(const ul_bore_site *site, const ul_bore *bore, double land_mm,
                        double past_mm, double radius_mm) {
  double from[3], to[3];
  ul_add_scaled(bore->mouth_mm, land_mm, bore->axis, from);
  ul_add_scaled(bore->through_mm, past_mm, bore->axis, to);
  return ul_web_to_parting_mm(site->parting, bore->axis, from, to, radius_mm) >=
         ul_web_mm(radius_mm);
}

/* The widest of the drills that may be taken, the parting face being where it is; false: none. */
static bool widest(const ul_bore_site *site, const ul_bore *bore, ul_drill_set drills,
                   double land_mm, double diameter_mm, ul_drill *drill) {
  for (double wider = wider_mm; wider >= 1; wider--)
    if (ul_drill_at_least(drills, diameter_mm + wider, drill) &&
        keeps_a_web(site, bore, land_mm, bore->past_mm, drill->diameter_mm / 2))
      return true;
  return false;
}

ul_status ul_relief_make(const ul_bore_site *site, const ul_bore *bore, ul_drill_set drills,
                         double land_mm, ul_vent *vent, ul_error *err) {
  vent->land_mm = bore->length_mm;
  vent->relief_mm = 0;
  ul_drill drill;
  if (bore->length_mm < land_mm + 1 ||
      !widest(site, bore, drills, land_mm, vent->diameter_mm, &drill))
    return UL_OK;
  const double radius = drill.diameter_mm / 2;
  if (ul_tool_edge_mm(site->tool, bore->through_mm, bore->axis) <
      UL_EDGE_DIAMETERS * drill.diameter_mm)
    return UL_OK;
  bool clear;
  double past_mm;
  ul_status status = ul_bore_widen(site, bore, radius, land_mm, &clear, &past_mm, err);
  if (status != UL_OK || !clear || !keeps_a_web(site, bore, land_mm, past_mm, radius))
    return status;
  vent->land_mm = land_mm;
  vent->relief_mm = drill.diameter_mm;
  vent->past_mm = past_mm;
  return UL_OK;
}
