#include "rise/aggregate.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"

void ul_graph_clear(graph *g) {
  free(g->cell);
  free(g->pair);
  memset(g, 0, sizeof *g);
}

static bool same_cell(const graph *g, uint32_t a, uint32_t b) {
  const int32_t *p = g->cell[a], *q = g->cell[b];
  return p[0] >> 1 == q[0] >> 1 && p[1] >> 1 == q[1] >> 1 && p[2] >> 1 == q[2] >> 1;
}

static bool same_row(const graph *g, uint32_t a, uint32_t b) {
  return g->cell[a][1] >> 1 == g->cell[b][1] >> 1 && g->cell[a][2] >> 1 == g->cell[b][2] >> 1;
}

static int32_t root_of(int32_t *parent, int32_t i) {
  while (parent[i] != i) i = parent[i] = parent[parent[i]];
  return i;
}

/* parent[i]: NO link: -1; else a tree whose root is the lowest node of the aggregate. */
static void join_members(const graph *g, int32_t *parent) {
  for (size_t i = 0; i < g->count; i++) parent[i] = -1;
  for (size_t p = 0; p < g->pair_count; p++)
    for (int side = 0; side < 2; side++) parent[g->pair[p][side]] = (int32_t)g->pair[p][side];
  for (size_t p = 0; p < g->pair_count; p++) {
    if (!same_cell(g, g->pair[p][0], g->pair[p][1])) continue;
    const int32_t a = root_of(parent, (int32_t)g->pair[p][0]);
    const int32_t b = root_of(parent, (int32_t)g->pair[p][1]);
    if (a < b) parent[b] = a;
    if (b < a) parent[a] = b;
  }
}

static int by_value(const void *a, const void *b) {
  const uint64_t u = *(const uint64_t *)a, v = *(const uint64_t *)b;
  return (u > v) - (u < v);
}

/* Numbers the aggregates of the nodes from..to-1, one row of the coarser lattice, by x, then by
 * lowest member. number[root] is set; keys is scratch. */
static void number_row(const graph *g, int32_t *parent, size_t from, size_t to, int32_t *number,
                       uint64_t *keys, graph *next) {
  size_t count = 0;
  for (size_t i = from; i < to; i++)
    if (parent[i] == (int32_t)i) keys[count++] = (uint64_t)(g->cell[i][0] >> 1) << 32 | i;
  qsort(keys, count, sizeof *keys, by_value);
  for (size_t k = 0; k < count; k++) {
    const uint32_t root = (uint32_t)keys[k];
    for (int a = 0; a < 3; a++) next->cell[next->count][a] = g->cell[root][a] >> 1;
    number[root] = (int32_t)next->count++;
  }
}

static void number_aggregates(const graph *g, int32_t *parent, int32_t *number, uint64_t *keys,
                              graph *next) {
  for (size_t from = 0, to; from < g->count; from = to) {
    to = from + 1;
    while (to < g->count && same_row(g, (uint32_t)from, (uint32_t)to)) to++;
    number_row(g, parent, from, to, number, keys, next);
  }
}

/* Writes the neighbours of node a, each once and rising. */
static void emit_pairs(uint32_t a, uint32_t *of, size_t count, graph *next) {
  for (size_t k = 1; k < count; k++) {
    const uint32_t b = of[k];
    size_t to = k;
    for (; to && of[to - 1] > b; to--) of[to] = of[to - 1];
    of[to] = b;
  }
  for (size_t k = 0; k < count; k++) {
    if (k && of[k] == of[k - 1]) continue;
    next->pair[next->pair_count][0] = a;
    next->pair[next->pair_count++][1] = of[k];
  }
}

/* Pairs between different aggregates. A neighbour ahead has a higher number: Morton order rises
 * with each coordinate. `end`: one entry an aggregate and one more, zero; `to`: one entry a pair.
 */
static void lift_pairs(const graph *g, const int32_t *coarse, uint32_t *end, uint32_t *to,
                       graph *next) {
  for (size_t p = 0; p < g->pair_count; p++)
    if (coarse[g->pair[p][0]] != coarse[g->pair[p][1]]) end[coarse[g->pair[p][0]] + 1]++;
  for (size_t a = 0; a < next->count; a++) end[a + 1] += end[a];
  for (size_t p = 0; p < g->pair_count; p++) {
    const int32_t a = coarse[g->pair[p][0]], b = coarse[g->pair[p][1]];
    if (a != b) to[end[a]++] = (uint32_t)b;
  }
  for (size_t a = 0; a < next->count; a++) {
    const uint32_t from = a ? end[a - 1] : 0;
    emit_pairs((uint32_t)a, to + from, end[a] - from, next);
  }
}

ul_status ul_graph_aggregate(const graph *g, int32_t *coarse, graph *next, ul_error *err) {
  memset(next, 0, sizeof *next);
  int32_t *parent = ul_new_raw(g->count, sizeof *parent);
  int32_t *number = ul_new_raw(g->count, sizeof *number);
  uint64_t *keys = ul_new_raw(g->count, sizeof *keys);
  uint32_t *end = ul_new(g->count + 1, sizeof *end), *to = ul_new_raw(g->pair_count, sizeof *to);
  next->cell = ul_new_raw(g->count, sizeof *next->cell);
  next->pair = ul_new_raw(g->pair_count, sizeof *next->pair);
  const bool got = parent && number && keys && end && to && next->cell && next->pair;
  if (got) {
    join_members(g, parent);
    number_aggregates(g, parent, number, keys, next);
    for (size_t i = 0; i < g->count; i++)
      coarse[i] = parent[i] < 0 ? -1 : number[root_of(parent, (int32_t)i)];
    lift_pairs(g, coarse, end, to, next);
  }
  free(parent);
  free(number);
  free(keys);
  free(end);
  free(to);
  return got ? UL_OK : ul_fail_memory(err);
}
