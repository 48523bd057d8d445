#include "rise/islands.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/parallel.h"

/* What a block of work is told. */
typedef struct {
  islands *s;
  const matrix *m;
  double by, *x;
  float *residual;
} work;

/* ---- patches ---- */

/* A tree whose root is its lowest number. */
static uint32_t root_of(uint32_t *parent, uint32_t i) {
  while (parent[i] != i) i = parent[i] = parent[parent[i]];
  return i;
}

static void join(uint32_t *parent, uint32_t i, uint32_t j) {
  const uint32_t a = root_of(parent, i), b = root_of(parent, j);
  if (a < b) parent[b] = a;
  if (b < a) parent[a] = b;
}

/* Along x each entry's parent is the first one of the linked stretch it is in. */
static void join_along(uint32_t *parent, const matrix *m, const strip *t) {
  const double *before = m->link[0] + t->start - 1;
  for (uint32_t i = 0; i < t->count; i++)
    parent[t->start + i] = i && before[i] > 0 ? parent[t->start + i - 1] : t->start + i;
}

/* Stretches of a row in two strips, and those of other rows, as far as `end`. */
static void join_across(uint32_t *parent, const matrix *m, const strip *t, uint32_t end) {
  if (m->link[0][t->start - 1] > 0) join(parent, t->start - 1, t->start);
  for (int a = 0; a < 2; a++) {
    const double *link = m->link[a + 1] + t->start;
    const uint32_t ahead = t->start + (uint32_t)t->ahead[a];
    const uint32_t *here = parent + t->start, *there = parent + ahead;
    uint32_t last_here = UINT32_MAX, last_there = UINT32_MAX;
    for (uint32_t i = 0; i < t->count && ahead + i < end; i++) {
      if (!(link[i] > 0) || (here[i] == last_here && there[i] == last_there)) continue;
      join(parent, last_here = here[i], last_there = there[i]);
    }
  }
}

static ul_status patch_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  islands *s = w->s;
  const strips *l = w->m->strips;
  uint32_t *list = s->list + l->block_entry[block], count = 0;
  double hold = 0;
  if (!w->m->block_taken[block]) return UL_OK; /* as it was */
  for (const strip *t = live_first(l, block); t < live_end(l, block); t++)
    join_along(s->patch, w->m, t);
  for (const strip *t = live_first(l, block); t < live_end(l, block); t++)
    join_across(s->patch, w->m, t, l->block_entry[block + 1]);
  for (const run *r = run_first(l, block); r < run_end(l, block); r++)
    for (uint32_t i = r->start; i < r->start + r->count; i++) {
      if (s->patch[i] == i) list[count++] = i;
      s->patch[i] = s->patch[s->patch[i]]; /* that one is before it, and settled */
      hold += w->m->hold[i];
    }
  s->patch_count[block] = count;
  s->block_hold[block] = hold;
  return UL_OK;
}

/* ---- islands of patches and bodies ---- */

static bool number_patches(islands *s, const matrix *m) {
  const strips *l = m->strips;
  s->patches = 0;
  for (size_t b = 0; b < l->block_count; b++)
    for (uint32_t k = 0; k < s->patch_count[b]; k++)
      s->island[s->list[l->block_entry[b] + k]] = (uint32_t)s->patches++;
  const size_t all = s->patches + m->body_count;
  if (!ul_grow((void **)&s->tree, &s->tree_room, all, sizeof *s->tree)) return false;
  for (size_t i = 0; i < all; i++) s->tree[i] = (uint32_t)i;
  return true;
}

/* The patch of a block that has only one, else UINT32_MAX. */
static uint32_t only_patch(const islands *s, const strips *l, size_t block) {
  return s->patch_count[block] == 1 ? s->island[s->list[l->block_entry[block]]] : UINT32_MAX;
}

/* Links of a strip of `block` to what lies beyond it. Where two blocks are a patch each, one link
 * tells all. */
static void join_beyond(islands *s, const matrix *m, const strip *t, size_t block) {
  const strips *l = m->strips;
  const uint32_t end = l->block_entry[block + 1];
  for (int a = 0; a < 2; a++) {
    const double *link = m->link[a + 1] + t->start;
    const uint32_t ahead = t->start + (uint32_t)t->ahead[a];
    uint32_t i = ahead < end ? end - ahead : 0;
    if (i >= t->count || t->ahead[a] == 0) continue;
    const uint32_t one = only_patch(s, l, block);
    const size_t beyond = ul_strips_block_of(l, ul_strips_find(l, ahead + i));
    const uint32_t other = only_patch(s, l, beyond);
    const bool single = one != UINT32_MAX && other != UINT32_MAX;
    if (single && root_of(s->tree, one) == root_of(s->tree, other)) continue;
    uint32_t last_here = UINT32_MAX, last_there = UINT32_MAX;
    for (; i < t->count; i++) {
      const uint32_t here = s->patch[t->start + i];
      if (!(link[i] > 0) || (here == last_here && s->patch[ahead + i] == last_there)) continue;
      last_here = here;
      last_there = s->patch[ahead + i];
      join(s->tree, s->island[last_here], s->island[last_there]);
      if (single) break;
    }
  }
}

static void join_patches(islands *s, const matrix *m) {
  const strips *l = m->strips;
  for (size_t b = 0; b < l->block_count; b++)
    for (const strip *t = live_first(l, b); t < live_end(l, b); t++) join_beyond(s, m, t, b);
  for (size_t b = 0; b < m->body_count; b++)
    for (size_t k = m->body_first[b]; k < m->body_first[b + 1]; k++)
      if (m->body_link[k] > 0)
        join(s->tree, s->island[s->patch[m->body_cube[k]]], (uint32_t)(s->patches + b));
}

/* Trees get numbers; so do patches. */
static void number_islands(islands *s, const matrix *m) {
  const strips *l = m->strips;
  s->count = 0;
  for (size_t i = 0; i < s->patches + m->body_count; i++)
    s->tree[i] = s->tree[i] == i ? (uint32_t)s->count++ : s->tree[s->tree[i]];
  uint32_t patch = 0;
  for (size_t b = 0; b < l->block_count; b++)
    for (uint32_t k = 0; k < s->patch_count[b]; k++)
      s->island[s->list[l->block_entry[b] + k]] = s->tree[patch++];
}

static uint32_t island_of(const islands *s, uint32_t i) {
  return s->island[s->patch[i]];
}

/* The island of a block, all of whose patches are of it; UINT32_MAX where they are of several, or
 * there are none. */
static uint32_t only_island(const islands *s, const strips *l, size_t block) {
  const uint32_t *list = s->list + l->block_entry[block], count = s->patch_count[block];
  for (uint32_t k = 1; k < count; k++)
    if (s->island[list[k]] != s->island[list[0]]) return UINT32_MAX;
  return count ? s->island[list[0]] : UINT32_MAX;
}

static bool sum_holds(islands *s, const matrix *m) {
  const strips *l = m->strips;
  size_t room = s->room;
  if (!ul_grow((void **)&s->hold, &room, s->count, sizeof *s->hold) ||
      !ul_grow((void **)&s->residual, &s->room, s->count, sizeof *s->residual))
    return false;
  if (s->count) memset(s->hold, 0, s->count * sizeof *s->hold);
  for (size_t b = 0; b < l->block_count; b++) {
    const uint32_t only = only_island(s, l, b);
    if (only != UINT32_MAX) {
      s->hold[only] += s->block_hold[b];
      continue;
    }
    for (const run *r = run_first(l, b); r < run_end(l, b); r++)
      for (uint32_t i = r->start; i < r->start + r->count; i++)
        s->hold[island_of(s, i)] += m->hold[i];
  }
  for (size_t b = 0; b < m->body_count; b++) s->hold[s->tree[s->patches + b]] += m->body_hold[b];
  return true;
}

ul_status ul_islands_find(islands *s, const matrix *m, const ul_job *job) {
  work w = {.s = s, .m = m};
  ul_status status = ul_parallel(job, NULL, m->strips->block_count, patch_block, &w);
  if (status != UL_OK) return status;
  if (!number_patches(s, m)) return UL_E_MEMORY;
  join_patches(s, m);
  number_islands(s, m);
  return sum_holds(s, m) ? UL_OK : UL_E_MEMORY;
}

/* ---- their levels ---- */

static ul_status sum_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const strips *l = w->m->strips;
  double sum = 0;
  for (const run *r = run_first(l, block); r < run_end(l, block); r++)
    for (uint32_t i = r->start; i < r->start + r->count; i++) sum += (double)w->residual[i];
  w->s->part[block] = sum;
  return UL_OK;
}

/* Raises one entry, and returns what is left there. */
static inline double raise(const work *w, uint32_t i, double level) {
  w->x[i] += level;
  w->residual[i] = (float)((double)w->residual[i] - w->by * w->m->hold[i] * level);
  return fabs((double)w->residual[i]);
}

static ul_status raise_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const islands *s = w->s;
  const strips *l = w->m->strips;
  const uint32_t only = only_island(s, l, block);
  double off = 0;
  for (const run *r = run_first(l, block); r < run_end(l, block); r++)
    for (uint32_t i = r->start; i < r->start + r->count; i++)
      off += raise(w, i, s->residual[only != UINT32_MAX ? only : island_of(s, i)]);
  s->part[block] = off;
  return UL_OK;
}

static void find_levels(islands *s, const matrix *m, double by, const float *residual) {
  const strips *l = m->strips;
  if (s->count) memset(s->residual, 0, s->count * sizeof *s->residual);
  for (size_t b = 0; b < l->block_count; b++) {
    const uint32_t only = only_island(s, l, b);
    if (only != UINT32_MAX) {
      s->residual[only] += s->part[b];
      continue;
    }
    for (const run *r = run_first(l, b); r < run_end(l, b); r++)
      for (uint32_t i = r->start; i < r->start + r->count; i++)
        s->residual[island_of(s, i)] += (double)residual[i];
  }
  for (size_t b = 0; b < m->body_count; b++)
    s->residual[s->tree[s->patches + b]] += (double)residual[l->size + b];
  for (size_t k = 0; k < s->count; k++)
    s->residual[k] = s->hold[k] > 0 ? s->residual[k] / (by * s->hold[k]) : 0;
}

ul_status ul_islands_level(islands *s, const matrix *m, double by, double *x, float *residual,
                           double *off, const ul_job *job) {
  work w = {.s = s, .m = m, .by = by, .x = x, .residual = residual};
  const size_t blocks = m->strips->block_count, at = m->strips->size;
  ul_status status = ul_parallel(job, NULL, blocks, sum_block, &w);
  if (status == UL_OK) {
    find_levels(s, m, by, residual);
    status = ul_parallel(job, NULL, blocks, raise_block, &w);
  }
  *off = 0;
  for (size_t b = 0; b < blocks; b++) *off += s->part[b];
  for (size_t b = 0; b < m->body_count; b++) {
    const double level = s->residual[s->tree[s->patches + b]];
    x[at + b] += level;
    residual[at + b] = (float)((double)residual[at + b] - by * m->body_hold[b] * level);
    *off += fabs((double)residual[at + b]);
  }
  return status;
}

/* ---- memory ---- */

bool ul_islands_build(const matrix *m, islands *out) {
  const strips *l = m->strips;
  memset(out, 0, sizeof *out);
  out->patch = ul_new(l->size, sizeof *out->patch);
  out->island = ul_new(l->size, sizeof *out->island);
  out->list = ul_new(l->size, sizeof *out->list);
  out->patch_count = ul_new(l->block_count, sizeof *out->patch_count);
  out->part = ul_new(l->block_count, sizeof *out->part);
  out->block_hold = ul_new(l->block_count, sizeof *out->block_hold);
  return out->block_hold && out->patch && out->island && out->list && out->patch_count && out->part;
}

void ul_islands_clear(islands *s) {
  free(s->patch);
  free(s->island);
  free(s->list);
  free(s->patch_count);
  free(s->part);
  free(s->block_hold);
  free(s->hold);
  free(s->residual);
  free(s->tree);
  memset(s, 0, sizeof *s);
}

size_t ul_islands_bytes(const islands *s, const matrix *m) {
  return m->strips->size * 3 * sizeof(uint32_t) + s->room * 2 * sizeof(double) +
         s->tree_room * sizeof *s->tree + m->strips->block_count * 2 * sizeof(double);
}
