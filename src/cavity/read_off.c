/* OFF by a reader of our own: the general library takes a truncated one for a whole. After the
 * Geomview manual's "OFF Files": counts of vertices, faces and edges, then a line for each vertex,
 * then one for each face; what follows the coordinates or corners in a line is colour and such. */
#include "cavity/draft.h"

#include "base/fail.h"
#include "cavity/facet.h"
#include "cavity/scan.h"

#include <stdio.h>

static void skip_line(ul_scan *s) {
  size_t length;
  ul_scan_line(s, &length);
}

static void skip_comments(ul_scan *s) {
  ul_scan_space(s);
  while (s->at < s->end && *s->at == '#') {
    skip_line(s);
    ul_scan_space(s);
  }
}

static bool take_count(ul_scan *s, size_t *count) {
  double number;
  skip_comments(s);
  if (!ul_scan_number(s, &number) || !(number >= 0 && number <= UINT32_MAX)) return false;
  *count = (size_t)number;
  return true;
}

static bool take_vertex(ul_draft *d, ul_scan *s, bool *memory) {
  double at[3];
  skip_comments(s);
  for (int c = 0; c < 3; c++)
    if (!ul_scan_number(s, &at[c])) return false;
  skip_line(s);
  uint32_t v = ul_draft_vertices(d, 1, memory);
  for (int c = 0; c < 3 && *memory; c++) d->mesh->vertex_mm[v][c] = at[c];
  return true;
}

static bool take_face(ul_draft *d, ul_scan *s, ul_facet *facet, bool *memory) {
  size_t corners, vertex;
  if (!take_count(s, &corners)) return false;
  for (size_t i = 0; i < corners && *memory; i++) {
    if (!take_count(s, &vertex) || vertex >= d->mesh->vertex_count) return false;
    *memory = ul_facet_corner(facet, (uint32_t)vertex);
  }
  skip_line(s);
  ul_facet_triangles(facet, d, 0, memory);
  return true;
}

static ul_status short_of(ul_draft *d, size_t count, const char *what, size_t item) {
  return ul_fail(&d->err, UL_E_FORMAT,
                 "says it holds %zu %s, but number %zu (the first is 0) is missing or not sound: "
                 "it is truncated or damaged: export or copy it again",
                 count, what, item);
}

static ul_status read_body(ul_draft *d, ul_scan *s, ul_facet *facet) {
  size_t vertices, faces, edges;
  bool memory = true;
  ul_draft_part(d, "", 0, &memory);
  if (!take_count(s, &vertices) || !take_count(s, &faces) || !take_count(s, &edges))
    return ul_fail(&d->err, UL_E_FORMAT,
                   "has no counts of vertices, faces and edges after \"OFF\": export it again");
  for (size_t i = 0; i < vertices && memory; i++)
    if (!take_vertex(d, s, &memory)) return short_of(d, vertices, "vertices", i);
  for (size_t i = 0; i < faces && memory; i++)
    if (!take_face(d, s, facet, &memory)) return short_of(d, faces, "faces", i);
  return memory ? UL_OK : ul_draft_no_memory(d);
}

ul_status ul_read_off(ul_draft *d) {
  ul_scan s = {(const char *)d->bytes, (const char *)d->bytes + d->size};
  ul_facet facet = {0};
  size_t length;
  snprintf(d->format, sizeof d->format, "OFF");
  const char *word = ul_scan_word(&s, &length); /* OFF, COFF, ...: format.c has seen to that */
  if (length > 3 && (*word == '4' || *word == 'n'))
    return ul_fail(&d->err, UL_E_FORMAT, "is \"%.*s\", in four or n dimensions: export it in three",
                   (int)length, word);
  ul_status status = read_body(d, &s, &facet);
  ul_facet_release(&facet);
  return status;
}
