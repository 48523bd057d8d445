#include "cavity/holes.h"

#include "base/memory.h"
#include "cavity/audit.h"

#include <stdlib.h>

/* Makes room for `more` triangles behind the mesh's; they have no number in the mesh given. */
static ul_status make_room(ul_survey *s, size_t more) {
  ul_mesh *mesh = s->mesh;
  size_t old = mesh->triangle_count, need = old + more;
  size_t triangle_room = old, part_room = old, id_room = old;
  if (ul_keep_numbers(s) != UL_OK ||
      !ul_grow((void **)&mesh->triangle, &triangle_room, need, sizeof *mesh->triangle) ||
      !ul_grow((void **)&mesh->part, &part_room, need, sizeof *mesh->part) ||
      !ul_grow((void **)&s->welded_id, &id_room, need, sizeof *s->welded_id))
    return UL_E_MEMORY;
  for (size_t t = old; t < need; t++) s->welded_id[t] = UL_NONE;
  return UL_OK;
}

/* The rim runs with its triangles or against them; the patch must run against. */
static ul_status patch_loop(ul_survey *s, const ul_loops *loops, const ul_loop *loop) {
  ul_mesh *mesh = s->mesh;
  const ul_rim_point *rim = loops->rim + loop->first;
  uint32_t *corner = ul_new_raw(loop->count, sizeof *corner);
  if (!corner) return UL_E_MEMORY;
  bool with = ul_half_from(mesh, rim[0].half) == rim[0].vertex;
  for (size_t i = 0; i < loop->count; i++) corner[i] = rim[with ? loop->count - 1 - i : i].vertex;
  ul_status status = make_room(s, loop->count - 2);
  if (status == UL_OK)
    status = ul_patch_polygon(mesh, corner, loop->count, mesh->triangle + mesh->triangle_count);
  free(corner);
  if (status != UL_OK) return status;
  for (size_t i = 0; i < loop->count - 2; i++)
    mesh->part[mesh->triangle_count++] = mesh->part[rim[0].half / 3];
  ul_note(s, UL_FAULT_PATCHED, 1, loop->hole.at_mm, -1);
  return UL_OK;
}

static ul_status patch_small(ul_survey *s, const ul_loops *loops, size_t *patched) {
  ul_status status = UL_OK;
  for (size_t i = 0; status == UL_OK && i < loops->count; i++) {
    const ul_loop *loop = &loops->loop[i];
    if (!loop->closed || loop->hole.across_mm > s->opts->patch_mm) continue;
    status = patch_loop(s, loops, loop);
    ++*patched;
  }
  return status;
}

static ul_status keep_holes(ul_survey *s, const ul_loops *loops) {
  if (loops->count == 0) return UL_OK;
  s->hole = ul_new_raw(loops->count, sizeof *s->hole);
  if (!s->hole) return UL_E_MEMORY;
  s->hole_count = loops->count;
  for (size_t i = 0; i < loops->count; i++) s->hole[i] = loops->loop[i].hole;
  const ul_loop *longest = &loops->loop[0];
  uint32_t triangle = loops->rim[longest->first].half / 3;
  ul_note(s, UL_FAULT_OPEN, loops->rim_count, longest->hole.at_mm, (long)triangle);
  s->fault[UL_FAULT_OPEN].length_mm = longest->hole.rim_mm;
  return UL_OK;
}

ul_status ul_close_holes(ul_survey *s) {
  ul_loops loops;
  size_t patched = 0;
  ul_status status = ul_loops_find(s->mesh, &s->edges, &loops);
  if (status == UL_OK && s->opts->patch_mm > 0) status = patch_small(s, &loops, &patched);
  if (status == UL_OK && patched > 0) {
    ul_edges_free(&s->edges);
    ul_loops_free(&loops);
    status = ul_edges_make(s->mesh, s->job, &s->edges);
    if (status == UL_OK) status = ul_loops_find(s->mesh, &s->edges, &loops);
  }
  if (status == UL_OK) status = keep_holes(s, &loops);
  ul_loops_free(&loops);
  return status;
}
