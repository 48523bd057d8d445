#include "write.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zip.h>

/* A multiple of 1/1024 below 1000 has at most 13 significant digits. */
#define PLACE "%.13g"

static bool report(bool written, const char *path) {
  if (!written) fprintf(stderr, "make_cavities: %s: cannot be written\n", path);
  return written;
}

static void put_float(unsigned char *to, double value) {
  float single = (float)value;
  uint32_t bits;
  memcpy(&bits, &single, sizeof bits);
  for (int i = 0; i < 4; i++) to[i] = (unsigned char)(bits >> (8 * i));
}

static void unit_normal(const double *a, const double *b, const double *c, double n[3]) {
  double e[3], f[3];
  for (int i = 0; i < 3; i++) e[i] = b[i] - a[i], f[i] = c[i] - a[i];
  for (int i = 0; i < 3; i++)
    n[i] = e[(i + 1) % 3] * f[(i + 2) % 3] - e[(i + 2) % 3] * f[(i + 1) % 3];
  double length = sqrt(n[0] * n[0] + n[1] * n[1] + n[2] * n[2]);
  for (int i = 0; i < 3; i++) n[i] = length > 0 ? n[i] / length : 0;
}

bool write_stl(const surface *s, const char *path) {
  FILE *file = fopen(path, "wb");
  if (!file) return report(false, path);
  unsigned char head[84] = "binary STL, millimetres";
  for (int i = 0; i < 4; i++) head[80 + i] = (unsigned char)(s->triangle_count >> (8 * i));
  fwrite(head, sizeof head, 1, file);
  for (size_t t = 0; t < s->triangle_count; t++) {
    unsigned char facet[50] = {0};
    const double *corner[3];
    double normal[3];
    for (int c = 0; c < 3; c++) corner[c] = s->vertex_mm[s->triangle[t][c]];
    unit_normal(corner[0], corner[1], corner[2], normal);
    for (int i = 0; i < 3; i++) put_float(facet + 4 * i, normal[i]);
    for (int i = 0; i < 9; i++) put_float(facet + 12 + 4 * i, corner[i / 3][i % 3]);
    fwrite(facet, sizeof facet, 1, file);
  }
  bool good = !ferror(file);
  return report(fclose(file) == 0 && good, path);
}

bool write_obj(const surface *s, const char *path, const char *name) {
  FILE *file = fopen(path, "wb");
  if (!file) return report(false, path);
  fprintf(file, "# millimetres\no %s\n", name);
  for (size_t v = 0; v < s->vertex_count; v++)
    fprintf(file, "v " PLACE " " PLACE " " PLACE "\n", s->vertex_mm[v][0], s->vertex_mm[v][1],
            s->vertex_mm[v][2]);
  for (size_t p = 0; p < s->part_count; p++) {
    fprintf(file, "g %s\n", s->part_name[p]);
    for (size_t t = 0; t < s->triangle_count; t++)
      if (s->part[t] == p)
        fprintf(file, "f %u %u %u\n", s->triangle[t][0] + 1, s->triangle[t][1] + 1,
                s->triangle[t][2] + 1);
  }
  bool good = !ferror(file);
  return report(fclose(file) == 0 && good, path);
}

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

/* The model part, as text to be released with free(). */
static char *model_text(const surface *s, const char *name, size_t *length) {
  char *text = NULL;
  FILE *file = open_memstream(&text, length);
  if (!file) return NULL;
  fprintf(file,
          "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
          "<model unit=\"millimeter\" xml:lang=\"en\" "
          "xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n"
          "<resources>\n<object id=\"1\" type=\"model\" name=\"%s\">\n<mesh>\n<vertices>\n",
          name);
  for (size_t v = 0; v < s->vertex_count; v++)
    fprintf(file, "<vertex x=\"" PLACE "\" y=\"" PLACE "\" z=\"" PLACE "\"/>\n", s->vertex_mm[v][0],
            s->vertex_mm[v][1], s->vertex_mm[v][2]);
  fputs("</vertices>\n<triangles>\n", file);
  for (size_t t = 0; t < s->triangle_count; t++)
    fprintf(file, "<triangle v1=\"%u\" v2=\"%u\" v3=\"%u\"/>\n", s->triangle[t][0],
            s->triangle[t][1], s->triangle[t][2]);
  fputs("</triangles>\n</mesh>\n</object>\n</resources>\n<build>\n<item objectid=\"1\"/>\n"
        "</build>\n</model>\n",
        file);
  if (fclose(file) == 0) return text;
  free(text);
  return NULL;
}

/* Stored, not deflated, and dated 1980: the bytes do not hang on the zlib or the day. */
static bool add_part(zip_t *archive, const char *name, const char *text, size_t length) {
  zip_source_t *source = zip_source_buffer(archive, text, length, 0);
  if (!source) return false;
  zip_int64_t entry = zip_file_add(archive, name, source, ZIP_FL_ENC_UTF_8);
  if (entry < 0) {
    zip_source_free(source);
    return false;
  }
  const zip_uint16_t first_of_1980 = 1 << 5 | 1;
  return zip_set_file_compression(archive, (zip_uint64_t)entry, ZIP_CM_STORE, 0) == 0 &&
         zip_file_set_dostime(archive, (zip_uint64_t)entry, 0, first_of_1980, 0) == 0;
}

bool write_3mf(const surface *s, const char *path, const char *name) {
  size_t length = 0;
  char *model = model_text(s, name, &length);
  zip_t *archive = model ? zip_open(path, ZIP_CREATE | ZIP_TRUNCATE, NULL) : NULL;
  bool good = archive && add_part(archive, "[Content_Types].xml", types, sizeof types - 1) &&
              add_part(archive, "_rels/.rels", relations, sizeof relations - 1) &&
              add_part(archive, "3D/3dmodel.model", model, length);
  if (good && zip_close(archive) == 0)
    archive = NULL;
  else
    good = false;
  if (archive) zip_discard(archive);
  free(model);
  return report(good, path);
}
