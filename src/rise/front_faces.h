/* front_faces.h - the faces between cubes full of foam and the others. */
#ifndef UL_RISE_FRONT_FACES_H
#define UL_RISE_FRONT_FACES_H

#include "rise/front.h"

/* The faces of the front as the full cubes are now, in the order of the rim. */
ul_status ul_front_list(ul_step *step, ul_error *err);

/* What drives foam through the face, Pa, and what passes, kg/s. */
double ul_front_drive(const ul_step *step, const ul_front_face *face);
double ul_front_flux(const ul_step *step, const ul_front_face *face);

#endif
