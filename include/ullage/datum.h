/* datum.h - places as the mould maker measures them: from a point of his, along axes of his. */
#ifndef ULLAGE_DATUM_H
#define ULLAGE_DATUM_H

#include "ullage/status.h"

typedef struct ul_datum {
  double at_mm[3];   /* in the file's axes */
  double axis[3][3]; /* his x, y and z as unit vectors in the file's axes; right-handed */
} ul_datum;

/* The file's own origin and axes. */
ul_datum ul_datum_default(void);
/* Sets the axes from his x and y, of any length; z completes them. What `y` lacks of a right angle
 * is taken off it. UL_E_USAGE if either has no length or they are over 0.01 degrees off a right
 * angle; *datum is then as it was. */
ul_status ul_datum_set_axes(ul_datum *datum, const double x[3], const double y[3], ul_error *err);
/* A place, or a direction, of the file as he measures it. `out` may be `in`. NULL: as the file. */
void ul_datum_place(const ul_datum *datum, const double in[3], double out[3]);
void ul_datum_direction(const ul_datum *datum, const double in[3], double out[3]);

#endif
