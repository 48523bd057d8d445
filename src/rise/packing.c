#include "rise/packing.h"

#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"

typedef struct {
  uint64_t key; /* Morton number of (y, z) */
  int32_t y, z;
} row;

typedef struct {
  const int32_t *n;
  const uint8_t *inside;
  const uint8_t *shut;
  size_t row_count;
  row *rows;       /* those that hold a cube, in Morton order */
  uint32_t *entry; /* per cube of the lattice, 0 outside the cavity */
  packing *out;
  graph *graph;
} builder;

static size_t lattice_at(const builder *b, int32_t x, int32_t y, int32_t z) {
  return ((size_t)z * (size_t)b->n[1] + (size_t)y) * (size_t)b->n[0] + (size_t)x;
}

static uint64_t spread(uint32_t v) {
  uint64_t s = v;
  s = (s | s << 16) & 0x0000ffff0000ffffu;
  s = (s | s << 8) & 0x00ff00ff00ff00ffu;
  s = (s | s << 4) & 0x0f0f0f0f0f0f0f0fu;
  s = (s | s << 2) & 0x3333333333333333u;
  return (s | s << 1) & 0x5555555555555555u;
}

static int by_key(const void *a, const void *b) {
  uint64_t ka = ((const row *)a)->key, kb = ((const row *)b)->key;
  return (ka > kb) - (ka < kb);
}

static void find_rows(builder *b) {
  for (int32_t z = 0; z < b->n[2]; z++)
    for (int32_t y = 0; y < b->n[1]; y++) {
      const uint8_t *in = b->inside + lattice_at(b, 0, y, z);
      size_t held = 0;
      for (int32_t x = 0; x < b->n[0]; x++) held += in[x] != 0;
      if (!held) continue;
      b->rows[b->row_count++] = (row){spread((uint32_t)y) | spread((uint32_t)z) << 1, y, z};
      b->out->count += held;
    }
  qsort(b->rows, b->row_count, sizeof *b->rows, by_key);
}

static void place_cubes(builder *b) {
  uint32_t next = STRIP_FIRST, cube = 0;
  for (size_t r = 0; r < b->row_count; r++) {
    const row *w = &b->rows[r];
    const size_t first = lattice_at(b, 0, w->y, w->z);
    for (int32_t x = 0; x < b->n[0]; x++) {
      if (!b->inside[first + (size_t)x]) continue;
      memcpy(b->graph->cell[next - STRIP_FIRST], (int32_t[3]){x, w->y, w->z},
             sizeof *b->graph->cell);
      b->entry[first + (size_t)x] = next++;
    }
  }
  const size_t all = (size_t)b->n[0] * (size_t)b->n[1] * (size_t)b->n[2];
  for (size_t i = 0; i < all; i++)
    if (b->inside[i]) {
      b->out->place[cube] = b->entry[i];
      b->out->number[b->entry[i]] = cube++;
    }
}

static void find_faces(builder *b) {
  const size_t stride[3] = {1, (size_t)b->n[0], (size_t)b->n[0] * (size_t)b->n[1]};
  graph *g = b->graph;
  for (uint32_t i = 0; i < b->out->count; i++) {
    const int32_t *cell = g->cell[i];
    const size_t at = lattice_at(b, cell[0], cell[1], cell[2]);
    const unsigned shut = b->shut ? b->shut[b->out->number[i + STRIP_FIRST]] : 0;
    for (int a = 0; a < 3; a++) {
      if (cell[a] + 1 == b->n[a] || !b->inside[at + stride[a]] || shut >> a & 1) continue;
      b->out->faces[i + STRIP_FIRST] |= (uint8_t)(1 << a);
      g->pair[g->pair_count][0] = i;
      g->pair[g->pair_count++][1] = b->entry[at + stride[a]] - STRIP_FIRST;
    }
  }
}

static bool allocate(builder *b) {
  packing *p = b->out;
  graph *g = b->graph;
  g->count = p->count;
  p->size = STRIP_FIRST + p->count + STRIP_MOST;
  p->place = ul_new_raw(p->count, sizeof *p->place);
  p->number = ul_new(p->size, sizeof *p->number);
  p->faces = ul_new(p->size, sizeof *p->faces);
  g->cell = ul_new_raw(g->count, sizeof *g->cell);
  g->pair = ul_new_raw(3 * g->count, sizeof *g->pair);
  return p->place && p->number && p->faces && g->cell && g->pair;
}

static ul_status build(builder *b, ul_error *err) {
  const size_t all = (size_t)b->n[0] * (size_t)b->n[1] * (size_t)b->n[2];
  b->rows = ul_new_raw((size_t)b->n[1] * (size_t)b->n[2], sizeof *b->rows);
  b->entry = ul_new(all, sizeof *b->entry);
  if (!b->rows || !b->entry) return ul_fail_memory(err);
  find_rows(b);
  if (b->out->count > INT32_MAX - 2 * STRIP_MOST)
    return ul_fail(err, UL_E_LIMIT,
                   "%zu cubes in the cavity, at most 2 thousand million: larger cubes",
                   b->out->count);
  if (!b->row_count)
    return ul_fail(err, UL_E_THIN, "no cube has its centre in the cavity: use smaller cubes");
  if (!allocate(b)) return ul_fail_memory(err);
  place_cubes(b);
  find_faces(b);
  return UL_OK;
}

ul_status ul_packing_build(const int32_t n[3], const uint8_t *inside, const uint8_t *shut,
                           packing *out, graph *g, ul_error *err) {
  builder b = {.n = n, .inside = inside, .shut = shut, .out = out, .graph = g};
  memset(out, 0, sizeof *out);
  memset(g, 0, sizeof *g);
  ul_status status = build(&b, err);
  free(b.rows);
  free(b.entry);
  return status;
}

void ul_packing_clear(packing *p) {
  free(p->place);
  free(p->number);
  free(p->faces);
  memset(p, 0, sizeof *p);
}

size_t ul_packing_bytes(const packing *p) {
  return p->count * sizeof *p->place + p->size * (sizeof *p->number + sizeof *p->faces);
}
