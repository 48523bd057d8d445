/* mouth.h - an opening of the cavity as its cubes see it: a bore, or the seam between the halves.
 */
#ifndef UL_RISE_MOUTH_H
#define UL_RISE_MOUTH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "rise/vent_flow.h"

typedef struct ul_mouth {
  size_t given; /* which of the vents given; of no meaning for a seam */
  ul_bore bore;
  ul_slot slot; /* of a seam, instead */
  bool seam;
  bool plug;
  size_t count;
  uint32_t *cube; /* its mouth */
  double *share;  /* of the mouth that each cube is; NULL: an equal one */
  double covered; /* share that foam covers */
  double shows_s, clogs_s, bled_kg;
} ul_mouth;

static inline double ul_mouth_share(const ul_mouth *m, size_t k) {
  return m->share ? m->share[k] : 1 / (double)m->count;
}

/* kg/s of the shop's air through all of it, from the gauge pressure inside. */
double ul_mouth_air_kg_s(const ul_mouth *mouth, double gauge_pa);
/* m3/(Pa s) of foam of that viscosity through all of it. */
double ul_mouth_conductance(const ul_mouth *mouth, double viscosity);
double ul_mouth_area_m2(const ul_mouth *mouth);

#endif
