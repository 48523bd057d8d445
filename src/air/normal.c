#include "air/normal.h"

#include "air/nearest.h"
#include "base/vec.h"

#include <math.h>

static const double touch_mm = 1e-6;

/* How much of a turn round the place, which is on it, the triangle fills: its corner's angle at a
 * corner, half a turn on an edge, else all of it. */
static double angle_at(const double *const corner[3], const double at[3]) {
  for (int k = 0; k < 3; k++) {
    double a[3], b[3], across[3];
    if (ul_distance(at, corner[k]) > touch_mm) continue;
    ul_sub(corner[(k + 1) % 3], corner[k], a);
    ul_sub(corner[(k + 2) % 3], corner[k], b);
    ul_cross(a, b, across);
    return atan2(ul_norm(across), ul_dot(a, b));
  }
  for (int k = 0; k < 3; k++) {
    double along[3], off[3], across[3];
    ul_sub(corner[(k + 1) % 3], corner[k], along);
    ul_sub(at, corner[k], off);
    ul_cross(along, off, across);
    if (ul_norm(across) <= touch_mm * ul_norm(along)) return M_PI;
  }
  return 2 * M_PI;
}

bool ul_surface_normal(const ul_mesh *mesh, const double at[3], bool by_angle, double out[3]) {
  double sum[3] = {0};
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    const double *corner[3];
    double a[3], b[3], near[3];
    for (int k = 0; k < 3; k++) corner[k] = mesh->vertex_mm[mesh->triangle[t][k]];
    ul_nearest_on_triangle(at, corner[0], corner[1], corner[2], near);
    if (ul_distance(at, near) > touch_mm) continue;
    ul_sub(corner[1], corner[0], a);
    ul_sub(corner[2], corner[0], b);
    ul_cross(a, b, near);
    const double area2 = ul_norm(near);
    if (area2 > 0) ul_add_scaled(sum, by_angle ? angle_at(corner, at) / area2 : 1, near, sum);
  }
  double length = ul_norm(sum);
  for (int c = 0; c < 3; c++) out[c] = length > 0 ? sum[c] / length : 0;
  return length > 0;
}
