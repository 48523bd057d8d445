/* shapes.h - cavities with known answers. Every builder gives a closed mesh with shared vertices,
 * wound outwards, to be released with ul_mesh_free(); lengths in mm, +z up. A builder never returns
 * NULL: it ends the program when there is no memory or its arguments make no sense. */
#ifndef TEST_SHAPES_H
#define TEST_SHAPES_H

#include <stdbool.h>
#include <stddef.h>

#include "ullage/solid.h"

/* -- makers of shapes (shapes.c) -- */

/* One loop of a flat outline; either sense. */
typedef struct shape_loop {
  const double (*at)[2];
  size_t count;
} shape_loop;

/* The outline loop[0] less the holes loop[1...], extruded along `axis` from lo to hi. The outline's
 * two coordinates are the remaining axes in order: (y,z), (x,z) or (x,y). */
ul_mesh *shape_prism(const shape_loop *loop, size_t loops, int axis, double lo, double hi);

/* The polyline (r,z) turned about the z axis in `segments` steps, the first at +x. It either begins
 * and ends on the axis (r = 0 exactly, nowhere else), or is closed and stays off it (a ring). Its
 * vertices lie on the surface meant, so the solid is a little smaller where that is convex. */
ul_mesh *shape_revolve(const double (*rz)[2], size_t count, bool closed, int segments);

/* The solid cells of a rectilinear grid: cell (i,j,k) spans x[i]..x[i+1] and so on, and is solid
 * where solid[(k*ny + j)*nx + i]. Flat, exact, no T-junctions. Two solid cells must not touch along
 * an edge or at a corner alone. */
ul_mesh *shape_cells(const double *x, int nx, const double *y, int ny, const double *z, int nz,
                     const unsigned char *solid);

/* -- plain solids (solids.c) -- */

/* Lower corner at the origin. */
ul_mesh *shape_box(double x, double y, double z);
/* Centre at the origin, poles on z. The volume falls short of 4/3 pi r^3 by the facets. */
ul_mesh *shape_sphere(double radius, int segments, int stacks);
/* Icosahedron split `times` times, vertices on the sphere: 20 * 4^times triangles. */
ul_mesh *shape_icosphere(double radius, int times);
/* About the z axis, centre at the origin. */
ul_mesh *shape_torus(double ring_radius, double tube_radius, int segments, int tube_segments);
/* Base at z = 0, apex at z = height. */
ul_mesh *shape_cone(double radius, double height, int segments);
/* What a plane cuts from a sphere: flat base at z = 0, top at z = height (at most 2 radius). */
ul_mesh *shape_cap(double radius, double height, int segments, int stacks);
/* Axis z, base at z = 0. */
ul_mesh *shape_cylinder(double radius, double height, int segments);
ul_mesh *shape_tube(double inner_radius, double outer_radius, double height, int segments);
/* Volume of the facetted regular n-gon cylinder or cone over that of the round one. */
double shape_ngon_ratio(int segments);

/* -- cavities (cavities.c) -- */

/* A house: x by y in plan, walls to `eave`, ridge along x at y/2 and z = ridge. */
ul_mesh *shape_gable(double x, double y, double eave, double ridge);
/* A stair up +x: `steps` treads of run x depth, the n-th at z = n * rise. */
ul_mesh *shape_steps(int steps, double run, double rise, double depth);
/* Half a ring standing on its feet in the x-z plane, y from 0 to depth; crown at x = 0,
 * z = outer. `segments` (even) facets over the half turn. */
ul_mesh *shape_arch(double inner, double outer, double depth, int segments);
/* A bar from z = 0 to base, with `teeth` teeth up to z = base + height, `tooth` wide in x, `gap`
 * apart, the first at x = 0; y from 0 to depth. */
ul_mesh *shape_comb(int teeth, double tooth, double gap, double base, double height, double depth);
/* Two legs up from a bar of height `base`: the left from x = 0, the right ending at x = 2 leg +
 * apart; y from 0 to depth. */
ul_mesh *shape_u(double leg, double apart, double base, double left_z, double right_z,
                 double depth);
/* Two boxes of side `side`, `duct_length` apart in x, joined by a square duct of width `duct` from
 * centre to centre of their faces. */
ul_mesh *shape_chambers(double side, double duct, double duct_length);
/* A box in whose lid a rib hangs: across the whole of y, `thick` in x, centred on x = at, reaching
 * down `deep` from the lid. */
ul_mesh *shape_rib_box(double x, double y, double z, double at, double thick, double deep);
/* A sheet x by y, t thick, its middle at the origin, turned by `deg` about the y axis: at 0 it lies
 * flat, at 90 it stands. */
ul_mesh *shape_sheet(double x, double y, double t, double deg);
/* On a slab 120 x 60 x 10: a horn of 1 cm3, 5 x 5 x 40, and a dome of 50 cm3, 50 x 50 x 20. Level,
 * the slab's top at z = 10 is the saddle. */
ul_mesh *shape_horn_and_dome(void);
/* A cube of side `inner` as a core in a cube of side `outer`, or in a sphere; centred. */
ul_mesh *shape_box_in_box(double outer, double inner);
ul_mesh *shape_box_in_sphere(double radius, double inner, int segments, int stacks);

/* -- changes in place (transform.c) -- */

void shape_move(ul_mesh *mesh, double x, double y, double z);
void shape_scale(ul_mesh *mesh, double factor);
/* About the coordinate axis 0, 1 or 2 through the origin, right-handed. */
void shape_rotate(ul_mesh *mesh, int axis, double deg);
void shape_turn(double v[3], int axis, double deg); /* one vector, likewise */
/* The same mesh wound the other way. */
void shape_reverse(ul_mesh *mesh);
void shape_drop_triangle(ul_mesh *mesh, size_t triangle);
/* Adds `other` to `mesh` as it is, shells apart, and frees `other`. */
void shape_append(ul_mesh *mesh, ul_mesh *other);

/* -- towards the library -- */

/* The mesh as a solid; asserts that the audit finds it usable. Frees the mesh. */
ul_solid *shape_solid(ul_mesh *mesh);
/* A mesh of that size with one nameless part. */
ul_mesh *shape_new(size_t vertices, size_t triangles);

#endif
