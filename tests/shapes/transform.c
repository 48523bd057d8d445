#include "shapes/shapes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void shape_move(ul_mesh *mesh, double x, double y, double z) {
  for (size_t v = 0; v < mesh->vertex_count; v++) {
    mesh->vertex_mm[v][0] += x;
    mesh->vertex_mm[v][1] += y;
    mesh->vertex_mm[v][2] += z;
  }
}

void shape_scale(ul_mesh *mesh, double factor) {
  for (size_t v = 0; v < mesh->vertex_count; v++)
    for (int c = 0; c < 3; c++) mesh->vertex_mm[v][c] *= factor;
}

void shape_turn(double v[3], int axis, double deg) {
  int u = (axis + 1) % 3, w = (axis + 2) % 3;
  double cosine = cos(deg * M_PI / 180), sine = sin(deg * M_PI / 180), along = v[u];
  v[u] = cosine * along - sine * v[w];
  v[w] = sine * along + cosine * v[w];
}

void shape_rotate(ul_mesh *mesh, int axis, double deg) {
  for (size_t v = 0; v < mesh->vertex_count; v++) shape_turn(mesh->vertex_mm[v], axis, deg);
}

void shape_reverse(ul_mesh *mesh) {
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    uint32_t second = mesh->triangle[t][1];
    mesh->triangle[t][1] = mesh->triangle[t][2];
    mesh->triangle[t][2] = second;
  }
}

void shape_drop_triangle(ul_mesh *mesh, size_t triangle) {
  size_t after = --mesh->triangle_count - triangle;
  memmove(mesh->triangle + triangle, mesh->triangle + triangle + 1, after * sizeof *mesh->triangle);
  memmove(mesh->part + triangle, mesh->part + triangle + 1, after * sizeof *mesh->part);
}

void shape_append(ul_mesh *mesh, ul_mesh *other) {
  ul_mesh *both = shape_new(mesh->vertex_count + other->vertex_count,
                            mesh->triangle_count + other->triangle_count);
  size_t n = mesh->vertex_count, m = mesh->triangle_count;
  memcpy(both->vertex_mm, mesh->vertex_mm, n * sizeof *both->vertex_mm);
  memcpy(both->triangle, mesh->triangle, m * sizeof *both->triangle);
  memcpy(both->vertex_mm + n, other->vertex_mm, other->vertex_count * sizeof *both->vertex_mm);
  for (size_t t = 0; t < other->triangle_count; t++)
    for (int c = 0; c < 3; c++) both->triangle[m + t][c] = (uint32_t)n + other->triangle[t][c];
  ul_mesh swap = *mesh; /* the caller keeps its pointer */
  *mesh = *both;
  *both = swap;
  ul_mesh_free(both);
  ul_mesh_free(other);
}
