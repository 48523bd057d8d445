#include <math.h>
#include <string.h>

#include "rise/multigrid.h"

/* Of a pivot less than this share of its diagonal is left: the part is held nowhere. */
static const double NOTHING_LEFT = 1e-13;

/* Node i of the last level is its entry i + STRIP_FIRST. The matrix is kept by columns, lower
 * triangle: `a + j * n` is column j. */
static void add_link(double *a, size_t n, size_t i, size_t j, double link) {
  a[i * n + i] += link;
  a[j * n + j] += link;
  a[(i < j ? i : j) * n + (i < j ? j : i)] -= link;
}

/* Bodies, linked to nodes only, are eliminated: a body of diagonal d takes w w^T / d off. */
static void eliminate_bodies(const bodies *b, double *a, size_t n) {
  for (size_t k = 0; k < b->count; k++)
    for (size_t p = b->first[k]; p < b->first[k + 1]; p++) {
      const size_t row = b->node[p] - STRIP_FIRST;
      const double link = (double)b->link[p];
      a[row * n + row] += link;
      for (size_t q = b->first[k]; q < b->first[k + 1]; q++) {
        const size_t column = b->node[q] - STRIP_FIRST;
        if (column <= row) a[column * n + row] -= link * (double)b->link[q] * b->inverse[k];
      }
    }
}

static void assemble(const level *l, double *a) {
  const size_t n = l->strips.count;
  memset(a, 0, n * n * sizeof *a);
  for (size_t b = 0; b < l->strips.block_count; b++)
    for (const strip *t = live_first(&l->strips, b); t < live_end(&l->strips, b); t++)
      for (uint32_t i = t->start; i < t->start + t->count; i++) {
        const uint32_t ahead[3] = {i + 1, i + (uint32_t)t->ahead[0], i + (uint32_t)t->ahead[1]};
        const size_t node = i - STRIP_FIRST;
        a[node * n + node] += (double)l->hold[i];
        for (int axis = 0; axis < 3; axis++)
          if (l->link[axis][i] > 0)
            add_link(a, n, node, ahead[axis] - STRIP_FIRST, (double)l->link[axis][i]);
      }
  const extras *e = &l->extras;
  for (size_t k = 0; k < e->count; k++)
    for (uint32_t p = e->first[k]; p < e->first[k + 1]; p++)
      if (e->other[p] > e->node[k])
        add_link(a, n, e->node[k] - STRIP_FIRST, e->other[p] - STRIP_FIRST, (double)e->link[p]);
  eliminate_bodies(&l->bodies, a, n);
}

/* Cholesky, a column at a time; 1 / pivot on the diagonal, 0 where nothing was left. */
void ul_coarsest_factor(multigrid *m) {
  const level *l = &m->level[m->level_count - 1];
  const size_t n = l->strips.count;
  double *a = m->coarsest, whole[COARSEST_NODES];
  assemble(l, a);
  for (size_t j = 0; j < n; j++) whole[j] = a[j * n + j];
  for (size_t j = 0; j < n; j++) {
    double *column = a + j * n;
    const double pivot = column[j];
    const double inverse = pivot > NOTHING_LEFT * whole[j] ? 1 / sqrt(pivot) : 0;
    column[j] = inverse;
    for (size_t i = j + 1; i < n; i++) column[i] *= inverse;
    for (size_t k = j + 1; k < n; k++) {
      const double by = column[k];
      double *restrict to = a + k * n;
      for (size_t i = k; i < n && by != 0; i++) to[i] -= by * column[i];
    }
  }
}

void ul_coarsest_solve(const multigrid *m) {
  const level *l = &m->level[m->level_count - 1];
  const bodies *b = &l->bodies;
  const size_t n = l->strips.count;
  double x[COARSEST_NODES];
  for (size_t i = 0; i < n; i++) x[i] = (double)l->b[i + STRIP_FIRST];
  for (size_t k = 0; k < b->count; k++)
    for (size_t p = b->first[k]; p < b->first[k + 1]; p++)
      x[b->node[p] - STRIP_FIRST] +=
          (double)b->link[p] * b->inverse[k] * (double)l->b[l->strips.size + k];
  for (size_t j = 0; j < n; j++) {
    const double *column = m->coarsest + j * n;
    x[j] *= column[j];
    for (size_t i = j + 1; i < n; i++) x[i] -= column[i] * x[j];
  }
  for (size_t j = n; j-- > 0;) {
    const double *column = m->coarsest + j * n;
    double sum[4] = {x[j], 0, 0, 0};
    for (size_t i = j + 1; i < n; i++) sum[i % 4] -= column[i] * x[i];
    x[j] = ((sum[0] + sum[1]) + (sum[2] + sum[3])) * column[j];
  }
  for (size_t i = 0; i < n; i++) l->x[i + STRIP_FIRST] = (float)x[i];
  ul_bodies_relax(b, l->strips.size, l->b, l->x);
}
