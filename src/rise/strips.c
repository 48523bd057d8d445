#include "rise/strips.h"

#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"

/* A node's neighbours along y and z that have the place of one, entries; 0: none. */
typedef struct {
  uint32_t behind[2], ahead[2];
} places;

typedef struct {
  const graph *g;
  places *near; /* per entry */
  strips *out;
} builder;

/* ---- links ---- */

static bool same_row(const int32_t a[3], const int32_t b[3]) {
  return a[1] == b[1] && a[2] == b[2];
}

static uint8_t kind_of(const builder *b, const uint32_t pair[2]) {
  const int32_t *lower = b->g->cell[pair[0]], *upper = b->g->cell[pair[1]];
  if (same_row(lower, upper)) return pair[1] == pair[0] + 1 ? STRIP_LINK_X : STRIP_LINK_EXTRA;
  const int a = upper[1] == lower[1]; /* 0: along y, 1: along z */
  uint32_t *ahead = &b->near[pair[0] + STRIP_FIRST].ahead[a];
  uint32_t *behind = &b->near[pair[1] + STRIP_FIRST].behind[a];
  if (*ahead || *behind) return STRIP_LINK_EXTRA;
  *ahead = pair[1] + STRIP_FIRST;
  *behind = pair[0] + STRIP_FIRST;
  return a ? STRIP_LINK_Z : STRIP_LINK_Y;
}

/* ---- strips ---- */

static uint32_t idle_of(const strips *s) {
  return (uint32_t)(STRIP_FIRST + s->count);
}

/* Whether entry `at` can be the next one of strip t. */
static bool fits(const builder *b, const strip *t, uint32_t at) {
  const places *p = &b->near[at];
  const uint32_t idle = idle_of(b->out);
  if (t->count == STRIP_MOST) return false;
  for (int a = 0; a < 2; a++) {
    const uint32_t behind = (uint32_t)((int64_t)at + t->behind[a]);
    const uint32_t ahead = at + (uint32_t)t->ahead[a];
    if (p->behind[a] ? behind != p->behind[a] : behind < idle && b->near[behind].ahead[a])
      return false;
    if (p->ahead[a] ? ahead != p->ahead[a] : ahead > idle) return false;
  }
  return true;
}

static bool add_node(builder *b, uint32_t at, bool starts) {
  strips *s = b->out;
  strip *t = s->strip_count ? &s->strip[s->strip_count - 1] : NULL;
  if (starts || !fits(b, t, at)) {
    if (!ul_grow((void **)&s->strip, &s->strip_room, s->strip_count + 1, sizeof *s->strip))
      return false;
    const places *p = &b->near[at];
    t = &s->strip[s->strip_count++];
    *t = (strip){.start = at};
    for (int a = 0; a < 2; a++) {
      t->behind[a] = (int32_t)((p->behind[a] ? p->behind[a] : idle_of(s)) - at);
      t->ahead[a] = (int32_t)(p->ahead[a] ? p->ahead[a] - at : 0);
    }
  }
  t->count++;
  return true;
}

static bool new_coarse_row(const graph *g, size_t i) {
  return !i || g->cell[i][1] >> 1 != g->cell[i - 1][1] >> 1 ||
         g->cell[i][2] >> 1 != g->cell[i - 1][2] >> 1;
}

static bool cut(builder *b) {
  const graph *g = b->g;
  strips *s = b->out;
  for (size_t i = 0; i < g->count; i++) {
    const uint32_t at = (uint32_t)(STRIP_FIRST + i);
    const bool row = !i || !same_row(g->cell[i], g->cell[i - 1]);
    const uint32_t begun = s->block_count ? s->block_entry[s->block_count - 1] : 0;
    if (!i || (new_coarse_row(g, i) && at - begun >= STRIP_BLOCK_NODES)) {
      s->block_strip[s->block_count] = (uint32_t)s->strip_count;
      s->block_entry[s->block_count++] = at;
    }
    if (!add_node(b, at, row)) return false;
  }
  s->block_strip[s->block_count] = (uint32_t)s->strip_count;
  s->block_entry[s->block_count] = idle_of(s);
  return true;
}

static bool build(builder *b, uint8_t *kind) {
  const graph *g = b->g;
  strips *s = b->out;
  const size_t blocks = g->count / STRIP_BLOCK_NODES + 2;
  s->count = g->count;
  s->size = STRIP_FIRST + s->count + STRIP_MOST;
  b->near = ul_new(s->size, sizeof *b->near);
  s->block_strip = ul_new(blocks, sizeof *s->block_strip);
  s->block_entry = ul_new(blocks, sizeof *s->block_entry);
  s->live_count = ul_new(blocks, sizeof *s->live_count);
  s->run_count = ul_new(blocks, sizeof *s->run_count);
  if (!b->near || !s->block_strip || !s->block_entry || !s->live_count || !s->run_count)
    return false;
  for (size_t p = 0; p < g->pair_count; p++) kind[p] = kind_of(b, g->pair[p]);
  if (!cut(b)) return false;
  s->live = ul_new(s->strip_count, sizeof *s->live);
  s->run = ul_new(s->strip_count, sizeof *s->run);
  s->hint = ul_new(s->size / STRIP_MOST + 2, sizeof *s->hint);
  if (!s->live || !s->run || !s->hint) return false;
  for (size_t h = 0, k = 0; h * STRIP_MOST < s->size; h++) {
    while (k + 1 < s->strip_count && s->strip[k + 1].start <= h * STRIP_MOST) k++;
    s->hint[h] = (uint32_t)k;
  }
  return true;
}

ul_status ul_strips_build(const graph *g, strips *out, uint8_t *kind, ul_error *err) {
  builder b = {.g = g, .out = out};
  memset(out, 0, sizeof *out);
  const bool built = build(&b, kind);
  free(b.near);
  return built ? UL_OK : ul_fail_memory(err);
}

void ul_strips_clear(strips *s) {
  free(s->strip);
  free(s->block_strip);
  free(s->block_entry);
  free(s->hint);
  free(s->live);
  free(s->run);
  free(s->live_count);
  free(s->run_count);
  memset(s, 0, sizeof *s);
}

size_t ul_strips_bytes(const strips *s) {
  return s->strip_room * sizeof *s->strip + s->strip_count * (sizeof *s->live + sizeof *s->run) +
         s->block_count * 4 * sizeof(uint32_t) + s->size / STRIP_MOST * sizeof *s->hint;
}

/* ---- what is active ---- */

void ul_strips_sleep(strips *s, size_t block) {
  s->live_count[block] = s->run_count[block] = 0;
}

void ul_strips_wake(strips *s, size_t block, size_t k, uint32_t from, uint32_t to) {
  const uint32_t first = s->block_strip[block];
  run *last = s->run_count[block] ? &s->run[first + s->run_count[block] - 1] : NULL;
  strip *t = &s->live[first + s->live_count[block]++];
  *t = s->strip[k];
  t->start = from;
  t->count = to - from;
  if (last && last->start + last->count == from)
    last->count += t->count;
  else
    s->run[first + s->run_count[block]++] = (run){from, t->count};
}

size_t ul_strips_find(const strips *s, uint32_t entry) {
  size_t k = s->hint[entry / STRIP_MOST];
  while (k + 1 < s->strip_count && s->strip[k + 1].start <= entry) k++;
  return k;
}

size_t ul_strips_block_of(const strips *s, size_t strip) {
  size_t low = 0, high = s->block_count; /* it is one of low..high-1 */
  while (high - low > 1) {
    const size_t middle = (low + high) / 2;
    if (s->block_strip[middle] <= strip)
      low = middle;
    else
      high = middle;
  }
  return low;
}
