/* level.h - the level rise: the cavity flooded from the pour as a liquid would. */
#ifndef ULLAGE_LEVEL_H
#define ULLAGE_LEVEL_H

#include "ullage/grid.h"

typedef struct ul_vent_at {
  double at_mm[3];
  double diameter_mm;
} ul_vent_at;

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

/* Floods every cavity of `grid` at `up` from its pour point (`pour_mm` NULL: the lowest place of
 * each; else one point a cavity). The liquid runs to the lowest place it can reach, lies level,
 * spills over saddles; air leaves by the vents, or by each cavity's highest peak when there are
 * none. Errors: UL_E_OUTSIDE with the distance to the nearest cavity point for a pour or vent out
 * of place. */
ul_status ul_level_rise(const ul_grid *grid, const ul_columns *columns, const double up[3],
                        const double (*pour_mm)[3], const ul_vent_at *vent, size_t vent_count,
                        const ul_job *job, ul_level **out, ul_error *err);
void ul_level_free(ul_level *level);

#endif
