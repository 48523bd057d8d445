/* wet.h - mobility of the foam that is there, instead of the whole cavity full. */
#ifndef UL_RISE_WET_H
#define UL_RISE_WET_H

#include "rise/filling.h"

typedef struct ul_wet_mobility {
  bool on;
  double solved_m3; /* of foam, when it was solved last; 0: never */
  uint8_t *wet;     /* per cube of the lattice */
  float *k_mm2;     /* likewise */
} ul_wet_mobility;

/* With opts->wet_mobility; else it stays off. Release with ul_wet_free(). */
ul_status ul_wet_new(const ul_filling *filling, const ul_rise_opts *opts, ul_wet_mobility *out,
                     ul_error *err);
void ul_wet_free(ul_wet_mobility *wet);

/* Solves K anew, when the foam has grown by a tenth since, on the cubes that hold foam and those
 * round them: walls hold it there, and what is beyond does not. Elsewhere K stays as in the whole
 * cavity. The filling's faces follow. Each once in `count` more. */
ul_status ul_wet_follow(ul_filling *filling, const ul_rise_opts *opts, ul_wet_mobility *wet,
                        size_t *count, ul_error *err);

#endif
