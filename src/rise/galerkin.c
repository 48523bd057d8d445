#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "rise/multigrid.h"

/* Coefficients of all levels. A level's pass finishes what the one below lifted into it, and lifts
 * itself into the next one while its numbers are at hand. */

typedef struct {
  multigrid *m;
  const matrix *a;
  level *l, *next; /* next NULL: the last one */
} work;

/* ---- to the next level ---- */

static void clear_aggregates(level *l, uint32_t from, uint32_t to) {
  const size_t bytes = (to - from) * sizeof(float);
  for (int a = 0; a < 3; a++) memset(l->link[a] + from, 0, bytes);
  memset(l->hold + from, 0, bytes);
  const extras *e = &l->extras;
  const uint32_t first = e->first[ul_extras_from(e, from)], end = e->first[ul_extras_from(e, to)];
  memset(e->link + first, 0, (end - first) * sizeof *e->link);
}

/* A link between nodes of the aggregates `from` and `to`, of which that of `to` lies ahead. */
static void lift_link(level *next, int axis, int32_t from, int32_t to, float link) {
  if (from == to || !(link > 0)) return;
  float *extra = ul_extras_find(&next->extras, (uint32_t)from, (uint32_t)to);
  *(extra ? extra : &next->link[axis][from]) += link;
}

/* Links of entries from..to-1 along an axis that became extra ones. */
static void lift_as_extras(const level *l, int axis, uint32_t from, uint32_t to, uint32_t ahead,
                           level *next) {
  for (uint32_t i = from; i < to; i++)
    if (l->is[i] & NODE_LIFTS_EXTRA << axis)
      lift_link(next, axis, l->coarse[i], l->coarse[i + ahead], l->link[axis][i]);
}

static void lift_strip(const level *l, const strip *t, level *next) {
  const int32_t *coarse = l->coarse + t->start;
  const uint8_t *is = l->is + t->start;
  const uint32_t end = t->start + t->count;
  unsigned any = 0;
  for (size_t i = 0; i < t->count; i++) any |= is[i];
  for (size_t i = 0; i < t->count; i++)
    if (coarse[i]) next->hold[coarse[i]] += l->hold[t->start + i];
  for (int a = 0; a < 3; a++) {
    const float *link = l->link[a] + t->start;
    float *to = next->link[a];
    if (any & NODE_LIFTS << a)
      for (size_t i = 0; i < t->count; i++)
        if (is[i] & NODE_LIFTS << a) to[coarse[i]] += link[i];
    if (any & NODE_LIFTS_EXTRA << a)
      lift_as_extras(l, a, t->start, end, a ? (uint32_t)t->ahead[a - 1] : 1, next);
  }
}

/* This level's extra links: into whatever joins their aggregates. */
static void lift_extras(const level *l, size_t block, level *next) {
  const extras *e = &l->extras;
  for (uint32_t n = e->block[block]; n < e->block[block + 1]; n++)
    for (uint32_t k = e->first[n]; k < e->first[n + 1]; k++)
      if (e->other[k] > e->node[n])
        lift_link(next, e->axis[k], l->coarse[e->node[n]], l->coarse[e->other[k]], e->link[k]);
}

static void lift_block(const work *w, size_t block) {
  if (!w->next) return;
  const strips *s = &w->l->strips;
  clear_aggregates(w->next, w->l->block_coarse[block], w->l->block_coarse[block + 1]);
  for (const strip *t = live_first(s, block); t < live_end(s, block); t++)
    lift_strip(w->l, t, w->next);
  lift_extras(w->l, block, w->next);
}

/* ---- level 0 ---- */

static float signed_inverse(double diagonal, uint8_t is) {
  const float inverse = diagonal > 0 ? (float)(1 / diagonal) : 0;
  return is & NODE_FIRST_COLOUR ? inverse : -inverse;
}

static void take_run(const work *w, const strip *t, const run *r) {
  const double scale = w->m->scale;
  const uint32_t from = r->start, count = r->count;
  double diagonal[STRIP_MOST];
  for (int a = 0; a < 3; a++)
    for (size_t i = from; i < from + count; i++)
      w->l->link[a][i] = (float)(w->a->link[a][i] * scale);
  for (size_t i = from; i < from + count; i++) w->l->hold[i] = (float)(w->a->hold[i] * scale);
  ul_matrix_diagonal(w->a, t, from, from + count, diagonal);
  for (size_t i = 0; i < count; i++)
    w->l->inverse[from + i] = signed_inverse(diagonal[i] * scale, w->l->is[from + i]);
}

static ul_status finest_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const strips *s = &w->l->strips;
  if (!w->a->block_taken[block]) return UL_OK;
  for (size_t k = s->block_strip[block]; k < s->block_strip[block + 1]; k++) {
    if (w->a->taken[k].count) take_run(w, &s->strip[k], &w->a->taken[k]);
  }
  lift_block(w, block);
  return UL_OK;
}

/* Links to bodies count in the diagonal, which has been made anew where something was taken. */
static void add_bodies(level *l, const matrix *a) {
  const bodies *b = &l->bodies;
  for (size_t k = b->first[0]; k < b->first[b->count]; k++) {
    const run *taken = &a->taken[ul_strips_find(a->strips, b->node[k])];
    if (b->node[k] - taken->start >= taken->count) continue;
    float *inverse = &l->inverse[b->node[k]];
    const double had = *inverse != 0 ? 1 / fabs((double)*inverse) : 0;
    *inverse = signed_inverse(had + (double)b->link[k], l->is[b->node[k]]);
  }
}

/* ---- the coarser levels ---- */

/* The lower ends of extra links; their part of the diagonal is added to `inverse`. */
static void finish_extras(level *l, size_t block) {
  extras *e = &l->extras;
  for (uint32_t n = e->block[block]; n < e->block[block + 1]; n++)
    for (uint32_t k = e->first[n]; k < e->first[n + 1]; k++) {
      if (e->other[k] < e->node[n]) e->link[k] = e->link[e->twin[k]];
      l->inverse[e->node[n]] += e->link[k];
    }
}

/* 1 / diagonal of a strip, those of extra links and bodies being in `inverse`. */
static void finish_strip(level *l, const strip *t) {
  const float *h = l->hold + t->start;
  const float *tx1 = l->link[0] + t->start, *tx0 = tx1 - 1;
  const float *ty1 = l->link[1] + t->start, *ty0 = ty1 + t->behind[0];
  const float *tz1 = l->link[2] + t->start, *tz0 = tz1 + t->behind[1];
  const uint8_t *is = l->is + t->start;
  float *restrict inverse = l->inverse + t->start;
  for (size_t i = 0; i < t->count; i++) {
    const float d = inverse[i] + h[i] + (tx0[i] + tx1[i]) + (ty0[i] + ty1[i]) + (tz0[i] + tz1[i]);
    const float one = d > 0 ? 1 / d : 0;
    inverse[i] = is[i] & NODE_FIRST_COLOUR ? one : -one;
  }
}

static ul_status finish_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  level *l = w->l;
  strips *s = &l->strips;
  finish_extras(l, block);
  ul_strips_sleep(s, block);
  for (size_t k = s->block_strip[block]; k < s->block_strip[block + 1]; k++) {
    const strip *t = &s->strip[k];
    uint32_t from = t->start, to = t->start + t->count;
    finish_strip(l, t);
    while (from < to && l->inverse[from] == 0) from++;
    while (to > from && l->inverse[to - 1] == 0) to--;
    if (from < to) ul_strips_wake(s, block, k, from, to);
  }
  lift_block(w, block);
  return UL_OK;
}

static bool take_level(multigrid *m, size_t n) {
  work w = {.m = m, .l = &m->level[n], .next = n + 1 < m->level_count ? &m->level[n + 1] : NULL};
  level *below = &m->level[n - 1];
  if (!ul_bodies_lift(&below->bodies, below->coarse, m->slot, &w.l->bodies)) return false;
  memset(w.l->inverse, 0, w.l->strips.size * sizeof *w.l->inverse);
  ul_bodies_add_diagonal(&w.l->bodies, w.l->inverse);
  ul_multigrid_run(m, w.l->strips.block_count, finish_block, &w);
  return true;
}

/* ---- all of them ---- */

static bool take_bodies(bodies *b, const matrix *a, double scale) {
  const size_t links = a->body_first[a->body_count];
  b->count = 0;
  if (!ul_bodies_reserve(b, a->body_count, links)) return false;
  b->count = a->body_count;
  for (size_t k = 0; k < b->count; k++) b->hold[k] = (float)(a->body_hold[k] * scale);
  memcpy(b->first, a->body_first, (b->count + 1) * sizeof *b->first);
  for (size_t l = 0; l < links; l++) {
    b->node[l] = a->body_cube[l];
    b->link[l] = (float)(a->body_link[l] * scale);
  }
  ul_bodies_finish(b);
  return true;
}

static bool renew(float **vector, size_t size) {
  free(*vector);
  return (*vector = ul_new(size, sizeof **vector)) != NULL;
}

/* Vectors have their bodies at the end: more bodies, other vectors. */
static bool make_room(multigrid *m, size_t count) {
  if (m->level[0].b && count <= m->vector_bodies) return true;
  const size_t room = count + count / 2;
  m->vector_bodies = 0;
  bool got = true;
  for (size_t n = 0; n < m->level_count && got; n++) {
    level *l = &m->level[n];
    float **vector[] = {&l->b, &l->x, &l->y, &l->c, &l->v};
    for (int i = 0; i < (n ? 5 : 3) && got; i++) got = renew(vector[i], l->strips.size + room);
  }
  if (got) m->vector_bodies = room;
  return got;
}

/* A power of two, so that not a bit of an answer depends on it: it stays when the next system is
 * told as changes. */
static double scale_for(double most) {
  int power = 0;
  (void)frexp(most, &power);
  return ldexp(1, -power);
}

ul_status ul_multigrid_take(multigrid *m, const matrix *a, const ul_job *job, ul_error *err) {
  work w = {.m = m, .a = a, .l = &m->level[0], .next = &m->level[1]};
  m->job = job;
  m->status = UL_OK;
  if (a->whole) m->scale = scale_for(a->most);
  bool got = make_room(m, a->body_count) && take_bodies(&w.l->bodies, a, m->scale);
  if (got) {
    ul_multigrid_run(m, w.l->strips.block_count, finest_block, &w);
    add_bodies(w.l, a);
  }
  for (size_t n = 1; n < m->level_count && got; n++) got = take_level(m, n);
  if (!got) return ul_fail_memory(err);
  ul_coarsest_factor(m);
  return m->status == UL_OK ? UL_OK : ul_fail(err, m->status, "threads are not to be had");
}
