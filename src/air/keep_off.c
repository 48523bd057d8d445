#include "air/keep_off.h"

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double shows = 0.7071067811865476; /* cosine of 45 degrees */

static ul_status no_such_part(const ul_mesh *mesh, const char *name, ul_error *err) {
  char known[200] = "";
  size_t used = 0;
  for (size_t p = 0; p < mesh->part_count && used < sizeof known - 1; p++) {
    if (!mesh->part_name[p][0]) continue;
    snprintf(known + used, sizeof known - used, "%s%s", used ? ", " : "", mesh->part_name[p]);
    used = strlen(known);
  }
  return ul_fail(err, UL_E_USAGE, "vents are to keep off \"%s\", but no part has that name: %s%s",
                 name, used ? "the file names " : "the file names none: give a box x,y,z,x,y,z",
                 known);
}

static ul_status mark_part(const ul_mesh *mesh, const char *name, unsigned char *kept,
                           ul_error *err) {
  bool found = false;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    if (strcmp(mesh->part_name[mesh->part[t]], name) != 0) continue;
    kept[t] = 1;
    found = true;
  }
  return found ? UL_OK : no_such_part(mesh, name, err);
}

bool ul_shows(const ul_mesh *mesh, size_t triangle, unsigned sides) {
  const uint32_t *v = mesh->triangle[triangle];
  double a[3], b[3], n[3];
  ul_sub(mesh->vertex_mm[v[1]], mesh->vertex_mm[v[0]], a);
  ul_sub(mesh->vertex_mm[v[2]], mesh->vertex_mm[v[0]], b);
  ul_cross(a, b, n);
  const double least = ul_norm(n) * shows;
  for (int side = 0; side < 6; side++)
    if (sides >> side & 1 && (side % 2 ? 1 : -1) * n[side / 2] > least) return true;
  return false;
}

static void mark_sides(const ul_mesh *mesh, unsigned sides, unsigned char *kept) {
  for (size_t t = 0; t < mesh->triangle_count; t++)
    if (ul_shows(mesh, t, sides)) kept[t] = 1;
}

static ul_status copy_marked(const ul_mesh *from, const unsigned char *kept, ul_mesh **out,
                             ul_error *err) {
  size_t n = 0;
  for (size_t t = 0; t < from->triangle_count; t++) n += kept[t];
  ul_status status = ul_mesh_new(from->vertex_count, n, out, err);
  if (status != UL_OK) return status;
  memcpy((*out)->vertex_mm, from->vertex_mm, from->vertex_count * sizeof *from->vertex_mm);
  n = 0;
  for (size_t t = 0; t < from->triangle_count; t++) {
    if (!kept[t]) continue;
    memcpy((*out)->triangle[n], from->triangle[t], sizeof from->triangle[t]);
    (*out)->part[n++] = 0;
  }
  return UL_OK;
}

ul_status ul_keep_off_make(const ul_mesh *cavity, const ul_vents_opts *opts, ul_keep_off *out,
                           ul_error *err) {
  *out = (ul_keep_off){0};
  if (opts->keep_part_count == 0 && opts->show_sides == 0) return UL_OK;
  out->kept = ul_new(cavity->triangle_count, 1);
  if (!out->kept) return ul_fail_memory(err);
  ul_status status = UL_OK;
  for (size_t i = 0; status == UL_OK && i < opts->keep_part_count; i++)
    status = mark_part(cavity, opts->keep_part[i], out->kept, err);
  mark_sides(cavity, opts->show_sides, out->kept);
  return status == UL_OK ? copy_marked(cavity, out->kept, &out->mesh, err) : status;
}

void ul_keep_off_clear(ul_keep_off *keep) {
  free(keep->kept);
  ul_mesh_free(keep->mesh);
}
