#include "rise/matrix.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "base/wide.h"

/* What a block of work is told. */
typedef struct {
  matrix *m;
  const ul_system *system;
  const double *x, *rest;
  double by;
  float *residual;
} work;

/* ---- the residual ---- */

/* In differences, which lose nothing to the height of a hydrostatic pressure. */
UL_WIDE static void residual_strip(const work *w, const strip *t, float *restrict residual,
                                   double part[2]) {
  const matrix *m = w->m;
  const double *h = m->hold + t->start, *rest = w->rest + t->start;
  const double *x = w->x + t->start, *x0 = x - 1, *x1 = x + 1;
  const double *y0 = x + t->behind[0], *y1 = x + t->ahead[0];
  const double *z0 = x + t->behind[1], *z1 = x + t->ahead[1];
  const double *tx1 = m->link[0] + t->start, *tx0 = tx1 - 1;
  const double *ty1 = m->link[1] + t->start, *ty0 = ty1 + t->behind[0];
  const double *tz1 = m->link[2] + t->start, *tz0 = tz1 + t->behind[1];
  double off[STRIP_MOST], size[STRIP_MOST];
  for (size_t i = 0; i < t->count; i++) {
    const double r = rest[i] - h[i] * x[i] - (tx0[i] * (x[i] - x0[i]) + tx1[i] * (x[i] - x1[i])) -
                     (ty0[i] * (x[i] - y0[i]) + ty1[i] * (x[i] - y1[i])) -
                     (tz0[i] * (x[i] - z0[i]) + tz1[i] * (x[i] - z1[i]));
    const double d = h[i] + (tx0[i] + tx1[i]) + (ty0[i] + ty1[i]) + (tz0[i] + tz1[i]);
    residual[i] = (float)(w->by * r);
    off[i] = fabs(r);
    size[i] = d * fabs(x[i]);
  }
  for (size_t i = 0; i < t->count; i++) {
    part[0] += off[i];
    part[1] += size[i];
  }
}

static ul_status residual_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const strips *s = w->m->strips;
  double *part = w->m->part + 2 * block;
  part[0] = part[1] = 0;
  for (const strip *t = live_first(s, block); t < live_end(s, block); t++)
    residual_strip(w, t, w->residual + t->start, part);
  return UL_OK;
}

/* Takes what flows to and from the bodies off `rest`. */
static void rest_of_bodies(const matrix *m, const double *x, double *rest, double *size) {
  for (size_t b = 0; b < m->body_count; b++) {
    const size_t at = m->strips->size + b;
    double diagonal = m->body_hold[b];
    rest[at] -= m->body_hold[b] * x[at];
    for (size_t l = m->body_first[b]; l < m->body_first[b + 1]; l++) {
      const uint32_t cube = m->body_cube[l];
      const double flow = m->body_link[l] * (x[at] - x[cube]);
      rest[at] -= flow;
      rest[cube] += flow;
      diagonal += m->body_link[l];
      *size += m->body_link[l] * fabs(x[cube]);
    }
    *size += diagonal * fabs(x[at]);
  }
}

ul_status ul_matrix_residual(const matrix *m, const double *x, double *rest, double by,
                             float *residual, double *off, double *size, const ul_job *job) {
  work w = {.m = (matrix *)m, .x = x, .rest = rest, .by = by, .residual = residual};
  *off = *size = 0;
  rest_of_bodies(m, x, rest, size);
  ul_status status = ul_parallel(job, NULL, m->strips->block_count, residual_block, &w);
  for (size_t b = 0; b < m->strips->block_count; b++) {
    *off += m->part[2 * b];
    *size += m->part[2 * b + 1];
  }
  for (size_t i = m->strips->size; i < matrix_size(m); i++) {
    residual[i] = (float)(by * rest[i]);
    *off += fabs(rest[i]);
  }
  return status;
}

void ul_matrix_diagonal(const matrix *m, const strip *t, uint32_t from, uint32_t to, double *out) {
  const double *h = m->hold + from;
  const double *tx1 = m->link[0] + from, *tx0 = tx1 - 1;
  const double *ty1 = m->link[1] + from, *ty0 = ty1 + t->behind[0];
  const double *tz1 = m->link[2] + from, *tz0 = tz1 + t->behind[1];
  for (size_t i = 0; i < to - from; i++)
    out[i] = h[i] + (tx0[i] + tx1[i]) + (ty0[i] + ty1[i]) + (tz0[i] + tz1[i]);
}

/* ---- taking a system ---- */

static bool usable(double v) {
  return v >= 0 && v <= DBL_MAX;
}

/* Largest of the numbers; NaN when one is negative or not finite. */
static double largest(const double *v, size_t count) {
  double most[4] = {0, 0, 0, 0}, odd[4] = {0, 0, 0, 0}; /* odd: stays 0 as long as all is well */
  size_t i = 0;
  for (; i + 4 <= count; i += 4)
    for (size_t k = 0; k < 4; k++) {
      most[k] = v[i + k] > most[k] ? v[i + k] : most[k];
      odd[k] += fabs(v[i + k]) - v[i + k];
    }
  for (; i < count; i++) {
    most[0] = v[i] > most[0] ? v[i] : most[0];
    odd[0] += fabs(v[i]) - v[i];
  }
  const bool good = odd[0] == 0 && odd[1] == 0 && odd[2] == 0 && odd[3] == 0;
  return good ? fmax(fmax(most[0], most[1]), fmax(most[2], most[3])) : NAN;
}

/* Which entries of the strips have to be taken, if not all: from the first to the last one changed.
 */
static void note_changes(matrix *m, const ul_system *system) {
  const strips *s = m->strips;
  m->whole = !m->holds || !system->changed;
  memset(m->block_taken, m->whole, s->block_count);
  memset(m->taken, 0, s->strip_count * sizeof *m->taken);
  for (size_t k = 0; k < system->changed_count && !m->whole; k++) {
    const uint32_t entry = m->packing->place[system->changed[k]];
    const size_t strip = ul_strips_find(s, entry);
    run *t = &m->taken[strip];
    const uint32_t end = t->count ? t->start + t->count : entry + 1;
    if (!t->count) m->block_taken[ul_strips_block_of(s, strip)] = 1;
    t->start = t->count && t->start < entry ? t->start : entry;
    t->count = (entry + 1 > end ? entry + 1 : end) - t->start;
  }
}

/* Copies what is active, and finds from where to where it reaches. Beyond that all coefficients are
 * zeros, but for what the system before had there: together that is what has to be taken in full.
 */
static void wake_strip(const work *w, size_t k) {
  const strip *t = &w->m->strips->strip[k];
  stretch *h = &w->m->stretch[k];
  run *taken = &w->m->taken[k];
  if (w->m->whole) *taken = (run){t->start, t->count};
  if (!taken->count) return;
  uint8_t *on = w->m->active;
  uint32_t from = taken->start, to = from + taken->count;
  const uint8_t *active = w->system->active;
  for (size_t i = from, cube = w->m->packing->number[from]; i < to; i++, cube++)
    on[i] = !active || active[cube] != 0;
  const bool had = h->from < h->to;
  if (had && h->from < from) from = h->from;
  if (had && h->to > to) to = h->to;
  while (from < to && !on[from]) from++;
  while (to > from && !on[to - 1]) to--;
  if (w->m->whole) {
    const bool some = from < to;
    const uint32_t first = had && (!some || h->from < from) ? h->from : from;
    const uint32_t end = had && (!some || h->to > to) ? h->to : to;
    *taken = (run){first, end - first};
  }
  h->from = from;
  h->to = to;
}

static ul_status wake_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const matrix *m = w->m;
  strips *s = m->strips;
  if (!m->block_taken[block]) return UL_OK;
  ul_strips_sleep(s, block);
  for (size_t k = s->block_strip[block]; k < s->block_strip[block + 1]; k++) {
    const stretch *h = &m->stretch[k];
    wake_strip(w, k);
    if (h->from < h->to) ul_strips_wake(s, block, k, h->from, h->to);
  }
  return UL_OK;
}

/* Links along an axis, 0 unless the face is open and both cubes are active. */
UL_WIDE static double take_links(const matrix *m, const double *in, int axis, const run *t,
                                 ptrdiff_t ahead) {
  const uint8_t *faces = m->packing->faces + t->start;
  const uint8_t *on = m->active + t->start, *next = on + ahead;
  double *restrict out = m->link[axis] + t->start;
  const size_t count = t->count;
  for (size_t i = 0; i < count; i++) {
    const double v = in[i];
    out[i] = faces[i] >> axis & on[i] & next[i] ? v : 0;
  }
  return largest(out, count);
}

static double take_holds(const matrix *m, const double *in, const run *t) {
  const uint8_t *on = m->active + t->start;
  double *restrict out = m->hold + t->start;
  const size_t count = t->count;
  if (!in) {
    memset(out, 0, count * sizeof *out);
    return 0;
  }
  for (size_t i = 0; i < count; i++) {
    const double v = in[i];
    out[i] = on[i] ? v : 0;
  }
  return largest(out, count);
}

static ul_status take_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const matrix *m = w->m;
  const strips *s = m->strips;
  double most = m->whole ? 0 : m->block_most[block];
  if (!m->block_taken[block]) return UL_OK;
  for (size_t k = s->block_strip[block]; k < s->block_strip[block + 1]; k++) {
    const run *t = &m->taken[k];
    if (!t->count) continue;
    const size_t cube = m->packing->number[t->start];
    double here = take_holds(m, w->system->hold ? w->system->hold + cube : NULL, t);
    for (int a = 0; a < 3; a++)
      here += 2 * take_links(m, w->system->link[a] + cube, a, t, a ? s->strip[k].ahead[a - 1] : 1);
    if (!(here <= DBL_MAX)) return UL_E_NUMBER;
    most = fmax(most, here);
  }
  m->block_most[block] = most;
  return UL_OK;
}

static bool make_room(matrix *m, size_t bodies, size_t links) {
  size_t room = m->body_room, first_room = m->body_room;
  if (!ul_grow((void **)&m->body_first, &first_room, bodies + 1, sizeof *m->body_first) ||
      !ul_grow((void **)&m->body_hold, &room, bodies + 1, sizeof *m->body_hold))
    return false;
  m->body_room = room < first_room ? room : first_room;
  room = m->link_room;
  size_t cube_room = m->link_room;
  if (!ul_grow((void **)&m->body_cube, &cube_room, links, sizeof *m->body_cube) ||
      !ul_grow((void **)&m->body_link, &room, links, sizeof *m->body_link))
    return false;
  m->link_room = room < cube_room ? room : cube_room;
  return true;
}

static ul_status take_bodies(matrix *m, const ul_system *in) {
  size_t kept = 0;
  double most = 0;
  for (size_t b = 0; b < in->body_count; b++) {
    m->body_first[b] = kept;
    m->body_hold[b] = in->body_hold[b];
    if (!usable(m->body_hold[b])) return UL_E_NUMBER;
    double diagonal = m->body_hold[b];
    for (size_t l = in->body_first[b]; l < in->body_first[b + 1]; l++) {
      if (in->active && !in->active[in->body_cube[l]]) continue;
      if (!usable(in->body_link[l])) return UL_E_NUMBER;
      m->body_cube[kept] = m->packing->place[in->body_cube[l]];
      m->body_link[kept++] = in->body_link[l];
      diagonal += in->body_link[l];
    }
    most = fmax(most, diagonal);
  }
  m->body_count = in->body_count;
  m->body_first[m->body_count] = kept;
  m->most += most;
  return m->most <= DBL_MAX ? UL_OK : UL_E_NUMBER;
}

/* After a failure what the arrays hold is not known: they are gone through in full next time. */
static void forget(matrix *m) {
  const strips *s = m->strips;
  for (size_t k = 0; k < s->strip_count; k++) {
    m->stretch[k].from = s->strip[k].start;
    m->stretch[k].to = s->strip[k].start + s->strip[k].count;
  }
}

ul_status ul_matrix_take(matrix *m, const ul_system *system, const ul_job *job, ul_error *err) {
  work w = {.m = m, .system = system};
  const size_t bodies = system->body_count;
  m->body_count = 0;
  if (!make_room(m, bodies, bodies ? system->body_first[bodies] : 0)) return ul_fail_memory(err);
  m->body_first[0] = 0;
  note_changes(m, system);
  ul_status status = ul_parallel(job, NULL, m->strips->block_count, wake_block, &w);
  if (status == UL_OK) status = ul_parallel(job, NULL, m->strips->block_count, take_block, &w);
  m->most = 0;
  for (size_t b = 0; b < m->strips->block_count; b++) m->most = fmax(m->most, m->block_most[b]);
  if (status == UL_OK) status = take_bodies(m, system);
  m->holds = status == UL_OK;
  if (!m->holds) forget(m);
  if (status == UL_E_NUMBER)
    return ul_fail(err, status,
                   "a link or a hold of the linear system is negative or not finite: the foam's "
                   "viscosity, the mobility or the step is out of range");
  return status;
}

/* ---- memory ---- */

ul_status ul_matrix_build(const packing *packing, strips *strips, matrix *out, ul_error *err) {
  memset(out, 0, sizeof *out);
  out->packing = packing;
  out->strips = strips;
  bool got = true;
  for (int a = 0; a < 3; a++) got &= (out->link[a] = ul_new(strips->size, sizeof(double))) != NULL;
  got &= (out->hold = ul_new(strips->size, sizeof *out->hold)) != NULL;
  got &= (out->active = ul_new(strips->size, sizeof *out->active)) != NULL;
  got &= (out->stretch = ul_new(strips->strip_count, sizeof *out->stretch)) != NULL;
  got &= (out->taken = ul_new(strips->strip_count, sizeof *out->taken)) != NULL;
  got &= (out->block_taken = ul_new(strips->block_count, 1)) != NULL;
  got &= (out->block_most = ul_new(strips->block_count, sizeof *out->block_most)) != NULL;
  got &= (out->part = ul_new(strips->block_count, 2 * sizeof *out->part)) != NULL;
  return got ? UL_OK : ul_fail_memory(err);
}

void ul_matrix_clear(matrix *m) {
  for (int a = 0; a < 3; a++) free(m->link[a]);
  free(m->hold);
  free(m->active);
  free(m->stretch);
  free(m->taken);
  free(m->block_taken);
  free(m->block_most);
  free(m->part);
  free(m->body_hold);
  free(m->body_first);
  free(m->body_cube);
  free(m->body_link);
  memset(m, 0, sizeof *m);
}

size_t ul_matrix_bytes(const matrix *m) {
  return m->strips->size * (4 * sizeof(double) + 1) +
         m->strips->strip_count * (sizeof *m->stretch + sizeof *m->taken) +
         m->strips->block_count * (3 * sizeof(double) + 1) +
         m->body_room * (sizeof(double) + sizeof(size_t)) +
         m->link_room * (sizeof(double) + sizeof(uint32_t));
}
