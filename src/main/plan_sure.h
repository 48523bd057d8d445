/* plan_sure.h - how sure a plan is: the same shot again and again, never twice the same. */
#ifndef UL_MAIN_PLAN_SURE_H
#define UL_MAIN_PLAN_SURE_H

#include <jansson.h>

#include "main/plan_search.h"

typedef struct plan_sure {
  long tries, good;     /* good: those that leave no void over the limit */
  double most_mm3;      /* on heights alone: the most that stays in one place in any of them, */
  double most_at_mm[3]; /* and its top */
  double limit_mm3;
  double cube_mm;      /* of the coarse rises; 0: on heights alone */
  double misses_mm;    /* places thinner than this may not be in their cubes; 0: there is none */
  ul_repeats *repeats; /* NULL: on heights alone */
  size_t vent_count;   /* of the repeats, as in the shot */
  uint32_t *vent_id;   /* and their ids in the plan */
} plan_sure;

/* Propped up to 2 degrees off, with the same vents: on heights alone. */
ul_status sure_on_heights(const cavity_case *c, const vent_set *set, plan_sure *out, ul_error *err);
/* And as it is meant to lie: the most that stays in one place. */
ul_status sure_left_on_heights(const cavity_case *c, const vent_set *set, double *most_mm3,
                               ul_error *err);
/* The whole shot repeated in coarse rises: attitude, charge, times and pour. `proof` says where it
 * is poured. Ends early, with fewer good ones than that, where `wanted` cannot be reached. */
ul_status sure_with_foam(const foam_search *s, const tried_set *set, const ul_rise *proof,
                         long wanted, plan_sure *out, ul_error *err);
/* How many of the first `tries` are good, of a set that has had no fine rise yet. */
ul_status sure_at_first(const foam_search *s, const tried_set *set, long tries, long *good,
                        ul_error *err);
void plan_sure_free(plan_sure *sure);

/* Enough tries are good: nine in ten, the program's own choice. */
bool plan_is_sure(long good, long tries);
/* A new vent where most tries that are not good leave their air; or the vent most often in the
 * wrong place, moved to the middle of where its pocket wanders, or doubled. *set is then the first
 * of these that is sure enough, else the best, and *better how sure that one is, where *mended says
 * that more tries are good than in `sure`. */
ul_status sure_mend(const foam_search *s, const ul_rise *proof, const plan_sure *sure,
                    tried_set *set, plan_sure *better, bool *mended, ul_error *err);

/* The object fills_in. */
json_t *plan_sure_json(const plan_sure *sure);
/* Into the plan's list of vents: how often each one's pocket is where it is. */
void plan_sure_vents(const plan_sure *sure, json_t *vents);

#endif
