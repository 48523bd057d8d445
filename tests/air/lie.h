/* lie.h - a shape's columns and heights in one go, for tests of the air. */
#ifndef TEST_LIE_H
#define TEST_LIE_H

#include "shapes/check.h"
#include "shapes/shapes.h"
#include "ullage/peaks.h"

typedef struct lie {
  ul_solid *solid;
  ul_columns *columns;
  ul_heights *heights;
  double cube_mm;
} lie;

/* Takes the mesh over. `cubes`: across the longest side. A one-cavity solid, without the audit. */
lie lie_make(ul_mesh *mesh, double cubes);
void lie_free(lie *l);

/* Ten shapes, 0 to 9, with edges and curves, several tops, a core, a hole. */
ul_mesh *lie_shape(int number);

/* A unit vector, evenly spread over the sphere. */
void lie_random_up(uint64_t *dice, double up[3]);
double lie_random(uint64_t *dice);

#endif
