/* plan_proof.h - the plan beside what it might have been: a vent fewer, one more, other sizes, all
 * left open, all plugged. */
#ifndef UL_MAIN_PLAN_PROOF_H
#define UL_MAIN_PLAN_PROOF_H

#include <jansson.h>

#include "main/plan_search.h"

/* X(name, words) */
#define PROOF_ROW_LIST(X)                                                                          \
  X(PROOF_PLANNED, "as planned")                                                                   \
  X(PROOF_FEWER, "one vent fewer")                                                                 \
  X(PROOF_MORE, "one vent more")                                                                   \
  X(PROOF_WIDER, "next size up")                                                                   \
  X(PROOF_NARROWER, "next size down")                                                              \
  X(PROOF_LEFT, "all left open")                                                                   \
  X(PROOF_PLUGGED, "all plugged when foam shows")
#define PROOF_ROW_AS_ENUM(name, words) name,
typedef enum { PROOF_ROW_LIST(PROOF_ROW_AS_ENUM) PROOF_ROW_END } proof_kind;

const char *proof_words(proof_kind kind);

typedef struct proof_row {
  proof_kind kind;
  size_t vents;
  double diameter_mm;
  uint32_t without;     /* of one fewer: the vent that it does without */
  double more_at_mm[3]; /* of one more: where */
  foam_left left;
} proof_row;

typedef struct plan_proof {
  double cube_mm;
  size_t count; /* of rows that make sense: no vent fewer than none */
  proof_row row[PROOF_ROW_END];
} plan_proof;

/* One coarse rise a row, in the same cubes. One fewer is the one that lets out the least by itself;
 * one more is put where the planned one leaves the most air, or is full last. */
ul_status plan_proof_make(const foam_search *s, const tried_set *planned, plan_proof *out,
                          ul_error *err);
void plan_proof_show(const plan_proof *proof);
/* The key `proof`. */
json_t *plan_proof_json(const plan_proof *proof);

#endif
