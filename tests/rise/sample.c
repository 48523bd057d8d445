#include "rise/sample.h"

#include <math.h>
#include <stdlib.h>

#include "base/memory.h"

double sample_random(uint64_t *state) {
  *state = *state * 6364136223846793005u + 1442695040888963407u; /* Knuth's MMIX */
  return (double)(*state >> 11) * 0x1p-53;
}

void sample_make(sample *s, const int32_t n[3], uint8_t (*in)(const int32_t cube[3], const void *),
                 const void *context) {
  const size_t all = (size_t)n[0] * (size_t)n[1] * (size_t)n[2];
  *s = (sample){.n = {n[0], n[1], n[2]}};
  s->inside = ul_new(all, 1);
  s->number = ul_new(all, sizeof *s->number);
  s->at = ul_new(all, sizeof *s->at);
  for (size_t i = 0; i < all; i++) {
    const int32_t cube[3] = {(int32_t)(i % (size_t)n[0]),
                             (int32_t)(i / (size_t)n[0] % (size_t)n[1]),
                             (int32_t)(i / (size_t)n[0] / (size_t)n[1])};
    s->inside[i] = in(cube, context);
    s->number[i] = s->inside[i] ? (uint32_t)s->count : UINT32_MAX;
    if (s->inside[i]) s->at[s->count++] = (uint32_t)i;
  }
  s->shut = ul_new(s->count, 1);
  s->active = ul_new(s->count, 1);
  s->hold = ul_new(s->count, sizeof *s->hold);
  for (int a = 0; a < 3; a++) s->link[a] = ul_new(s->count, sizeof *s->link[a]);
  for (size_t i = 0; i < s->count; i++) {
    s->active[i] = 1;
    for (int a = 0; a < 3; a++) s->link[a][i] = 1;
  }
}

void sample_free(sample *s) {
  free(s->inside);
  free(s->at);
  free(s->number);
  free(s->shut);
  free(s->active);
  for (int a = 0; a < 3; a++) free(s->link[a]);
  free(s->hold);
  free(s->body_cube);
  free(s->body_link);
}

ul_system sample_system(const sample *s) {
  return (ul_system){.link = {s->link[0], s->link[1], s->link[2]},
                     .hold = s->hold,
                     .active = s->active,
                     .body_count = s->body_count,
                     .body_hold = s->body_hold,
                     .body_first = s->body_first,
                     .body_cube = s->body_cube,
                     .body_link = s->body_link};
}

/* The numbered cube across the + face, UINT32_MAX where there is none to flow to. */
static uint32_t across(const sample *s, size_t i, int axis) {
  const size_t stride[3] = {1, (size_t)s->n[0], (size_t)s->n[0] * (size_t)s->n[1]};
  const size_t at = s->at[i];
  if ((int32_t)(at / stride[axis] % (size_t)s->n[axis]) + 1 == s->n[axis]) return UINT32_MAX;
  if (s->shut[i] >> axis & 1 || !s->active[i]) return UINT32_MAX;
  const uint32_t to = s->number[at + stride[axis]];
  return to != UINT32_MAX && s->active[to] ? to : UINT32_MAX;
}

static void join(void (*entry)(void *, size_t, size_t, double), void *to, size_t a, size_t b,
                 double v) {
  entry(to, a, a, v);
  entry(to, b, b, v);
  entry(to, a > b ? a : b, a > b ? b : a, -v);
}

void sample_entries(const sample *s, void (*entry)(void *to, size_t row, size_t column, double v),
                    void *to) {
  for (size_t i = 0; i < s->count; i++) {
    entry(to, i, i, s->active[i] ? s->hold[i] : 1);
    for (int a = 0; a < 3; a++) {
      const uint32_t j = across(s, i, a);
      if (j != UINT32_MAX) join(entry, to, i, j, s->link[a][i]);
    }
  }
  for (size_t b = 0; b < s->body_count; b++) {
    entry(to, s->count + b, s->count + b, s->body_hold[b]);
    for (size_t l = s->body_first[b]; l < s->body_first[b + 1]; l++)
      if (s->active[s->body_cube[l]])
        join(entry, to, s->count + b, s->body_cube[l], s->body_link[l]);
  }
}

typedef struct {
  const double *x;
  double *out;
} product;

static void subtract(void *to, size_t row, size_t column, double v) {
  product *p = to;
  p->out[row] -= v * p->x[column];
  if (row != column) p->out[column] -= v * p->x[row];
}

double sample_residual(const sample *s, const double *source, const double *x) {
  const size_t size = s->count + s->body_count;
  product p = {x, ul_new(size, sizeof(double))};
  for (size_t i = 0; i < size; i++) p.out[i] = source[i];
  sample_entries(s, subtract, &p);
  double sum = 0;
  for (size_t i = 0; i < size; i++)
    if (i >= s->count || s->active[i]) sum += fabs(p.out[i]);
  free(p.out);
  return sum;
}
