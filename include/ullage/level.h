/* level.h - the level rise: the cavity flooded from the pour as a liquid would. */
#ifndef ULLAGE_LEVEL_H
#define ULLAGE_LEVEL_H

#include "ullage/grid.h"

typedef struct ul_vent_at {
  double at_mm[3];
  double diameter_mm;
} ul_vent_at;

/* What becomes of a cavity without a vent of its own: its air leaves by its highest cube, or stays.
 */
typedef enum { UL_UNVENTED_OPEN, UL_UNVENTED_SHUT } ul_unvented;

typedef struct ul_void {
  uint32_t cavity;
  double at_mm[3];         /* its highest point */
  double air_mm3;          /* air cut off */
  double void_mm3;         /* what is left of it (the same for a level rise: nothing squeezes it) */
  double across_mm;        /* largest extent */
  double cut_off_fraction; /* filled fraction of the cavity when it was cut off */
} ul_void;

typedef struct ul_level {
  float *arrival; /* per cube: filled fraction of its cavity when foam reaches it; NAN outside;
                     2 where it never does */
  size_t void_count;
  ul_void *voids;       /* largest first */
  double *filled;       /* per cavity: fraction filled */
  double (*last_mm)[3]; /* per cavity: place reached last */
  double (*pour_mm)[3]; /* per cavity: where it was poured */
} ul_level;

/* Floods every cavity of `grid` at `up` (any length above 0) from its pour point (`pour_mm` NULL:
 * the middle of the lowest floor or edge of each; else one point a cavity, in order, NAN for that).
 * The liquid runs down to the first floor, lies level, and spills over saddles into the next basin,
 * which fills before both rise together. Air leaves by the vents, or as `unvented` says; a region
 * that the liquid cuts off from every vent keeps its air, and the liquid never enters it. Pockets
 * shallower than one cube along `up` are below what cubes can tell and are not kept; a part of a
 * cavity that the pour cannot reach is a void cut off at 0. `columns` tell where walls thinner than
 * a cube part neighbours; NULL: nowhere. UL_OK: *out is yours, ul_level_free(). UL_E_OUTSIDE, with
 * the distance to the nearest cavity point, for a pour or vent more than a cube outside; UL_E_THIN
 * when a cavity holds no cube. */
ul_status ul_level_rise(const ul_grid *grid, const ul_columns *columns, const double up[3],
                        const double (*pour_mm)[3], const ul_vent_at *vent, size_t vent_count,
                        ul_unvented unvented, const ul_job *job, ul_level **out, ul_error *err);
void ul_level_free(ul_level *level);

#endif
