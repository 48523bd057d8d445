/* PLY by a reader of our own: on a header cut short the general library runs until it is stopped,
 * and it crashes on many a damaged body. After G. Turk, "The PLY Polygon File Format", 1994. */
#include "cavity/draft.h"

#include "base/fail.h"
#include "cavity/facet.h"
#include "cavity/scan.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

enum { MOST_PROPERTIES = 64, MOST_ELEMENTS = 16 };

typedef enum { NO_TYPE, I8, U8, I16, U16, I32, U32, F32, F64 } type;
static const size_t type_bytes[] = {0, 1, 1, 2, 2, 4, 4, 4, 8};

typedef struct {
  type type, count_type; /* count_type NO_TYPE: not a list */
  int axis;              /* 0 to 2 for x, y, z, else -1 */
  bool corners;          /* the list of a face's vertices */
} property;

typedef struct {
  bool is_vertex, is_face;
  size_t count, properties;
  property property[MOST_PROPERTIES];
} element;

typedef struct {
  ul_draft *draft;
  ul_scan s;
  bool ascii, swap;
  size_t elements;
  element element[MOST_ELEMENTS];
  ul_facet facet;
} reader;

static type type_named(const char *word, size_t length) {
  static const struct {
    const char *name;
    type type;
  } names[] = {{"char", I8},   {"int8", I8},     {"uchar", U8},   {"uint8", U8},
               {"short", I16}, {"int16", I16},   {"ushort", U16}, {"uint16", U16},
               {"int", I32},   {"int32", I32},   {"uint", U32},   {"uint32", U32},
               {"float", F32}, {"float32", F32}, {"double", F64}, {"float64", F64}};
  for (size_t i = 0; i < sizeof names / sizeof *names; i++)
    if (strlen(names[i].name) == length && memcmp(names[i].name, word, length) == 0)
      return names[i].type;
  return NO_TYPE;
}

static bool is_word(const char *word, size_t length, const char *wanted) {
  return strlen(wanted) == length && memcmp(word, wanted, length) == 0;
}

static ul_status bad_header(reader *p, const char *line, size_t length) {
  return ul_fail(&p->draft->err, UL_E_FORMAT,
                 "its header has the line \"%.*s\", which PLY does not: export it again",
                 length > 60 ? 60 : (int)length, line);
}

static bool take_format(reader *p, ul_scan *line) {
  const uint16_t one = 1;
  bool little_machine = *(const unsigned char *)&one == 1;
  if (ul_scan_expect(line, "ascii")) return p->ascii = true;
  if (ul_scan_expect(line, "binary_little_endian"))
    p->swap = !little_machine;
  else if (ul_scan_expect(line, "binary_big_endian"))
    p->swap = little_machine;
  else
    return false;
  return true;
}

static bool take_element(reader *p, ul_scan *line) {
  size_t length;
  double count;
  const char *name = ul_scan_word(line, &length);
  if (p->elements == MOST_ELEMENTS || !ul_scan_number(line, &count)) return false;
  if (!(count >= 0 && count <= UINT32_MAX)) return false;
  p->element[p->elements++] = (element){.is_vertex = is_word(name, length, "vertex"),
                                        .is_face = is_word(name, length, "face"),
                                        .count = (size_t)count};
  return true;
}

static bool take_property(reader *p, ul_scan *line) {
  size_t length;
  property q = {.axis = -1};
  element *e = p->elements ? &p->element[p->elements - 1] : NULL;
  if (!e || e->properties == MOST_PROPERTIES) return false;
  const char *word = ul_scan_word(line, &length);
  if (is_word(word, length, "list")) {
    word = ul_scan_word(line, &length);
    q.count_type = type_named(word, length);
    if (q.count_type == NO_TYPE || q.count_type >= F32) return false;
    word = ul_scan_word(line, &length);
  }
  q.type = type_named(word, length);
  word = ul_scan_word(line, &length);
  if (length == 1 && *word >= 'x' && *word <= 'z' && !q.count_type) q.axis = *word - 'x';
  q.corners = q.count_type &&
              (is_word(word, length, "vertex_indices") || is_word(word, length, "vertex_index"));
  e->property[e->properties++] = q;
  return q.type != NO_TYPE && length > 0;
}

static ul_status read_header(reader *p) {
  bool formatted = false;
  for (bool first = true;; first = false) {
    size_t length;
    const char *text = ul_scan_line(&p->s, &length);
    if (p->s.at == p->s.end)
      return ul_fail(&p->draft->err, UL_E_FORMAT,
                     "ends within its header, before \"end_header\": it is truncated: export or "
                     "copy it again");
    p->s.at++; /* the line's end: what follows the last one may be binary */
    ul_scan line = {text, text + length};
    if (length == 0 || (first && ul_scan_expect(&line, "ply"))) continue;
    if (ul_scan_expect(&line, "comment") || ul_scan_expect(&line, "obj_info")) continue;
    if (ul_scan_expect(&line, "end_header")) break;
    bool ok = false;
    if (ul_scan_expect(&line, "format"))
      ok = formatted = take_format(p, &line);
    else if (ul_scan_expect(&line, "element"))
      ok = take_element(p, &line);
    else if (ul_scan_expect(&line, "property"))
      ok = take_property(p, &line);
    if (!ok) return bad_header(p, text, length);
  }
  return formatted ? UL_OK : bad_header(p, "end_header", 10);
}

static bool take_value(reader *p, type t, double *value) {
  size_t bytes = type_bytes[t];
  if (p->ascii) return ul_scan_number(&p->s, value);
  if ((size_t)(p->s.end - p->s.at) < bytes) return false;
  unsigned char raw[8];
  for (size_t i = 0; i < bytes; i++) raw[i] = (unsigned char)p->s.at[p->swap ? bytes - 1 - i : i];
  p->s.at += bytes;
#define AS(kind, c_type)                                                                           \
  case kind: {                                                                                     \
    c_type x;                                                                                      \
    memcpy(&x, raw, sizeof x);                                                                     \
    *value = (double)x;                                                                            \
    return true;                                                                                   \
  }
  switch (t) {
    AS(I8, int8_t)
    AS(U8, uint8_t)
    AS(I16, int16_t)
    AS(U16, uint16_t)
    AS(I32, int32_t)
    AS(U32, uint32_t)
    AS(F32, float)
    AS(F64, double)
  case NO_TYPE:
    break;
  }
#undef AS
  return false;
}

/* One property of one item; a list's corners go to the facet. */
static bool take_one(reader *p, const property *q, double at[3], bool *memory) {
  double value, count = 1;
  if (q->count_type && !take_value(p, q->count_type, &count)) return false;
  if (!(count >= 0 && count <= UINT32_MAX)) return false;
  for (double i = 0; i < count; i++) {
    if (!take_value(p, q->type, &value)) return false;
    if (q->axis >= 0) at[q->axis] = value;
    if (q->corners) {
      if (!(value >= 0 && value < (double)p->draft->mesh->vertex_count)) return false;
      if (!ul_facet_corner(&p->facet, (uint32_t)value)) return *memory = false;
    }
  }
  return true;
}

static ul_status short_of(reader *p, const element *e, size_t item) {
  const char *what = e->is_vertex ? "vertices" : e->is_face ? "faces" : "items of another kind";
  return ul_fail(&p->draft->err, UL_E_FORMAT,
                 "says it holds %zu %s, but number %zu (the first is 0) is missing or not sound: "
                 "it is truncated or damaged: export or copy it again",
                 e->count, what, item);
}

static ul_status read_element(reader *p, const element *e) {
  bool memory = true;
  for (size_t i = 0; i < e->count && memory; i++) {
    double at[3] = {0, 0, 0};
    p->facet.count = 0;
    for (size_t k = 0; k < e->properties; k++)
      if (!take_one(p, &e->property[k], at, &memory)) {
        if (!memory) return ul_draft_no_memory(p->draft);
        return short_of(p, e, i);
      }
    if (e->properties == 0) return short_of(p, e, i);
    if (e->is_vertex) {
      uint32_t v = ul_draft_vertices(p->draft, 1, &memory);
      if (memory) memcpy(p->draft->mesh->vertex_mm[v], at, sizeof at);
    } else if (e->is_face) {
      ul_facet_triangles(&p->facet, p->draft, 0, &memory);
    }
  }
  return memory ? UL_OK : ul_draft_no_memory(p->draft);
}

ul_status ul_read_ply(ul_draft *d) {
  static reader p;
  bool ok = true;
  p.draft = d;
  p.s = (ul_scan){(const char *)d->bytes, (const char *)d->bytes + d->size};
  snprintf(d->format, sizeof d->format, "PLY");
  ul_draft_part(d, "", 0, &ok);
  ul_status status = ok ? read_header(&p) : ul_draft_no_memory(d);
  for (size_t i = 0; i < p.elements && status == UL_OK; i++)
    status = read_element(&p, &p.element[i]);
  ul_facet_release(&p.facet);
  return status;
}
