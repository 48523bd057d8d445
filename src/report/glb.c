/* glb.c - a mesh as binary glTF 2.0: a JSON chunk that says what the binary chunk holds. */
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "report/atomic_file.h"
#include "report/little_endian.h"
#include "report/slices.h"
#include "report/text.h"
#include "ullage/mesh_files.h"

/* Numbers that the specification gives names to. */
enum { MAGIC = 0x46546C67, VERSION = 2, JSON_CHUNK = 0x4E4F534A, BIN_CHUNK = 0x004E4942 };
enum { FLOAT = 5126, UNSIGNED_INT = 5125, ARRAY_BUFFER = 34962, ELEMENT_ARRAY_BUFFER = 34963 };
enum { HEAD_BYTES = 12, CHUNK_HEAD_BYTES = 8, NAME_ROOM = 512 };

static void to_gltf(const double mm[3], float out[3]) {
  out[0] = (float)(mm[0] / 1000);
  out[1] = (float)(mm[2] / 1000);
  out[2] = (float)(-mm[1] / 1000) + 0.0f;
}

static size_t vertex_bytes(const ul_slice *slice) {
  return 12 * slice->vertex_count;
}
static size_t triangle_bytes(const ul_slice *slice) {
  return 12 * slice->triangle_count;
}

/* --- the JSON chunk --- */

/* sRGB to linear light (IEC 61966-2-1). */
static double linear(uint32_t byte) {
  double v = byte / 255.0;
  return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

static json_t *material(uint32_t rgba) {
  uint32_t alpha = rgba & 255;
  json_t *m =
      json_pack("{s:{s:[f,f,f,f],s:f,s:f},s:b,s:s}", "pbrMetallicRoughness", "baseColorFactor",
                linear(rgba >> 24), linear(rgba >> 16 & 255), linear(rgba >> 8 & 255),
                alpha / 255.0, "metallicFactor", 0.0, "roughnessFactor", 1.0, "doubleSided", 1,
                "alphaMode", alpha < 255 ? "BLEND" : "OPAQUE");
  return m;
}

static json_t *view(size_t offset, size_t length, int target) {
  return json_pack("{s:i,s:I,s:I,s:i}", "buffer", 0, "byteOffset", (json_int_t)offset, "byteLength",
                   (json_int_t)length, "target", target);
}

/* The specification wants a position accessor's extremes. */
static json_t *positions(const ul_mesh *mesh, const ul_slice *slice, size_t its_view) {
  float low[3] = {INFINITY, INFINITY, INFINITY}, high[3] = {-INFINITY, -INFINITY, -INFINITY};
  for (size_t v = 0; v < slice->vertex_count; v++) {
    float at[3];
    to_gltf(mesh->vertex_mm[slice->vertex[v]], at);
    for (int c = 0; c < 3; c++) low[c] = fminf(low[c], at[c]), high[c] = fmaxf(high[c], at[c]);
  }
  return json_pack("{s:I,s:i,s:I,s:s,s:[f,f,f],s:[f,f,f]}", "bufferView", (json_int_t)its_view,
                   "componentType", FLOAT, "count", (json_int_t)slice->vertex_count, "type", "VEC3",
                   "min", (double)low[0], (double)low[1], (double)low[2], "max", (double)high[0],
                   (double)high[1], (double)high[2]);
}

static json_t *indices(const ul_slice *slice, size_t its_view) {
  return json_pack("{s:I,s:i,s:I,s:s}", "bufferView", (json_int_t)its_view, "componentType",
                   UNSIGNED_INT, "count", (json_int_t)(3 * slice->triangle_count), "type",
                   "SCALAR");
}

static json_t *node(const ul_slice *slice, size_t i) {
  char name[NAME_ROOM];
  return json_pack("{s:I,s:s}", "mesh", (json_int_t)i, "name",
                   ul_clean_text(slice->name, name, sizeof name));
}

static json_t *one_mesh(size_t i, bool coloured) {
  json_t *p = json_pack("{s:{s:I},s:I}", "attributes", "POSITION", (json_int_t)(2 * i), "indices",
                        (json_int_t)(2 * i + 1));
  if (coloured) json_object_set_new(p, "material", json_integer((json_int_t)i));
  return json_pack("{s:[o]}", "primitives", p);
}

static json_t *scene(const ul_slices *s, const uint32_t *part_rgba, size_t *bytes) {
  json_t *numbers = json_array(), *nodes = json_array(), *meshes = json_array();
  json_t *materials = json_array(), *views = json_array(), *accessors = json_array();
  size_t at = 0;
  for (size_t i = 0; i < s->count; i++) {
    const ul_slice *slice = &s->slice[i];
    json_array_append_new(numbers, json_integer((json_int_t)i));
    json_array_append_new(nodes, node(slice, i));
    json_array_append_new(meshes, one_mesh(i, part_rgba != NULL));
    if (part_rgba) json_array_append_new(materials, material(part_rgba[slice->part]));
    json_array_append_new(views, view(at, vertex_bytes(slice), ARRAY_BUFFER));
    at += vertex_bytes(slice);
    json_array_append_new(views, view(at, triangle_bytes(slice), ELEMENT_ARRAY_BUFFER));
    at += triangle_bytes(slice);
    json_array_append_new(accessors, positions(s->mesh, slice, 2 * i));
    json_array_append_new(accessors, indices(slice, 2 * i + 1));
  }
  *bytes = at;
  json_t *root = json_pack("{s:{s:s,s:s},s:i,s:[{s:o}],s:o,s:o,s:o,s:o,s:[{s:I}]}", "asset",
                           "version", "2.0", "generator", "ullage", "scene", 0, "scenes", "nodes",
                           numbers, "nodes", nodes, "meshes", meshes, "bufferViews", views,
                           "accessors", accessors, "buffers", "byteLength", (json_int_t)at);
  if (!part_rgba)
    json_decref(materials);
  else if (json_object_set_new(root, "materials", materials) != 0) {
    json_decref(root);
    return NULL;
  }
  return root;
}

/* --- the file --- */

typedef struct {
  const ul_slices *slices;
  const char *json;
  size_t json_bytes, padded_bytes, binary_bytes;
} chunks;

static void put_words(FILE *file, const uint32_t *word, size_t count) {
  for (size_t i = 0; i < count; i++) {
    unsigned char bytes[4];
    ul_put_u32(bytes, word[i]);
    fwrite(bytes, 1, sizeof bytes, file);
  }
}

static void put_slice(FILE *file, const ul_mesh *mesh, const ul_slice *slice) {
  for (size_t v = 0; v < slice->vertex_count; v++) {
    float at[3];
    unsigned char bytes[12], *to = bytes;
    to_gltf(mesh->vertex_mm[slice->vertex[v]], at);
    for (int c = 0; c < 3; c++) to = ul_put_float(to, at[c]);
    fwrite(bytes, 1, sizeof bytes, file);
  }
  for (size_t t = 0; t < slice->triangle_count; t++) put_words(file, slice->triangle[t], 3);
}

static bool write_chunks(FILE *file, void *context) {
  const chunks *c = context;
  size_t all = HEAD_BYTES + 2 * CHUNK_HEAD_BYTES + c->padded_bytes + c->binary_bytes;
  put_words(file, (uint32_t[]){MAGIC, VERSION, (uint32_t)all}, 3);
  put_words(file, (uint32_t[]){(uint32_t)c->padded_bytes, JSON_CHUNK}, 2);
  fwrite(c->json, 1, c->json_bytes, file);
  fprintf(file, "%*s", (int)(c->padded_bytes - c->json_bytes), "");
  put_words(file, (uint32_t[]){(uint32_t)c->binary_bytes, BIN_CHUNK}, 2);
  for (size_t i = 0; i < c->slices->count; i++)
    put_slice(file, c->slices->mesh, &c->slices->slice[i]);
  return true;
}

static ul_status write_scene(const ul_slices *slices, const uint32_t *part_rgba, const char *path,
                             ul_error *err) {
  chunks c = {.slices = slices};
  json_t *root = scene(slices, part_rgba, &c.binary_bytes);
  char *text = root ? json_dumps(root, JSON_COMPACT | JSON_REAL_PRECISION(9)) : NULL;
  json_decref(root);
  if (!text) return ul_fail_memory(err);
  c.json = text;
  c.json_bytes = strlen(text);
  c.padded_bytes = (c.json_bytes + 3) / 4 * 4;
  ul_status status;
  if (c.padded_bytes + c.binary_bytes > UINT32_MAX - HEAD_BYTES - 2 * CHUNK_HEAD_BYTES)
    status = ul_fail(err, UL_E_LIMIT, "%.250s: %zu bytes, a GLB file holds at most 4 GiB", path,
                     c.binary_bytes);
  else
    status = ul_write_whole(path, write_chunks, &c, err);
  free(text);
  return status;
}

ul_status ul_write_glb(const ul_mesh *mesh, const uint32_t *part_rgba, const char *path,
                       ul_error *err) {
  ul_slices slices;
  ul_status status = ul_slices_make(mesh, path, &slices, err);
  if (status == UL_OK) status = write_scene(&slices, part_rgba, path, err);
  ul_slices_free(&slices);
  return status;
}
