#include "cavity/reading.h"

#include "base/fail.h"
#include "base/memory.h"
#include "cavity/measure.h"
#include "cavity/mesh_parts.h"
#include "cavity/union.h"

#include <stdlib.h>
#include <string.h>

void ul_solid_free(ul_solid *solid) {
  if (!solid) return;
  ul_mesh_free(solid->mesh);
  free(solid->shell_of);
  free(solid->cavity_of);
  free(solid->shell);
  free(solid->cavity);
  free(solid);
}

/* -- a mesh of some of another's triangles -- */

static ul_status copy_names(const ul_mesh *from, ul_mesh *to, ul_error *err) {
  for (size_t p = 0; p < from->part_count; p++) {
    to->part_name[p] = ul_mesh_copy_name(from->part_name[p], strlen(from->part_name[p]));
    if (!to->part_name[p]) return ul_fail_memory(err);
  }
  return UL_OK;
}

/* Numbers the vertices used in order of their old numbers; the new count. */
static size_t renumber(const ul_mesh *from, const uint32_t *triangle, size_t count,
                       uint32_t *number) {
  memset(number, 0, from->vertex_count * sizeof *number);
  for (size_t i = 0; i < count; i++)
    for (int k = 0; k < 3; k++) number[from->triangle[triangle[i]][k]] = 1;
  uint32_t used = 0;
  for (size_t v = 0; v < from->vertex_count; v++) number[v] = number[v] ? used++ : UL_NONE;
  return used;
}

static ul_status extract(const ul_mesh *from, const uint32_t *triangle, size_t count, ul_mesh **out,
                         ul_error *err) {
  *out = NULL;
  uint32_t *number = ul_new_raw(from->vertex_count, sizeof *number);
  if (!number) return ul_fail_memory(err);
  size_t vertices = renumber(from, triangle, count, number);
  ul_status status = ul_mesh_new_parts(vertices, count, from->part_count, out, err);
  if (status == UL_OK) status = copy_names(from, *out, err);
  if (status == UL_OK) {
    ul_mesh *mesh = *out;
    for (size_t v = 0; v < from->vertex_count; v++)
      if (number[v] != UL_NONE)
        memcpy(mesh->vertex_mm[number[v]], from->vertex_mm[v], sizeof *mesh->vertex_mm);
    for (size_t i = 0; i < count; i++) {
      for (int k = 0; k < 3; k++) mesh->triangle[i][k] = number[from->triangle[triangle[i]][k]];
      mesh->part[i] = from->part[triangle[i]];
    }
  } else {
    ul_mesh_free(*out);
    *out = NULL;
  }
  free(number);
  return status;
}

/* -- making -- */

/* The chosen triangles with their shells and cavities; shells are the caller's to fill in. */
static ul_status begin_solid(const ul_mesh *from, const uint32_t *triangle, size_t count,
                             size_t shells, size_t cavities, ul_solid **out, ul_error *err) {
  ul_solid *solid = *out = ul_new(1, sizeof *solid);
  if (!solid) return ul_fail_memory(err);
  ul_status status = extract(from, triangle, count, &solid->mesh, err);
  if (status != UL_OK) return status;
  solid->shell_count = shells;
  solid->cavity_count = cavities;
  solid->shell_of = ul_new_raw(count, sizeof *solid->shell_of);
  solid->cavity_of = ul_new_raw(count, sizeof *solid->cavity_of);
  solid->shell = ul_new_raw(shells, sizeof *solid->shell);
  solid->cavity = ul_new(cavities, sizeof *solid->cavity);
  if (!solid->shell_of || !solid->cavity_of || !solid->shell || !solid->cavity)
    return ul_fail_memory(err);
  return UL_OK;
}

/* `touch_mm` above 0: surfaces may pass through one another. */
static ul_status measure_cavity(const ul_mesh *mesh, const uint32_t *id, size_t count,
                                double touch_mm, const ul_job *job, ul_measure *out) {
  if (touch_mm == 0) return ul_measure_parallel(mesh, id, count, job, out);
  ul_mesh *own;
  ul_status status = extract(mesh, id, count, &own, NULL);
  if (status == UL_OK) status = ul_union_measure(own, count, false, touch_mm, job, out);
  ul_mesh_free(own);
  return status;
}

static ul_status measure_cavities(ul_solid *solid, double touch_mm, const ul_job *job) {
  size_t count = solid->mesh->triangle_count;
  if (solid->cavity_count == 1 && touch_mm == 0)
    return ul_measure_parallel(solid->mesh, NULL, count, job, &solid->cavity[0]);
  uint32_t *id = ul_new_raw(count, sizeof *id);
  size_t *start = ul_new(solid->cavity_count + 2, sizeof *start);
  ul_status status = id && start ? UL_OK : UL_E_MEMORY;
  if (status == UL_OK) {
    for (size_t t = 0; t < count; t++) start[solid->cavity_of[t] + 2]++;
    for (size_t c = 2; c < solid->cavity_count + 2; c++) start[c] += start[c - 1];
    for (size_t t = 0; t < count; t++) id[start[solid->cavity_of[t] + 1]++] = (uint32_t)t;
  }
  for (size_t c = 0; status == UL_OK && c < solid->cavity_count; c++)
    status = measure_cavity(solid->mesh, id + start[c], start[c + 1] - start[c], touch_mm, job,
                            &solid->cavity[c]);
  free(id);
  free(start);
  return status;
}

static void turn_triangle(uint32_t corner[3]) {
  uint32_t keep = corner[1];
  corner[1] = corner[2];
  corner[2] = keep;
}

static void fill_solid(const ul_survey *s, const ul_reading *r, const uint32_t *triangle,
                       ul_solid *solid) {
  memcpy(solid->shell, r->shell, solid->shell_count * sizeof *solid->shell);
  for (size_t i = solid->mesh->triangle_count; i-- > 0;) {
    uint32_t shell = s->flood.shell_of[triangle[i]];
    solid->shell_of[i] = shell;
    solid->cavity_of[i] = r->shell[shell].cavity;
    solid->shell[shell].first_triangle = i;
    if (r->turn[shell]) turn_triangle(solid->mesh->triangle[i]);
  }
  solid->overlapping = r->overlapping;
  solid->read_as_block = r->as_block;
  solid->reading_doubtful = r->doubtful;
}

ul_status ul_solid_make(const ul_survey *s, const ul_reading *reading, ul_solid **out,
                        ul_error *err) {
  *out = NULL;
  size_t count = 0;
  uint32_t *triangle = ul_new_raw(s->mesh->triangle_count, sizeof *triangle);
  if (!triangle) return ul_fail_memory(err);
  for (size_t t = 0; t < s->mesh->triangle_count; t++)
    if (reading->shell[s->flood.shell_of[t]].cavity != UINT32_MAX) triangle[count++] = (uint32_t)t;
  ul_status status =
      begin_solid(s->mesh, triangle, count, s->flood.shell_count, reading->cavity_count, out, err);
  if (status == UL_OK) {
    fill_solid(s, reading, triangle, *out);
    bool crossing = reading->overlapping || s->crossings.self_count > 0;
    status = measure_cavities(*out, crossing ? s->touch_mm : 0, s->job);
    if (status == UL_E_MEMORY) ul_fail_memory(err);
  }
  free(triangle);
  if (status == UL_OK) return UL_OK;
  ul_solid_free(*out);
  *out = NULL;
  return status;
}

/* -- one cavity of several -- */

/* The shells of the cavity keep their order; parents that are not among them are skipped. */
static void pick_shells(const ul_solid *from, size_t number, uint32_t *new_number, ul_solid *to) {
  uint32_t n = 0;
  for (size_t i = 0; i < from->shell_count; i++)
    new_number[i] = from->shell[i].cavity == number ? n++ : UL_NONE;
  for (size_t i = 0; i < from->shell_count; i++) {
    if (new_number[i] == UL_NONE) continue;
    ul_shell *shell = &to->shell[new_number[i]];
    *shell = from->shell[i];
    shell->cavity = 0;
    shell->depth = 0;
    shell->parent = -1;
    for (int32_t p = from->shell[i].parent; p >= 0; p = from->shell[p].parent) {
      if (new_number[p] == UL_NONE) continue;
      if (shell->depth++ == 0) shell->parent = (int32_t)new_number[p];
    }
  }
}

static ul_status fill_picked(const ul_solid *from, size_t number, const uint32_t *triangle,
                             ul_solid *to) {
  uint32_t *new_number = ul_new_raw(from->shell_count, sizeof *new_number);
  if (!new_number) return UL_E_MEMORY;
  pick_shells(from, number, new_number, to);
  for (size_t i = to->mesh->triangle_count; i-- > 0;) {
    to->shell_of[i] = new_number[from->shell_of[triangle[i]]];
    to->cavity_of[i] = 0;
    to->shell[to->shell_of[i]].first_triangle = i;
  }
  free(new_number);
  to->cavity[0] = from->cavity[number];
  to->overlapping = from->overlapping && to->shell_count > 1;
  to->read_as_block = from->read_as_block;
  to->reading_doubtful = from->reading_doubtful;
  return UL_OK;
}

ul_status ul_solid_pick(const ul_solid *solid, size_t number, ul_solid **out, ul_error *err) {
  *out = NULL;
  if (number >= solid->cavity_count)
    return ul_fail(err, UL_E_USAGE, "there is no cavity %zu, only 1 to %zu: choose one of these",
                   number + 1, solid->cavity_count);
  uint32_t *triangle = ul_new_raw(solid->mesh->triangle_count, sizeof *triangle);
  if (!triangle) return ul_fail_memory(err);
  size_t count = 0, shells = 0;
  for (size_t t = 0; t < solid->mesh->triangle_count; t++)
    if (solid->cavity_of[t] == number) triangle[count++] = (uint32_t)t;
  for (size_t i = 0; i < solid->shell_count; i++) shells += solid->shell[i].cavity == number;
  ul_status status = begin_solid(solid->mesh, triangle, count, shells, 1, out, err);
  if (status == UL_OK && fill_picked(solid, number, triangle, *out) != UL_OK)
    status = ul_fail_memory(err);
  free(triangle);
  if (status == UL_OK) return UL_OK;
  ul_solid_free(*out);
  *out = NULL;
  return status;
}
