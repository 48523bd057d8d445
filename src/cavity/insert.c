/* insert.c - inserts joined to a cavity's mesh, and what they displace. */
#include "ullage/insert.h"

#include "base/fail.h"
#include "base/memory.h"
#include "cavity/mesh_parts.h"
#include "cavity/triangle_pair.h"
#include "cavity/union.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
  ul_mesh *mesh;
  size_t vertices, triangles, parts; /* filled so far */
} joiner;

static bool append(joiner *j, const ul_mesh *more, bool turned) {
  ul_mesh *to = j->mesh;
  memcpy(to->vertex_mm + j->vertices, more->vertex_mm,
         more->vertex_count * sizeof *more->vertex_mm);
  for (size_t t = 0; t < more->triangle_count; t++) {
    uint32_t *v = to->triangle[j->triangles + t];
    for (int k = 0; k < 3; k++) v[k] = more->triangle[t][k] + (uint32_t)j->vertices;
    if (turned) {
      uint32_t second = v[1];
      v[1] = v[2];
      v[2] = second;
    }
    to->part[j->triangles + t] = more->part[t] + (uint32_t)j->parts;
  }
  for (size_t p = 0; p < more->part_count; p++) {
    const char *name = more->part_name[p];
    to->part_name[j->parts + p] = ul_mesh_copy_name(name, strlen(name));
    if (!to->part_name[j->parts + p]) return false;
  }
  j->vertices += more->vertex_count;
  j->triangles += more->triangle_count;
  j->parts += more->part_count;
  return true;
}

ul_status ul_inserts_join(const ul_mesh *cavity, const ul_solid *const *insert, size_t count,
                          bool turned, ul_mesh **out, ul_error *err) {
  *out = NULL;
  size_t vertices = cavity ? cavity->vertex_count : 0;
  size_t triangles = cavity ? cavity->triangle_count : 0, parts = cavity ? cavity->part_count : 0;
  for (size_t i = 0; i < count; i++) {
    vertices += insert[i]->mesh->vertex_count;
    triangles += insert[i]->mesh->triangle_count;
    parts += insert[i]->mesh->part_count;
  }
  if (vertices > UINT32_MAX || triangles > UINT32_MAX)
    return ul_fail(err, UL_E_LIMIT,
                   "the cavity and its inserts have %zu triangles together: "
                   "export coarser meshes",
                   triangles);
  joiner j = {0};
  ul_status status = ul_mesh_new_parts(vertices, triangles, parts, &j.mesh, err);
  if (status != UL_OK) return status;
  bool done = !cavity || append(&j, cavity, false);
  for (size_t i = 0; done && i < count; i++) done = append(&j, insert[i]->mesh, turned);
  if (!done) {
    ul_mesh_free(j.mesh);
    return ul_fail_memory(err);
  }
  *out = j.mesh;
  return UL_OK;
}

/* -- what they leave -- */

static ul_status measure_left(const ul_solid *cavity, const ul_solid *const *insert, size_t count,
                              const ul_job *job, ul_measure *left, ul_error *err) {
  ul_mesh *mesh;
  ul_status status = ul_inserts_join(cavity->mesh, insert, count, true, &mesh, err);
  if (status != UL_OK) return status;
  status = ul_union_measure(mesh, cavity->mesh->triangle_count, !cavity->overlapping,
                            ul_touching_distance(mesh), job, left);
  ul_mesh_free(mesh);
  return status == UL_E_MEMORY ? ul_fail_memory(err) : status;
}

ul_status ul_inserts_measure(const ul_solid *solid, const ul_solid *const *insert, size_t count,
                             const ul_job *job, ul_measure *left, ul_error *err) {
  ul_status status = UL_OK;
  for (size_t i = 0; status == UL_OK && i < solid->cavity_count; i++) {
    ul_solid *one;
    status = ul_solid_pick(solid, i, &one, err);
    if (status != UL_OK) return status;
    status = measure_left(one, insert, count, job, &left[i], err);
    ul_solid_free(one);
  }
  return status;
}

ul_status ul_insert_displaces_mm3(const ul_solid *solid, const ul_solid *insert, const ul_job *job,
                                  double *volume_mm3, ul_error *err) {
  ul_measure *left = ul_new(solid->cavity_count, sizeof *left);
  if (!left) return ul_fail_memory(err);
  ul_status status = ul_inserts_measure(solid, &insert, 1, job, left, err);
  *volume_mm3 = 0;
  for (size_t i = 0; status == UL_OK && i < solid->cavity_count; i++)
    *volume_mm3 += fmax(solid->cavity[i].volume_mm3 - left[i].volume_mm3, 0);
  free(left);
  return status;
}
