/* sample.h - linear systems on small cavities for the solver's tests, kept as plain lists of links,
 * so that what they are compared with shares nothing with the solver's own storage. */
#ifndef TEST_RISE_SAMPLE_H
#define TEST_RISE_SAMPLE_H

#include "rise/solver.h"

typedef struct sample {
  int32_t n[3];
  uint8_t *inside;  /* per cube of the lattice */
  size_t count;     /* cubes inside */
  uint32_t *at;     /* per numbered cube: in the lattice */
  uint32_t *number; /* per cube of the lattice: numbered cube, UINT32_MAX outside */
  uint8_t *shut, *active;
  double *link[3], *hold;
  size_t body_count, body_first[9];
  uint32_t *body_cube;
  double body_hold[8], *body_link;
} sample;

/* Repeatable numbers in [0, 1). */
double sample_random(uint64_t *state);

/* All of it from a mask; every face open, every cube active, links 1, holds 0, no body. */
void sample_make(sample *s, const int32_t n[3], uint8_t (*in)(const int32_t cube[3], const void *),
                 const void *context);
void sample_free(sample *s);
ul_system sample_system(const sample *s);

/* Calls `entry` for the lower triangle of the matrix as the header of solver.h defines it, entries
 * of one place to be summed; cubes that are not active get 1 on the diagonal. */
void sample_entries(const sample *s, void (*entry)(void *to, size_t row, size_t column, double v),
                    void *to);
/* Sum of |source - A x| over active unknowns. */
double sample_residual(const sample *s, const double *source, const double *x);

#endif
