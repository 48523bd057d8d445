/* foam_bed.h - the cubes that a foam is risen in, made once and shared by many rises. */
#ifndef UL_MAIN_FOAM_BED_H
#define UL_MAIN_FOAM_BED_H

#include "main/cavity_case.h"

typedef struct foam_bed {
  ul_columns *columns;
  ul_grid *grid;
  float *mobility_mm2;
} foam_bed;

/* For the rise that is handed over: as the options ask, else fine enough for a void of the limit
 * to be two cubes. */
ul_status foam_bed_fine(const cavity_case *c, foam_bed *out, ul_error *err);
/* For rises by the dozen. */
ul_status foam_bed_coarse(const cavity_case *c, foam_bed *out, ul_error *err);
void foam_bed_free(foam_bed *bed);

double foam_bed_cube_mm3(const foam_bed *bed);

#endif
