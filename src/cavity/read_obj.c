/* OBJ by a reader of our own: the general library keeps coordinates as floats, which five metres
 * from the origin are worth half a micrometre, and takes half a face for a line. After Wavefront's
 * "Object Files (.obj)", appendix B1: corners, polygons, and the names of groups and materials; a
 * polygon may come before its corners, so the corners are read first. Curves and free-form surfaces
 * are no mesh and are passed over. */
#include "cavity/draft.h"

#include "base/fail.h"
#include "base/memory.h"
#include "cavity/facet.h"
#include "cavity/mesh_parts.h"
#include "cavity/scan.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
  const char *at;
  size_t length;
} text;

/* What the triangles of one part were written under. */
typedef struct {
  text group, material;
} label;

typedef struct {
  ul_draft *d;
  ul_scan rest;
  size_t line, next_line; /* where the statement in hand begins, and the one after it */
  label now, *label;      /* one a part */
  size_t label_room;
  uint32_t part; /* of `now`, unless `renamed` */
  bool renamed, ok;
  ul_facet facet;
} reader;

/* --- statements and words --- */

/* The next statement; false at the end. Corners and polygons go on where a line ends in a
 * backslash; in a comment or a name it may as well be the end of a Windows path. */
static bool next_statement(reader *r, ul_scan *statement) {
  if (r->rest.at >= r->rest.end) return false;
  statement->at = r->rest.at;
  r->line = r->next_line;
  bool may_go_on = false;
  for (bool more = true; more && r->rest.at < r->rest.end; r->next_line++) {
    size_t length;
    const char *line = ul_scan_line(&r->rest, &length);
    if (r->next_line == r->line) may_go_on = length > 0 && (*line == 'f' || *line == 'v');
    more = may_go_on && length > 0 && line[length - 1] == '\\';
    statement->end = r->rest.at;
    if (r->rest.at < r->rest.end) r->rest.at++; /* the line's end */
  }
  return true;
}

/* Goes on to the next word, past backslashes at lines' ends; false at the end. */
static bool next_word(ul_scan *s) {
  ul_scan_space(s);
  while (s->at < s->end && *s->at == '\\') {
    s->at++;
    ul_scan_space(s);
  }
  return s->at < s->end && *s->at != '#';
}

static bool same(text a, text b) {
  return a.length == b.length && memcmp(a.at, b.at, a.length) == 0;
}

static ul_status damaged(const reader *r, const char *what) {
  return ul_fail(&r->d->err, UL_E_FORMAT,
                 "line %zu: %s: it is truncated or damaged: export or copy it again", r->line,
                 what);
}

/* --- corners --- */

static ul_status take_vertex(reader *r, ul_scan *s) {
  double at[3];
  for (int c = 0; c < 3; c++)
    if (!next_word(s) || !ul_scan_number(s, &at[c]))
      return damaged(r, "a vertex without three numbers");
  uint32_t v = ul_draft_vertices(r->d, 1, &r->ok);
  for (int c = 0; c < 3 && r->ok; c++) r->d->mesh->vertex_mm[v][c] = at[c];
  return UL_OK;
}

static ul_status read_vertices(reader *r) {
  ul_scan statement;
  ul_status status = UL_OK;
  while (status == UL_OK && r->ok && next_statement(r, &statement))
    if (ul_scan_expect(&statement, "v")) status = take_vertex(r, &statement);
  return status;
}

/* --- parts --- */

static uint32_t find_part(reader *r) {
  ul_mesh *m = r->d->mesh;
  for (uint32_t p = 0; p < m->part_count; p++)
    if (same(r->label[p].group, r->now.group) && same(r->label[p].material, r->now.material))
      return p;
  text name = r->now.group.length ? r->now.group : r->now.material;
  r->ok = r->ok && ul_grow((void **)&r->label, &r->label_room, m->part_count + 1, sizeof *r->label);
  if (r->ok) r->label[m->part_count] = r->now;
  return ul_draft_part(r->d, name.at, name.length, &r->ok);
}

/* A group of several materials: group/material tells its parts apart. */
static void name_apart(reader *r) {
  ul_mesh *m = r->d->mesh;
  for (size_t p = 0; p < m->part_count && r->ok; p++) {
    text group = r->label[p].group, material = r->label[p].material;
    bool shared = false;
    for (size_t q = 0; q < m->part_count && !shared; q++)
      shared = q != p && same(r->label[q].group, group);
    if (!shared || !group.length || !material.length) continue;
    char *name = ul_new_raw(group.length + material.length + 2, 1);
    r->ok = name != NULL;
    if (!name) return;
    snprintf(name, group.length + material.length + 2, "%.*s/%.*s", (int)group.length, group.at,
             (int)material.length, material.at);
    free(m->part_name[p]);
    m->part_name[p] = name;
  }
}

static void take_name(reader *r, ul_scan *s, text *name) {
  name->at = ul_scan_line(s, &name->length);
  r->renamed = true;
}

/* --- polygons --- */

/* The vertex of a corner such as 7, 7/1, 7//3 or -2/1/3; below 0 they count back from `so_far`. */
static bool corner_vertex(const reader *r, const char *word, size_t length, size_t so_far,
                          uint32_t *vertex) {
  const char *end = memchr(word, '/', length);
  ul_scan s = {word, end ? end : word + length};
  double number;
  if (!ul_scan_number(&s, &number) || number != floor(number)) return false;
  if (number < 0) number += (double)so_far + 1;
  if (!(number >= 1 && number <= (double)r->d->mesh->vertex_count)) return false;
  *vertex = (uint32_t)number - 1;
  return true;
}

static ul_status take_face(reader *r, ul_scan *s, size_t so_far) {
  while (next_word(s)) {
    size_t length;
    const char *word = ul_scan_word(s, &length);
    if (word[length - 1] == '\\') length--;
    uint32_t vertex;
    if (!corner_vertex(r, word, length, so_far, &vertex))
      return damaged(r, "a face with a corner that is no vertex of the file");
    r->ok = r->ok && ul_facet_corner(&r->facet, vertex);
  }
  if (r->ok && r->facet.count < 3) return damaged(r, "a face with fewer than three corners");
  if (r->ok && r->renamed) r->part = find_part(r);
  r->renamed = false;
  if (r->ok) ul_facet_triangles(&r->facet, r->d, r->part, &r->ok);
  return UL_OK;
}

static ul_status read_faces(reader *r) {
  ul_scan statement;
  ul_status status = UL_OK;
  size_t so_far = 0;
  while (status == UL_OK && r->ok && next_statement(r, &statement)) {
    if (ul_scan_expect(&statement, "v"))
      so_far++;
    else if (ul_scan_expect(&statement, "f"))
      status = take_face(r, &statement, so_far);
    else if (ul_scan_expect(&statement, "g") || ul_scan_expect(&statement, "o"))
      take_name(r, &statement, &r->now.group);
    else if (ul_scan_expect(&statement, "usemtl"))
      take_name(r, &statement, &r->now.material);
  }
  return status;
}

ul_status ul_read_obj(ul_draft *d) {
  ul_scan whole = {(const char *)d->bytes, (const char *)d->bytes + d->size};
  if (d->size >= 3 && memcmp(whole.at, "\xef\xbb\xbf", 3) == 0) whole.at += 3;
  reader r = {.d = d,
              .rest = whole,
              .next_line = 1,
              .now = {{"", 0}, {"", 0}},
              .renamed = true,
              .ok = true};
  snprintf(d->format, sizeof d->format, "OBJ");
  ul_status status = read_vertices(&r);
  r.rest = whole;
  r.next_line = 1;
  if (status == UL_OK && r.ok) status = read_faces(&r);
  if (status == UL_OK && r.ok) name_apart(&r);
  ul_facet_release(&r.facet);
  free(r.label);
  return status == UL_OK && !r.ok ? ul_draft_no_memory(d) : status;
}
