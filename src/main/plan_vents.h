/* plan_vents.h - the vents of one attitude, fitted to the tool. */
#ifndef UL_MAIN_PLAN_VENTS_H
#define UL_MAIN_PLAN_VENTS_H

#include "main/cavity_case.h"

/* What is asked for in one attitude, and what comes of it. */
typedef struct vent_set {
  double up[3];
  double diameter_mm; /* 0: nobody has sized them */
  bool only_wishes;   /* else the peaks are vented, too */
  size_t wish_count;
  ul_vent_wish wish[VENTS_MOST];
  ul_peaks *peaks;
  ul_vents *vents;
} vent_set;

/* Finds peaks and fits vents; `keep` holds those that exist, NULL: none. Whatever came back,
 * vent_set_clear(). */
ul_status vent_set_fit(const cavity_case *c, const ul_vents *keep, vent_set *set, ul_error *err);
void vent_set_clear(vent_set *set);
/* What its vents are drilled to: while nobody has sized them, the drill of the set asked for that
 * is next to the usual 3 mm and not thinner. */
double vent_set_size_mm(const options *opts, const vent_set *set);
/* The new vents, as they are, become the set's wishes and nothing else is asked for. */
void vent_set_settle(vent_set *set);
/* Closes existing vents of the set, beside those that were closed already. */
void vent_set_close(vent_set *set, const bool *closed);
size_t vent_set_usable(const vent_set *set);
/* Those of no use: no hole of theirs can be made. */
size_t vents_not_made(const ul_vents *vents);
/* Of the wishes the two that let out the least by themselves; how many there are. */
size_t vent_set_least_two(const vent_set *set, size_t which[2]);
/* Leaves a wish out; what it let out goes by the nearest other one of its cavity. */
void vent_set_drop(vent_set *set, size_t wish);

#endif
