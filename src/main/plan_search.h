/* plan_search.h - with a foam: which vents in a tilt, by coarse rises. */
#ifndef UL_MAIN_PLAN_SEARCH_H
#define UL_MAIN_PLAN_SEARCH_H

#include "main/foam_proof.h"
#include "main/plan_vents.h"

typedef struct foam_search {
  const cavity_case *c;
  const pack_choice *choice;
  const foam_bed *bed;  /* the coarse one */
  const ul_vents *keep; /* that exist; NULL: none. Then one new one at most is proposed */
} foam_search;

/* A set of vents in its tilt, with what a coarse rise leaves. */
typedef struct tried_set {
  vent_set set;
  bool closed[VENTS_MOST]; /* of those that exist */
  bool open;               /* no vents: the air may leave everywhere */
  foam_left left;
  double last_mm[3]; /* the place reached last in the cavity of the worst void */
} tried_set;

/* What stays in such a rise, as one number: voids over the limit, and what is short. A void under a
 * coarse cube is not seen. */
double search_limit_mm3(const foam_search *s);
double search_air_mm3(const foam_search *s, const tried_set *t);

/* Rises all of them, one a thread. `rise` NULL: nobody looks at the rises themselves; else they are
 * the caller's, all NULL unless UL_OK. */
ul_status search_rise(const foam_search *s, tried_set *list, size_t count, const char *stage,
                      ul_rise **rise, ul_error *err);

/* Fits what is asked for to the tool. Whatever came back, search_drop() or vent_set_clear(). */
ul_status search_fit(const foam_search *s, tried_set *t, ul_error *err);
void search_drop(tried_set *list, size_t count);
/* Poured without liquid over an opening, where the other is not; else clearly less air; or no more
 * of it, and fewer vents. */
bool search_is_better(const foam_search *s, const tried_set *a, const tried_set *b);

/* Mends a set that has been risen, one vent added or moved to where air stays, and then spares
 * every vent that lets nothing out. Of those that exist one may be plugged for good. */
ul_status search_vents(const foam_search *s, tried_set *best, ul_error *err);

/* One size for all new vents, from the shop's set: by the air that each must let out at the fastest
 * moment of the rise; the next one up where that leaves less than half the air. `size` is that of
 * the cavity that asks for the widest. The set is fitted and risen anew. */
ul_status search_size(const foam_search *s, tried_set *best, ul_vent_size *size, ul_error *err);
/* The next size of the shop's set; false when there is none. And `size` made that. */
bool search_next_size(const foam_search *s, const ul_vent_size *size, ul_drill *next);
void search_widen(const foam_search *s, ul_vent_size *size);

#endif
