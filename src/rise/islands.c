#include "rise/islands.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

/* ---- finding them ---- */

/* A tree whose root is the lowest entry. */
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

/* Stretches that follow one another in a row but in different strips, and those of other rows. */
static void join_across(uint32_t *parent, const matrix *m, const strip *t) {
  if (m->link[0][t->start - 1] > 0) join(parent, t->start - 1, t->start);
  for (int a = 0; a < 2; a++) {
    const double *link = m->link[a + 1] + t->start;
    const uint32_t *here = parent + t->start, *there = here + t->ahead[a];
    uint32_t last_here = UINT32_MAX, last_there = UINT32_MAX;
    for (uint32_t i = 0; i < t->count; i++) {
      if (!(link[i] > 0) || (here[i] == last_here && there[i] == last_there)) continue;
      join(parent, last_here = here[i], last_there = there[i]);
    }
  }
}

/* Roots get numbers, in order; the others their root's. An entry's parent is before it. */
static void number(islands *s, const matrix *m) {
  const strips *l = m->strips;
  s->count = 0;
  for (size_t b = 0; b < l->block_count; b++)
    for (const run *r = run_first(l, b); r < run_end(l, b); r++)
      for (uint32_t i = r->start; i < r->start + r->count; i++)
        s->of[i] = s->of[i] == i ? (uint32_t)s->count++ : s->of[s->of[i]];
  for (size_t i = l->size; i < matrix_size(m); i++)
    s->of[i] = s->of[i] == i ? (uint32_t)s->count++ : s->of[s->of[i]];
}

static bool make_room(islands *s, const matrix *m) {
  if (s->of && m->body_count <= s->body_room) return true;
  free(s->of);
  s->body_room = 0;
  const size_t room = m->body_count + m->body_count / 2;
  if (!(s->of = ul_new(m->strips->size + room, sizeof *s->of))) return false;
  s->body_room = room;
  return true;
}

static bool sum_holds(islands *s, const matrix *m) {
  const strips *l = m->strips;
  size_t room = s->room;
  if (!ul_grow((void **)&s->hold, &room, s->count, sizeof *s->hold) ||
      !ul_grow((void **)&s->residual, &s->room, s->count, sizeof *s->residual))
    return false;
  memset(s->hold, 0, s->count * sizeof *s->hold);
  for (size_t b = 0; b < l->block_count; b++)
    for (const run *r = run_first(l, b); r < run_end(l, b); r++)
      for (uint32_t i = r->start; i < r->start + r->count; i++) s->hold[s->of[i]] += m->hold[i];
  for (size_t b = 0; b < m->body_count; b++) s->hold[s->of[l->size + b]] += m->body_hold[b];
  return true;
}

bool ul_islands_find(islands *s, const matrix *m) {
  const strips *l = m->strips;
  if (!make_room(s, m)) return false;
  for (size_t b = 0; b < l->block_count; b++)
    for (const strip *t = live_first(l, b); t < live_end(l, b); t++) join_along(s->of, m, t);
  for (size_t b = 0; b < l->block_count; b++)
    for (const strip *t = live_first(l, b); t < live_end(l, b); t++) join_across(s->of, m, t);
  for (size_t b = 0; b < m->body_count; b++) {
    const uint32_t body = (uint32_t)(l->size + b);
    s->of[body] = body;
    for (size_t k = m->body_first[b]; k < m->body_first[b + 1]; k++)
      if (m->body_link[k] > 0) join(s->of, m->body_cube[k], body);
  }
  number(s, m);
  return sum_holds(s, m);
}

void ul_islands_clear(islands *s) {
  free(s->of);
  free(s->hold);
  free(s->residual);
  memset(s, 0, sizeof *s);
}

size_t ul_islands_bytes(const islands *s, const matrix *m) {
  return (m->strips->size + s->body_room) * sizeof *s->of + s->room * 2 * sizeof(double);
}

/* ---- their levels ---- */

static void add_residuals(islands *s, const run *r, const float *residual) {
  double sum = 0;
  uint32_t last = s->of[r->start];
  for (uint32_t i = r->start; i < r->start + r->count; i++) {
    if (s->of[i] != last) {
      s->residual[last] += sum;
      sum = 0;
      last = s->of[i];
    }
    sum += (double)residual[i];
  }
  s->residual[last] += sum;
}

static double raise(const islands *s, uint32_t i, double hold, double by, double *x,
                    float *residual) {
  const double level = s->residual[s->of[i]];
  x[i] += level;
  residual[i] = (float)((double)residual[i] - by * hold * level);
  return fabs((double)residual[i]);
}

double ul_islands_level(islands *s, const matrix *m, double by, double *x, float *residual) {
  const strips *l = m->strips;
  double off = 0;
  memset(s->residual, 0, s->count * sizeof *s->residual);
  for (size_t b = 0; b < l->block_count; b++)
    for (const run *r = run_first(l, b); r < run_end(l, b); r++) add_residuals(s, r, residual);
  for (size_t i = l->size; i < matrix_size(m); i++) s->residual[s->of[i]] += (double)residual[i];
  for (size_t k = 0; k < s->count; k++)
    s->residual[k] = s->hold[k] > 0 ? s->residual[k] / (by * s->hold[k]) : 0;
  for (size_t b = 0; b < l->block_count; b++)
    for (const run *r = run_first(l, b); r < run_end(l, b); r++)
      for (uint32_t i = r->start; i < r->start + r->count; i++)
        off += raise(s, i, m->hold[i], by, x, residual);
  for (size_t b = 0; b < m->body_count; b++)
    off += raise(s, (uint32_t)(l->size + b), m->body_hold[b], by, x, residual);
  return off;
}
