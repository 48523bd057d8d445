#include "rise/strips.h"

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
  row *rows;        /* those that hold a cube, in Morton order */
  uint32_t *number; /* per cube of the lattice: its entry, 0 outside the cavity */
  strips *out;
} builder;

static size_t lattice_at(const builder *b, int32_t x, int32_t y, int32_t z) {
  return ((size_t)z * (size_t)b->n[1] + (size_t)y) * (size_t)b->n[0] + (size_t)x;
}

/* ---- order ---- */

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
      b->out->cube_count += held;
    }
  qsort(b->rows, b->row_count, sizeof *b->rows, by_key);
}

static void number_cubes(builder *b) {
  uint32_t next = STRIP_FIRST;
  for (size_t r = 0; r < b->row_count; r++) {
    const size_t first = lattice_at(b, 0, b->rows[r].y, b->rows[r].z);
    for (int32_t x = 0; x < b->n[0]; x++)
      if (b->inside[first + (size_t)x]) {
        b->out->x[next] = x;
        b->number[first + (size_t)x] = next++;
      }
  }
  const size_t all = (size_t)b->n[0] * (size_t)b->n[1] * (size_t)b->n[2];
  uint32_t *place = b->out->place;
  for (size_t i = 0; i < all; i++)
    if (b->inside[i]) *place++ = b->number[i];
}

static void find_faces(builder *b) {
  strips *s = b->out;
  size_t cube = 0, i = 0;
  for (int32_t z = 0; z < b->n[2]; z++)
    for (int32_t y = 0; y < b->n[1]; y++)
      for (int32_t x = 0; x < b->n[0]; x++, i++) {
        if (!b->inside[i]) continue;
        unsigned open = 0;
        open |= x + 1 < b->n[0] && b->inside[i + 1] ? 1u : 0u;
        open |= y + 1 < b->n[1] && b->inside[lattice_at(b, x, y + 1, z)] ? 2u : 0u;
        open |= z + 1 < b->n[2] && b->inside[lattice_at(b, x, y, z + 1)] ? 4u : 0u;
        if (b->shut) open &= ~(unsigned)b->shut[cube];
        s->faces[s->place[cube++]] = (uint8_t)open;
      }
}

/* ---- strips ---- */

/* Entries of the cubes at x in the four rows around a row, 0 for none: behind y, z, ahead y, z. */
static void around(const builder *b, const row *r, int32_t x, uint32_t out[4]) {
  out[0] = r->y > 0 ? b->number[lattice_at(b, x, r->y - 1, r->z)] : 0;
  out[1] = r->z > 0 ? b->number[lattice_at(b, x, r->y, r->z - 1)] : 0;
  out[2] = r->y + 1 < b->n[1] ? b->number[lattice_at(b, x, r->y + 1, r->z)] : 0;
  out[3] = r->z + 1 < b->n[2] ? b->number[lattice_at(b, x, r->y, r->z + 1)] : 0;
}

/* Whether cube `at` can be the next one of strip t. */
static bool fits(const strip *t, uint32_t at, const uint32_t near[4], uint32_t idle) {
  if (t->count == STRIP_MOST) return false;
  for (int a = 0; a < 2; a++) {
    const uint32_t behind = (uint32_t)((int64_t)at + t->behind[a]);
    if (near[a] ? behind != near[a] : behind < idle) return false;
    if (near[2 + a] ? at + (uint32_t)t->ahead[a] != near[2 + a] : t->ahead[a] != 0) return false;
  }
  return true;
}

static bool add_cube(builder *b, const row *r, bool starts, uint32_t at, const uint32_t near[4]) {
  strips *s = b->out;
  const uint32_t idle = (uint32_t)(STRIP_FIRST + s->cube_count);
  strip *t = s->strip_count ? &s->strip[s->strip_count - 1] : NULL;
  if (starts || !fits(t, at, near, idle)) {
    if (!ul_grow((void **)&s->strip, &s->strip_room, s->strip_count + 1, sizeof *s->strip))
      return false;
    t = &s->strip[s->strip_count++];
    *t = (strip){.start = at, .y = r->y, .z = r->z};
    for (int a = 0; a < 2; a++) {
      t->behind[a] = (int32_t)((near[a] ? near[a] : idle) - at);
      t->ahead[a] = (int32_t)(near[2 + a] ? near[2 + a] - at : 0);
    }
  }
  t->count++;
  return true;
}

static bool cut_row(builder *b, const row *r) {
  const size_t first = lattice_at(b, 0, r->y, r->z);
  bool starts = true;
  for (int32_t x = 0; x < b->n[0]; x++) {
    const uint32_t at = b->number[first + (size_t)x];
    if (!at) continue;
    uint32_t near[4];
    around(b, r, x, near);
    if (!add_cube(b, r, starts, at, near)) return false;
    starts = false;
  }
  return true;
}

/* The rows from `from` on that share a row of the coarser grid. */
static size_t group_end(const builder *b, size_t from) {
  size_t to = from + 1;
  while (to < b->row_count && b->rows[to].key >> 2 == b->rows[from].key >> 2) to++;
  return to;
}

static bool cut_group(builder *b, size_t from, size_t to, strip_group *g) {
  const row *r = &b->rows[from];
  int32_t x = 0;
  while (!b->number[lattice_at(b, x, r->y, r->z)]) x++;
  g->cube = b->number[lattice_at(b, x, r->y, r->z)];
  for (int colour = 0; colour < 2; colour++) {
    g->strip[colour] = (uint32_t)b->out->strip_count;
    for (size_t i = from; i < to; i++)
      if (((b->rows[i].y + b->rows[i].z) & 1) == colour && !cut_row(b, &b->rows[i])) return false;
  }
  g->strip[2] = (uint32_t)b->out->strip_count;
  return true;
}

static bool cut_rows(builder *b) {
  strips *s = b->out;
  for (size_t from = 0, to; from < b->row_count; from = to) {
    to = group_end(b, from);
    if (!cut_group(b, from, to, &s->group[s->group_count++])) return false;
  }
  s->group[s->group_count].cube = (uint32_t)(STRIP_FIRST + s->cube_count);
  return true;
}

static void make_blocks(strips *s) {
  uint32_t begun = 0;
  for (uint32_t g = 0; g < s->group_count; g++)
    if (!g || s->group[g + 1].cube - begun > STRIP_BLOCK_CUBES) {
      begun = s->group[g].cube;
      s->block[s->block_count++] = g;
    }
  s->block[s->block_count] = (uint32_t)s->group_count;
}

/* ---- all of it ---- */

static bool allocate(builder *b) {
  strips *s = b->out;
  s->size = STRIP_FIRST + s->cube_count + STRIP_MOST;
  s->place = ul_new_raw(s->cube_count, sizeof *s->place);
  s->x = ul_new(s->size, sizeof *s->x);
  s->faces = ul_new(s->size, sizeof *s->faces);
  s->group = ul_new(b->row_count + 1, sizeof *s->group);
  s->block = ul_new(b->row_count + 1, sizeof *s->block);
  return s->place && s->x && s->faces && s->group && s->block;
}

static ul_status build(builder *b, ul_error *err) {
  const size_t all = (size_t)b->n[0] * (size_t)b->n[1] * (size_t)b->n[2];
  b->rows = ul_new_raw((size_t)b->n[1] * (size_t)b->n[2], sizeof *b->rows);
  b->number = ul_new(all, sizeof *b->number);
  if (!b->rows || !b->number) return ul_fail_memory(err);
  find_rows(b);
  if (b->out->cube_count > INT32_MAX - 2 * STRIP_MOST)
    return ul_fail(err, UL_E_LIMIT,
                   "%zu cubes in the cavity, at most 2 thousand million: larger cubes",
                   b->out->cube_count);
  if (!b->row_count)
    return ul_fail(err, UL_E_THIN, "no cube has its centre in the cavity: use smaller cubes");
  if (!allocate(b)) return ul_fail_memory(err);
  number_cubes(b);
  find_faces(b);
  if (!cut_rows(b)) return ul_fail_memory(err);
  make_blocks(b->out);
  return UL_OK;
}

ul_status ul_strips_build(const int32_t n[3], const uint8_t *inside, const uint8_t *shut,
                          strips *out, ul_error *err) {
  builder b = {.n = n, .inside = inside, .shut = shut, .out = out};
  memset(out, 0, sizeof *out);
  ul_status status = build(&b, err);
  free(b.rows);
  free(b.number);
  return status;
}

void ul_strips_clear(strips *s) {
  free(s->place);
  free(s->x);
  free(s->faces);
  free(s->strip);
  free(s->group);
  free(s->block);
  memset(s, 0, sizeof *s);
}

size_t ul_strips_bytes(const strips *s) {
  return s->cube_count * sizeof *s->place + s->size * (sizeof *s->x + sizeof *s->faces) +
         s->strip_room * sizeof *s->strip + s->group_count * (sizeof *s->group + sizeof *s->block);
}
