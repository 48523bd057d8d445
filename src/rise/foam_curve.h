/* foam_curve.h - a measured rise curve from a CSV file. */
#ifndef UL_RISE_FOAM_CURVE_H
#define UL_RISE_FOAM_CURVE_H

#include "ullage/foam.h"

/* Reads `folder`/`file` (folder NULL or "": as it stands): two columns, time in s and height or
 * volume, separated by comma, semicolon or tab; a heading, a byte-order mark and (with semicolons
 * or tabs) decimal commas are understood. Progress is the share of the way from the first value to
 * the highest; sinking back by up to 2 % of the rise at the end is left out. UL_E_CARD, with the
 * file's line, for a curve that falls or goes back in time. */
ul_status ul_foam_curve_load(const char *folder, const char *file, ul_foam *foam, ul_error *err);
/* Progress by the measured curve alone, of a foam that has one. */
double ul_foam_curve_at(const ul_foam *foam, double t_s);

#endif
