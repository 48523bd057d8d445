/* relief.c - a hole is its own size for a short land only, and wider from there on, so that it can
 * be cleared. */
#include "air/relief.h"

#include "air/edge.h"
#include "base/vec.h"

#include <math.h>
#include <stdio.h>

static const double wider_mm = 3; /* than the vent: common practice, no source */

ul_status ul_relief_make(const ul_bore_site *site, const ul_bore *bore, ul_drill_set drills,
                         double land_mm, ul_vent *vent, ul_error *err) {
  vent->land_mm = fmin(land_mm, bore->length_mm);
  vent->relief_mm = 0;
  ul_drill drill;
  if (bore->length_mm < land_mm + 1) {
    vent->land_mm = bore->length_mm;
    return UL_OK;
  }
  if (!ul_drill_at_least(drills, vent->diameter_mm + wider_mm, &drill)) {
    vent->land_mm = bore->length_mm;
    return UL_OK;
  }
  double edge = ul_tool_edge_mm(site->tool, bore->through_mm, bore->axis);
  bool clear = edge >= UL_EDGE_DIAMETERS * drill.diameter_mm;
  if (!clear) {
    vent->land_mm = bore->length_mm;
    return UL_OK;
  }
  double past_mm;
  ul_status status =
      ul_bore_widen(site, bore, drill.diameter_mm / 2, vent->land_mm, &clear, &past_mm, err);
  if (status != UL_OK) return status;
  if (clear) {
    vent->relief_mm = drill.diameter_mm;
    vent->past_mm = past_mm;
  } else {
    vent->land_mm = bore->length_mm;
  }
  return UL_OK;
}
