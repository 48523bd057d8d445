#include "air/edge.h"

#include "air/nearest.h"
#include "base/vec.h"

#include <math.h>

static const double same_face = 0.866; /* cosine of 30 degrees */
static const double looks_back = -0.2;

double ul_box_edge_mm(const ul_tool *tool, const double through[3]) {
  double first = INFINITY, second = INFINITY; /* the nearest face is the one it comes out of */
  for (int c = 0; c < 3; c++) {
    double far = fmin(fabs(through[c] - tool->box_mm[0][c]), fabs(tool->box_mm[1][c] - through[c]));
    if (far < first) {
      second = first;
      first = far;
    } else if (far < second) {
      second = far;
    }
  }
  return second;
}

/* Unit normal and distance of triangle `t`; false for one without area. */
static bool look_at(const ul_mesh *mesh, size_t t, const double from[3], double normal[3],
                    double *far_mm) {
  const double *corner[3];
  double a[3], b[3], near[3];
  for (int k = 0; k < 3; k++) corner[k] = mesh->vertex_mm[mesh->triangle[t][k]];
  ul_sub(corner[1], corner[0], a);
  ul_sub(corner[2], corner[0], b);
  ul_cross(a, b, normal);
  double length = ul_norm(normal);
  for (int c = 0; c < 3; c++) normal[c] /= length;
  ul_nearest_on_triangle(from, corner[0], corner[1], corner[2], near);
  *far_mm = ul_distance(near, from);
  return length > 0;
}

static double mesh_edge_mm(const ul_mesh *mesh, const double through[3], const double axis[3]) {
  double out[3] = {0}, normal[3], far, nearest = INFINITY, edge = INFINITY;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    if (!look_at(mesh, t, through, normal, &far) || far >= nearest) continue;
    if (ul_dot(normal, axis) <= 0) continue;
    nearest = far;
    ul_copy3(normal, out);
  }
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    if (!look_at(mesh, t, through, normal, &far) || far >= edge) continue;
    double turned = ul_dot(normal, out);
    if (turned < same_face && turned > looks_back) edge = far;
  }
  return edge;
}

double ul_tool_edge_mm(const ul_tool *tool, const double through[3], const double axis[3]) {
  return tool->mesh ? mesh_edge_mm(tool->mesh, through, axis) : ul_box_edge_mm(tool, through);
}
