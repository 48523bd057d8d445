/* fill.h - how much of every cube is cavity. */
#ifndef UL_CAVITY_FILL_H
#define UL_CAVITY_FILL_H

#include "ullage/columns.h"

/* Writes the cavity's share of each cube of `lattice`, 0 to 1, to `fill`, and their sum before any
 * rounding to float, in cubes, to *sum. Every triangle is cut along the cubes' faces and the prism
 * under each piece is integrated (divergence theorem), so shares are exact for the polyhedron.
 *
 * Where shells overlap, or inserts are taken out, that stays so in each cube whose wall belongs to
 * one shell or insert. A cube in which two meet is sampled instead, along 4 x 4 rays in each of the
 * three directions with exact ends, and the three are averaged: up to 0.09 off where both walls lie
 * along the lattice. A shell that crosses itself is read
 * a little too full in the cubes where it does. */
ul_status ul_fill(const ul_solid *solid, const ul_solid *const *inserts, size_t insert_count,
                  const ul_lattice *lattice, const ul_job *job, float *fill, double *sum,
                  ul_error *err);

#endif
