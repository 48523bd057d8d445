#include "rise/multigrid.h"

#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"

static bool allocate_level(level *l) {
  const strips *s = &l->strips;
  bool got = true;
  for (int a = 0; a < 3; a++) got &= (l->link[a] = ul_new(s->size, sizeof(float))) != NULL;
  l->hold = ul_new(s->size, sizeof *l->hold);
  l->inverse = ul_new(s->size, sizeof *l->inverse);
  l->is = ul_new(s->size, sizeof *l->is);
  l->coarse = ul_new(s->size, sizeof *l->coarse);
  l->block_coarse = ul_new(s->block_count + 1, sizeof *l->block_coarse);
  return got && l->hold && l->inverse && l->is && l->coarse && l->block_coarse;
}

/* `kind`: of each pair. */
static ul_status add_level(multigrid *m, const graph *g, uint8_t *kind, ul_error *err) {
  level *l = &m->level[m->level_count++];
  ul_status status = ul_strips_build(g, &l->strips, kind, err);
  if (status == UL_OK) status = ul_extras_build(g, kind, &l->strips, &l->extras, err);
  if (status != UL_OK) return status;
  if (!allocate_level(l)) return ul_fail_memory(err);
  for (size_t i = 0; i < g->count; i++)
    if ((g->cell[i][0] + g->cell[i][1] + g->cell[i][2]) % 2 == 0)
      l->is[i + STRIP_FIRST] |= NODE_FIRST_COLOUR;
  return UL_OK;
}

/* block_coarse[b]: block b's aggregates begin there; the end of an empty block is its begin. */
static void place_aggregates(level *l, size_t aggregates) {
  const strips *s = &l->strips;
  l->block_coarse[s->block_count] = (uint32_t)(STRIP_FIRST + aggregates);
  for (size_t b = s->block_count; b-- > 0;) {
    int32_t lowest = INT32_MAX;
    for (uint32_t i = s->block_entry[b]; i < s->block_entry[b + 1]; i++)
      if (l->coarse[i] && l->coarse[i] < lowest) lowest = l->coarse[i];
    l->block_coarse[b] = lowest == INT32_MAX ? l->block_coarse[b + 1] : (uint32_t)lowest;
  }
}

/* What becomes of the links of `l` on the level above it, `next`. */
static void note_lifts(level *l, const graph *g, const uint8_t *kind, const level *next) {
  for (size_t p = 0; p < g->pair_count; p++) {
    const uint32_t i = g->pair[p][0] + STRIP_FIRST, j = g->pair[p][1] + STRIP_FIRST;
    const uint32_t a = (uint32_t)l->coarse[i], b = (uint32_t)l->coarse[j];
    if (a == b || kind[p] == STRIP_LINK_EXTRA) continue;
    const bool extra = ul_extras_find(&next->extras, a, b) != NULL;
    l->is[i] |= (uint8_t)((extra ? NODE_LIFTS_EXTRA : NODE_LIFTS) << kind[p]);
  }
}

/* The level above the last one, whose graph is `g` and becomes that of the new one. */
static ul_status add_coarser(multigrid *m, graph *g, uint8_t **kind, ul_error *err) {
  level *l = &m->level[m->level_count - 1];
  graph next;
  uint8_t *above = NULL;
  ul_status status = ul_graph_aggregate(g, l->coarse + STRIP_FIRST, &next, err);
  if (status == UL_OK && !(above = ul_new_raw(next.pair_count, 1))) status = ul_fail_memory(err);
  if (status == UL_OK) {
    for (size_t i = 0; i < g->count; i++) l->coarse[i + STRIP_FIRST]++;
    place_aggregates(l, next.count);
    status = add_level(m, &next, above, err);
  }
  if (status == UL_OK) note_lifts(l, g, *kind, l + 1);
  ul_graph_clear(g);
  free(*kind);
  *g = next;
  *kind = above;
  return status;
}

/* Levels until one is small enough to be solved directly. There is an end: a lattice of one cell
 * has no links left. */
static ul_status add_levels(multigrid *m, graph *g, ul_error *err) {
  uint8_t *kind = ul_new_raw(g->pair_count, 1);
  if (!kind) return ul_fail_memory(err);
  ul_status status = add_level(m, g, kind, err);
  while (status == UL_OK && m->level_count < MOST_LEVELS) {
    if (m->level_count > 1 && m->level[m->level_count - 1].strips.count <= COARSEST_NODES) break;
    status = add_coarser(m, g, &kind, err);
  }
  free(kind);
  return status;
}

ul_status ul_multigrid_build(graph *g, multigrid *out, ul_error *err) {
  memset(out, 0, sizeof *out);
  ul_status status = add_levels(out, g, err);
  ul_graph_clear(g);
  if (status != UL_OK) return status;
  const level *last = &out->level[out->level_count - 1];
  const size_t most = out->level[1].strips.size, square = last->strips.count * last->strips.count;
  out->slot = ul_new_raw(most, sizeof *out->slot);
  out->coarsest = ul_new(square, sizeof *out->coarsest);
  size_t blocks = 0;
  for (size_t n = 0; n < out->level_count; n++)
    if (out->level[n].strips.block_count > blocks) blocks = out->level[n].strips.block_count;
  out->part = ul_new(blocks, 3 * sizeof *out->part);
  if (!out->slot || !out->coarsest || !out->part) return ul_fail_memory(err);
  for (size_t i = 0; i < most; i++) out->slot[i] = -1;
  return UL_OK;
}

/* ---- memory ---- */

static void clear_level(level *l) {
  ul_strips_clear(&l->strips);
  ul_extras_clear(&l->extras);
  ul_bodies_clear(&l->bodies);
  for (int a = 0; a < 3; a++) free(l->link[a]);
  free(l->hold);
  free(l->inverse);
  free(l->is);
  free(l->coarse);
  free(l->block_coarse);
  free(l->b);
  free(l->x);
  free(l->y);
  free(l->c);
  free(l->v);
}

void ul_multigrid_clear(multigrid *m) {
  for (size_t n = 0; n < m->level_count; n++) clear_level(&m->level[n]);
  free(m->coarsest);
  free(m->slot);
  free(m->part);
  memset(m, 0, sizeof *m);
}

size_t ul_multigrid_bytes(const multigrid *m) {
  size_t sum = 0;
  for (size_t n = 0; n < m->level_count; n++) {
    const level *l = &m->level[n];
    sum += ul_strips_bytes(&l->strips) + ul_extras_bytes(&l->extras) + ul_bodies_bytes(&l->bodies);
    sum += l->strips.size * (sizeof *l->coarse + 1 + (n ? 10 : 8) * sizeof(float));
  }
  return sum + (m->level_count > 1 ? m->level[1].strips.size * sizeof *m->slot : 0);
}
