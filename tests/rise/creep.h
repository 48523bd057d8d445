/* creep.h - foam of which creeping flow has closed forms: it grows evenly, its viscosity hardly
 * changes and gas does not thicken it, and air leaves everywhere. Where the mobility is given as
 * h^2/12 on one layer of cubes, the rise is that of a flat gap h. */
#ifndef TEST_RISE_CREEP_H
#define TEST_RISE_CREEP_H

#include "ullage/rise.h"

ul_rise_opts creep_opts(double viscosity_pa_s);

/* On one thread; mass closed to 1e-9, and air's moles where it is shut in. Yours, ul_rise_free().
 */
ul_rise *creep_rise(const ul_grid *grid, const ul_columns *columns, const ul_rise_opts *opts);

/* The same mobility in every cube of the cavity. free() it. */
float *creep_even_mobility(const ul_grid *grid, double k_mm2);

/* The law of a shape: peak pressure, Pa, over viscosity and rate of growth (V'/V), when the foam
 * takes so many mm3. */
typedef double (*creep_law)(double volume_mm3);

/* Over the steps with the foam between two volumes: the peak pressure, less the weight of the
 * column that stands on it, over the law. */
typedef struct creep_fit {
  double mean;
  double worst;        /* largest distance from 1 of a step */
  double worst_of_two; /* and of the mean of two that follow each other */
} creep_fit;

/* `section_mm2`: what the column stands on, INFINITY for one that lies. */
creep_fit creep_ratios(const ul_rise *rise, const ul_rise_opts *opts, double cavity_mm3,
                       const double between_mm3[2], creep_law law, double section_mm2);

/* What the foam takes at time t, mm3; between two steps along a straight line. */
double creep_volume_mm3(const ul_rise *rise, double cavity_mm3, double t);

#endif
