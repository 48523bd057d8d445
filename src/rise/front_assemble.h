/* front_assemble.h - the linear system of a step, about the pressures it has so far. */
#ifndef UL_RISE_FRONT_ASSEMBLE_H
#define UL_RISE_FRONT_ASSEMBLE_H

#include "rise/front.h"

/* The faces of the front as the full cubes are now, in the order of the rim. */
ul_status ul_front_list(ul_step *step, ul_error *err);
/* Coefficients and sources into step and solver. */
ul_status ul_front_assemble(ul_step *step, ul_error *err);

/* How many sums a step needs room for. */
size_t ul_front_blocks(const ul_filling *filling);

/* What drives foam through the face, Pa, and what passes, kg/s. */
double ul_front_drive(const ul_step *step, const ul_front_face *face);
double ul_front_flux(const ul_step *step, const ul_front_face *face);

/* Keeps the pressures within reason after a solve; returns the mass by which the linear law missed
 * the real one over the full cubes, kg. */
double ul_front_limit_values(ul_step *step);
/* The same for the air, after the gains were gathered. */
double ul_front_air_error(const ul_step *step);
/* Volume of the part at the step's end. */
double ul_front_air_volume(const ul_step *step, size_t part);

/* Moves the masses as the pressures found have it; mean and peak pressure, and what bled. */
void ul_front_move_masses(ul_step *step);

#endif
