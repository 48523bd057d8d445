#include <math.h>
#include <string.h>

#include "rise/multigrid.h"

/* Of a pivot less than this share of its diagonal is left: the part is held nowhere. */
static const double NOTHING_LEFT = 1e-13;

/* The last level's matrix, lower triangle. Bodies, linked to nodes only, are eliminated: a body of
 * diagonal d takes w w^T / d off. */
static void assemble(const level *l, double *a) {
  const size_t n = l->count;
  memset(a, 0, n * n * sizeof *a);
  for (uint32_t i = 0; i < n; i++) {
    a[i * n + i] += l->hold[i];
    for (uint32_t k = l->first[i]; k < l->first[i + 1]; k++) {
      a[i * n + i] += l->link[k];
      if (l->node[k] < i) a[i * n + l->node[k]] -= l->link[k];
    }
  }
  const bodies *b = &l->bodies;
  for (size_t k = 0; k < b->count; k++)
    for (size_t p = b->first[k]; p < b->first[k + 1]; p++) {
      a[b->node[p] * n + b->node[p]] += b->link[p];
      for (size_t q = b->first[k]; q < b->first[k + 1]; q++)
        if (b->node[q] <= b->node[p])
          a[b->node[p] * n + b->node[q]] -= (double)b->link[p] * b->link[q] * b->inverse[k];
    }
}

/* Cholesky; 1 / pivot on the diagonal, 0 where nothing was left. */
void ul_coarsest_factor(multigrid *m) {
  const level *l = &m->level[m->level_count - 1];
  const size_t n = l->count;
  double *a = m->coarsest;
  assemble(l, a);
  for (size_t i = 0; i < n; i++) {
    const double whole = a[i * n + i];
    for (size_t j = 0; j <= i; j++) {
      double sum = a[i * n + j];
      for (size_t k = 0; k < j; k++) sum -= a[i * n + k] * a[j * n + k];
      if (j < i)
        a[i * n + j] = sum * a[j * n + j];
      else
        a[i * n + i] = sum > NOTHING_LEFT * whole ? 1 / sqrt(sum) : 0;
    }
  }
}

void ul_coarsest_solve(const multigrid *m) {
  const level *l = &m->level[m->level_count - 1];
  const bodies *b = &l->bodies;
  const size_t n = l->count;
  const double *a = m->coarsest;
  double x[COARSEST_NODES];
  for (size_t i = 0; i < n; i++) x[i] = l->b[i];
  for (size_t k = 0; k < b->count; k++)
    for (size_t p = b->first[k]; p < b->first[k + 1]; p++)
      x[b->node[p]] += (double)b->link[p] * b->inverse[k] * l->b[n + k];
  for (size_t i = 0; i < n; i++) {
    for (size_t k = 0; k < i; k++) x[i] -= a[i * n + k] * x[k];
    x[i] *= a[i * n + i];
  }
  for (size_t i = n; i-- > 0;) {
    for (size_t k = i + 1; k < n; k++) x[i] -= a[k * n + i] * x[k];
    x[i] *= a[i * n + i];
  }
  for (size_t i = 0; i < n; i++) l->x[i] = (float)x[i];
  ul_bodies_relax(b, n, l->b, l->x);
}
