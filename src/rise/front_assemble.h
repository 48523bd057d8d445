/* front_assemble.h - the linear system of a step, about the pressures it has so far: the foam of
 * full cubes (front_cubes.h), the air, and the front between the two. */
#ifndef UL_RISE_FRONT_ASSEMBLE_H
#define UL_RISE_FRONT_ASSEMBLE_H

#include "rise/front.h"

/* Coefficients and sources into step and solver, for the front as listed. */
ul_status ul_front_assemble(ul_step *step, ul_error *err);

/* kg/(s Pa) of foam out of the k-th cube of a mouth, if that is covered. */
double ul_bleed_conduct(const ul_step *step, const ul_mouth *mouth, size_t k);

/* The mass by which the air's linear law missed the real one, after the gains were gathered, kg. */
double ul_front_air_error(const ul_step *step);
/* Volume of the part at the step's end. */
double ul_front_air_volume(const ul_step *step, size_t part);

#endif
