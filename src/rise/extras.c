#include "rise/extras.h"

#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"

/* ends[i]: how many links entry i has, then where they begin. */
static bool list_nodes(extras *e, const strips *s, uint32_t *ends, size_t links) {
  for (size_t i = 0; i < s->size; i++) e->count += ends[i] != 0;
  e->node = ul_new_raw(e->count, sizeof *e->node);
  e->first = ul_new(e->count + 1, sizeof *e->first);
  e->other = ul_new_raw(links, sizeof *e->other);
  e->twin = ul_new_raw(links, sizeof *e->twin);
  e->axis = ul_new_raw(links, sizeof *e->axis);
  e->link = ul_new(links, sizeof *e->link);
  e->block = ul_new(s->block_count + 1, sizeof *e->block);
  if (!e->node || !e->first || !e->other || !e->twin || !e->axis || !e->link || !e->block)
    return false;
  uint32_t node = 0, link = 0;
  for (size_t b = 0; b < s->block_count; b++) {
    e->block[b] = node;
    for (uint32_t i = s->block_entry[b]; i < s->block_entry[b + 1]; i++) {
      if (!ends[i]) continue;
      e->node[node] = i;
      e->first[node++] = link;
      const uint32_t begin = link;
      link += ends[i];
      ends[i] = begin;
    }
  }
  e->block[s->block_count] = node;
  e->first[node] = link;
  return true;
}

static uint8_t axis_of(const graph *g, const uint32_t pair[2]) {
  const int32_t *lower = g->cell[pair[0]], *upper = g->cell[pair[1]];
  return upper[0] != lower[0] ? 0 : upper[1] != lower[1] ? 1 : 2;
}

ul_status ul_extras_build(const graph *g, const uint8_t *kind, const strips *s, extras *out,
                          ul_error *err) {
  memset(out, 0, sizeof *out);
  uint32_t *ends = ul_new(s->size, sizeof *ends);
  if (!ends) return ul_fail_memory(err);
  size_t links = 0;
  for (size_t p = 0; p < g->pair_count; p++)
    for (int side = 0; side < 2 && kind[p] == STRIP_LINK_EXTRA; side++, links++)
      ends[g->pair[p][side] + STRIP_FIRST]++;
  const bool got = list_nodes(out, s, ends, links);
  for (size_t p = 0; p < g->pair_count && got; p++) {
    if (kind[p] != STRIP_LINK_EXTRA) continue;
    const uint32_t a = g->pair[p][0] + STRIP_FIRST, b = g->pair[p][1] + STRIP_FIRST;
    const uint32_t here = ends[a]++, there = ends[b]++;
    out->other[here] = b;
    out->other[there] = a;
    out->twin[here] = there;
    out->twin[there] = here;
    out->axis[here] = out->axis[there] = axis_of(g, g->pair[p]);
  }
  free(ends);
  return got ? UL_OK : ul_fail_memory(err);
}

void ul_extras_clear(extras *e) {
  free(e->node);
  free(e->first);
  free(e->other);
  free(e->twin);
  free(e->axis);
  free(e->link);
  free(e->block);
  memset(e, 0, sizeof *e);
}

size_t ul_extras_bytes(const extras *e) {
  const size_t links = e->first ? e->first[e->count] : 0;
  return e->count * 2 * sizeof(uint32_t) + links * (2 * sizeof(uint32_t) + 1 + sizeof(float));
}

size_t ul_extras_from(const extras *e, uint32_t from) {
  size_t low = 0, high = e->count; /* it is one of low..high */
  while (low < high) {
    const size_t middle = (low + high) / 2;
    if (e->node[middle] < from)
      low = middle + 1;
    else
      high = middle;
  }
  return low;
}

float *ul_extras_find(const extras *e, uint32_t from, uint32_t to) {
  const size_t n = ul_extras_from(e, from);
  if (n == e->count || e->node[n] != from) return NULL;
  for (uint32_t k = e->first[n]; k < e->first[n + 1]; k++)
    if (e->other[k] == to) return &e->link[k];
  return NULL;
}
