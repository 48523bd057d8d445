#include "shapes/shapes.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

/* An outline in x and z, extruded from y = 0 to depth. */
static ul_mesh *profile(const double (*xz)[2], size_t count, double depth) {
  const shape_loop outline = {xz, count};
  return shape_prism(&outline, 1, 1, 0, depth);
}

ul_mesh *shape_gable(double x, double y, double eave, double ridge) {
  const double yz[5][2] = {{0, 0}, {y, 0}, {y, eave}, {y / 2, ridge}, {0, eave}};
  const shape_loop outline = {yz, 5};
  return shape_prism(&outline, 1, 0, 0, x);
}

ul_mesh *shape_steps(int steps, double run, double rise, double depth) {
  size_t count = 2 * (size_t)steps + 2, n = 2;
  double(*xz)[2] = ul_new(count, sizeof *xz);
  xz[1][0] = steps * run;
  for (int s = steps; s > 0; s--, n += 2) {
    xz[n][0] = s * run, xz[n][1] = s * rise;
    xz[n + 1][0] = (s - 1) * run, xz[n + 1][1] = s * rise;
  }
  ul_mesh *mesh = profile((const double(*)[2])xz, count, depth);
  free(xz);
  return mesh;
}

ul_mesh *shape_arch(double inner, double outer, double depth, int segments) {
  size_t side = (size_t)segments + 1;
  double(*xz)[2] = ul_new(2 * side, sizeof *xz);
  for (size_t i = 0; i < side; i++) {
    double c = cos(M_PI * (double)i / segments), s = sin(M_PI * (double)i / segments);
    if (i == side - 1) s = 0; /* both feet stand on z = 0 */
    if (2 * i == side - 1) c = 0;
    xz[i][0] = outer * c, xz[i][1] = outer * s;
    xz[2 * side - 1 - i][0] = inner * c, xz[2 * side - 1 - i][1] = inner * s;
  }
  ul_mesh *mesh = profile((const double(*)[2])xz, 2 * side, depth);
  free(xz);
  return mesh;
}

ul_mesh *shape_comb(int teeth, double tooth, double gap, double base, double height, double depth) {
  int nx = 2 * teeth - 1;
  double *x = ul_new((size_t)nx + 1, sizeof *x);
  unsigned char *solid = ul_new(2 * (size_t)nx, 1);
  for (int i = 0; i < nx; i++) {
    x[i + 1] = x[i] + (i % 2 ? gap : tooth);
    solid[i] = 1;
    solid[nx + i] = i % 2 == 0;
  }
  const double y[2] = {0, depth}, z[3] = {0, base, base + height};
  ul_mesh *mesh = shape_cells(x, nx, y, 1, z, 2, solid);
  free(x);
  free(solid);
  return mesh;
}

ul_mesh *shape_u(double leg, double apart, double base, double left_z, double right_z,
                 double depth) {
  double right = 2 * leg + apart;
  const double xz[8][2] = {
      {0, 0},      {right, 0},    {right, right_z}, {right - leg, right_z}, {right - leg, base},
      {leg, base}, {leg, left_z}, {0, left_z}};
  return profile(xz, 8, depth);
}

ul_mesh *shape_chambers(double side, double duct, double duct_length) {
  double lo = (side - duct) / 2, hi = (side + duct) / 2;
  const double x[4] = {0, side, side + duct_length, 2 * side + duct_length};
  const double across[4] = {0, lo, hi, side};
  unsigned char solid[27];
  for (int c = 0; c < 27; c++) solid[c] = c % 3 != 1 || c == 13;
  return shape_cells(x, 3, across, 3, across, 3, solid);
}

ul_mesh *shape_rib_box(double x, double y, double z, double at, double thick, double deep) {
  const double xs[4] = {0, at - thick / 2, at + thick / 2, x}, ys[2] = {0, y},
               zs[3] = {0, z - deep, z};
  const unsigned char solid[6] = {1, 1, 1, 1, 0, 1};
  return shape_cells(xs, 3, ys, 1, zs, 2, solid);
}

ul_mesh *shape_sheet(double x, double y, double t, double deg) {
  ul_mesh *mesh = shape_box(x, y, t);
  shape_move(mesh, -x / 2, -y / 2, -t / 2);
  shape_rotate(mesh, 1, deg);
  return mesh;
}

ul_mesh *shape_horn_and_dome(void) {
  const double x[6] = {0, 10, 15, 60, 110, 120}, y[6] = {0, 5, 27.5, 32.5, 55, 60},
               z[4] = {0, 10, 30, 50};
  unsigned char solid[3][5][5] = {{{0}}};
  for (int j = 0; j < 5; j++)
    for (int i = 0; i < 5; i++) solid[0][j][i] = 1;
  for (int j = 1; j < 4; j++) solid[1][j][3] = 1;
  solid[1][2][1] = solid[2][2][1] = 1;
  return shape_cells(x, 5, y, 5, z, 3, &solid[0][0][0]);
}

static ul_mesh *centred_cube(double side) {
  ul_mesh *mesh = shape_box(side, side, side);
  shape_move(mesh, -side / 2, -side / 2, -side / 2);
  return mesh;
}

static ul_mesh *with_core(ul_mesh *outside, double inner) {
  ul_mesh *core = centred_cube(inner);
  shape_reverse(core);
  shape_append(outside, core);
  return outside;
}

ul_mesh *shape_box_in_box(double outer, double inner) {
  return with_core(centred_cube(outer), inner);
}

ul_mesh *shape_box_in_sphere(double radius, double inner, int segments, int stacks) {
  return with_core(shape_sphere(radius, segments, stacks), inner);
}
