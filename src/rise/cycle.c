#include <string.h>

#include "rise/multigrid.h"

/* The second step of the K-cycle is left out when the first one took this much off the square of
 * the residual. */
static const double ENOUGH = 1.0 / 16;

/* What a block of work is told. */
typedef struct {
  multigrid *m;
  level *l;
  float *to; /* restrict: the next level's b */
  const float *from;
  const float *rhs;
  float s, t;
  int colour;
  bool blank; /* x is 0 but for what this sweep has set */
} work;

void ul_multigrid_run(multigrid *m, size_t count, ul_block_fn block, void *w) {
  ul_status status = count == 1 ? block(w, 0, 0) : ul_parallel(m->job, NULL, count, block, w);
  if (m->status == UL_OK) m->status = status;
}

static double total(const multigrid *m, size_t blocks, int which) {
  double sum = 0;
  for (size_t b = 0; b < blocks; b++) sum += m->part[3 * b + (size_t)which];
  return sum;
}

/* ---- smoothing ---- */

/* x of the block's nodes of one colour, so that their own equations hold. */
static ul_status relax_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const level *l = w->l;
  const uint32_t from = w->colour ? l->block_second[block] : l->block_node[block];
  const uint32_t to = w->colour ? l->block_node[block + 1] : l->block_second[block];
  for (uint32_t k = from; k < to; k++) {
    const uint32_t i = l->colour[k];
    float sum = w->rhs[i];
    for (uint32_t n = l->first[i]; n < l->first[i + 1]; n++) sum += l->link[n] * l->x[l->node[n]];
    l->x[i] = sum * l->inverse[i];
  }
  return UL_OK;
}

static void relax(multigrid *m, level *l, const float *rhs, int colour) {
  work w = {.m = m, .l = l, .rhs = rhs, .colour = colour};
  ul_multigrid_run(m, l->block_count, relax_block, &w);
}

/* ---- to the next level and back ---- */

static ul_status restrict_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const level *l = w->l;
  for (uint32_t a = l->block_coarse[block]; a < l->block_coarse[block + 1]; a++) w->to[a] = 0;
  for (uint32_t i = l->block_node[block]; i < l->block_node[block + 1]; i++) {
    if (l->coarse[i] < 0) continue;
    float off = l->b[i] - l->hold[i] * l->x[i];
    for (uint32_t k = l->first[i]; k < l->first[i + 1]; k++)
      off -= l->link[k] * (l->x[i] - l->x[l->node[k]]);
    w->to[l->coarse[i]] += off;
  }
  return UL_OK;
}

static ul_status prolong_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const level *l = w->l;
  for (uint32_t i = l->block_node[block]; i < l->block_node[block + 1]; i++)
    if (l->coarse[i] >= 0) l->x[i] += w->from[l->coarse[i]];
  return UL_OK;
}

/* From x = 0 a sweep; the residual becomes the next level's right-hand side. The bodies come last,
 * so that nothing is left of their own equations. */
static void go_down(multigrid *m, level *l) {
  level *next = l + 1;
  memset(l->x, 0, (l->count + l->bodies.count) * sizeof *l->x);
  relax(m, l, l->b, 0);
  relax(m, l, l->b, 1);
  ul_bodies_relax(&l->bodies, l->count, l->b, l->x);
  work w = {.m = m, .l = l, .to = next->b};
  ul_multigrid_run(m, l->block_count, restrict_block, &w);
  ul_bodies_restrict(&l->bodies, l->count, l->x, l->coarse, next->b);
  memset(next->b + next->count, 0, next->bodies.count * sizeof *next->b);
}

/* The next level's x, and the sweep backwards: the cycle is symmetric. */
static void go_up(multigrid *m, level *l) {
  const level *next = l + 1;
  const float *rhs = l->b;
  work w = {.m = m, .l = l, .from = next->x};
  ul_multigrid_run(m, l->block_count, prolong_block, &w);
  if (l->bodies.count) {
    ul_bodies_relax(&l->bodies, l->count, l->b, l->x);
    memcpy(l->e, l->b, l->count * sizeof *l->e);
    ul_bodies_spread(&l->bodies, l->count, l->x, l->e);
    rhs = l->e;
  }
  relax(m, l, rhs, 1);
  relax(m, l, rhs, 0);
}

/* ---- the K-cycle ---- */

/* to = A x. Parts: x . to, from . to (where from is not NULL), x . b. */
static ul_status apply_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const level *l = w->l;
  double xx = 0, xf = 0, xb = 0;
  for (uint32_t i = l->block_node[block]; i < l->block_node[block + 1]; i++) {
    float sum = l->hold[i] * l->x[i];
    for (uint32_t k = l->first[i]; k < l->first[i + 1]; k++)
      sum += l->link[k] * (l->x[i] - l->x[l->node[k]]);
    w->to[i] = sum;
    xx += (double)l->x[i] * sum;
    xb += (double)l->x[i] * l->b[i];
    if (w->from) xf += (double)l->x[i] * w->from[i];
  }
  double *part = w->m->part + 3 * block;
  part[0] = xx;
  part[1] = xb;
  part[2] = xf;
  return UL_OK;
}

typedef struct {
  double energy, along, cross; /* x . A x, x . b, x . from */
} products;

static products apply(multigrid *m, level *l, const float *from, float *to) {
  work w = {.m = m, .l = l, .from = from, .to = to};
  ul_multigrid_run(m, l->block_count, apply_block, &w);
  products p = {total(m, l->block_count, 0), total(m, l->block_count, 1),
                total(m, l->block_count, 2)};
  p.energy += ul_bodies_apply(&l->bodies, l->count, l->x, to);
  for (size_t i = l->count; i < l->count + l->bodies.count; i++) {
    p.along += (double)l->x[i] * l->b[i];
    if (from) p.cross += (double)l->x[i] * from[i];
  }
  return p;
}

/* b -= t v. Returns whether b is small enough now. */
static bool step(level *l, float t) {
  double before = 0, after = 0;
  for (size_t i = 0; i < l->count + l->bodies.count; i++) {
    before += (double)l->b[i] * l->b[i];
    l->b[i] -= t * l->v[i];
    after += (double)l->b[i] * l->b[i];
  }
  return after <= ENOUGH * before;
}

/* x = s c + t x */
static void combine(level *l, float s, float t) {
  for (size_t i = 0; i < l->count + l->bodies.count; i++) l->x[i] = s * l->c[i] + t * l->x[i];
}

static void cycle(multigrid *m, level *l);

/* x becomes about A^-1 b: two steps of flexible conjugate gradients. b is used up. */
static void solve(multigrid *m, level *l) {
  const size_t size = l->count + l->bodies.count;
  cycle(m, l);
  if (l == &m->level[m->level_count - 1]) return;
  const products one = apply(m, l, NULL, l->v);
  if (!(one.energy > 0)) return;
  const double first = one.along / one.energy;
  memcpy(l->c, l->x, size * sizeof *l->c);
  if (step(l, (float)first)) {
    combine(l, (float)first, 0);
    return;
  }
  cycle(m, l);
  const products two = apply(m, l, l->v, l->e);
  const double energy = two.energy - two.cross * two.cross / one.energy;
  const double second = energy > 0 ? two.along / energy : 0;
  combine(l, (float)(first - second * two.cross / one.energy), (float)second);
}

static void cycle(multigrid *m, level *l) {
  if (l == &m->level[m->level_count - 1]) {
    ul_coarsest_solve(m);
    return;
  }
  go_down(m, l);
  solve(m, l + 1);
  go_up(m, l);
}

ul_status ul_multigrid_cycle(multigrid *m, const ul_job *job) {
  m->job = job;
  m->status = UL_OK;
  ul_finest_down(m);
  solve(m, &m->level[0]);
  ul_finest_up(m);
  return m->status;
}
