#include "shapes/shapes.h"

#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

ul_mesh *shape_box(double x, double y, double z) {
  const double xs[2] = {0, x}, ys[2] = {0, y}, zs[2] = {0, z};
  return shape_cells(xs, 1, ys, 1, zs, 1, (const unsigned char[1]){1});
}

/* An arc of the circle `radius` about (0, z), from angle a to b (0 is +r, 90 degrees is up), as
 * steps + 1 points; ends on the axis are put there exactly. */
static void arc(double (*rz)[2], double radius, double z, double a, double b, int steps) {
  for (int i = 0; i <= steps; i++) {
    double angle = a + (b - a) * i / steps;
    rz[i][0] = fabs(fabs(angle) - M_PI_2) < 1e-9 ? 0 : radius * cos(angle);
    rz[i][1] = z + radius * sin(angle);
  }
}

ul_mesh *shape_sphere(double radius, int segments, int stacks) {
  double(*rz)[2] = ul_new((size_t)stacks + 1, sizeof *rz);
  arc(rz, radius, 0, -M_PI_2, M_PI_2, stacks);
  ul_mesh *mesh = shape_revolve((const double(*)[2])rz, (size_t)stacks + 1, false, segments);
  free(rz);
  return mesh;
}

ul_mesh *shape_torus(double ring_radius, double tube_radius, int segments, int tube_segments) {
  double(*rz)[2] = ul_new((size_t)tube_segments, sizeof *rz);
  for (int i = 0; i < tube_segments; i++) {
    double angle = 2 * M_PI * i / tube_segments;
    rz[i][0] = ring_radius + tube_radius * cos(angle);
    rz[i][1] = tube_radius * sin(angle);
  }
  ul_mesh *mesh = shape_revolve((const double(*)[2])rz, (size_t)tube_segments, true, segments);
  free(rz);
  return mesh;
}

ul_mesh *shape_cone(double radius, double height, int segments) {
  const double rz[3][2] = {{0, 0}, {radius, 0}, {0, height}};
  return shape_revolve(rz, 3, false, segments);
}

ul_mesh *shape_cap(double radius, double height, int segments, int stacks) {
  double(*rz)[2] = ul_new((size_t)stacks + 2, sizeof *rz);
  double centre = height - radius;
  arc(rz + 1, radius, centre, asin(-centre / radius), M_PI_2, stacks);
  rz[1][1] = 0; /* the base is flat to the last bit */
  ul_mesh *mesh = shape_revolve((const double(*)[2])rz, (size_t)stacks + 2, false, segments);
  free(rz);
  return mesh;
}

ul_mesh *shape_cylinder(double radius, double height, int segments) {
  const double rz[4][2] = {{0, 0}, {radius, 0}, {radius, height}, {0, height}};
  return shape_revolve(rz, 4, false, segments);
}

ul_mesh *shape_tube(double inner_radius, double outer_radius, double height, int segments) {
  const double rz[4][2] = {
      {inner_radius, 0}, {outer_radius, 0}, {outer_radius, height}, {inner_radius, height}};
  return shape_revolve(rz, 4, true, segments);
}

double shape_ngon_ratio(int segments) {
  return segments * sin(2 * M_PI / segments) / (2 * M_PI);
}

/* -- icosphere -- */

static ul_mesh *icosahedron(void) {
  static const double g = 1.6180339887498949; /* golden ratio */
  static const uint32_t face[20][3] = {{0, 11, 5}, {0, 5, 1},  {0, 1, 7},   {0, 7, 10}, {0, 10, 11},
                                       {1, 5, 9},  {5, 11, 4}, {11, 10, 2}, {10, 7, 6}, {7, 1, 8},
                                       {3, 9, 4},  {3, 4, 2},  {3, 2, 6},   {3, 6, 8},  {3, 8, 9},
                                       {4, 9, 5},  {2, 4, 11}, {6, 2, 10},  {8, 6, 7},  {9, 8, 1}};
  const double vertex[12][3] = {{-1, g, 0}, {1, g, 0}, {-1, -g, 0}, {1, -g, 0},
                                {0, -1, g}, {0, 1, g}, {0, -1, -g}, {0, 1, -g},
                                {g, 0, -1}, {g, 0, 1}, {-g, 0, -1}, {-g, 0, 1}};
  ul_mesh *mesh = shape_new(12, 20);
  memcpy(mesh->vertex_mm, vertex, sizeof vertex);
  memcpy(mesh->triangle, face, sizeof face);
  return mesh;
}

/* An edge from a vertex to a higher-numbered one, and the vertex half way along it. */
typedef struct half_way {
  uint32_t high, vertex;
} half_way;

/* No vertex has more than six edges. */
static uint32_t split_edge(ul_mesh *mesh, half_way (*from)[6], uint32_t a, uint32_t b) {
  uint32_t low = a < b ? a : b, high = a < b ? b : a;
  half_way *edge = from[low];
  while (edge->high && edge->high != high) edge++;
  if (!edge->high) {
    *edge = (half_way){high, (uint32_t)mesh->vertex_count++};
    for (int c = 0; c < 3; c++)
      mesh->vertex_mm[edge->vertex][c] = (mesh->vertex_mm[a][c] + mesh->vertex_mm[b][c]) / 2;
  }
  return edge->vertex;
}

static ul_mesh *split_each_in_four(ul_mesh *coarse) {
  size_t edges = coarse->triangle_count * 3 / 2, n = coarse->vertex_count;
  ul_mesh *fine = shape_new(n + edges, 4 * coarse->triangle_count);
  half_way(*from)[6] = ul_new(n, sizeof *from);
  memcpy(fine->vertex_mm, coarse->vertex_mm, n * sizeof *fine->vertex_mm);
  fine->vertex_count = n;
  for (size_t t = 0; t < coarse->triangle_count; t++) {
    const uint32_t *v = coarse->triangle[t];
    uint32_t m[3];
    for (int e = 0; e < 3; e++) m[e] = split_edge(fine, from, v[e], v[(e + 1) % 3]);
    const uint32_t quarter[4][3] = {
        {v[0], m[0], m[2]}, {m[0], v[1], m[1]}, {m[2], m[1], v[2]}, {m[0], m[1], m[2]}};
    memcpy(fine->triangle[4 * t], quarter, sizeof quarter);
  }
  free(from);
  ul_mesh_free(coarse);
  return fine;
}

ul_mesh *shape_icosphere(double radius, int times) {
  ul_mesh *mesh = icosahedron();
  while (times-- > 0) mesh = split_each_in_four(mesh);
  for (size_t v = 0; v < mesh->vertex_count; v++) {
    double *p = mesh->vertex_mm[v], length = ul_norm(p);
    for (int c = 0; c < 3; c++) p[c] *= radius / length;
  }
  return mesh;
}
