/* grid.h - the cavity as cubes: mask, exact fill fractions, half-gap, and what is too thin. */
#ifndef ULLAGE_GRID_H
#define ULLAGE_GRID_H

#include "ullage/columns.h"

typedef struct ul_grid {
  ul_lattice lattice;
  size_t cube_count;   /* n[0]*n[1]*n[2] */
  size_t inside_count; /* cubes whose centre is in the cavity */
  uint8_t *inside;     /* per cube: 1 if its centre is in a run along z */
  float *fill;         /* per cube: the fraction of it that is cavity, exact for the polyhedron */
  float *wall_mm;      /* per cube inside: exact distance from the centre to the wall; else 0 */
  float *half_gap_mm;  /* per cube inside: half the local thickness; else 0 */
  uint32_t *cavity;    /* per cube inside: 0-based cavity number; UINT32_MAX outside */
  double half_gap_p5_mm, half_gap_p50_mm, half_gap_p95_mm; /* percentiles by volume */
} ul_grid;

/* The half-gap is the distance to the wall where climbing it from the cube, off the lattice too,
 * gains less than half the path; it may fall short by a 64th of a cube where that crest is a curve
 * or a point. Two exceptions to exactness: a cube in which the surfaces of two overlapping shells
 * or inserts meet has its fill sampled (up to 0.09 off), and the wall of overlapping shells is
 * right to half a cube where they cross.
 * UL_OK: *out is yours, ul_grid_free(). `columns` must have been built from the same solid and
 * inserts, on a lattice that encloses the solid. */
ul_status ul_grid_build(const ul_solid *solid, const ul_solid *const *inserts, size_t insert_count,
                        const ul_columns *columns, const ul_job *job, ul_grid **out, ul_error *err);
void ul_grid_free(ul_grid *grid);

/* Exact squared Euclidean distance, in cubes squared, from every cube centre to the nearest centre
 * of a cube with inside == 0; cubes beyond the lattice count as not inside. `out` holds one float
 * a cube. Felzenszwalb & Huttenlocher 2012 (Theory of Computing 8), lower envelopes, one axis at a
 * time. */
ul_status ul_distance_squared(const uint8_t *inside, const int32_t n[3], const ul_job *job,
                              float *out, ul_error *err);

/* A sheet, fin, duct or gap too thin to be seen at this cube. */
typedef struct ul_thin_place {
  double at_mm[3];      /* between the walls where it is thinnest */
  double thick_mm;      /* there, from wall to wall */
  double needs_cube_mm; /* the cube that would put four across */
  double area_mm2;      /* of one of its two walls */
  double volume_mm3;
} ul_thin_place;

/* Places less than `cubes_across` cubes of `cube_mm` from wall to wall, grouped, thinnest first;
 * *count of them in *out (yours, free()). Seen from the mesh itself, not through rays of a lattice,
 * so that nothing slips between those: from every triangle, and every two cubes on larger ones,
 * straight inwards to the opposite wall, which must face back within 20 degrees. An edge or a
 * corner is thus not a thin place, nor a wedge of more than 20 degrees. A gap of less than a
 * thousandth of a cube is taken as contact. Places less than two cubes apart may be named as one.
 */
ul_status ul_thin_places(const ul_solid *solid, const ul_solid *const *inserts, size_t insert_count,
                         double cube_mm, double cubes_across, const ul_job *job,
                         ul_thin_place **out, size_t *count, ul_error *err);

#endif
