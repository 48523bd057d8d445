/* rise_told.h - a rise with what decides how it is told in files. */
#ifndef UL_REPORT_RISE_TOLD_H
#define UL_REPORT_RISE_TOLD_H

#include "ullage/rise.h"

typedef struct ul_rise_told {
  const ul_rise *rise;
  bool foam_known; /* the user named a card: grams, seconds and pressures are of a foam that exists;
                      else they are not told */
  double void_ok_mm3;  /* voids up to this are given as one sum */
  size_t first_cavity; /* the number, 0-based, that the rise's first cavity has in the file */
} ul_rise_told;

#endif
