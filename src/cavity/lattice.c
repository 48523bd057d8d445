#include <math.h>

#include "base/fail.h"
#include "ullage/columns.h"

static const double MOST_CUBES = 2147483648.0;

/* Cubes along one axis. The box stands in the middle. Of the two smallest numbers that leave an
 * empty cube at each end, the one is taken that keeps the box's faces farther from the cubes'
 * centres: faces of a part that measures whole cubes then lie between cubes, never on a row of
 * rays. */
static double cubes_along(double length_mm, double cube_mm) {
  double across = length_mm / cube_mm;
  double n = ceil(across - 1e-9) + 2; /* a box of whole cubes keeps its number whatever rounding */
  double margin = (n - across) / 2;
  double from_centre = fabs(margin - floor(margin) - 0.5);
  return from_centre < 0.25 ? n + 1 : n;
}

ul_status ul_lattice_for_box(const double box_mm[2][3], double cube_mm, ul_lattice *out,
                             ul_error *err) {
  if (!(cube_mm > 0) || !isfinite(cube_mm))
    return ul_fail(err, UL_E_USAGE, "a cube of %g mm: the cube's size must be above 0", cube_mm);
  double n[3];
  for (int c = 0; c < 3; c++) {
    double length = box_mm[1][c] - box_mm[0][c];
    if (!(length >= 0) || !isfinite(length))
      return ul_fail(err, UL_E_NUMBER, "the box runs from %g to %g mm along %c: not a box",
                     box_mm[0][c], box_mm[1][c], "xyz"[c]);
    n[c] = cubes_along(length, cube_mm);
  }
  if (n[0] * n[1] * n[2] > MOST_CUBES)
    return ul_fail(err, UL_E_LIMIT,
                   "%.0f x %.0f x %.0f cubes of %g mm, more than 2^31: use a larger --cube", n[0],
                   n[1], n[2], cube_mm);
  out->cube_mm = cube_mm;
  for (int c = 0; c < 3; c++) {
    out->n[c] = (int32_t)n[c];
    out->origin_mm[c] = box_mm[0][c] / 2 + box_mm[1][c] / 2 - n[c] / 2 * cube_mm;
  }
  return UL_OK;
}

double ul_cube_for_count(const ul_solid *solid, double cubes) {
  double volume = 0;
  for (size_t i = 0; i < solid->cavity_count; i++) volume += solid->cavity[i].volume_mm3;
  return cbrt(volume / cubes);
}
