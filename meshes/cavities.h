/* cavities.h - the five demo cavities of the rowing workshop; mm, +z up as drawn. */
#ifndef MESHES_CAVITIES_H
#define MESHES_CAVITIES_H

#include "blocks.h"

blocks bow_ball(void);     /* a ball on a lipped collar, a tapered socket in it */
blocks seat_pad(void);     /* thin, dished, with a notch for the tail bone */
blocks rigger_float(void); /* a small hull, four thin ribs on deck, a pipe hole across */
blocks dock_fender(void);  /* D section, T slot along its back, a board cast in */
blocks rack_saddle(void);  /* a cradle with two horns of unequal length, a strap slot in each */

#endif
