/* write_3mf.c - a mesh as 3MF: an XML model in a zip archive. */
#include <stdlib.h>
#include <zip.h>

#include "base/fail.h"
#include "base/memory.h"
#include "report/atomic_file.h"
#include "report/numbers.h"
#include "report/slices.h"
#include "report/text.h"
#include "ullage/mesh_files.h"

enum { COLOURS_ID = 1, FIRST_OBJECT_ID = 2 };

static const char types[] =
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
    "<Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\">\n"
    "<Default Extension=\"rels\" "
    "ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>\n"
    "<Default Extension=\"model\" "
    "ContentType=\"application/vnd.ms-package.3dmanufacturing-3dmodel+xml\"/>\n"
    "</Types>\n";

static const char relations[] =
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
    "<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">\n"
    "<Relationship Target=\"/3D/3dmodel.model\" Id=\"rel0\" "
    "Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/>\n"
    "</Relationships>\n";

/* --- the model, as text --- */

static void put_colours(FILE *file, const ul_slices *s, const uint32_t *part_rgba) {
  fprintf(file, "<basematerials id=\"%d\">\n", COLOURS_ID);
  for (size_t i = 0; i < s->count; i++) {
    fputs("<base name=\"", file);
    ul_put_xml(file, s->slice[i].name);
    fprintf(file, "\" displaycolor=\"#%08X\"/>\n", (unsigned)part_rgba[s->slice[i].part]);
  }
  fputs("</basematerials>\n", file);
}

static void put_vertex(FILE *file, const double at[3]) {
  fputs("<vertex", file);
  for (int c = 0; c < 3; c++) {
    fprintf(file, " %c=\"", "xyz"[c]);
    ul_put_exact(file, at[c]);
    fputc('"', file);
  }
  fputs("/>\n", file);
}

static void put_object(FILE *file, const ul_slices *s, size_t i, bool coloured) {
  const ul_slice *slice = &s->slice[i];
  fprintf(file, "<object id=\"%zu\" type=\"model\" name=\"", FIRST_OBJECT_ID + i);
  ul_put_xml(file, slice->name);
  fputc('"', file);
  if (coloured) fprintf(file, " pid=\"%d\" pindex=\"%zu\"", COLOURS_ID, i);
  fputs(">\n<mesh>\n<vertices>\n", file);
  for (size_t v = 0; v < slice->vertex_count; v++)
    put_vertex(file, s->mesh->vertex_mm[slice->vertex[v]]);
  fputs("</vertices>\n<triangles>\n", file);
  for (size_t t = 0; t < slice->triangle_count; t++) {
    const uint32_t *k = slice->triangle[t];
    fprintf(file, "<triangle v1=\"%u\" v2=\"%u\" v3=\"%u\"/>\n", k[0], k[1], k[2]);
  }
  fputs("</triangles>\n</mesh>\n</object>\n", file);
}

/* To be released with free(). */
static char *model_text(const ul_slices *s, const uint32_t *part_rgba, size_t *length) {
  char *text = NULL;
  FILE *file = open_memstream(&text, length);
  if (!file) return NULL;
  fputs("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
        "<model unit=\"millimeter\" xml:lang=\"en\" "
        "xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n<resources>\n",
        file);
  if (part_rgba) put_colours(file, s, part_rgba);
  for (size_t i = 0; i < s->count; i++) put_object(file, s, i, part_rgba != NULL);
  fputs("</resources>\n<build>\n", file);
  for (size_t i = 0; i < s->count; i++)
    fprintf(file, "<item objectid=\"%zu\"/>\n", FIRST_OBJECT_ID + i);
  fputs("</build>\n</model>\n", file);
  bool sound = !ferror(file);
  if (fclose(file) == 0 && sound) return text;
  free(text);
  return NULL;
}

/* --- the archive, in memory --- */

/* Dated 1980, as early as zip can: the day is no part of the content. */
static bool add_entry(zip_t *archive, const char *name, const char *text, size_t length) {
  zip_source_t *source = zip_source_buffer(archive, text, length, 0);
  if (!source) return false;
  zip_int64_t entry = zip_file_add(archive, name, source, ZIP_FL_ENC_UTF_8);
  if (entry < 0) {
    zip_source_free(source);
    return false;
  }
  const zip_uint16_t first_of_1980 = 1 << 5 | 1;
  return zip_file_set_dostime(archive, (zip_uint64_t)entry, 0, first_of_1980, 0) == 0;
}

/* Makes the archive in `store`, which outlives it. */
static bool pack(zip_source_t *store, const char *model, size_t length) {
  zip_source_keep(store);
  zip_t *archive = zip_open_from_source(store, ZIP_TRUNCATE, NULL);
  if (!archive) {
    zip_source_free(store);
    return false;
  }
  bool good = add_entry(archive, "[Content_Types].xml", types, sizeof types - 1) &&
              add_entry(archive, "_rels/.rels", relations, sizeof relations - 1) &&
              add_entry(archive, "3D/3dmodel.model", model, length);
  if (good && zip_close(archive) == 0) return true;
  zip_discard(archive);
  return false;
}

typedef struct {
  const ul_slices *slices;
  const uint32_t *part_rgba;
} model;

static bool copy_store(zip_source_t *store, FILE *file) {
  if (zip_source_open(store) != 0) return false;
  char block[16384];
  zip_int64_t n;
  while ((n = zip_source_read(store, block, sizeof block)) > 0) fwrite(block, 1, (size_t)n, file);
  zip_source_close(store);
  return n == 0;
}

static bool write_archive(FILE *file, void *context) {
  const model *m = context;
  size_t length = 0;
  char *text = model_text(m->slices, m->part_rgba, &length);
  zip_source_t *store = text ? zip_source_buffer_create(NULL, 0, 0, NULL) : NULL;
  bool good = store && pack(store, text, length) && copy_store(store, file);
  if (store) zip_source_free(store);
  free(text);
  return good;
}

ul_status ul_write_3mf(const ul_mesh *mesh, const uint32_t *part_rgba, const char *path,
                       ul_error *err) {
  ul_slices slices;
  ul_status status = ul_slices_make(mesh, path, &slices, err);
  model m = {&slices, part_rgba};
  if (status == UL_OK) status = ul_write_whole(path, write_archive, &m, err);
  ul_slices_free(&slices);
  return status;
}
