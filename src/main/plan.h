/* plan.h - the main job's parts, put together: a tilt, its peaks, vents for them, and the proof. */
#ifndef UL_MAIN_PLAN_H
#define UL_MAIN_PLAN_H

#include <jansson.h>

#include "main/opening.h"
#include "main/plan_proof.h"
#include "main/plan_sure.h"
#include "main/plan_tilts.h"
#include "main/shop_case.h"
#include "main/tilt_pours.h"
#include "report/words.h"

typedef struct plan {
  ul_tilts *tilts;            /* the search's answers */
  size_t looked;              /* of these at so many with the foam, all of them or none; */
  tilt_look look[TILTS_TOLD]; /* and what it leaves */
  ul_tilts *given;            /* the one attitude the user fixed, judged; NULL when none was */
  double up[3];
  ul_peaks *peaks;
  ul_vents *vents;
  ul_level *level; /* the level rise with exactly those vents */
  foam_proof foam; /* the same with the foam, when a card was named */
  shop_case shop;  /* what to weigh, the clock, what must be held */
  ul_props props;
  tilt_pour pour;     /* whether it holds its charge as it is poured, by geometry */
  bool level_holds;   /* and, if not, whether a level attitude does: */
  double level_up[3]; /* this one */
  opening opens;      /* how the tool opens, if the user said so */
  ul_vents *keep;     /* those of the plan that --keep names, NULL: none; and its tilt */
  double keep_up[3];
  pack_choice choice;    /* with a card: the charge, */
  foam_bed coarse, fine; /* the cubes of its rises, */
  ul_vent_size size;     /* of all new vents (its drill 0: none is needed), */
  plan_proof proof;      /* and what other vents would have left */
  plan_sure sure;
  double worst_mm3; /* the largest void of the level rise */
  bool fills;       /* the last rise leaves no more than is let be */
  bool sound;       /* fills, every vent can be made, and the shop can do it */
  char verdict[640];
} plan;

/* Makes the plan for an opened and resolved case. Release with plan_free() whatever came back. */
ul_status plan_make(cavity_case *c, plan *p, ul_error *err);
void plan_free(plan *p);

/* Writes plan.json, report.html and the vents' files into the folder, made if missing, each under a
 * temporary name first. */
ul_status plan_write(const cavity_case *c, const plan *p, const char *dir, ul_error *err);
/* What fills_in counts: "20 of 20 tries, each propped up to 2 degrees off, on heights alone"; and
 * its end, which says what was tried. */
const char *plan_tries_words(const plan *p, char out[UL_WORDS]);
/* Whether it is poured in a tilt in which nobody knows where the mould is open; what to say then.
 */
bool plan_opening_matters(const cavity_case *c, const plan *p);
extern const char plan_opening_words[];
const char *plan_tries_how(const plan *p);
/* The whole plan as JSON. */
json_t *plan_json(const cavity_case *c, const plan *p);

#endif
