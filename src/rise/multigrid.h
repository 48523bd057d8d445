/* multigrid.h - the solver's preconditioner: one cycle over ever coarser aggregates of cubes.
 *
 * Level 0 is the packed cubes. An aggregate is what hangs together of 2 x 2 x 2 cells of a level,
 * so two sides of a thin wall never become one. The matrix of a level is P^T A P, P being 1 from an
 * aggregate to its members: links between aggregates are sums of links, holds are sums of holds.
 * Each coarser level is solved by two steps of flexible conjugate gradients over a cycle of the
 * next one (K-cycle, Notay & Vassilevski 2008), which finds by itself how far to over-correct.
 * Bodies stay unknowns of their own on every level.
 *
 * Cells have two colours, as on a chessboard, and no link joins two of one colour: a sweep is
 * Gauss-Seidel, colour by colour. Numbers are float, scaled so that the largest diagonal is
 * about 1.
 */
#ifndef UL_RISE_MULTIGRID_H
#define UL_RISE_MULTIGRID_H

#include "base/parallel.h"
#include "rise/bodies.h"
#include "rise/extras.h"
#include "rise/matrix.h"

enum { MOST_LEVELS = 40, COARSEST_NODES = 64 };

/* What a node is and what becomes of its links on the next level: NODE_LIFTS << a is set where the
 * one along axis a becomes part of its aggregate's along that axis, NODE_LIFTS_EXTRA << a where of
 * an extra one. */
enum { NODE_LIFTS = 1, NODE_LIFTS_EXTRA = 8, NODE_FIRST_COLOUR = 64 };

typedef struct level {
  strips strips;
  extras extras;
  bodies bodies;
  /* Per entry. */
  float *link[3]; /* to the node on the + side */
  float *hold;
  float *inverse;  /* 1 / diagonal, less than 0 for the second colour; 0 where nothing is active */
  uint8_t *is;     /* see above */
  int32_t *coarse; /* entry of its aggregate on the next level, 0 when it has no links at all */
  uint32_t *block_coarse; /* per block, and an end: entry of its first aggregate */
  /* Vectors: entries, then bodies. b: right-hand side; x: solution; y: scratch; on the coarser
   * levels c, v: first direction of the K-cycle and A c. */
  float *b, *x, *y, *c, *v;
} level;

typedef struct multigrid {
  size_t vector_bodies; /* bodies for which the vectors have room */
  size_t level_count;   /* the last one is solved directly, but not level 0 */
  level level[MOST_LEVELS];
  double *coarsest; /* its Cholesky factor, the bodies eliminated */
  int32_t *slot;    /* scratch of ul_bodies_lift() */
  double *part;     /* per block of any level: parts of up to three sums */
  double scale;     /* of the coefficients: this times those of the matrix */
  const ul_job *job;
  ul_status status;
} multigrid;

/* `g`, the cubes, is used up. *out needs ul_multigrid_clear(), also after a failure. */
ul_status ul_multigrid_build(graph *g, multigrid *out, ul_error *err);
void ul_multigrid_clear(multigrid *m);
size_t ul_multigrid_bytes(const multigrid *m);

/* Takes the coefficients of `a`, the system of level 0, for all levels. */
ul_status ul_multigrid_take(multigrid *m, const matrix *a, const ul_job *job, ul_error *err);

/* Level 0's x becomes about A^-1 b, times a constant. */
ul_status ul_multigrid_cycle(multigrid *m, const ul_job *job);

/* ---- between its own files ---- */

/* Runs a block function over `count` blocks, a single one without a thread. */
void ul_multigrid_run(multigrid *m, size_t count, ul_block_fn block, void *work);

/* Down: x from 0 by a sweep; what is left becomes the next level's b. Up: adds the next level's x,
 * and a sweep in the opposite order. In sweep.c. */
void ul_level_down(multigrid *m, level *l);
void ul_level_up(multigrid *m, level *l);

/* x . A x, x . b, x . f. */
typedef struct products {
  double energy, along, cross;
} products;

/* out = A x; f may be NULL. */
products ul_level_apply(multigrid *m, level *l, const float *x, const float *f, float *out);

/* The last level, directly; in coarsest.c. */
void ul_coarsest_factor(multigrid *m);
void ul_coarsest_solve(const multigrid *m);

#endif
