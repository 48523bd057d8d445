/* flood.h - the pockets of an attitude by a second method: a flood cube by cube, that knows nothing
 * of runs or of the mesh. */
#ifndef TEST_FLOOD_H
#define TEST_FLOOD_H

#include "ullage/columns.h"

/* Heights of cube centres; the highest pocket of each part of the cavity is left out. */
typedef struct flood_pocket {
  double height, cut_off;
} flood_pocket;

/* Pockets deeper than `least`, of the cubes whose centres lie inside; as many as there are. */
size_t flood_deeper_than(const ul_columns *columns, const double up[3], double least,
                         flood_pocket *out);

#endif
