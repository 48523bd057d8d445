/* matrix.h - one system of the solver, in double, on the packed cubes. */
#ifndef UL_RISE_MATRIX_H
#define UL_RISE_MATRIX_H

#include "rise/solver.h"
#include "rise/strips.h"

/* A vector has the strips' entries first, its idle ones 0, then one entry a body. */
typedef struct matrix {
  strips strips;
  double *link[3]; /* per entry: to the cube on the + side, 0 where there is none in the system */
  double *hold;    /* per entry */
  uint8_t *active; /* per entry */
  size_t body_count, body_room, link_room;
  double *body_hold;   /* per body */
  size_t *body_first;  /* per body, and an end */
  uint32_t *body_cube; /* per link of a body: entry */
  double *body_link;
  double *part; /* per block: its part of a sum */
} matrix;

/* *out needs ul_matrix_clear(), also after a failure. */
ul_status ul_matrix_build(const int32_t n[3], const uint8_t *inside, const uint8_t *shut,
                          matrix *out, ul_error *err);
void ul_matrix_clear(matrix *m);
size_t ul_matrix_bytes(const matrix *m);

/* See ul_solver_set(). */
ul_status ul_matrix_take(matrix *m, const ul_system *system, const ul_job *job, ul_error *err);

/* out = A in; *dot, where not NULL, becomes in . out. */
ul_status ul_matrix_apply(const matrix *m, const double *in, double *out, double *dot,
                          const ul_job *job);
/* out = diagonal of A, 0 for what is not active. */
ul_status ul_matrix_diagonal(const matrix *m, double *out, const ul_job *job);

static inline size_t matrix_size(const matrix *m) {
  return m->strips.size + m->body_count;
}

#endif
