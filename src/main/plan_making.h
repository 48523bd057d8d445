/* plan_making.h - a plan with a foam while it is made: the vents asked for, the fine rise with
 * them, and how sure that is. */
#ifndef UL_MAIN_PLAN_MAKING_H
#define UL_MAIN_PLAN_MAKING_H

#include "main/plan.h"
#include "main/plan_search.h"

/* One way to do it. */
typedef struct made {
  tried_set set;
  ul_vent_size size;
  foam_proof foam;
  plan_sure sure; /* tries 0: not asked yet */
} made;
void made_clear(made *w);

typedef struct making {
  cavity_case *c;
  plan *p;
  foam_search search;
  made now;
} making;

/* Another set in place of that one: fitted to the tool, with its fine rise. */
typedef struct making_other {
  tried_set set;
  foam_proof proof;
} making_other;

/* What is asked for now, and nothing that came of it. */
void making_copy(const making *m, making_other *out);
void making_clear(making_other *other);

/* Fits sets to the tool; then makes their fine rises, all at once. Whatever came back,
 * making_clear() each. */
ul_status making_fit(const making *m, making_other *list, size_t count, ul_error *err);
ul_status making_prove(const making *m, making_other *list, size_t count, ul_error *err);

/* What a fine rise leaves: voids over the limit, and what is short. Is it little enough; or that,
 * or no more than `share` of what is left now? */
double making_left_by(const foam_proof *proof);
bool making_fills(const making *m, const foam_proof *proof);
bool making_leaves_no_more(const making *m, const foam_proof *proof, double share);

/* The other becomes what is now; it is empty then. */
void making_take(making *m, making_other *other);

#endif
