/* columns.h - the cavity along three bundles of parallel rays, each ray kept as exact runs. */
#ifndef ULLAGE_COLUMNS_H
#define ULLAGE_COLUMNS_H

#include <stddef.h>
#include <stdint.h>

#include "ullage/job.h"
#include "ullage/solid.h"

/* A box of cubes. Centre of cube (i,j,k): origin + (i+0.5, j+0.5, k+0.5) * cube. The cube's number
 * is (k*n[1] + j)*n[0] + i. */
typedef struct ul_lattice {
  double origin_mm[3];
  double cube_mm;
  int32_t n[3];
} ul_lattice;

/* Part of a ray inside the cavity: the coordinate along the axis runs from lo to hi, mm. */
typedef struct ul_run {
  double lo, hi;
} ul_run;

/* All rays along one axis a through the cube centres. With u = (a+1)%3, v = (a+2)%3 the ray through
 * the centres (iu, iv) is number iv*n[u] + iu; its runs are run[first[r] .. first[r+1]), rising. */
typedef struct ul_bundle {
  int axis;
  size_t ray_count;
  size_t run_count;
  uint32_t *first; /* ray_count + 1 */
  ul_run *run;
  uint32_t
      *lo_triangle; /* the solid's triangle at which the run begins and ends; UINT32_MAX on an */
  uint32_t *hi_triangle; /* insert's surface */
  size_t odd_rays;       /* rays on which the winding did not return to zero: 0 for a closed mesh */
} ul_bundle;

typedef struct ul_columns {
  ul_lattice lattice;
  ul_bundle bundle[3];
} ul_columns;

/* A lattice around `box_mm` with one to two empty cubes on each side, the box in the middle, so
 * that the box's own faces never run along a row of cube centres. UL_E_LIMIT above 2^31 cubes,
 * UL_E_USAGE for a cube that is not above 0, UL_E_NUMBER for a box that is none. */
ul_status ul_lattice_for_box(const double box_mm[2][3], double cube_mm, ul_lattice *out,
                             ul_error *err);
/* The cube size that puts about `cubes` of them into the solid's volume. */
double ul_cube_for_count(const ul_solid *solid, double cubes);

/* Rays through the centres of `lattice`, inside = winding number of solid positive, and of no
 * insert. A ray that meets an edge or a vertex is settled by one rule that all triangles share
 * (half-open spans of one canonical crossing per edge: the ray moved by an infinitesimal), never by
 * an epsilon, so the winding closes on every ray of a closed mesh. UL_OK: *out is yours,
 * ul_columns_free(). */
ul_status ul_columns_build(const ul_solid *solid, const ul_solid *const *inserts,
                           size_t insert_count, const ul_lattice *lattice, const ul_job *job,
                           ul_columns **out, ul_error *err);
void ul_columns_free(ul_columns *columns);

/* Ray number through centres (iu, iv) of bundle `axis`. */
static inline size_t ul_ray(const ul_lattice *l, int axis, int32_t iu, int32_t iv) {
  return (size_t)iv * (size_t)l->n[(axis + 1) % 3] + (size_t)iu;
}

#endif
