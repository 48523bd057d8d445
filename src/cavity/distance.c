/* One axis at a time: along x the distance to the ends of each run of inside cubes; along y and z
 * the lower envelope of the parabolas that stand on the last axis's squares. A cube outside is a
 * parabola that stands on 0: none beyond it can reach past it, so each run of inside cubes is
 * worked on by itself, between its two ends. Squares stay whole numbers that a float holds exactly:
 * a lattice of 2^31 cubes has no distance above 645. */
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "ullage/grid.h"

/* Lines along y and z are fetched this many at a time: one cache line of floats. */
enum { TILE = 16, ROWS_PER_BLOCK = 256 };

typedef struct {
  const uint8_t *inside;
  int32_t n[3];
  float *out;
} field;

/* Scratch for lines of up to `longest` cubes. */
typedef struct {
  float *tile;    /* TILE lines, one after the other */
  int32_t *stand; /* where the envelope's parabolas stand */
  double *from;   /* from where each is the lowest */
  float *result;
} scratch;

static bool scratch_new(scratch *s, int32_t longest) {
  size_t room = (size_t)longest + 2;
  s->tile = ul_new_raw(room * TILE, sizeof *s->tile);
  s->stand = ul_new_raw(room, sizeof *s->stand);
  s->from = ul_new_raw(room, sizeof *s->from);
  s->result = ul_new_raw(room, sizeof *s->result);
  return s->tile && s->stand && s->from && s->result;
}

static void scratch_free(scratch *s) {
  free(s->tile);
  free(s->stand);
  free(s->from);
  free(s->result);
}

static void along_row(const uint8_t *inside, int32_t n, float *out) {
  for (int32_t i = 0; i < n;) {
    if (!inside[i]) {
      out[i++] = 0;
      continue;
    }
    int32_t begin = i;
    while (i < n && inside[i]) i++;
    for (int32_t k = begin; k < i; k++) {
      float d = (float)(k - begin + 1 < i - k ? k - begin + 1 : i - k);
      out[k] = d * d;
    }
  }
}

static ul_status x_rows(void *context, size_t block, int worker) {
  (void)worker;
  field *f = context;
  size_t rows = (size_t)f->n[1] * (size_t)f->n[2], n = (size_t)f->n[0];
  size_t end = (block + 1) * ROWS_PER_BLOCK;
  for (size_t row = block * ROWS_PER_BLOCK; row < end && row < rows; row++)
    along_row(f->inside + row * n, f->n[0], f->out + row * n);
  return UL_OK;
}

/* Where the parabola on (q, fq) goes below that on (p, fp), p < q. */
static double meet(int32_t p, double fp, int32_t q, double fq) {
  return (fq - fp + (double)q * q - (double)p * p) / (2.0 * (q - p));
}

/* line[begin-1] and line[end] count as 0, whether or not they exist. */
static void envelope(const float *line, int32_t begin, int32_t end, scratch *s) {
  int32_t top = 0;
  s->stand[0] = begin - 1;
  s->from[0] = begin - 1;
  for (int32_t q = begin; q <= end; q++) {
    double fq = q < end ? line[q] : 0, x;
    for (;;) {
      int32_t p = s->stand[top];
      x = meet(p, p < begin ? 0 : line[p], q, fq);
      if (top == 0 || x > s->from[top]) break;
      top--;
    }
    s->stand[++top] = q;
    s->from[top] = x;
  }
  for (int32_t q = begin, k = 0; q < end; q++) {
    while (k < top && s->from[k + 1] < q) k++;
    int32_t p = s->stand[k];
    float away = (float)(q - p);
    s->result[q] = away * away + (p < begin || p == end ? 0 : line[p]);
  }
}

static void along_line(float *line, int32_t n, scratch *s) {
  for (int32_t i = 0; i < n; i++) {
    if (line[i] == 0) continue;
    int32_t begin = i;
    while (i < n && line[i] != 0) i++;
    envelope(line, begin, i, s);
    for (int32_t k = begin; k < i; k++) line[k] = s->result[k];
  }
}

/* The lines of `count` cubes, `stride` apart, that start at the `width` cubes from `first`. */
static void along_lines(float *first, size_t stride, int32_t count, size_t width, scratch *s) {
  float any = 0;
  for (int32_t i = 0; i < count; i++)
    for (size_t x = 0; x < width; x++) {
      s->tile[x * (size_t)count + (size_t)i] = first[(size_t)i * stride + x];
      any += first[(size_t)i * stride + x];
    }
  if (any == 0) return;
  for (size_t x = 0; x < width; x++) along_line(s->tile + x * (size_t)count, count, s);
  for (int32_t i = 0; i < count; i++)
    for (size_t x = 0; x < width; x++)
      first[(size_t)i * stride + x] = s->tile[x * (size_t)count + (size_t)i];
}

static ul_status plane(float *first, size_t width, size_t stride, int32_t count) {
  scratch s;
  bool ok = scratch_new(&s, count);
  for (size_t x = 0; ok && x < width; x += TILE)
    along_lines(first + x, stride, count, width - x < TILE ? width - x : TILE, &s);
  scratch_free(&s);
  return ok ? UL_OK : UL_E_MEMORY;
}

static ul_status y_lines(void *context, size_t block, int worker) {
  (void)worker;
  field *f = context;
  size_t nx = (size_t)f->n[0], ny = (size_t)f->n[1];
  return plane(f->out + block * nx * ny, nx, nx, f->n[1]);
}

static ul_status z_lines(void *context, size_t block, int worker) {
  (void)worker;
  field *f = context;
  size_t nx = (size_t)f->n[0], ny = (size_t)f->n[1];
  return plane(f->out + block * nx, nx, nx * ny, f->n[2]);
}

ul_status ul_distance_squared(const uint8_t *inside, const int32_t n[3], const ul_job *job,
                              float *out, ul_error *err) {
  field f = {.inside = inside, .n = {n[0], n[1], n[2]}, .out = out};
  size_t rows = (size_t)n[1] * (size_t)n[2];
  ul_status status =
      ul_parallel(job, NULL, (rows + ROWS_PER_BLOCK - 1) / ROWS_PER_BLOCK, x_rows, &f);
  if (!status) status = ul_parallel(job, NULL, (size_t)n[2], y_lines, &f);
  if (!status) status = ul_parallel(job, NULL, (size_t)n[1], z_lines, &f);
  if (status == UL_E_MEMORY) return ul_fail_memory(err);
  return status ? ul_fail(err, status, "distances: %s", ul_status_text(status)) : UL_OK;
}
