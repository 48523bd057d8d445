/* page_scene.c - what the model on the page is made of, as JSON: the cavity's mesh, when foam
 * reaches each cube as one byte, the moments, the vents. */
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/vec.h"
#include "report/json.h"
#include "report/page_parts.h"

/* So much fits into a page that still opens at once. */
enum { CUBES_MOST = 1400000, TRIANGLES_MOST = 120000 };
/* A cube's byte: 0 outside, REACHED bytes of arrival from 1 on, then one for each shut-in air. */
enum { REACHED = 240, AIR_CODES = 255 - REACHED };

/* --- bytes as text: RFC 4648 --- */

static json_t *base64(const unsigned char *bytes, size_t count) {
  static const char letter[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  size_t length = (count + 2) / 3 * 4;
  char *text = ul_new_raw(length + 1, 1);
  if (!text) return NULL;
  for (size_t i = 0; i < count; i += 3) {
    size_t left = count - i;
    uint32_t three = (uint32_t)bytes[i] << 16 | (left > 1 ? (uint32_t)bytes[i + 1] << 8 : 0) |
                     (left > 2 ? (uint32_t)bytes[i + 2] : 0);
    char *to = text + i / 3 * 4;
    for (int k = 0; k < 4; k++) to[k] = letter[three >> (18 - 6 * k) & 63];
    if (left < 3) to[3] = '=';
    if (left < 2) to[2] = '=';
  }
  json_t *string = json_stringn_nocheck(text, length);
  free(text);
  return string;
}

/* --- the mesh: 16 bits a coordinate --- */

/* Vertices fall together until no more than TRIANGLES_MOST are left. NULL: no memory. */
static ul_mesh *thinned(const ul_mesh *mesh, double size) {
  ul_mesh *copy;
  if (ul_mesh_copy(mesh, &copy, NULL) != UL_OK) return NULL;
  for (double apart = size / 1000; copy->triangle_count > TRIANGLES_MOST; apart *= 1.5)
    if (ul_mesh_weld(copy, apart, NULL, NULL) != UL_OK) {
      ul_mesh_free(copy);
      return NULL;
    }
  return copy;
}

static void put_little(unsigned char *to, uint32_t value, int bytes) {
  for (int i = 0; i < bytes; i++) to[i] = (unsigned char)(value >> 8 * i);
}

static json_t *mesh_json(const ul_mesh *given) {
  double box[2][3], size = 0;
  ul_mesh_box_mm(given, box);
  for (int a = 0; a < 3; a++) size = fmax(size, box[1][a] - box[0][a]);
  ul_mesh *mesh = thinned(given, size);
  if (!mesh) return NULL;
  double step = size / UINT16_MAX;
  unsigned char *vertex = ul_new_raw(mesh->vertex_count, 6);
  unsigned char *corner = ul_new_raw(mesh->triangle_count, 12);
  for (size_t i = 0; vertex && i < 3 * mesh->vertex_count; i++) {
    double along = (mesh->vertex_mm[i / 3][i % 3] - box[0][i % 3]) / step;
    put_little(vertex + 2 * i, (uint32_t)lround(along), 2);
  }
  for (size_t i = 0; corner && i < 3 * mesh->triangle_count; i++)
    put_little(corner + 4 * i, mesh->triangle[i / 3][i % 3], 4);
  json_t *out = NULL;
  if (vertex && corner)
    out = json_pack("{s:o,s:f,s:o,s:o}", "origin", ul_json_vector(box[0]), "step", step, "vertices",
                    base64(vertex, 6 * mesh->vertex_count), "triangles",
                    base64(corner, 12 * mesh->triangle_count));
  free(vertex);
  free(corner);
  ul_mesh_free(mesh);
  return out;
}

/* --- the arrival: one byte a cube, of cubes made coarser when there are too many --- */

typedef struct ul_page_field {
  const ul_page *page;
  int fold; /* so many cubes along each axis become one */
  int32_t n[3];
  double first; /* the earliest arrival */
} ul_page_field;

static void fold_lattice(ul_page_field *f) {
  const ul_lattice *l = &f->page->grid->lattice;
  double cubes;
  do {
    f->fold++;
    cubes = 1;
    for (int a = 0; a < 3; a++) {
      f->n[a] = (l->n[a] + f->fold - 1) / f->fold;
      cubes *= f->n[a];
    }
  } while (cubes > CUBES_MOST);
}

/* The shut-in air whose place is nearest; its hatch appears when that air is cut off. */
static unsigned char air_code(const ul_page *page, const double at_mm[3]) {
  size_t best = 0;
  double nearest = INFINITY;
  for (size_t i = 0; i < page->air_count; i++) {
    double far = ul_distance(page->air[i].at_mm, at_mm);
    if (far < nearest) nearest = far, best = i;
  }
  return (unsigned char)(REACHED + 1 + (best < AIR_CODES ? best : AIR_CODES - 1));
}

static void cube_centre(const ul_page_field *f, const int32_t at[3], double out[3]) {
  const ul_lattice *l = &f->page->grid->lattice;
  for (int a = 0; a < 3; a++) out[a] = l->origin_mm[a] + (at[a] + 0.5) * f->fold * l->cube_mm;
}

/* A folded cube is cavity when a third of it is, and air when most of that is never reached. */
static unsigned char cube_byte(const ul_page_field *f, const int32_t at[3]) {
  const ul_grid *g = f->page->grid;
  const int32_t *n = g->lattice.n;
  double sum = 0;
  int reached = 0, never = 0, k = f->fold;
  for (int32_t z = at[2] * k; z < (at[2] + 1) * k && z < n[2]; z++)
    for (int32_t y = at[1] * k; y < (at[1] + 1) * k && y < n[1]; y++)
      for (int32_t x = at[0] * k; x < (at[0] + 1) * k && x < n[0]; x++) {
        size_t cube = ((size_t)z * (size_t)n[1] + (size_t)y) * (size_t)n[0] + (size_t)x;
        if (!g->inside[cube]) continue;
        double arrival = (double)f->page->arrival[cube];
        if (arrival <= f->page->arrival_end)
          sum += arrival, reached++;
        else
          never++;
      }
  if (3 * (reached + never) < k * k * k) return 0;
  if (never > reached) {
    double centre[3];
    cube_centre(f, at, centre);
    return air_code(f->page, centre);
  }
  double share = (sum / reached - f->first) / (f->page->arrival_end - f->first);
  return (unsigned char)(1 + lround((REACHED - 1) * fmax(0, fmin(1, share))));
}

static json_t *field_json(const ul_page *page) {
  ul_page_field f = {.page = page, .first = page->arrival_end};
  fold_lattice(&f);
  for (size_t i = 0; i < page->grid->cube_count; i++)
    if (page->grid->inside[i]) f.first = fmin(f.first, (double)page->arrival[i]);
  if (f.first >= page->arrival_end) f.first = page->arrival_end - 1;
  size_t count = (size_t)f.n[0] * (size_t)f.n[1] * (size_t)f.n[2], i = 0;
  unsigned char *bytes = ul_new_raw(count, 1);
  if (!bytes) return NULL;
  int32_t at[3];
  for (at[2] = 0; at[2] < f.n[2]; at[2]++)
    for (at[1] = 0; at[1] < f.n[1]; at[1]++)
      for (at[0] = 0; at[0] < f.n[0]; at[0]++) bytes[i++] = cube_byte(&f, at);
  const ul_lattice *l = &page->grid->lattice;
  json_t *out =
      json_pack("{s:o,s:f,s:[i,i,i],s:f,s:f,s:i,s:o}", "origin", ul_json_vector(l->origin_mm),
                "cube", f.fold * l->cube_mm, "n", f.n[0], f.n[1], f.n[2], "first", f.first, "end",
                page->arrival_end, "reached", REACHED, "bytes", base64(bytes, count));
  free(bytes);
  return out;
}

/* --- names: of the file's parts, and of what is cast in --- */

enum { NAMES_MOST = 24 };

/* Any bytes, as JSON can hold them. */
static json_t *string(const char *text) {
  char *clean = ul_page_utf8(text);
  json_t *out = clean ? json_string(clean) : NULL;
  free(clean);
  return out;
}

/* The corner of the part nearest to its middle, so that the name is tied to the part itself. False:
 * it has no triangle. */
static bool part_place(const ul_mesh *mesh, size_t part, double out[3]) {
  double middle[3] = {0}, nearest = INFINITY;
  size_t count = 0;
  for (size_t t = 0; t < mesh->triangle_count; t++)
    for (int k = 0; mesh->part[t] == part && k < 3; k++, count++)
      ul_add_scaled(middle, 1, mesh->vertex_mm[mesh->triangle[t][k]], middle);
  for (int a = 0; count && a < 3; a++) middle[a] /= (double)count;
  for (size_t t = 0; t < mesh->triangle_count; t++)
    for (int k = 0; mesh->part[t] == part && k < 3; k++) {
      const double *at = mesh->vertex_mm[mesh->triangle[t][k]];
      if (ul_distance(at, middle) >= nearest) continue;
      nearest = ul_distance(at, middle);
      ul_copy3(at, out);
    }
  return count > 0;
}

static void put_name(json_t *list, const ul_mesh *mesh, size_t part, const char *name) {
  double at[3];
  if (!name[0] || json_array_size(list) == NAMES_MOST || !part_place(mesh, part, at)) return;
  json_array_append_new(list,
                        json_pack("{s:o,s:o}", "name", string(name), "at", ul_json_vector(at)));
}

static json_t *names_json(const ul_page *page) {
  json_t *list = json_array();
  for (size_t i = 0; i < page->insert_count; i++)
    put_name(list, page->insert[i].mesh, 0, page->insert[i].name);
  for (size_t i = 0; page->mesh->part_count > 1 && i < page->mesh->part_count; i++)
    put_name(list, page->mesh, i, page->mesh->part_name[i]);
  return list;
}

static json_t *inserts_json(const ul_page *page) {
  json_t *list = json_array();
  for (size_t i = 0; i < page->insert_count; i++)
    json_array_append_new(list, mesh_json(page->insert[i].mesh));
  return list;
}

/* --- moments, vents, air --- */

static json_t *events_json(const ul_page *page) {
  json_t *list = json_array();
  for (size_t i = 0; i < page->event_count; i++) {
    const ul_page_event *e = &page->event[i];
    json_array_append_new(list, json_pack("{s:f,s:o,s:o,s:i,s:i,s:o}", "reached", e->reached,
                                          "mark", string(e->mark), "text", string(e->text), "vent",
                                          (int)e->vent, "air", (int)e->air, "at",
                                          e->has_place ? ul_json_vector(e->at_mm) : json_null()));
  }
  return list;
}

static json_t *vents_json(const ul_page *page) {
  json_t *list = json_array();
  for (size_t i = 0; i < page->vents->count; i++) {
    const ul_vent *v = &page->vents->vent[i];
    json_array_append_new(list, json_pack("{s:i,s:o,s:o,s:f,s:b}", "id", (int)v->id, "at",
                                          ul_json_vector(v->at_mm), "through",
                                          ul_json_vector(v->ok ? v->through_mm : v->at_mm),
                                          "diameter", v->diameter_mm, "ok", v->ok));
  }
  return list;
}

static json_t *air_json(const ul_page *page) {
  json_t *list = json_array();
  for (size_t i = 0; i < page->air_count; i++)
    json_array_append_new(list, json_pack("{s:i,s:o,s:f,s:o}", "id", (int)page->air[i].id, "at",
                                          ul_json_vector(page->air[i].at_mm), "cutOff",
                                          page->air[i].cut_off, "text", string(page->air[i].text)));
  return list;
}

static json_t *tides_json(const ul_page *page) {
  ul_page_tides tides;
  ul_page_tides_choose(page, &tides);
  json_t *list = json_array();
  for (size_t i = 0; i < tides.count; i++) {
    char mark[16];
    ul_page_mark(page, tides.at[i], mark);
    json_array_append_new(list, json_pack("{s:f,s:s}", "at", tides.at[i], "mark", mark));
  }
  return list;
}

static json_t *stand_json(const ul_page *page, const ul_page_cut *cut) {
  double along[3];
  ul_page_along(page->tool, page->up, along);
  json_t *feet = json_array();
  for (int i = 0; i < 4; i++)
    json_array_append_new(feet, ul_json_vector(page->props->corner_mm[i]));
  return json_pack("{s:o,s:o,s:o,s:o,s:f,s:o,s:f,s:o}", "up", ul_json_vector(page->up), "along",
                   ul_json_vector(along), "low", ul_json_vector(page->tool->box_mm[0]), "high",
                   ul_json_vector(page->tool->box_mm[1]), "bench",
                   ul_page_bench(page->tool, page->up), "cut", ul_json_vector(cut->view.toward),
                   "depth", cut->depth_mm, "feet", feet);
}

bool ul_page_scene(FILE *file, const ul_page *page, const ul_page_cut *cut) {
  json_t *root =
      json_pack("{s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "stand", stand_json(page, cut), "mesh",
                mesh_json(page->mesh), "inserts", inserts_json(page), "names", names_json(page),
                "field", field_json(page), "tides", tides_json(page), "events", events_json(page),
                "vents", vents_json(page), "air", air_json(page));
  char *text = root ? json_dumps(root, JSON_COMPACT | JSON_REAL_PRECISION(9)) : NULL;
  json_decref(root);
  if (!text) return false;
  for (char *rest = text; *rest;) { /* "</script>" or "<!--" in a name would end the element */
    size_t plain = strcspn(rest, "<");
    fwrite(rest, 1, plain, file);
    rest += plain;
    if (*rest == '<') fputs("\\u003c", file), rest++;
  }
  free(text);
  return true;
}
