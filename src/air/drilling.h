/* drilling.h - places to vent become vents of a list, each once. */
#ifndef UL_AIR_DRILLING_H
#define UL_AIR_DRILLING_H

#include "air/place.h"

typedef struct ul_drilling {
  ul_bore_site *site; /* its place and pocket are set for each vent */
  const ul_place_rules *rules;
  const ul_solid *solid;
  const ul_vents_opts *opts;
  ul_vents *vents; /* with room for all */
} ul_drilling;

/* One of the `holes` that a peak gets at its `ends`. */
typedef struct ul_drill_spot_of {
  uint32_t peak, cavity;
  const double *at_mm, *top_mm; /* the end; the peak's own place */
  double pocket_mm3, air_mm3;
  size_t holes, ends;
} ul_drill_spot_of;

/* The vents that are there, first in the list. */
void ul_drill_kept(ul_drilling *d, const ul_vent *keep, size_t count);
/* A hole for a peak; where its mouth would run into another's, that one serves the peak too, and a
 * pour hole does without being told of.
 * Errors: UL_E_MEMORY. */
ul_status ul_drill_spot(ul_drilling *d, const ul_drill_spot_of *spot, ul_error *err);
/* One groove in the middle of a level top, spot->at_mm, where that serves all its ends: *done then.
 * Errors: UL_E_MEMORY. */
ul_status ul_drill_top(ul_drilling *d, const ul_drill_spot_of *spot, const double (*end_mm)[3],
                       bool *done, ul_error *err);
/* A hole where one is wished for, if it can be made and is not there yet. Errors: UL_E_MEMORY. */
ul_status ul_drill_wish(ul_drilling *d, const ul_vent_wish *wish, ul_error *err);

#endif
