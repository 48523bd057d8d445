/* cubes.h - the cavity's cubes numbered closely, with the volume each stands for and its
 * neighbours. */
#ifndef UL_RISE_CUBES_H
#define UL_RISE_CUBES_H

#include <stdbool.h>

#include "ullage/grid.h"

enum { UL_NO_CUBE = -1 };

/* Sides of a cube in the order -x +x -y +y -z +z: side ^ 1 is the opposite one. */
enum { UL_SIDES = 6 };

typedef struct ul_cubes {
  const ul_grid *grid;
  const ul_columns *columns; /* may be NULL: then neighbouring cubes inside always meet */
  size_t count;
  size_t cavity_count;
  uint32_t *at;       /* number in the lattice; rising */
  double *volume_mm3; /* cavity it stands for: its own, and that of partly filled cubes beside
                         it whose centres are outside, or that join no other (crumbs.h), so that
                         the sum is the cavity's */
  int32_t (*next)[UL_SIDES]; /* neighbour on each side, UL_NO_CUBE where a wall is between */
  int32_t *of_lattice;       /* per cube of the lattice: the one that stands for it */
  double *cavity_mm3;        /* per cavity */
} ul_cubes;

/* `grid` and `columns` are borrowed. UL_OK: *out is yours, ul_cubes_free(). UL_E_THIN when a cavity
 * holds no cube centre at all. */
ul_status ul_cubes_new(const ul_grid *grid, const ul_columns *columns, ul_cubes **out,
                       ul_error *err);
/* Only one cavity's cubes, numbered anew. `all` must outlive nothing: the copy stands alone. */
ul_status ul_cubes_pick(const ul_cubes *all, uint32_t cavity, ul_cubes **out, ul_error *err);
void ul_cubes_free(ul_cubes *cubes);

/* Of values of four bytes, per cube of the lattice: a cube that is inside and joins none has that
 * of the one that stands for it. */
void ul_cubes_share(const ul_cubes *cubes, void *per_lattice_cube);

/* Place and number of a cube of the lattice. */
static inline void ul_lattice_place(const ul_lattice *l, size_t cube, int32_t ijk[3]) {
  ijk[0] = (int32_t)(cube % (size_t)l->n[0]);
  ijk[1] = (int32_t)(cube / (size_t)l->n[0] % (size_t)l->n[1]);
  ijk[2] = (int32_t)(cube / ((size_t)l->n[0] * (size_t)l->n[1]));
}

static inline size_t ul_lattice_cube(const ul_lattice *l, const int32_t ijk[3]) {
  return ((size_t)ijk[2] * (size_t)l->n[1] + (size_t)ijk[1]) * (size_t)l->n[0] + (size_t)ijk[0];
}

/* Of the lattice cube there, false beyond the lattice: its centre is outside, and more of it is
 * cavity than its fill may be rounded by. */
bool ul_lattice_cut(const ul_grid *grid, const int32_t ijk[3]);

static inline uint32_t ul_cube_cavity(const ul_cubes *c, size_t cube) {
  return c->grid->cavity[c->at[cube]];
}

void ul_cube_centre_mm(const ul_cubes *cubes, size_t cube, double out[3]);

/* The box that a cube stands for, from its centre, mm: half a cube to either side, and to the wall
 * where one comes before the next cube's centre. */
void ul_cube_box_mm(const ul_cubes *cubes, size_t cube, double low[3], double high[3]);
/* The end of the runs through the cube's centre that lies farthest along `direction`: within a cube
 * of the cavity's own extreme point there. Without columns, the middle of a face. */
void ul_cube_extreme_mm(const ul_cubes *cubes, size_t cube, const double direction[3],
                        double out[3]);
/* The same, or the corner to which the runs through its centre go together, if all of that is of
 * the cavity: a box's corner, but not one beyond a slanting wall. */
void ul_cube_corner_mm(const ul_cubes *cubes, size_t cube, const double direction[3],
                       double out[3]);
/* How far it goes from its centre along the unit direction, mm: half a cube, and to the wall where
 * one comes before the next cube's centre; along a slant the sum of its axes' parts. */
double ul_cube_reach_mm(const ul_cubes *cubes, size_t cube, const double direction[3]);

/* Of the cubes listed: the highest such end along `up`, and the largest extent. */
void ul_cubes_highest_mm(const ul_cubes *cubes, const uint32_t *member, size_t count,
                         const double up[3], double out[3]);
double ul_cubes_across_mm(const ul_cubes *cubes, const uint32_t *member, size_t count);

/* The cube that holds the point. Vents and pours are given on the surface: in a cube cut by the
 * wall, which lends its volume to any one of its neighbours, or up to a cube's width outside, it is
 * the nearest that counts. UL_E_OUTSIDE: `what` ("pour", "vent 2") and the distance to the
 * nearest cavity point are in the text. */
ul_status ul_cubes_find(const ul_cubes *cubes, const double at_mm[3], const char *what,
                        size_t *cube, ul_error *err);

/* Whether no cube of another cavity lies nearer to the point than `cube`, of these. */
bool ul_cubes_own(const ul_cubes *cubes, const double at_mm[3], size_t cube);

#endif
