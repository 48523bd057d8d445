/* foam_proof.h - a plan's vents tried with the foam that will be poured. */
#ifndef UL_MAIN_FOAM_PROOF_H
#define UL_MAIN_FOAM_PROOF_H

#include <jansson.h>

#include "main/cavity_case.h"

typedef struct foam_proof {
  ul_foam foam;
  double pack;
  double cube_mm; /* coarser than the case's: what a rise can afford */
  size_t vent_count;
  ul_rise_vent *vent; /* those of the plan that can be made, in order; then the pour holes */
  uint32_t *vent_id;  /* their ids in the plan; 0: a pour hole */
  size_t first_hole;  /* among them */
  ul_rise *rise;      /* NULL: no card was named, so none was risen */
  ul_grid *grid;      /* its cubes */
  size_t meet_count;
  ul_meet *meet;
  double worst_mm3; /* the largest void */
  double worst_at_mm[3];
  uint32_t worst_cavity;
  double short_mm3; /* left empty although the air could leave */
  double peak_kpa;
} foam_proof;

/* Rises the foam of --foam at `up` with those vents. Release with foam_proof_free() whatever came
 * back. Nothing is done, and UL_OK, when no card was named. */
ul_status foam_proof_make(const cavity_case *c, const double up[3], const ul_vents *vents,
                          foam_proof *out, ul_error *err);
void foam_proof_free(foam_proof *proof);

/* Events, seams and what shows at the vents, as sentences; nothing without a rise. */
void foam_proof_show(const options *opts, const foam_proof *proof);
/* The keys rise_cube_mm, events, meets; outcomes and vents go where the plan's own are. */
json_t *foam_proof_json(const foam_proof *proof);

#endif
