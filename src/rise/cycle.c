#include <string.h>

#include "rise/multigrid.h"
#include "rise/sums.h"

/* The second step of the K-cycle is left out when the first one took this much off the square of
 * the residual. */
static const double ENOUGH = 1.0 / 16;

/* What a block of work is told. */
typedef struct {
  multigrid *m;
  level *l;
  float s, t;
} work;

void ul_multigrid_run(multigrid *m, size_t count, ul_block_fn block, void *w) {
  ul_status status = count == 1 ? block(w, 0, 0) : ul_parallel(m->job, NULL, count, block, w);
  if (m->status == UL_OK) m->status = status;
}

/* b -= t v. Parts: of |b|^2 before and after. */
static ul_status step_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const level *l = w->l;
  double *part = w->m->part + 3 * block;
  part[0] = part[1] = 0;
  for (const run *r = run_first(&l->strips, block); r < run_end(&l->strips, block); r++) {
    float *b = l->b + r->start;
    const float *v = l->v + r->start;
    part[0] += sum_products(b, b, r->count);
    for (size_t i = 0; i < r->count; i++) b[i] -= w->t * v[i];
    part[1] += sum_products(b, b, r->count);
  }
  return UL_OK;
}

/* Returns whether b is small enough now. */
static bool step(multigrid *m, level *l, float t) {
  work w = {.m = m, .l = l, .t = t};
  double before = 0, after = 0;
  ul_multigrid_run(m, l->strips.block_count, step_block, &w);
  for (size_t b = 0; b < l->strips.block_count; b++) {
    before += m->part[3 * b];
    after += m->part[3 * b + 1];
  }
  for (size_t i = l->strips.size; i < l->strips.size + l->bodies.count; i++) {
    before += (double)l->b[i] * (double)l->b[i];
    l->b[i] -= t * l->v[i];
    after += (double)l->b[i] * (double)l->b[i];
  }
  return after <= ENOUGH * before;
}

/* x = s c + t x */
static ul_status combine_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const level *l = w->l;
  for (const run *r = run_first(&l->strips, block); r < run_end(&l->strips, block); r++)
    for (uint32_t i = r->start; i < r->start + r->count; i++)
      l->x[i] = w->s * l->c[i] + w->t * l->x[i];
  return UL_OK;
}

static void combine(multigrid *m, level *l, float s, float t) {
  work w = {.m = m, .l = l, .s = s, .t = t};
  ul_multigrid_run(m, l->strips.block_count, combine_block, &w);
  for (size_t i = l->strips.size; i < l->strips.size + l->bodies.count; i++)
    l->x[i] = s * l->c[i] + t * l->x[i];
}

static void cycle(multigrid *m, level *l);

/* x becomes about A^-1 b: two steps of flexible conjugate gradients. b is used up. */
static void solve(multigrid *m, level *l) {
  cycle(m, l);
  if (l == &m->level[m->level_count - 1]) return;
  const products one = ul_level_apply(m, l, l->x, NULL, l->v);
  if (!(one.energy > 0)) return;
  const double first = one.along / one.energy;
  const bool enough = step(m, l, (float)first);
  float *c = l->c;
  l->c = l->x;
  l->x = c;
  if (enough) {
    combine(m, l, (float)first, 0);
    return;
  }
  cycle(m, l);
  const products two = ul_level_apply(m, l, l->x, l->v, l->y);
  const double energy = two.energy - two.cross * two.cross / one.energy;
  const double second = energy > 0 ? two.along / energy : 0;
  combine(m, l, (float)(first - second * two.cross / one.energy), (float)second);
}

static void cycle(multigrid *m, level *l) {
  if (l == &m->level[m->level_count - 1]) {
    ul_coarsest_solve(m);
    return;
  }
  ul_level_down(m, l);
  solve(m, l + 1);
  ul_level_up(m, l);
}

ul_status ul_multigrid_cycle(multigrid *m, const ul_job *job) {
  m->job = job;
  m->status = UL_OK;
  cycle(m, &m->level[0]);
  return m->status;
}
