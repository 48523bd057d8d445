#include "rise/matrix.h"

#include <float.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "rise/sums.h"

/* What a block of work is told. */
typedef struct {
  const matrix *m;
  const ul_system *system;
  const double *in;
  double *out;
} work;

/* ---- A times a vector ---- */

/* out = A in on a strip, without the bodies; returns its part of in . out. Written in differences,
 * which lose nothing to the height of a hydrostatic pressure. */
static double apply_strip(const matrix *m, const strip *t, const double *in, double *out) {
  const double *h = m->hold + t->start;
  const double *x = in + t->start;
  const double *y0 = x + t->behind[0], *y1 = x + t->ahead[0];
  const double *z0 = x + t->behind[1], *z1 = x + t->ahead[1];
  const double *tx1 = m->link[0] + t->start, *tx0 = tx1 - 1;
  const double *ty1 = m->link[1] + t->start, *ty0 = ty1 + t->behind[0];
  const double *tz1 = m->link[2] + t->start, *tz0 = tz1 + t->behind[1];
  const double *x0 = x - 1, *x1 = x + 1;
  double
      to[STRIP_MOST]; /* apart from `in` for all the compiler knows: it can take pairs at a time */
  for (size_t i = 0; i < t->count; i++)
    to[i] = h[i] * x[i] + (tx0[i] * (x[i] - x0[i]) + tx1[i] * (x[i] - x1[i])) +
            (ty0[i] * (x[i] - y0[i]) + ty1[i] * (x[i] - y1[i])) +
            (tz0[i] * (x[i] - z0[i]) + tz1[i] * (x[i] - z1[i]));
  memcpy(out + t->start, to, t->count * sizeof *to);
  return sum_products(x, to, t->count);
}

static ul_status apply_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const strips *s = &w->m->strips;
  double sum = 0;
  for (size_t i = strips_first(s, block); i < strips_end(s, block); i++)
    sum += apply_strip(w->m, &s->strip[i], w->in, w->out);
  w->m->part[block] = sum;
  return UL_OK;
}

/* Adds the bodies' part of A in to out and returns their part of in . out. */
static double apply_bodies(const matrix *m, const double *in, double *out) {
  double sum = 0;
  for (size_t b = 0; b < m->body_count; b++) {
    const size_t at = m->strips.size + b;
    double of_body = m->body_hold[b] * in[at];
    sum += of_body * in[at];
    for (size_t l = m->body_first[b]; l < m->body_first[b + 1]; l++) {
      const double d = in[at] - in[m->body_cube[l]], flow = m->body_link[l] * d;
      of_body += flow;
      out[m->body_cube[l]] -= flow;
      sum += flow * d;
    }
    out[at] = of_body;
  }
  return sum;
}

ul_status ul_matrix_apply(const matrix *m, const double *in, double *out, double *dot,
                          const ul_job *job) {
  work w = {.m = m, .in = in, .out = out};
  ul_status status = ul_parallel(job, NULL, m->strips.block_count, apply_block, &w);
  double sum = 0;
  for (size_t b = 0; b < m->strips.block_count; b++) sum += m->part[b];
  sum += apply_bodies(m, in, out);
  if (dot) *dot = sum;
  return status;
}

static ul_status diagonal_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const strips *s = &w->m->strips;
  double *const *link = w->m->link;
  for (size_t k = strips_first(s, block); k < strips_end(s, block); k++) {
    const strip *t = &s->strip[k];
    for (size_t i = t->start; i < (size_t)t->start + t->count; i++)
      w->out[i] = w->m->hold[i] + (link[0][i - 1] + link[0][i]) +
                  (link[1][i + (size_t)(ptrdiff_t)t->behind[0]] + link[1][i]) +
                  (link[2][i + (size_t)(ptrdiff_t)t->behind[1]] + link[2][i]);
  }
  return UL_OK;
}

ul_status ul_matrix_diagonal(const matrix *m, double *out, const ul_job *job) {
  work w = {.m = m, .out = out};
  ul_status status = ul_parallel(job, NULL, m->strips.block_count, diagonal_block, &w);
  for (size_t b = 0; b < m->body_count; b++) {
    const size_t at = m->strips.size + b;
    out[at] = m->body_hold[b];
    for (size_t l = m->body_first[b]; l < m->body_first[b + 1]; l++) {
      out[at] += m->body_link[l];
      out[m->body_cube[l]] += m->body_link[l];
    }
  }
  return status;
}

/* ---- taking a system ---- */

static bool usable(double v) {
  return v >= 0 && v <= DBL_MAX;
}

/* Walks the caller's numbering, so that his arrays are read in their order. */
static ul_status take_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const matrix *m = w->m;
  const ul_system *in = w->system;
  const size_t count = m->strips.cube_count, blocks = m->strips.block_count;
  for (size_t i = count * block / blocks; i < count * (block + 1) / blocks; i++) {
    const size_t at = m->strips.place[i];
    const bool on = !in->active || in->active[i];
    m->active[at] = on;
    m->hold[at] = on && in->hold ? in->hold[i] : 0;
    for (int a = 0; a < 3; a++)
      m->link[a][at] = on && m->strips.faces[at] >> a & 1 ? in->link[a][i] : 0;
  }
  return UL_OK;
}

/* A link to a cube that is not active is none. */
static ul_status mask_block(void *context, size_t block, int worker) {
  (void)worker;
  const matrix *m = ((const work *)context)->m;
  const strips *s = &m->strips;
  for (size_t k = strips_first(s, block); k < strips_end(s, block); k++) {
    const strip *t = &s->strip[k];
    for (size_t i = t->start; i < (size_t)t->start + t->count; i++) {
      if (!m->active[i + 1]) m->link[0][i] = 0;
      if (!m->active[i + (size_t)t->ahead[0]]) m->link[1][i] = 0;
      if (!m->active[i + (size_t)t->ahead[1]]) m->link[2][i] = 0;
      if (!usable(m->hold[i]) || !usable(m->link[0][i]) || !usable(m->link[1][i]) ||
          !usable(m->link[2][i]))
        return UL_E_NUMBER;
    }
  }
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
  for (size_t b = 0; b < in->body_count; b++) {
    m->body_first[b] = kept;
    m->body_hold[b] = in->body_hold[b];
    if (!usable(m->body_hold[b])) return UL_E_NUMBER;
    for (size_t l = in->body_first[b]; l < in->body_first[b + 1]; l++) {
      const uint32_t at = m->strips.place[in->body_cube[l]];
      if (!m->active[at]) continue;
      if (!usable(in->body_link[l])) return UL_E_NUMBER;
      m->body_cube[kept] = at;
      m->body_link[kept++] = in->body_link[l];
    }
  }
  m->body_count = in->body_count;
  m->body_first[m->body_count] = kept;
  return UL_OK;
}

ul_status ul_matrix_take(matrix *m, const ul_system *system, const ul_job *job, ul_error *err) {
  work w = {.m = m, .system = system};
  const size_t bodies = system->body_count;
  m->body_count = 0;
  if (!make_room(m, bodies, bodies ? system->body_first[bodies] : 0)) return ul_fail_memory(err);
  m->body_first[0] = 0;
  ul_status status = ul_parallel(job, NULL, m->strips.block_count, take_block, &w);
  if (status == UL_OK) status = ul_parallel(job, NULL, m->strips.block_count, mask_block, &w);
  if (status == UL_OK) status = take_bodies(m, system);
  if (status == UL_E_NUMBER)
    return ul_fail(err, status,
                   "a link or a hold of the linear system is negative or not finite: the foam's "
                   "viscosity, the mobility or the step is out of range");
  return status;
}

/* ---- memory ---- */

ul_status ul_matrix_build(const int32_t n[3], const uint8_t *inside, const uint8_t *shut,
                          matrix *out, ul_error *err) {
  memset(out, 0, sizeof *out);
  ul_status status = ul_strips_build(n, inside, shut, &out->strips, err);
  if (status != UL_OK) return status;
  const size_t size = out->strips.size;
  bool got = true;
  for (int a = 0; a < 3; a++) got &= (out->link[a] = ul_new(size, sizeof(double))) != NULL;
  got &= (out->hold = ul_new(size, sizeof *out->hold)) != NULL;
  got &= (out->active = ul_new(size, sizeof *out->active)) != NULL;
  got &= (out->part = ul_new(out->strips.block_count, sizeof *out->part)) != NULL;
  return got ? UL_OK : ul_fail_memory(err);
}

void ul_matrix_clear(matrix *m) {
  ul_strips_clear(&m->strips);
  for (int a = 0; a < 3; a++) free(m->link[a]);
  free(m->hold);
  free(m->active);
  free(m->part);
  free(m->body_hold);
  free(m->body_first);
  free(m->body_cube);
  free(m->body_link);
  memset(m, 0, sizeof *m);
}

size_t ul_matrix_bytes(const matrix *m) {
  return ul_strips_bytes(&m->strips) + m->strips.size * (4 * sizeof(double) + 1) +
         m->strips.block_count * sizeof(double) + m->body_room * (sizeof(double) + sizeof(size_t)) +
         m->link_room * (sizeof(double) + sizeof(uint32_t));
}
