/* STL, both kinds, by a reader of our own: the general library takes neither a file with bytes
 * behind the last triangle nor says how many triangles a truncated one still holds, and it reads
 * ASCII numbers as floats. */
#include "cavity/draft.h"

#include "base/fail.h"
#include "base/memory.h"
#include "cavity/format.h"
#include "cavity/hash_grid.h"
#include "cavity/scan.h"

#include <stdio.h>
#include <string.h>

enum { HEADER = 84, RECORD = 50, BLOCK = 4096 };

static double float_at(const unsigned char *p) {
  uint32_t bits = p[0] | (uint32_t)p[1] << 8 | (uint32_t)p[2] << 16 | (uint32_t)p[3] << 24;
  float value;
  memcpy(&value, &bits, sizeof value);
  return (double)value;
}

static void put_corners(const unsigned char *record, size_t count, double (*corner)[3]) {
  for (size_t t = 0; t < count; t++, record += RECORD)
    for (int c = 0; c < 3; c++, corner++)
      for (int k = 0; k < 3; k++) (*corner)[k] = float_at(record + 12 + 12 * c + 4 * k);
}

/* Equal corners become one vertex at once, a block at a time: a million loose triangles would first
 * fill 72 MB. A closed mesh has half as many vertices as triangles. */
static bool take_records(ul_draft *d, ul_hash_grid *grid, size_t count) {
  ul_mesh *m = d->mesh;
  for (size_t t = 0; t < count; t += BLOCK) {
    size_t block = count - t < BLOCK ? count - t : BLOCK, want = grid->kept_count + 3 * block;
    void *vertex = m->vertex_mm;
    bool ok = ul_grow(&vertex, &d->vertex_room, want, sizeof *m->vertex_mm);
    m->vertex_mm = vertex;
    if (!ok || !ul_hash_grid_grow(grid, vertex, want)) return false;
    put_corners(d->bytes + HEADER + RECORD * t, block, m->vertex_mm + grid->kept_count);
    ul_hash_grid_take(grid, grid->kept_count, 3 * block, m->triangle[t]);
  }
  m->vertex_count = grid->kept_count;
  d->vertices_merged = 3 * count - grid->kept_count;
  return true;
}

static ul_status read_records(ul_draft *d, size_t count) {
  ul_hash_grid grid;
  size_t room = count / 2 + 3 * BLOCK;
  ul_mesh_free(d->mesh);
  bool ok = ul_mesh_new(room, count, &d->mesh, NULL) == UL_OK;
  if (!ok) return ul_draft_no_memory(d);
  d->vertex_room = room;
  ok = ul_hash_grid_start(&grid, d->mesh->vertex_mm, count / 2, room, 0, 0) &&
       take_records(d, &grid, count);
  ul_hash_grid_end(&grid);
  return ok ? UL_OK : ul_draft_no_memory(d);
}

static ul_status read_binary(ul_draft *d) {
  const unsigned char *n = d->bytes + 80;
  size_t says = n[0] | (size_t)n[1] << 8 | (size_t)n[2] << 16 | (size_t)n[3] << 24;
  size_t holds = (d->size - HEADER) / RECORD, spare = (d->size - HEADER) % RECORD;
  snprintf(d->format, sizeof d->format, "STL binary");
  if (says > holds)
    return ul_fail(&d->err, UL_E_FORMAT,
                   "says it holds %zu triangles, but ends after %zu: it is truncated: export or "
                   "copy it again",
                   says, holds);
  if (says == 0 && holds > 0 && spare == 0) {
    ul_draft_note(d, "Says it holds no triangles, but holds %zu: all are taken.", holds);
    says = holds;
  } else if (d->size > HEADER + RECORD * says) {
    ul_draft_note(d, "%zu bytes behind the last triangle are passed over.",
                  d->size - HEADER - RECORD * says);
  }
  return read_records(d, says);
}

static ul_status not_stl(ul_draft *d, const ul_scan *s, const char *wanted) {
  size_t line = 1, length;
  for (const char *c = (const char *)d->bytes; c < s->at; c++) line += *c == '\n';
  ul_scan ahead = *s;
  ul_scan_space(&ahead);
  for (const char *c = s->at; c < ahead.at; c++) line += *c == '\n';
  const char *word = ul_scan_word(&ahead, &length);
  if (length == 0)
    return ul_fail(&d->err, UL_E_FORMAT,
                   "ends in line %zu after %zu triangles, before \"%s\": it is truncated: export "
                   "or copy it again",
                   line, d->mesh->triangle_count, wanted);
  return ul_fail(&d->err, UL_E_FORMAT,
                 "line %zu has \"%.*s\" where ASCII STL has \"%s\": export it again", line,
                 length > 40 ? 40 : (int)length, word, wanted);
}

/* From behind "facet" to behind "endfacet". NULL, or what is missing. */
static const char *read_facet(ul_draft *d, ul_scan *s, uint32_t part, bool *ok) {
  size_t length;
  if (!ul_scan_expect(s, "normal")) return "normal";
  for (int c = 0; c < 3; c++) ul_scan_word(s, &length); /* not used, so not checked */
  if (!ul_scan_expect(s, "outer")) return "outer loop";
  if (!ul_scan_expect(s, "loop")) return "loop";
  uint32_t v = ul_draft_vertices(d, 3, ok);
  for (uint32_t c = 0; c < 3; c++) {
    double at[3];
    if (!ul_scan_expect(s, "vertex")) return "vertex";
    for (int k = 0; k < 3; k++)
      if (!ul_scan_number(s, &at[k])) return "a number";
    if (*ok) memcpy(d->mesh->vertex_mm[v + c], at, sizeof at);
  }
  if (!ul_scan_expect(s, "endloop")) return "endloop";
  if (!ul_scan_expect(s, "endfacet")) return "endfacet";
  ul_draft_triangle(d, v, v + 1, v + 2, part, ok);
  return NULL;
}

/* From behind "solid" to behind "endsolid" and its name. */
static const char *read_solid(ul_draft *d, ul_scan *s, bool *ok) {
  size_t length;
  const char *name = ul_scan_line(s, &length);
  uint32_t part = ul_draft_part(d, name, length, ok);
  while (*ok && ul_scan_expect(s, "facet")) {
    const char *missing = read_facet(d, s, part, ok);
    if (missing) return missing;
  }
  if (*ok && !ul_scan_expect(s, "endsolid")) return "endsolid";
  ul_scan_line(s, &length);
  return NULL;
}

static ul_status read_ascii(ul_draft *d) {
  ul_scan s = {(const char *)d->bytes, (const char *)d->bytes + d->size};
  bool ok = true;
  snprintf(d->format, sizeof d->format, "STL ASCII");
  if (d->size >= 3 && memcmp(s.at, "\xef\xbb\xbf", 3) == 0) s.at += 3;
  do {
    if (!ul_scan_expect(&s, "solid")) return not_stl(d, &s, "solid");
    const char *missing = read_solid(d, &s, &ok);
    if (!ok) return ul_draft_no_memory(d);
    if (missing) return not_stl(d, &s, missing);
    ul_scan_space(&s);
  } while (s.at < s.end);
  return UL_OK;
}

ul_status ul_read_stl(ul_draft *d) {
  size_t head = d->size < UL_FORMAT_HEAD ? d->size : UL_FORMAT_HEAD;
  if (ul_format_is_binary_stl(d->bytes, head, d->size)) return read_binary(d);
  if (ul_format_is_text(d->bytes, head)) return read_ascii(d);
  if (d->size >= HEADER) return read_binary(d);
  return ul_fail(&d->err, UL_E_FORMAT,
                 "%zu bytes are too few for a binary STL, whose header alone has 84: export or "
                 "copy it again",
                 d->size);
}
