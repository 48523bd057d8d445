/* foam_curve.h - a measured rise curve from a CSV file. */
#ifndef UL_RISE_FOAM_CURVE_H
#define UL_RISE_FOAM_CURVE_H

#include "ullage/foam.h"

/* Reads `folder`/`file` (folder NULL or "": as it stands): two columns, time in s and height or
 * volume, separated by comma, semicolon or tab; a heading, a byte-order mark and (with semicolons
 * or tabs) decimal commas are understood. Progress is the share of the way from the first value to
 * the highest; a little sinking back at the end is left out. */
ul_status ul_foam_curve_load(const char *folder, const char *file, ul_foam *foam, ul_error *err);

#endif
