#include "cavity/draft.h"

#include "base/fail.h"
#include "base/memory.h"
#include "cavity/mesh_parts.h"

#include <stdarg.h>
#include <stdio.h>

uint32_t ul_draft_part(ul_draft *d, const char *name, size_t length, bool *ok) {
  ul_mesh *m = d->mesh;
  void *block = m->part_name;
  *ok = *ok && m->part_count < UINT32_MAX &&
        ul_grow(&block, &d->part_room, m->part_count + 1, sizeof *m->part_name);
  m->part_name = block;
  char *copy = *ok ? ul_mesh_copy_name(name, length) : NULL;
  *ok = copy != NULL;
  if (!copy) return 0;
  m->part_name[m->part_count] = copy;
  return (uint32_t)m->part_count++;
}

uint32_t ul_draft_vertices(ul_draft *d, size_t count, bool *ok) {
  ul_mesh *m = d->mesh;
  void *block = m->vertex_mm;
  *ok = *ok && count <= UINT32_MAX - m->vertex_count &&
        ul_grow(&block, &d->vertex_room, m->vertex_count + count, sizeof *m->vertex_mm);
  m->vertex_mm = block;
  if (!*ok) return 0;
  m->vertex_count += count;
  return (uint32_t)(m->vertex_count - count);
}

void ul_draft_triangle(ul_draft *d, uint32_t a, uint32_t b, uint32_t c, uint32_t part, bool *ok) {
  ul_mesh *m = d->mesh;
  size_t n = m->triangle_count;
  if (n == d->triangle_room) {
    void *triangle = m->triangle, *parts = m->part;
    size_t room = d->triangle_room, part_room = room;
    *ok = *ok && n < UINT32_MAX && ul_grow(&triangle, &room, n + 1, sizeof *m->triangle);
    m->triangle = triangle;
    *ok = *ok && ul_grow(&parts, &part_room, n + 1, sizeof *m->part);
    m->part = parts;
    if (*ok) d->triangle_room = room;
  }
  if (!*ok) return;
  m->triangle[n][0] = a, m->triangle[n][1] = b, m->triangle[n][2] = c;
  m->part[n] = part;
  m->triangle_count++;
}

void ul_draft_note(ul_draft *d, const char *format, ...) {
  if (d->note_count == UL_IMPORT_NOTES) return;
  va_list args;
  va_start(args, format);
  vsnprintf(d->note[d->note_count++], sizeof d->note[0], format, args);
  va_end(args);
}

ul_status ul_draft_no_memory(ul_draft *d) {
  return ul_fail(&d->err, UL_E_LIMIT,
                 "reading %zu triangles and more takes more memory than a file of %zu bytes may "
                 "have: export a coarser mesh",
                 d->mesh ? d->mesh->triangle_count : 0, d->size);
}
