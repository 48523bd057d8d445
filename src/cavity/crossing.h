/* crossing.h - where the rays of a lattice pass through triangles, settled once for all rays. */
#ifndef UL_CAVITY_CROSSING_H
#define UL_CAVITY_CROSSING_H

#include <math.h>

#include "ullage/columns.h"

/* A ray going through a triangle. */
typedef struct {
  double height; /* along the axis, mm */
  uint32_t ray;
  uint32_t triangle; /* of the body */
  int32_t step;      /* body + 1, negative where the ray leaves it; body 0 is the solid */
} ul_crossing;

typedef struct {
  ul_crossing *item;
  size_t count, room;
} ul_crossing_list;

/* Rays of one bundle are handled in UL_BANDS bands of scanlines, so that blocks of triangles can
 * be cut, and rays be finished, side by side. */
enum { UL_BANDS = 8 };

static inline int32_t ul_rows_per_band(const ul_lattice *l, int axis) {
  return (l->n[(axis + 2) % 3] + UL_BANDS - 1) / UL_BANDS;
}

/* How many of the lattice's centres along axis c lie below x: centre i is at or above x exactly
 * when i is at least this. One monotone function decides every tie. */
static inline int32_t ul_centres_below(const ul_lattice *l, int c, double x) {
  double i = ceil((x - l->origin_mm[c]) / l->cube_mm - 0.5);
  return i <= 0 ? 0 : i >= l->n[c] ? l->n[c] : (int32_t)i;
}

static inline double ul_centre(const ul_lattice *l, int c, int32_t i) {
  return l->origin_mm[c] + (i + 0.5) * l->cube_mm;
}

/* One body's triangles seen from the lattice. */
typedef struct {
  const ul_mesh *mesh;
  const ul_lattice *lattice;
  int32_t (*below)[3]; /* per vertex: ul_centres_below of its coordinates */
  int32_t body;
} ul_caster;

/* Adds the crossings of the triangles first to last-1 with the rays of bundle `axis` to the lists
 * of their bands. False when there is no memory. */
bool ul_cast(const ul_caster *caster, int axis, size_t first, size_t last,
             ul_crossing_list list[UL_BANDS]);

#endif
