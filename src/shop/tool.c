/* tool.c - the tool around the cavity, and the blocks that hold it at an attitude. */
#include "base/vec.h"
#include "ullage/attitude.h"

#include <math.h>

ul_tool ul_tool_wall(const ul_solid *solid, double wall_mm, bool assumed) {
  ul_tool tool = {.wall_mm = wall_mm, .assumed = assumed};
  for (int c = 0; c < 3; c++) {
    double lo = INFINITY, hi = -INFINITY;
    for (size_t i = 0; i < solid->cavity_count; i++) {
      lo = fmin(lo, solid->cavity[i].box_mm[0][c]);
      hi = fmax(hi, solid->cavity[i].box_mm[1][c]);
    }
    tool.box_mm[0][c] = lo - wall_mm;
    tool.box_mm[1][c] = hi + wall_mm;
  }
  return tool;
}

/* The axis whose face comes nearest to lying level. Of equals z, then y: a shop leaves the tool on
 * its own bottom unless there is a reason not to. */
static int standing_axis(const double up[3]) {
  int axis = 2;
  for (int c = 1; c >= 0; c--)
    if (fabs(up[c]) > fabs(up[axis]) + 1e-9) axis = c;
  return axis;
}

void ul_props_for(const ul_tool *tool, const double up[3], ul_props *out) {
  int axis = standing_axis(up), u = (axis + 1) % 3, v = (axis + 2) % 3;
  int side = up[axis] < 0; /* it stands on the side that is away from up */
  double height[4], lowest = INFINITY;
  for (int i = 0; i < 4; i++) {
    double *corner = out->corner_mm[i];
    corner[axis] = tool->box_mm[side][axis];
    corner[u] = tool->box_mm[i == 1 || i == 2][u]; /* lo hi hi lo against lo lo hi hi: */
    corner[v] = tool->box_mm[i >= 2][v];           /* once round the face */
    height[i] = ul_dot(corner, up);
    lowest = fmin(lowest, height[i]);
  }
  for (int i = 0; i < 4; i++) out->block_mm[i] = height[i] - lowest;
  out->face = 2 * axis + side;
  out->level_reads_z_deg = atan2(up[2], hypot(up[0], up[1])) * 180 / M_PI;
  ul_raise_from_up(up, &out->level_reads_x_deg, &out->level_reads_y_deg);
}
