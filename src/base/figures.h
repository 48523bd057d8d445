/* figures.h - three figures for notes made in rooms that come before the words. */
#ifndef UL_BASE_FIGURES_H
#define UL_BASE_FIGURES_H

#include <math.h>

/* Rounded to three figures: 1256 is 1260. Written with UL_FIGURES it has no exponent from 0.0001
 * on. */
#define UL_FIGURES "%.12g"
static inline double ul_three_figures(double value) {
  if (!(fabs(value) > 0)) return 0;
  double step = pow(10, floor(log10(fabs(value))) - 2);
  return round(value / step) * step;
}

#endif
