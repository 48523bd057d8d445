#include "report/field_vti.h"

#include <math.h>

#include "report/atomic_file.h"
#include "report/little_endian.h"
#include "report/numbers.h"

typedef struct {
  const ul_rise_told *told;
  const ul_grid *grid;
} field;

/* The four bytes of one value. */
typedef void (*value_fn)(const field *f, size_t cube, unsigned char out[4]);

typedef struct {
  const char *name, *type;
  value_fn value;
  int told; /* 1: only of a known foam, -1: only of another, 0: always */
} array;

/* ---- values ---- */

static void put_arrival(const field *f, size_t i, unsigned char out[4]) {
  float s = f->told->rise->arrival_s[i];
  ul_put_float(out, isfinite(s) ? s : NAN);
}

static void put_share(const field *f, size_t i, unsigned char out[4]) {
  float s = f->told->rise->arrival_s[i];
  bool reached = f->grid->inside[i] && isfinite(s);
  ul_put_float(out, reached ? (float)((double)s / f->told->rise->cavity[f->grid->cavity[i]].end_s)
                            : NAN);
}

static void put_pressure(const field *f, size_t i, unsigned char out[4]) {
  ul_put_float(out, f->told->rise->pressure_kpa[i]);
}

static void put_half_gap(const field *f, size_t i, unsigned char out[4]) {
  ul_put_float(out, f->grid->inside[i] ? f->grid->half_gap_mm[i] : NAN);
}

static void put_cavity(const field *f, size_t i, unsigned char out[4]) {
  uint32_t number = (uint32_t)f->told->first_cavity + f->grid->cavity[i] + 1;
  ul_put_u32(out, f->grid->inside[i] ? number : 0);
}

static void put_void(const field *f, size_t i, unsigned char out[4]) {
  ul_put_u32(out, (uint32_t)f->told->rise->void_id[i]);
}

static const array arrays[] = {
    {"arrival_s", "Float32", put_arrival, 1},     {"arrival_share", "Float32", put_share, -1},
    {"pressure_kpa", "Float32", put_pressure, 1}, {"half_gap_mm", "Float32", put_half_gap, 0},
    {"cavity", "Int32", put_cavity, 0},           {"void_id", "Int32", put_void, 0},
};
enum { ARRAYS = sizeof arrays / sizeof *arrays, HEADER = 8, VALUE = 4 };

static bool is_told(const field *f, const array *a) {
  return a->told == 0 || (a->told > 0) == f->told->foam_known;
}

/* ---- base64 (RFC 4648) ---- */

typedef struct {
  FILE *file;
  unsigned char held[3];
  int count;
} encoder;

static void put_four(FILE *file, const unsigned char in[3], int count) {
  static const char digit[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  const unsigned bits = (unsigned)in[0] << 16 | (unsigned)in[1] << 8 | in[2];
  for (int i = 0; i < 4; i++) fputc(i <= count ? digit[bits >> (18 - 6 * i) & 63] : '=', file);
}

static void put_bytes(encoder *e, const unsigned char *bytes, int count) {
  for (int i = 0; i < count; i++) {
    e->held[e->count++] = bytes[i];
    if (e->count < 3) continue;
    put_four(e->file, e->held, 3);
    e->count = 0;
  }
}

static void put_rest(encoder *e) {
  for (int i = e->count; i < 3; i++) e->held[i] = 0;
  if (e->count) put_four(e->file, e->held, e->count);
}

/* Its length in bytes as 64 bits, then its values, encoded as one. */
static void put_array(FILE *file, const field *f, const array *a) {
  encoder e = {.file = file};
  unsigned char bytes[HEADER];
  uint64_t length = (uint64_t)f->grid->cube_count * VALUE;
  ul_put_u32(ul_put_u32(bytes, (uint32_t)length), (uint32_t)(length >> 32));
  put_bytes(&e, bytes, HEADER);
  for (size_t i = 0; i < f->grid->cube_count; i++) {
    a->value(f, i, bytes);
    put_bytes(&e, bytes, VALUE);
  }
  put_rest(&e);
}

/* ---- the file ---- */

static void put_three(FILE *file, const double v[3]) {
  for (int a = 0; a < 3; a++) {
    if (a) fputc(' ', file);
    ul_put_exact(file, v[a]);
  }
}

static void put_head(FILE *file, const field *f) {
  const ul_lattice *l = &f->grid->lattice;
  const size_t encoded = (HEADER + VALUE * f->grid->cube_count + 2) / 3 * 4;
  fputs("<?xml version=\"1.0\"?>\n<VTKFile type=\"ImageData\" version=\"1.0\" "
        "byte_order=\"LittleEndian\" header_type=\"UInt64\">\n",
        file);
  char extent[80];
  snprintf(extent, sizeof extent, "0 %d 0 %d 0 %d", l->n[0], l->n[1], l->n[2]);
  fprintf(file, "<ImageData WholeExtent=\"%s\" Origin=\"", extent);
  put_three(file, l->origin_mm);
  fputs("\" Spacing=\"", file);
  put_three(file, (const double[]){l->cube_mm, l->cube_mm, l->cube_mm});
  fputs("\">\n", file);
  fprintf(file, "<Piece Extent=\"%s\">\n<CellData Scalars=\"%s\">\n", extent,
          f->told->foam_known ? "arrival_s" : "arrival_share");
  size_t offset = 0;
  for (int i = 0; i < ARRAYS; i++) {
    if (!is_told(f, &arrays[i])) continue;
    fprintf(file, "<DataArray type=\"%s\" Name=\"%s\" format=\"appended\" offset=\"%zu\"/>\n",
            arrays[i].type, arrays[i].name, offset);
    offset += encoded;
  }
  fputs("</CellData>\n</Piece>\n</ImageData>\n<AppendedData encoding=\"base64\">\n_", file);
}

static bool write_field(FILE *file, void *context) {
  const field *f = context;
  put_head(file, f);
  for (int i = 0; i < ARRAYS; i++)
    if (is_told(f, &arrays[i])) put_array(file, f, &arrays[i]);
  fputs("\n</AppendedData>\n</VTKFile>\n", file);
  return true;
}

ul_status ul_write_field_vti(const ul_rise_told *told, const ul_grid *grid, const char *path,
                             ul_error *err) {
  field f = {told, grid};
  return ul_write_whole(path, write_field, &f, err);
}
