#include "rise/multigrid.h"

#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "rise/aggregate.h"

/* ---- structure ---- */

/* Cubes and their open faces, as a graph of nodes numbered from 0. */
static ul_status graph_of_strips(const strips *s, graph *g, ul_error *err) {
  memset(g, 0, sizeof *g);
  g->count = s->cube_count;
  g->cell = ul_new_raw(g->count, sizeof *g->cell);
  g->pair = ul_new_raw(3 * g->count, sizeof *g->pair);
  if (!g->cell || !g->pair) return ul_fail_memory(err);
  for (size_t r = 0; r < s->strip_count; r++) {
    const strip *t = &s->strip[r];
    for (uint32_t i = t->start; i < t->start + t->count; i++) {
      const uint32_t ahead[3] = {i + 1, i + (uint32_t)t->ahead[0], i + (uint32_t)t->ahead[1]};
      memcpy(g->cell[i - STRIP_FIRST], (int32_t[3]){s->x[i], t->y, t->z}, sizeof *g->cell);
      for (int a = 0; a < 3; a++)
        if (s->faces[i] >> a & 1) {
          g->pair[g->pair_count][0] = i - STRIP_FIRST;
          g->pair[g->pair_count++][1] = ahead[a] - STRIP_FIRST;
        }
    }
  }
  return UL_OK;
}

static bool allocate_level(level *l, const graph *g) {
  const size_t links = 2 * g->pair_count;
  l->count = g->count;
  l->first = ul_new(l->count + 1, sizeof *l->first);
  l->upper = ul_new_raw(l->count, sizeof *l->upper);
  l->node = ul_new_raw(links, sizeof *l->node);
  l->twin = ul_new_raw(links, sizeof *l->twin);
  l->link = ul_new(links, sizeof *l->link);
  l->hold = ul_new(l->count, sizeof *l->hold);
  l->inverse = ul_new(l->count, sizeof *l->inverse);
  l->colour = ul_new_raw(l->count, sizeof *l->colour);
  l->coarse = ul_new_raw(l->count, sizeof *l->coarse);
  const size_t blocks = l->count / LEVEL_BLOCK_NODES + 2;
  l->block_node = ul_new(blocks, sizeof *l->block_node);
  l->block_second = ul_new(blocks, sizeof *l->block_second);
  l->block_coarse = ul_new(blocks, sizeof *l->block_coarse);
  return l->first && l->upper && l->node && l->twin && l->link && l->hold && l->inverse &&
         l->colour && l->coarse && l->block_node && l->block_second && l->block_coarse;
}

/* Each row: neighbours below, then above. Both come out rising, as the pairs are in order. */
static void make_rows(level *l, const graph *g) {
  for (size_t p = 0; p < g->pair_count; p++)
    for (int side = 0; side < 2; side++) l->first[g->pair[p][side] + 1]++;
  for (size_t i = 0; i < l->count; i++) l->first[i + 1] += l->first[i];
  memcpy(l->upper, l->first, l->count * sizeof *l->upper);
  for (size_t p = 0; p < g->pair_count; p++) l->node[l->upper[g->pair[p][1]]++] = g->pair[p][0];
  for (size_t p = 0, run = 0; p < g->pair_count; p++) {
    const uint32_t a = g->pair[p][0], b = g->pair[p][1];
    run = p && g->pair[p - 1][0] == a ? run + 1 : 0;
    const uint32_t here = l->upper[a] + (uint32_t)run;
    uint32_t there = l->first[b];
    while (l->node[there] != a) there++;
    l->node[here] = b;
    l->twin[here] = there;
    l->twin[there] = here;
  }
}

/* Blocks end where a row of the coarser lattice does, so that each has its own aggregates. The last
 * level has none: any end will do. */
static void make_blocks(level *l, const graph *g) {
  uint32_t begun = 0;
  for (uint32_t i = 0; i < l->count; i++) {
    const bool row = !i || g->cell[i][1] >> 1 != g->cell[i - 1][1] >> 1 ||
                     g->cell[i][2] >> 1 != g->cell[i - 1][2] >> 1;
    if (i && (!row || i - begun < LEVEL_BLOCK_NODES)) continue;
    begun = i;
    l->block_node[l->block_count++] = i;
  }
  l->block_node[l->block_count] = (uint32_t)l->count;
  for (size_t b = 0; b < l->block_count; b++) {
    uint32_t to = l->block_node[b];
    for (int colour = 0; colour < 2; colour++) {
      if (colour) l->block_second[b] = to;
      for (uint32_t i = l->block_node[b]; i < l->block_node[b + 1]; i++)
        if (((g->cell[i][0] + g->cell[i][1] + g->cell[i][2]) & 1) == colour) l->colour[to++] = i;
    }
  }
}

/* First aggregate of the nodes from `from` on, where those before have `before` as theirs. */
static uint32_t first_aggregate(const int32_t *coarse, size_t from, size_t to, uint32_t before) {
  int32_t lowest = INT32_MAX;
  for (size_t i = from; i < to; i++)
    if (coarse[i] >= 0 && coarse[i] < lowest) lowest = coarse[i];
  return lowest == INT32_MAX ? before : (uint32_t)lowest;
}

/* block_coarse[b]: block b's aggregates begin there; the end of an empty block is its begin. */
static void place_aggregates(const int32_t *coarse, const uint32_t *block_node, size_t blocks,
                             size_t aggregates, uint32_t *block_coarse) {
  block_coarse[blocks] = (uint32_t)aggregates;
  for (size_t b = blocks; b-- > 0;)
    block_coarse[b] =
        first_aggregate(coarse, block_node[b], block_node[b + 1], block_coarse[b + 1]);
}

static ul_status add_level(multigrid *m, const graph *g, ul_error *err) {
  level *l = &m->level[m->level_count++];
  if (!allocate_level(l, g)) return ul_fail_memory(err);
  make_rows(l, g);
  make_blocks(l, g);
  return UL_OK;
}

/* Levels until one is small enough to be solved directly. There is an end: a lattice of one cell
 * has no links left. */
static ul_status add_levels(multigrid *m, graph *g, ul_error *err) {
  graph next;
  while (m->level_count < MOST_LEVELS) {
    level *l = m->level_count ? &m->level[m->level_count - 1] : NULL;
    if (l && l->count <= COARSEST_NODES) return UL_OK;
    ul_status status = ul_graph_aggregate(g, l ? l->coarse : m->coarse + STRIP_FIRST, &next, err);
    ul_graph_clear(g);
    *g = next;
    if (status == UL_OK) status = add_level(m, g, err);
    if (status != UL_OK) return status;
    if (l)
      place_aggregates(l->coarse, l->block_node, l->block_count, g->count, l->block_coarse);
    else
      place_aggregates(m->coarse, m->block_cube, m->strips->block_count, g->count, m->block_coarse);
  }
  return UL_OK;
}

static ul_status allocate_finest(multigrid *m, ul_error *err) {
  const strips *s = m->strips;
  bool got = true;
  for (int a = 0; a < 3; a++) got &= (m->link[a] = ul_new(s->size, sizeof(float))) != NULL;
  got &= (m->hold = ul_new(s->size, sizeof *m->hold)) != NULL;
  got &= (m->inverse = ul_new(s->size, sizeof *m->inverse)) != NULL;
  got &= (m->coarse = ul_new_raw(s->size, sizeof *m->coarse)) != NULL;
  got &= (m->block_cube = ul_new(s->block_count + 1, sizeof *m->block_cube)) != NULL;
  got &= (m->block_coarse = ul_new(s->block_count + 1, sizeof *m->block_coarse)) != NULL;
  got &= (m->part = ul_new(s->cube_count / LEVEL_BLOCK_NODES + 2, 3 * sizeof *m->part)) != NULL;
  got &= (m->coarsest = ul_new(COARSEST_NODES * COARSEST_NODES, sizeof *m->coarsest)) != NULL;
  if (!got) return ul_fail_memory(err);
  for (size_t i = 0; i < s->size; i++) m->coarse[i] = -1; /* the idle entries, in the end */
  for (size_t b = 0; b <= s->block_count; b++) m->block_cube[b] = s->group[s->block[b]].cube;
  return UL_OK;
}

ul_status ul_multigrid_build(const strips *strips, multigrid *out, ul_error *err) {
  graph g;
  memset(out, 0, sizeof *out);
  out->strips = strips;
  ul_status status = allocate_finest(out, err);
  if (status != UL_OK) return status;
  status = graph_of_strips(strips, &g, err);
  if (status == UL_OK) status = add_levels(out, &g, err);
  ul_graph_clear(&g);
  if (status != UL_OK) return status;
  const size_t most = out->level[0].count;
  if (!(out->slot = ul_new_raw(most, sizeof *out->slot))) return ul_fail_memory(err);
  for (size_t i = 0; i < most; i++) out->slot[i] = -1;
  return UL_OK;
}

/* ---- coefficients ---- */

typedef struct {
  multigrid *m;
  level *fine, *coarse; /* fine NULL: level 0 */
} lift;

/* Link between aggregates a and b, a < b. */
static float *link_between(level *l, int32_t a, int32_t b) {
  uint32_t at = l->upper[a];
  while (l->node[at] != (uint32_t)b) at++;
  return &l->link[at];
}

static void clear_aggregates(level *l, uint32_t from, uint32_t to) {
  for (uint32_t i = from; i < to; i++) {
    l->hold[i] = 0;
    for (uint32_t k = l->upper[i]; k < l->first[i + 1]; k++) l->link[k] = 0;
  }
}

static void lift_link(level *to, const int32_t *coarse, size_t i, size_t j, float link) {
  if (link > 0 && coarse[i] != coarse[j]) *link_between(to, coarse[i], coarse[j]) += link;
}

static ul_status lift_finest_block(void *context, size_t block, int worker) {
  (void)worker;
  const lift *w = context;
  const multigrid *m = w->m;
  clear_aggregates(w->coarse, m->block_coarse[block], m->block_coarse[block + 1]);
  for (size_t s = strips_first(m->strips, block); s < strips_end(m->strips, block); s++) {
    const strip *t = &m->strips->strip[s];
    for (size_t i = t->start; i < (size_t)t->start + t->count; i++) {
      if (m->coarse[i] < 0) continue;
      w->coarse->hold[m->coarse[i]] += m->hold[i];
      lift_link(w->coarse, m->coarse, i, i + 1, m->link[0][i]);
      lift_link(w->coarse, m->coarse, i, i + (size_t)t->ahead[0], m->link[1][i]);
      lift_link(w->coarse, m->coarse, i, i + (size_t)t->ahead[1], m->link[2][i]);
    }
  }
  return UL_OK;
}

static ul_status lift_block(void *context, size_t block, int worker) {
  (void)worker;
  const lift *w = context;
  const level *l = w->fine;
  clear_aggregates(w->coarse, l->block_coarse[block], l->block_coarse[block + 1]);
  for (uint32_t i = l->block_node[block]; i < l->block_node[block + 1]; i++) {
    if (l->coarse[i] < 0) continue;
    w->coarse->hold[l->coarse[i]] += l->hold[i];
    for (uint32_t k = l->upper[i]; k < l->first[i + 1]; k++)
      lift_link(w->coarse, l->coarse, i, l->node[k], l->link[k]);
  }
  return UL_OK;
}

/* The lower half of the rows, and 1 / diagonal; the bodies' links to it are in `inverse`. */
static ul_status finish_block(void *context, size_t block, int worker) {
  (void)worker;
  const lift *w = context;
  level *l = w->coarse;
  for (uint32_t i = l->block_node[block]; i < l->block_node[block + 1]; i++) {
    float diagonal = l->hold[i] + l->inverse[i];
    for (uint32_t k = l->first[i]; k < l->first[i + 1]; k++) {
      if (k < l->upper[i]) l->link[k] = l->link[l->twin[k]];
      diagonal += l->link[k];
    }
    l->inverse[i] = diagonal > 0 ? 1 / diagonal : 0;
  }
  return UL_OK;
}

static bool take_level(multigrid *m, size_t n) {
  lift w = {m, n ? &m->level[n - 1] : NULL, &m->level[n]};
  const bodies *below = n ? &w.fine->bodies : &m->bodies;
  const int32_t *coarse = n ? w.fine->coarse : m->coarse;
  if (!ul_bodies_lift(below, coarse, m->slot, &w.coarse->bodies)) return false;
  if (n)
    ul_multigrid_run(m, w.fine->block_count, lift_block, &w);
  else
    ul_multigrid_run(m, m->strips->block_count, lift_finest_block, &w);
  memset(w.coarse->inverse, 0, w.coarse->count * sizeof *w.coarse->inverse);
  ul_bodies_add_diagonal(&w.coarse->bodies, w.coarse->inverse);
  ul_multigrid_run(m, w.coarse->block_count, finish_block, &w);
  return true;
}

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
  if (m->b && count <= m->vector_bodies) return true;
  const size_t room = count + count / 2;
  m->vector_bodies = 0;
  bool got = renew(&m->b, m->strips->size + room) && renew(&m->x, m->strips->size + room);
  for (size_t n = 0; n < m->level_count && got; n++) {
    level *l = &m->level[n];
    float **vector[] = {&l->b, &l->e, &l->x, &l->c, &l->v};
    for (int i = 0; i < 5 && got; i++) got = renew(vector[i], l->count + room);
  }
  m->vector_bodies = room;
  return got;
}

static double largest(const double *v, size_t count) {
  double most = 0;
  for (size_t i = 0; i < count; i++) most = v[i] > most ? v[i] : most;
  return most;
}

ul_status ul_multigrid_take(multigrid *m, const matrix *a, const double *diagonal,
                            const ul_job *job, ul_error *err) {
  const double most = largest(diagonal, matrix_size(a)), scale = most > 0 ? 1 / most : 1;
  m->job = job;
  m->status = UL_OK;
  bool got = make_room(m, a->body_count) && take_bodies(&m->bodies, a, scale);
  if (got) ul_finest_take(m, a, diagonal, scale);
  for (size_t n = 0; n < m->level_count && got; n++) got = take_level(m, n);
  if (!got) return ul_fail_memory(err);
  ul_coarsest_factor(m);
  return m->status == UL_OK ? UL_OK : ul_fail(err, m->status, "threads are not to be had");
}

/* ---- memory ---- */

static void clear_level(level *l) {
  free(l->first);
  free(l->upper);
  free(l->node);
  free(l->twin);
  free(l->link);
  free(l->hold);
  free(l->inverse);
  free(l->coarse);
  free(l->colour);
  free(l->block_node);
  free(l->block_second);
  free(l->block_coarse);
  ul_bodies_clear(&l->bodies);
  free(l->b);
  free(l->e);
  free(l->x);
  free(l->c);
  free(l->v);
}

void ul_multigrid_clear(multigrid *m) {
  for (size_t n = 0; n < m->level_count; n++) clear_level(&m->level[n]);
  for (int a = 0; a < 3; a++) free(m->link[a]);
  free(m->hold);
  free(m->inverse);
  free(m->b);
  free(m->x);
  free(m->coarse);
  free(m->block_cube);
  free(m->block_coarse);
  ul_bodies_clear(&m->bodies);
  free(m->coarsest);
  free(m->slot);
  free(m->part);
  memset(m, 0, sizeof *m);
}

size_t ul_multigrid_bytes(const multigrid *m) {
  size_t sum =
      m->strips->size * (7 * sizeof(float) + sizeof *m->coarse) + ul_bodies_bytes(&m->bodies);
  for (size_t n = 0; n < m->level_count; n++) {
    const level *l = &m->level[n];
    sum += l->count * (5 * sizeof(uint32_t) + 7 * sizeof(float));
    sum +=
        l->first[l->count] * (2 * sizeof(uint32_t) + sizeof(float)) + ul_bodies_bytes(&l->bodies);
  }
  return sum + (m->level_count ? m->level[0].count * sizeof *m->slot : 0);
}
