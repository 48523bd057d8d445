/* multigrid.h - the solver's preconditioner: one cycle over ever coarser aggregates of cubes.
 *
 * Level 0 is the packed cubes. An aggregate is what hangs together of 2 x 2 x 2 cells of a level,
 * so two sides of a thin wall never become one. The matrix of a level is P^T A P, P being 1 from an
 * aggregate to its members: links between aggregates are sums of links, holds are sums of holds.
 * Each level is solved by two steps of flexible conjugate gradients over a cycle of the next one
 * (K-cycle, Notay & Vassilevski 2008), which finds by itself how far to over-correct. Bodies stay
 * unknowns of their own on every level. Numbers are float, scaled so that the largest diagonal is
 * 1; products are written in differences, so that a constant costs no digits. */
#ifndef UL_RISE_MULTIGRID_H
#define UL_RISE_MULTIGRID_H

#include "base/parallel.h"
#include "rise/bodies.h"
#include "rise/matrix.h"

enum { MOST_LEVELS = 40, COARSEST_NODES = 96, LEVEL_BLOCK_NODES = 16384 };

/* One coarser level: nodes in Morton order of their rows, a row of links each. */
typedef struct level {
  size_t count;
  uint32_t *first;  /* links of node i: first[i] to first[i+1]-1, neighbours rising */
  uint32_t *upper;  /* of them, the first to a neighbour of higher number */
  uint32_t *node;   /* per link: the neighbour */
  uint32_t *twin;   /* per link: the same link in the neighbour's row */
  float *link;      /* per link */
  float *hold;      /* per node */
  float *inverse;   /* per node: 1 / diagonal, 0 where nothing is active */
  int32_t *coarse;  /* per node: its aggregate, -1 when it has no links at all */
  uint32_t *colour; /* nodes of each block, those of colour 0 first */
  size_t block_count;
  uint32_t *block_node;   /* per block, and an end: its first node */
  uint32_t *block_second; /* per block: where its colour 1 begins in `colour` */
  uint32_t *block_coarse; /* per block, and an end: its first aggregate */
  bodies bodies;
  /* Vectors: nodes, then bodies. b: right-hand side; e: b and what bodies add to it; x: solution;
   * c, v: first direction of the K-cycle and A c. */
  float *b, *e, *x, *c, *v;
} level;

typedef struct multigrid {
  const strips *strips;
  /* level 0, per entry, then bodies */
  float *link[3], *hold, *inverse, *b, *x;
  int32_t *coarse;
  uint32_t *block_cube, *block_coarse; /* per block of strips, and an end */
  bodies bodies;
  size_t vector_bodies; /* bodies for which the vectors have room */
  size_t level_count;   /* coarser levels; the last one is solved directly */
  level level[MOST_LEVELS];
  double *coarsest; /* its Cholesky factor, the bodies eliminated */
  int32_t *slot;    /* scratch of ul_bodies_lift() */
  double *part;     /* per block of any level: parts of up to three sums */
  const ul_job *job;
  ul_status status;
} multigrid;

/* *out needs ul_multigrid_clear(), also after a failure. `strips` is borrowed. */
ul_status ul_multigrid_build(const strips *strips, multigrid *out, ul_error *err);
void ul_multigrid_clear(multigrid *m);
size_t ul_multigrid_bytes(const multigrid *m);

/* Takes the coefficients of `a` and of every coarser level. */
ul_status ul_multigrid_take(multigrid *m, const matrix *a, const double *diagonal,
                            const ul_job *job, ul_error *err);

/* m->x becomes about A^-1 of m->b, times a constant; m->b is used up. */
ul_status ul_multigrid_cycle(multigrid *m, const ul_job *job);

/* ---- between its own files ---- */

/* Runs a block function over `count` blocks, a single one without a thread. */
void ul_multigrid_run(multigrid *m, size_t count, ul_block_fn block, void *work);

/* The last level, directly; in coarsest.c. */
void ul_coarsest_factor(multigrid *m);
void ul_coarsest_solve(const multigrid *m);

/* Level 0, in finest.c. Down: from x = 0 a sweep, and the residual summed into level 1's b. Up:
 * adds level 1's x, and a sweep in the opposite order. */
void ul_finest_take(multigrid *m, const matrix *a, const double *diagonal, double scale);
void ul_finest_down(multigrid *m);
void ul_finest_up(multigrid *m);

#endif
