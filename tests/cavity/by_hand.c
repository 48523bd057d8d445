#include "cavity/by_hand.h"

#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "base/vec.h"

static uint32_t root(uint32_t *up, uint32_t v) {
  while (up[v] != v) v = up[v] = up[up[v]];
  return v;
}

/* Shells by shared vertices, numbered by their first triangle. */
static void find_shells(ul_solid *solid) {
  const ul_mesh *mesh = solid->mesh;
  uint32_t *up = ul_new(mesh->vertex_count, sizeof *up);
  uint32_t *number = ul_new(mesh->vertex_count, sizeof *number);
  for (size_t v = 0; v < mesh->vertex_count; v++) up[v] = (uint32_t)v;
  for (size_t t = 0; t < mesh->triangle_count; t++)
    for (int c = 1; c < 3; c++) up[root(up, mesh->triangle[t][c])] = root(up, mesh->triangle[t][0]);
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    uint32_t r = root(up, mesh->triangle[t][0]);
    if (!number[r]) number[r] = (uint32_t)++solid->shell_count;
    solid->shell_of[t] = number[r] - 1;
  }
  free(up);
  free(number);
}

ul_solid *by_hand(ul_mesh *mesh, bool overlapping) {
  ul_solid *solid = ul_new(1, sizeof *solid);
  solid->mesh = mesh;
  solid->overlapping = overlapping;
  solid->shell_of = ul_new(mesh->triangle_count, sizeof *solid->shell_of);
  solid->cavity_of = ul_new(mesh->triangle_count, sizeof *solid->cavity_of);
  find_shells(solid);
  solid->cavity_count = 1;
  solid->cavity = ul_new(1, sizeof *solid->cavity);
  solid->cavity->volume_mm3 = by_hand_volume(mesh);
  return solid;
}

void by_hand_free(ul_solid *solid) {
  if (!solid) return;
  ul_mesh_free(solid->mesh);
  free(solid->shell_of);
  free(solid->cavity_of);
  free(solid->cavity);
  free(solid);
}

double by_hand_volume(const ul_mesh *mesh) {
  double box[2][3], middle[3], sum = 0, lost = 0;
  ul_mesh_box_mm(mesh, box);
  for (int c = 0; c < 3; c++) middle[c] = (box[0][c] + box[1][c]) / 2;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    double p[3][3], normal[3];
    for (int c = 0; c < 3; c++) ul_sub(mesh->vertex_mm[mesh->triangle[t][c]], middle, p[c]);
    ul_cross(p[1], p[2], normal);
    double term = ul_dot(p[0], normal) / 6 - lost, next = sum + term;
    lost = (next - sum) - term; /* Kahan: a million terms keep their last digits */
    sum = next;
  }
  return sum;
}

double by_hand_winding(const ul_mesh *mesh, const double at[3]) {
  double sum = 0;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    double p[3][3], r[3], normal[3];
    for (int c = 0; c < 3; c++) {
      ul_sub(mesh->vertex_mm[mesh->triangle[t][c]], at, p[c]);
      r[c] = ul_norm(p[c]);
    }
    ul_cross(p[1], p[2], normal);
    double below = r[0] * r[1] * r[2] + ul_dot(p[0], p[1]) * r[2] + ul_dot(p[1], p[2]) * r[0] +
                   ul_dot(p[2], p[0]) * r[1];
    sum += 2 * atan2(ul_dot(p[0], normal), below);
  }
  return sum / (4 * M_PI);
}
