#include "ullage/mesh.h"

#include "base/fail.h"
#include "base/memory.h"
#include "cavity/mesh_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

char *ul_mesh_copy_name(const char *name, size_t length) {
  char *copy = ul_new_raw(length + 1, 1);
  if (!copy) return NULL;
  memcpy(copy, name, length);
  copy[length] = 0;
  return copy;
}

ul_status ul_mesh_new_parts(size_t vertices, size_t triangles, size_t parts, ul_mesh **out,
                            ul_error *err) {
  *out = NULL;
  if (vertices > UINT32_MAX || triangles > UINT32_MAX || parts > UINT32_MAX)
    return ul_fail(err, UL_E_LIMIT,
                   "%zu vertices and %zu triangles: no more than 4294967295 of each are "
                   "possible: export a coarser mesh",
                   vertices, triangles);
  ul_mesh *mesh = ul_new(1, sizeof *mesh);
  if (!mesh) return ul_fail_memory(err);
  mesh->vertex_count = vertices;
  mesh->triangle_count = triangles;
  mesh->vertex_mm = ul_new_raw(vertices, sizeof *mesh->vertex_mm);
  mesh->triangle = ul_new_raw(triangles, sizeof *mesh->triangle);
  mesh->part = ul_new(triangles, sizeof *mesh->part);
  mesh->part_name = ul_new(parts, sizeof *mesh->part_name);
  if (mesh->part_name) mesh->part_count = parts;
  if (!mesh->vertex_mm || !mesh->triangle || !mesh->part || !mesh->part_name) {
    ul_mesh_free(mesh);
    return ul_fail_memory(err);
  }
  *out = mesh;
  return UL_OK;
}

ul_status ul_mesh_new(size_t vertices, size_t triangles, ul_mesh **out, ul_error *err) {
  ul_status status = ul_mesh_new_parts(vertices, triangles, 1, out, err);
  if (status != UL_OK) return status;
  (*out)->part_name[0] = ul_mesh_copy_name("", 0);
  if ((*out)->part_name[0]) return UL_OK;
  ul_mesh_free(*out);
  *out = NULL;
  return ul_fail_memory(err);
}

static ul_status check_arrays(const double (*vertex_mm)[3], size_t vertices,
                              const uint32_t (*triangle)[3], size_t triangles, ul_error *err) {
  for (size_t v = 0; v < vertices; v++)
    for (int c = 0; c < 3; c++)
      if (!isfinite(vertex_mm[v][c]))
        return ul_fail(err, UL_E_NUMBER, "vertex %zu has the %c coordinate %g: give finite ones", v,
                       "xyz"[c], vertex_mm[v][c]);
  for (size_t t = 0; t < triangles; t++)
    for (int c = 0; c < 3; c++)
      if (triangle[t][c] >= vertices) {
        ul_fail(err, UL_E_NUMBER, "triangle %zu uses vertex %u, but there are only %zu", t,
                triangle[t][c], vertices);
        if (err) err->triangle = (long)t;
        return UL_E_NUMBER;
      }
  return UL_OK;
}

ul_status ul_mesh_from_arrays(const double (*vertex_mm)[3], size_t vertices,
                              const uint32_t (*triangle)[3], size_t triangles, ul_mesh **out,
                              ul_error *err) {
  *out = NULL;
  ul_status status = check_arrays(vertex_mm, vertices, triangle, triangles, err);
  if (status == UL_OK) status = ul_mesh_new(vertices, triangles, out, err);
  if (status != UL_OK) return status;
  if (vertices) memcpy((*out)->vertex_mm, vertex_mm, vertices * sizeof *vertex_mm);
  if (triangles) memcpy((*out)->triangle, triangle, triangles * sizeof *triangle);
  return UL_OK;
}

ul_status ul_mesh_copy(const ul_mesh *mesh, ul_mesh **out, ul_error *err) {
  size_t vertices = mesh->vertex_count, triangles = mesh->triangle_count;
  ul_status status = ul_mesh_new_parts(vertices, triangles, mesh->part_count, out, err);
  if (status != UL_OK) return status;
  memcpy((*out)->vertex_mm, mesh->vertex_mm, vertices * sizeof *mesh->vertex_mm);
  memcpy((*out)->triangle, mesh->triangle, triangles * sizeof *mesh->triangle);
  memcpy((*out)->part, mesh->part, triangles * sizeof *mesh->part);
  for (size_t p = 0; p < mesh->part_count; p++) {
    (*out)->part_name[p] = ul_mesh_copy_name(mesh->part_name[p], strlen(mesh->part_name[p]));
    if ((*out)->part_name[p]) continue;
    ul_mesh_free(*out);
    *out = NULL;
    return ul_fail_memory(err);
  }
  return UL_OK;
}

void ul_mesh_free(ul_mesh *mesh) {
  if (!mesh) return;
  for (size_t p = 0; p < mesh->part_count; p++) free(mesh->part_name[p]);
  free(mesh->part_name);
  free(mesh->part);
  free(mesh->triangle);
  free(mesh->vertex_mm);
  free(mesh);
}

void ul_mesh_box_mm(const ul_mesh *mesh, double box_mm[2][3]) {
  memset(box_mm, 0, 6 * sizeof(double));
  if (!mesh->vertex_count) return;
  memcpy(box_mm[0], mesh->vertex_mm[0], sizeof box_mm[0]);
  memcpy(box_mm[1], mesh->vertex_mm[0], sizeof box_mm[1]);
  for (size_t v = 1; v < mesh->vertex_count; v++)
    for (int c = 0; c < 3; c++) {
      double x = mesh->vertex_mm[v][c];
      if (x < box_mm[0][c]) box_mm[0][c] = x;
      if (x > box_mm[1][c]) box_mm[1][c] = x;
    }
}
