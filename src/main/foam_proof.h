/* foam_proof.h - a plan's vents tried with the foam that will be poured. */
#ifndef UL_MAIN_FOAM_PROOF_H
#define UL_MAIN_FOAM_PROOF_H

#include <jansson.h>

#include "main/pack_choice.h"
#include "main/pours.h"

/* A shot: those vents, that charge, in those cubes. */
typedef struct foam_shot {
  pours in;
  size_t vent_count;
  ul_rise_vent *vent; /* those of the plan that can be made and are not closed, in order; then the
                         pour holes */
  uint32_t *vent_id;  /* their ids in the plan; 0: a pour hole */
  size_t first_hole;  /* among them */
  ul_rise_opts opts;  /* points into the above */
} foam_shot;

/* Release with foam_shot_free() whatever came back. `vents` NULL: the air may leave everywhere. */
ul_status foam_shot_make(const cavity_case *c, const pack_choice *choice, const foam_bed *bed,
                         const double up[3], const ul_vents *vents, foam_shot *out, ul_error *err);
void foam_shot_free(foam_shot *shot);

/* What a rise left. */
typedef struct foam_left {
  double worst_mm3; /* the largest void */
  double worst_at_mm[3];
  uint32_t worst_cavity;
  double voids_mm3; /* all over the limit */
  double short_mm3; /* the most that a cavity is left empty although its air could leave */
  double peak_kpa;
  double bled_g;
  double over_mm; /* so high liquid stands over an opening that it may run out of; 0: nowhere */
} foam_left;
foam_left foam_left_by(const ul_rise *rise, double void_ok_mm3);

/* The rise that is handed over. */
typedef struct foam_proof {
  ul_foam foam;
  double pack;
  double cube_mm;    /* coarser than the case's: what a rise can afford */
  size_t vent_count; /* as in the shot */
  ul_rise_vent *vent;
  uint32_t *vent_id;
  size_t first_hole;
  ul_rise *rise;       /* NULL: no card was named, so none was risen */
  const ul_grid *grid; /* its cubes, the bed's */
  size_t meet_count;
  ul_meet *meet;
  double worst_mm3; /* the largest void */
  double worst_at_mm[3];
  uint32_t worst_cavity;
  double voids_mm3; /* all over the limit */
  double short_mm3; /* left empty although the air could leave */
  double peak_kpa;
} foam_proof;

typedef struct foam_asked {
  double up[3];
  const ul_vents *vents;
  const double *more_g; /* as in the rise's options; NULL: nothing */
} foam_asked;

enum { FOAM_PROOFS_MOST = 4 }; /* at once */

/* Rises the foam in each of those attitudes, with those vents: one rise on all threads, or several,
 * one a thread. Release all with foam_proof_free() whatever came back. */
ul_status foam_proofs_make(const cavity_case *c, const pack_choice *choice, const foam_bed *bed,
                           const foam_asked *asked, size_t count, foam_proof *proof, ul_error *err);
void foam_proof_free(foam_proof *proof);

enum { THIN_CUBES = 3 }; /* a place with fewer across is thin for them */

/* Whether its cubes tell of a void there: where a place is thin, of one that is two each way, if
 * one goes across at least. (Air in a rib as thick as a cube is right within a seventh, in one half
 * as thick again within a twentieth: `rise ribs`.) */
bool foam_proof_believes(const cavity_case *c, const foam_proof *proof, const double at_mm[3],
                         double void_mm3);
/* The largest cube, mm, that could tell of its worst void, where its own are too coarse for the
 * place or for the void; INFINITY: they do, or there is no void over the limit. */
double foam_proof_needs_cube_mm(const cavity_case *c, const foam_proof *proof);

/* Events, seams and what shows at the vents, as sentences; nothing without a rise. */
void foam_proof_show(const cavity_case *c, const foam_proof *proof);
/* The keys rise_cube_mm, events, meets; outcomes and vents go where the plan's own are. */
json_t *foam_proof_json(const cavity_case *c, const foam_proof *proof);

#endif
