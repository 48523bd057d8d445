#include <math.h>
#include <string.h>

#include "base/wide.h"
#include "rise/multigrid.h"
#include "rise/sums.h"

/* A level's passes. Each writes one array and reads others, so that blocks may go in any order. */

/* What a block of work is told. */
typedef struct {
  multigrid *m;
  level *l, *next;
  const float *in, *f;
  float *out;
  float colour; /* 1: first, -1: second */
} work;

/* Links of a strip's nodes behind (0) and ahead (1), and values of their neighbours there. */
typedef struct {
  const float *x0, *x1, *y0, *y1, *z0, *z1;
} around;

static inline around links_around(const level *l, const strip *t) {
  const float *x = l->link[0] + t->start, *y = l->link[1] + t->start, *z = l->link[2] + t->start;
  return (around){x - 1, x, y + t->behind[0], y, z + t->behind[1], z};
}

static inline around values_around(const float *v, const strip *t) {
  v += t->start;
  return (around){v - 1,          v + 1, v + t->behind[0], v + t->ahead[0], v + t->behind[1],
                  v + t->ahead[1]};
}

/* What flows in. */
static inline float flow(const around *k, const around *v, size_t i) {
  return (k->x0[i] * v->x0[i] + k->x1[i] * v->x1[i]) + (k->y0[i] * v->y0[i] + k->y1[i] * v->y1[i]) +
         (k->z0[i] * v->z0[i] + k->z1[i] * v->z1[i]);
}

/* v, or 0 for less; and 1 or 0. Without a branch, which would keep a loop from being vectorised. */
static inline float positive(float v) {
  return 0.5f * (v + fabsf(v));
}
static inline float is_positive(float v) {
  return 0.5f + copysignf(0.5f, v);
}

/* Sum of the extra links of a node times the values at their other ends. */
static float flow_of_extras(const extras *e, uint32_t n, const float *v) {
  float sum = 0;
  for (uint32_t k = e->first[n]; k < e->first[n + 1]; k++) sum += e->link[k] * v[e->other[k]];
  return sum;
}

/* ---- down ---- */

/* From 0 the first colour becomes b / diagonal, which the second colour works out by itself: one
 * pass does both. */
UL_WIDE static void smooth_strip(const level *l, const strip *t, float *restrict x) {
  const around k = links_around(l, t), b = values_around(l->b, t), d = values_around(l->inverse, t);
  const float *rhs = l->b + t->start, *inverse = l->inverse + t->start;
  for (size_t i = 0; i < t->count; i++) {
    const float in =
        (k.x0[i] * (b.x0[i] * positive(d.x0[i])) + k.x1[i] * (b.x1[i] * positive(d.x1[i]))) +
        (k.y0[i] * (b.y0[i] * positive(d.y0[i])) + k.y1[i] * (b.y1[i] * positive(d.y1[i]))) +
        (k.z0[i] * (b.z0[i] * positive(d.z0[i])) + k.z1[i] * (b.z1[i] * positive(d.z1[i])));
    x[i] = rhs[i] * positive(inverse[i]) + (rhs[i] + in) * positive(-inverse[i]);
  }
}

static void smooth_extras(const level *l, size_t block) {
  const extras *e = &l->extras;
  for (uint32_t n = e->block[block]; n < e->block[block + 1]; n++) {
    float sum = 0;
    for (uint32_t k = e->first[n]; k < e->first[n + 1]; k++)
      sum += e->link[k] * (l->b[e->other[k]] * positive(l->inverse[e->other[k]]));
    l->x[e->node[n]] += sum * positive(-l->inverse[e->node[n]]);
  }
}

static ul_status smooth_block(void *context, size_t block, int worker) {
  (void)worker;
  const level *l = ((const work *)context)->l;
  const strips *s = &l->strips;
  for (const strip *t = live_first(s, block); t < live_end(s, block); t++)
    smooth_strip(l, t, l->x + t->start);
  smooth_extras(l, block);
  return UL_OK;
}

/* What is left after that: of the first colour what flows in from the second, of the second
 * nothing. */
UL_WIDE static void restrict_strip(const level *l, const strip *t, float *to) {
  const around k = links_around(l, t), x = values_around(l->x, t);
  const float *inverse = l->inverse + t->start;
  const int32_t *coarse = l->coarse + t->start;
  float left[STRIP_MOST];
  for (size_t i = 0; i < t->count; i++) left[i] = is_positive(inverse[i]) * flow(&k, &x, i);
  for (size_t i = 0; i < t->count; i++)
    if (coarse[i]) to[coarse[i]] += left[i];
}

static ul_status restrict_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const level *l = w->l;
  const strips *s = &l->strips;
  const extras *e = &l->extras;
  float *to = w->next->b;
  memset(to + l->block_coarse[block], 0,
         (l->block_coarse[block + 1] - l->block_coarse[block]) * sizeof *to);
  for (const strip *t = live_first(s, block); t < live_end(s, block); t++) restrict_strip(l, t, to);
  for (uint32_t n = e->block[block]; n < e->block[block + 1]; n++)
    if (l->inverse[e->node[n]] > 0 && l->coarse[e->node[n]])
      to[l->coarse[e->node[n]]] += flow_of_extras(e, n, l->x);
  return UL_OK;
}

/* The bodies come last, so that nothing is left of their own equations. */
void ul_level_down(multigrid *m, level *l) {
  level *next = l + 1;
  const size_t blocks = l->strips.block_count, at = l->strips.size;
  work w = {.m = m, .l = l, .next = next};
  ul_multigrid_run(m, blocks, smooth_block, &w);
  ul_bodies_relax(&l->bodies, at, l->b, l->x);
  ul_multigrid_run(m, blocks, restrict_block, &w);
  ul_bodies_restrict(&l->bodies, at, l->x, l->coarse, next->b);
  memset(next->b + next->strips.size, 0, next->bodies.count * sizeof *next->b);
}

/* ---- up ---- */

static ul_status prolong_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const level *l = w->l;
  const float *from = w->next->x;
  for (const run *r = run_first(&l->strips, block); r < run_end(&l->strips, block); r++)
    for (uint32_t i = r->start; i < r->start + r->count; i++)
      if (l->coarse[i]) l->x[i] += from[l->coarse[i]];
  return UL_OK;
}

/* out = in, but that the nodes of one colour fulfil their own equations. */
UL_WIDE static void relax_strip(const work *w, const strip *t, float *restrict out) {
  const level *l = w->l;
  const around k = links_around(l, t), x = values_around(w->in, t);
  const float *in = w->in + t->start, *rhs = l->b + t->start, *inverse = l->inverse + t->start;
  const float colour = w->colour;
  for (size_t i = 0; i < t->count; i++) {
    const float mine = colour * inverse[i];
    out[i] = (rhs[i] + flow(&k, &x, i)) * positive(mine) + in[i] * is_positive(-mine);
  }
}

static ul_status relax_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const level *l = w->l;
  const extras *e = &l->extras;
  for (const strip *t = live_first(&l->strips, block); t < live_end(&l->strips, block); t++)
    relax_strip(w, t, w->out + t->start);
  for (uint32_t n = e->block[block]; n < e->block[block + 1]; n++)
    w->out[e->node[n]] +=
        flow_of_extras(e, n, w->in) * positive(w->colour * l->inverse[e->node[n]]);
  return UL_OK;
}

void ul_level_up(multigrid *m, level *l) {
  const size_t blocks = l->strips.block_count, at = l->strips.size;
  work w = {.m = m, .l = l, .next = l + 1, .in = l->x, .out = l->y, .colour = -1};
  ul_multigrid_run(m, blocks, prolong_block, &w);
  ul_bodies_relax(&l->bodies, at, l->b, l->x);
  ul_bodies_spread(&l->bodies, at, l->x, l->b);
  ul_multigrid_run(m, blocks, relax_block, &w);
  w.in = l->y;
  w.out = l->x;
  w.colour = 1;
  ul_multigrid_run(m, blocks, relax_block, &w);
  ul_bodies_unspread(&l->bodies, l->b);
}

/* ---- products ---- */

/* In differences, so that a constant costs no digits. */
UL_WIDE static void apply_strip(const work *w, const strip *t, float *restrict out) {
  const level *l = w->l;
  const around k = links_around(l, t), v = values_around(w->in, t);
  const float *x = w->in + t->start, *h = l->hold + t->start;
  for (size_t i = 0; i < t->count; i++)
    out[i] = h[i] * x[i] + (k.x0[i] * (x[i] - v.x0[i]) + k.x1[i] * (x[i] - v.x1[i])) +
             (k.y0[i] * (x[i] - v.y0[i]) + k.y1[i] * (x[i] - v.y1[i])) +
             (k.z0[i] * (x[i] - v.z0[i]) + k.z1[i] * (x[i] - v.z1[i]));
}

static ul_status apply_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const level *l = w->l;
  const extras *e = &l->extras;
  double *part = w->m->part + 3 * block;
  part[0] = part[1] = part[2] = 0;
  for (const strip *t = live_first(&l->strips, block); t < live_end(&l->strips, block); t++)
    apply_strip(w, t, w->out + t->start);
  for (uint32_t n = e->block[block]; n < e->block[block + 1]; n++)
    for (uint32_t k = e->first[n]; k < e->first[n + 1]; k++)
      w->out[e->node[n]] += e->link[k] * (w->in[e->node[n]] - w->in[e->other[k]]);
  for (const run *r = run_first(&l->strips, block); r < run_end(&l->strips, block); r++) {
    part[0] += sum_products(w->in + r->start, w->out + r->start, r->count);
    part[1] += sum_products(w->in + r->start, l->b + r->start, r->count);
    if (w->f) part[2] += sum_products(w->in + r->start, w->f + r->start, r->count);
  }
  return UL_OK;
}

products ul_level_apply(multigrid *m, level *l, const float *x, const float *f, float *out) {
  work w = {.m = m, .l = l, .in = x, .f = f, .out = out};
  const size_t at = l->strips.size;
  products p = {0, 0, 0};
  ul_multigrid_run(m, l->strips.block_count, apply_block, &w);
  for (size_t b = 0; b < l->strips.block_count; b++) {
    p.energy += m->part[3 * b];
    p.along += m->part[3 * b + 1];
    p.cross += m->part[3 * b + 2];
  }
  p.energy += ul_bodies_apply(&l->bodies, at, x, out);
  for (size_t i = at; i < at + l->bodies.count; i++) {
    p.along += (double)x[i] * (double)l->b[i];
    if (f) p.cross += (double)x[i] * (double)f[i];
  }
  return p;
}
