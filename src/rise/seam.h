/* seam.h - the seam of a mould that does not close tight, as a mouth of the filling. */
#ifndef UL_RISE_SEAM_H
#define UL_RISE_SEAM_H

#include "rise/filling.h"

/* Adds the seam of opts->seam_mm to the filling's mouths, which have room for it. Nothing when the
 * seam is tight or does not come by this cavity. */
ul_status ul_seam_open(ul_filling *filling, const ul_rise_opts *opts, ul_error *err);

#endif
