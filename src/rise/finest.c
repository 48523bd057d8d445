#include <string.h>

#include "rise/multigrid.h"

/* Level 0: the packed cubes. A sweep is Gauss-Seidel by rows, the rows of one colour at a time: no
 * link joins two of them. Within a row the new value of a cube needs that of the cube before, so
 * the rest is worked out for a whole strip first, and only a multiply and an add are left in the
 * chain. */

/* What a block of work is told. */
typedef struct {
  multigrid *m;
  const matrix *a;
  const double *diagonal;
  double scale;
  int colour;
} work;

/* ---- coefficients ---- */

static ul_status take_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  multigrid *m = w->m;
  for (size_t i = strips_from(m->strips, block); i < strips_to(m->strips, block); i++) {
    for (int a = 0; a < 3; a++) m->link[a][i] = (float)(w->a->link[a][i] * w->scale);
    m->x[i] = 0;
    m->hold[i] = (float)(w->a->hold[i] * w->scale);
    const double diagonal = w->diagonal[i] * w->scale;
    m->inverse[i] = diagonal > 0 ? (float)(1 / diagonal) : 0;
  }
  return UL_OK;
}

void ul_finest_take(multigrid *m, const matrix *a, const double *diagonal, double scale) {
  work w = {.m = m, .a = a, .diagonal = diagonal, .scale = scale};
  ul_multigrid_run(m, m->strips->block_count, take_block, &w);
}

/* ---- sweeps ---- */

/* rest = b + what flows in from the four rows around. */
static void gather_rows(const multigrid *m, const strip *t, float *restrict rest) {
  const float *b = m->b + t->start, *x = m->x + t->start;
  const float *y0 = x + t->behind[0], *y1 = x + t->ahead[0];
  const float *z0 = x + t->behind[1], *z1 = x + t->ahead[1];
  const float *ty1 = m->link[1] + t->start, *ty0 = ty1 + t->behind[0];
  const float *tz1 = m->link[2] + t->start, *tz0 = tz1 + t->behind[1];
  for (size_t i = 0; i < t->count; i++)
    rest[i] = b[i] + (ty0[i] * y0[i] + ty1[i] * y1[i]) + (tz0[i] * z0[i] + tz1[i] * z1[i]);
}

/* Forwards, x ahead being 0. */
static void sweep_forwards(multigrid *m, const strip *t, const float *rest) {
  const float *inverse = m->inverse + t->start, *before = m->link[0] + t->start - 1;
  float *restrict x = m->x + t->start;
  float own[STRIP_MOST], from[STRIP_MOST];
  for (size_t i = 0; i < t->count; i++) {
    own[i] = rest[i] * inverse[i];
    from[i] = before[i] * inverse[i];
  }
  float last = before[0] > 0 ? m->x[t->start - 1] : 0;
  for (size_t i = 0; i < t->count; i++) x[i] = last = own[i] + from[i] * last;
}

/* Backwards; x behind is the old one. */
static void sweep_backwards(multigrid *m, const strip *t, const float *rest) {
  const float *inverse = m->inverse + t->start, *ahead = m->link[0] + t->start;
  const float *before = ahead - 1;
  float *x = m->x + t->start;
  float own[STRIP_MOST], from[STRIP_MOST];
  const size_t end = t->count - 1;
  own[0] = (rest[0] + (before[0] > 0 ? before[0] * x[-1] : 0)) * inverse[0];
  for (size_t i = 1; i <= end; i++) own[i] = (rest[i] + before[i] * x[i - 1]) * inverse[i];
  for (size_t i = 0; i <= end; i++) from[i] = ahead[i] * inverse[i];
  float last = ahead[end] > 0 ? x[end + 1] : 0;
  for (size_t i = t->count; i-- > 0;) x[i] = last = own[i] + from[i] * last;
}

static ul_status down_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  multigrid *m = w->m;
  const strips *s = m->strips;
  float rest[STRIP_MOST];
  for (size_t g = s->block[block]; g < s->block[block + 1]; g++)
    for (size_t k = s->group[g].strip[w->colour]; k < s->group[g].strip[w->colour + 1]; k++) {
      const strip *t = &s->strip[k];
      if (w->colour) gather_rows(m, t, rest);
      sweep_forwards(m, t, w->colour ? rest : m->b + t->start);
    }
  return UL_OK;
}

static ul_status up_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  multigrid *m = w->m;
  const strips *s = m->strips;
  float rest[STRIP_MOST];
  for (size_t g = s->block[block]; g < s->block[block + 1]; g++)
    for (size_t k = s->group[g].strip[w->colour + 1]; k-- > s->group[g].strip[w->colour];) {
      gather_rows(m, &s->strip[k], rest);
      sweep_backwards(m, &s->strip[k], rest);
    }
  return UL_OK;
}

/* ---- to level 1 and back ---- */

static void restrict_strip(const multigrid *m, const strip *t, float *to) {
  const float *b = m->b + t->start, *x = m->x + t->start, *h = m->hold + t->start;
  const float *x0 = x - 1, *x1 = x + 1;
  const float *y0 = x + t->behind[0], *y1 = x + t->ahead[0];
  const float *z0 = x + t->behind[1], *z1 = x + t->ahead[1];
  const float *tx1 = m->link[0] + t->start, *tx0 = tx1 - 1;
  const float *ty1 = m->link[1] + t->start, *ty0 = ty1 + t->behind[0];
  const float *tz1 = m->link[2] + t->start, *tz0 = tz1 + t->behind[1];
  const int32_t *coarse = m->coarse + t->start;
  float off[STRIP_MOST];
  for (size_t i = 0; i < t->count; i++)
    off[i] = b[i] - h[i] * x[i] - (tx0[i] * (x[i] - x0[i]) + tx1[i] * (x[i] - x1[i])) -
             (ty0[i] * (x[i] - y0[i]) + ty1[i] * (x[i] - y1[i])) -
             (tz0[i] * (x[i] - z0[i]) + tz1[i] * (x[i] - z1[i]));
  for (size_t i = 0; i < t->count; i++)
    if (coarse[i] >= 0) to[coarse[i]] += off[i];
}

static ul_status restrict_block(void *context, size_t block, int worker) {
  (void)worker;
  multigrid *m = ((const work *)context)->m;
  float *to = m->level[0].b;
  for (uint32_t a = m->block_coarse[block]; a < m->block_coarse[block + 1]; a++) to[a] = 0;
  for (size_t k = strips_first(m->strips, block); k < strips_end(m->strips, block); k++)
    restrict_strip(m, &m->strips->strip[k], to);
  return UL_OK;
}

static ul_status prolong_block(void *context, size_t block, int worker) {
  (void)worker;
  multigrid *m = ((const work *)context)->m;
  const float *from = m->level[0].x;
  for (size_t i = strips_from(m->strips, block); i < strips_to(m->strips, block); i++)
    if (m->coarse[i] >= 0) m->x[i] += from[m->coarse[i]];
  return UL_OK;
}

void ul_finest_down(multigrid *m) {
  const size_t blocks = m->strips->block_count, size = m->strips->size;
  work w = {.m = m};
  level *next = &m->level[0];
  ul_multigrid_run(m, blocks, down_block, &w);
  w.colour = 1;
  ul_multigrid_run(m, blocks, down_block, &w);
  ul_bodies_relax(&m->bodies, size, m->b, m->x);
  ul_multigrid_run(m, blocks, restrict_block, &w);
  ul_bodies_restrict(&m->bodies, size, m->x, m->coarse, next->b);
  memset(next->b + next->count, 0, next->bodies.count * sizeof *next->b);
}

void ul_finest_up(multigrid *m) {
  const size_t blocks = m->strips->block_count, size = m->strips->size;
  work w = {.m = m, .colour = 1};
  ul_multigrid_run(m, blocks, prolong_block, &w);
  ul_bodies_relax(&m->bodies, size, m->b, m->x);
  ul_bodies_spread(&m->bodies, size, m->x, m->b);
  ul_multigrid_run(m, blocks, up_block, &w);
  w.colour = 0;
  ul_multigrid_run(m, blocks, up_block, &w);
}
