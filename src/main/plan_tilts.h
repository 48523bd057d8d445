/* plan_tilts.h - which tilts are looked at with a foam, and what it leaves in each. */
#ifndef UL_MAIN_PLAN_TILTS_H
#define UL_MAIN_PLAN_TILTS_H

#include "main/plan_search.h"

enum {
  TILTS_LOOKED_AT = 16,
  TILTS_TAKEN = 6 /* the best of them, any of which may become the plan's */
};

/* What a coarse rise leaves in a tilt, with the best vents found for it at first. */
typedef struct tilt_look {
  double up[3];
  size_t vents;
  double left_mm3; /* voids over what the cubes see, and what is short */
  double over_mm;  /* so high its liquid stands over an opening */
} tilt_look;

typedef struct tilts_looked {
  size_t count;
  tilt_look look[TILTS_LOOKED_AT]; /* in the order asked for */
  size_t taken;
  tried_set best[TILTS_TAKEN]; /* risen; best first; no two mirror images of each other */
} tilts_looked;

/* For each of the tilts `up`: a rise with the air free to leave everywhere, vents where foam comes
 * last by the longest branches of its arrival tree, fitted to the tool, and a rise with those. It
 * ends early once one vent a cavity lets all the air out. Where some vents exist, those alone are
 * tried. Whatever came back, tilts_drop(). */
ul_status tilts_look(const foam_search *s, const double (*up)[3], size_t count, tilts_looked *out,
                     ul_error *err);
void tilts_drop(tilts_looked *t);

enum { TILTS_TOLD = 6 };
/* Makes a search's answers those that were looked at, the one first in which the foam leaves the
 * least air, then with the fewest vents; says so in their words, and puts what it says into
 * look[TILTS_TOLD]. */
void tilts_tell(const tilts_looked *t, ul_tilts *answers, tilt_look *look);

#endif
