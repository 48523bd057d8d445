#include "report/slices.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"

ul_status ul_coordinates_fit(const ul_mesh *mesh, const char *path, ul_error *err) {
  for (size_t v = 0; v < mesh->vertex_count; v++)
    for (int c = 0; c < 3; c++) {
      double at = mesh->vertex_mm[v][c];
      if (!(fabs(at) <= FLT_MAX))
        return ul_fail(err, UL_E_NUMBER,
                       "%.250s: vertex %zu has the %c coordinate %g, which no mesh file can hold",
                       path, v, "xyz"[c], at);
    }
  return UL_OK;
}

/* Triangles in the order of their part, parts as they come: a counting sort. first[p] is where part
 * p begins. */
static void sort_by_part(const ul_mesh *mesh, size_t *first, uint32_t *order) {
  for (size_t t = 0; t < mesh->triangle_count; t++) first[mesh->part[t] + 1]++;
  for (size_t p = 0; p < mesh->part_count; p++) first[p + 1] += first[p];
  for (size_t t = 0; t < mesh->triangle_count; t++) order[first[mesh->part[t]]++] = (uint32_t)t;
  for (size_t p = mesh->part_count; p > 0; p--) first[p] = first[p - 1];
  first[0] = 0;
}

/* Numbers the vertices of one part from 0. `local` holds a vertex's number where it is one of
 * this part's: where slice.vertex has it. */
static void number_vertices(ul_slices *s, ul_slice *slice, uint32_t *vertex, uint32_t *local,
                            const uint32_t *order, uint32_t (*out)[3]) {
  slice->vertex = vertex;
  slice->triangle = (const uint32_t(*)[3])out;
  for (size_t i = 0; i < slice->triangle_count; i++)
    for (int k = 0; k < 3; k++) {
      uint32_t v = s->mesh->triangle[order[i]][k];
      if (local[v] >= slice->vertex_count || vertex[local[v]] != v) {
        local[v] = (uint32_t)slice->vertex_count;
        vertex[slice->vertex_count++] = v;
      }
      out[i][k] = local[v];
    }
}

static void take_apart(ul_slices *s, size_t *first, uint32_t *order, uint32_t *local) {
  const ul_mesh *mesh = s->mesh;
  sort_by_part(mesh, first, order);
  uint32_t *vertex = s->vertex;
  for (size_t p = 0; p < mesh->part_count; p++) {
    if (first[p + 1] == first[p]) continue;
    ul_slice *slice = &s->slice[s->count++];
    slice->name = mesh->part_name[p];
    slice->part = p;
    slice->triangle_count = first[p + 1] - first[p];
    number_vertices(s, slice, vertex, local, order + first[p], s->triangle + first[p]);
    vertex += slice->vertex_count;
  }
}

ul_status ul_slices_make(const ul_mesh *mesh, const char *path, ul_slices *out, ul_error *err) {
  *out = (ul_slices){.mesh = mesh};
  ul_status status = ul_coordinates_fit(mesh, path, err);
  if (status != UL_OK) return status;
  if (!mesh->triangle_count)
    return ul_fail(err, UL_E_EMPTY, "%.250s: there is no triangle to write", path);
  size_t *first = ul_new(mesh->part_count + 1, sizeof *first);
  uint32_t *order = ul_new_raw(mesh->triangle_count, sizeof *order);
  uint32_t *local = ul_new(mesh->vertex_count, sizeof *local);
  out->slice = ul_new(mesh->part_count, sizeof *out->slice);
  out->vertex = ul_new_raw(3 * mesh->triangle_count, sizeof *out->vertex);
  out->triangle = ul_new_raw(mesh->triangle_count, sizeof *out->triangle);
  bool room = first && order && local && out->slice && out->vertex && out->triangle;
  if (room)
    take_apart(out, first, order, local);
  else
    status = ul_fail_memory(err);
  free(first);
  free(order);
  free(local);
  return status;
}

void ul_slices_free(ul_slices *slices) {
  free(slices->slice);
  free(slices->vertex);
  free(slices->triangle);
}
