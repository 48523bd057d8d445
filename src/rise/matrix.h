/* matrix.h - one system of the solver, in double, on the packed cubes. */
#ifndef UL_RISE_MATRIX_H
#define UL_RISE_MATRIX_H

#include "rise/packing.h"
#include "rise/solver.h"

/* Of a strip: what is active lies in the entries from..to-1. */
typedef struct {
  uint32_t from, to;
} stretch;

/* A vector has the strips' entries first, then one entry a body. */
typedef struct matrix {
  const packing *packing;
  strips *strips;   /* borrowed, as is the packing; what of them is live is set here */
  double *link[3];  /* per entry: to the cube on the + side, 0 where there is none in the system */
  double *hold;     /* per entry */
  uint8_t *active;  /* per entry of what is live */
  stretch *stretch; /* per strip */
  bool holds;       /* a system, to which the next one may be told as changes */
  bool whole;       /* the last one was taken in full */
  run *taken;       /* per strip: the entries that the last one changed */
  uint8_t *block_taken; /* per block: whether there are any */
  size_t body_count, body_room, link_room;
  double *body_hold;   /* per body */
  size_t *body_first;  /* per body, and an end */
  uint32_t *body_cube; /* per link of a body: entry */
  double *body_link;
  double most;        /* of the size of the largest diagonal */
  double *block_most; /* per block: of its own */
  double *part;       /* per block: its part of two sums */
} matrix;

/* *out needs ul_matrix_clear(), also after a failure. */
ul_status ul_matrix_build(const packing *packing, strips *strips, matrix *out, ul_error *err);
void ul_matrix_clear(matrix *m);
size_t ul_matrix_bytes(const matrix *m);

/* See ul_solver_set(). */
ul_status ul_matrix_take(matrix *m, const ul_system *system, const ul_job *job, ul_error *err);

/* For cubes i of `strip`, from entry `from` to to-1: the sum of their links, their holds and, not
 * counted, those to bodies. */
void ul_matrix_diagonal(const matrix *m, const strip *t, uint32_t from, uint32_t to, double *out);

/* residual = by (rest - A x), where `rest` is the source, for active cubes; it is used up. *off
 * becomes the sum of |rest - A x|, *size that of |diagonal x|, whose last digits are what double
 * arithmetic can tell. */
ul_status ul_matrix_residual(const matrix *m, const double *x, double *rest, double by,
                             float *residual, double *off, double *size, const ul_job *job);

static inline size_t matrix_size(const matrix *m) {
  return m->strips->size + m->body_count;
}

#endif
