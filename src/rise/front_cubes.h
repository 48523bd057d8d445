/* front_cubes.h - the foam of full cubes in a step's equations: its density at the pressures so
 * far, made linear about them, and the links between cubes. */
#ifndef UL_RISE_FRONT_CUBES_H
#define UL_RISE_FRONT_CUBES_H

#include "base/parallel.h"
#include "rise/front.h"

/* Foam is never stiffer than this, 1/Pa: a liquid pool at cream has no gas yet. */
static const double ul_least_compressibility = 1e-9;

static inline double ul_density_at(const ul_step *s, double gauge) {
  return (1 + ul_least_compressibility * gauge) / ul_volume_at(&s->now, gauge);
}

/* Density, slope, links, holds and sources: of all full cubes at the first solve of a step, of
 * those in step->renewed at the others. */
void ul_cubes_law(ul_step *step);

/* Keeps the pressures within reason after a solve; returns the mass by which the linear law missed
 * the real one over the full cubes, kg. */
double ul_cubes_limit(ul_step *step);

/* ---- work on all cubes ---- */

enum { UL_CUBES_BLOCK = 8192 };

/* Does a block function over all cubes; it writes only what belongs to its own. */
void ul_cubes_for_all(ul_step *step, ul_block_fn block);

/* A block begins at block * UL_CUBES_BLOCK and ends before this. */
static inline size_t ul_cubes_end(const ul_step *s, size_t block) {
  const size_t end = (block + 1) * UL_CUBES_BLOCK;
  return end < s->f->count ? end : s->f->count;
}

/* How many sums a step needs room for. */
static inline size_t ul_cubes_blocks(const ul_filling *f) {
  return f->count / UL_CUBES_BLOCK + 1;
}

#endif
