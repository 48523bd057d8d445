/* mask.h - small grids made by hand: a rule says which cubes are cavity, all of them full. */
#ifndef TEST_RISE_MASK_H
#define TEST_RISE_MASK_H

#include <stdbool.h>

#include "ullage/grid.h"

/* Is the point (mm) in the cavity? */
typedef bool (*mask_fn)(const double at[3], const void *context);

/* The box from 0 to size_mm in cubes of cube_mm, with a rim of one empty cube. Cavities are the
 * parts that hang together, numbered by their first cube. Release with mask_free(). */
ul_grid *mask_grid(const double size_mm[3], double cube_mm, mask_fn inside, const void *context);

void mask_free(ul_grid *grid);

bool mask_everything(const double at[3], const void *context);

/* Mobility of such a grid, mm2 a cube of the lattice: lap K = -1 with K = 0 at the cubes' faces to
 * the outside, and at least 0.015 of the half-gap squared. Release with free(). */
float *mask_mobility(const ul_grid *grid, double half_gap_mm);

/* Lattice number of the cube that holds the point. */
size_t mask_cube(const ul_grid *grid, double x, double y, double z);

#endif
