#include "rise/solver.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "rise/multigrid.h"
#include "rise/sums.h"

enum { MOST_ITERATIONS = 3000 };

struct ul_solver {
  matrix a;
  size_t vector_room;
  double *x, *r, *p, *q;
  double *diagonal;
  multigrid multigrid; /* its x: the preconditioned residual */
  double (*sum)[2];    /* per block: its parts of two sums */
  bool ready;
};

/* What a block of work is told. */
typedef struct {
  ul_solver *s;
  const double *source;
  double *value;
  double by;
} work;

size_t ul_solver_count(const ul_solver *solver) {
  return solver->a.strips.cube_count;
}

size_t ul_solver_bytes(const ul_solver *solver) {
  return ul_matrix_bytes(&solver->a) + ul_multigrid_bytes(&solver->multigrid) +
         solver->vector_room * 5 * sizeof(double) +
         solver->a.strips.block_count * sizeof *solver->sum;
}

/* ---- vectors, block by block; the last block takes in the bodies ---- */

static size_t vector_to(const ul_solver *s, size_t block) {
  return block + 1 < s->a.strips.block_count ? strips_to(&s->a.strips, block) : matrix_size(&s->a);
}

static ul_status run(work *w, ul_block_fn fn, const ul_job *job, double sum[2]) {
  const size_t blocks = w->s->a.strips.block_count;
  ul_status status = ul_parallel(job, NULL, blocks, fn, w);
  sum[0] = sum[1] = 0;
  for (size_t b = 0; b < blocks; b++)
    for (int i = 0; i < 2; i++) sum[i] += w->s->sum[b][i];
  return status;
}

static ul_status load_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const ul_solver *s = w->s;
  const size_t count = s->a.strips.cube_count, blocks = s->a.strips.block_count;
  for (size_t i = count * block / blocks; i < count * (block + 1) / blocks; i++) {
    const size_t at = s->a.strips.place[i];
    s->r[at] = s->a.active[at] ? w->source[i] : 0;
    if (w->value) s->x[at] = s->a.active[at] ? w->value[i] : 0;
  }
  return UL_OK;
}

static ul_status store_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const ul_solver *s = w->s;
  const size_t count = s->a.strips.cube_count, blocks = s->a.strips.block_count;
  for (size_t i = count * block / blocks; i < count * (block + 1) / blocks; i++) {
    const size_t at = s->a.strips.place[i];
    if (s->a.active[at]) w->value[i] = s->x[at];
  }
  return UL_OK;
}

/* r = source - A x, the source being in r and A x in q. Sums: of |r|, and of |diagonal x|, whose
 * last digits are what double arithmetic can tell. */
static ul_status residual_block(void *context, size_t block, int worker) {
  (void)worker;
  const ul_solver *s = ((const work *)context)->s;
  double off = 0, size = 0;
  for (size_t i = strips_from(&s->a.strips, block); i < vector_to(s, block); i++) {
    s->r[i] -= s->q[i];
    off += fabs(s->r[i]);
    size += s->diagonal[i] * fabs(s->x[i]);
  }
  s->sum[block][0] = off;
  s->sum[block][1] = size;
  return UL_OK;
}

/* The preconditioner's right-hand side: r, brought to a size that suits float. */
static ul_status hand_over_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const ul_solver *s = w->s;
  for (size_t i = strips_from(&s->a.strips, block); i < vector_to(s, block); i++)
    s->multigrid.b[i] = (float)(w->by * s->r[i]);
  return UL_OK;
}

/* Sums: z r and z q. */
static ul_status products_block(void *context, size_t block, int worker) {
  (void)worker;
  const ul_solver *s = ((const work *)context)->s;
  const size_t from = strips_from(&s->a.strips, block), count = vector_to(s, block) - from;
  s->sum[block][0] = sum_products_f(s->multigrid.x + from, s->r + from, count);
  s->sum[block][1] = sum_products_f(s->multigrid.x + from, s->q + from, count);
  return UL_OK;
}

/* p = z + by p */
static ul_status direction_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const ul_solver *s = w->s;
  for (size_t i = strips_from(&s->a.strips, block); i < vector_to(s, block); i++)
    s->p[i] = s->multigrid.x[i] + w->by * s->p[i];
  return UL_OK;
}

/* x += by p, r -= by q. Sum: |r|. */
static ul_status step_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const ul_solver *s = w->s;
  const size_t from = strips_from(&s->a.strips, block), to = vector_to(s, block);
  for (size_t i = from; i < to; i++) s->x[i] += w->by * s->p[i];
  for (size_t i = from; i < to; i++) s->r[i] -= w->by * s->q[i];
  s->sum[block][0] = sum_magnitudes(s->r + from, to - from);
  s->sum[block][1] = 0;
  return UL_OK;
}

/* ---- conjugate gradients ---- */

/* From x on, until the recurrence says that |r| sums to `stop`. The flexible form: the new
 * direction is made conjugate to the last one whatever the preconditioner did. A direction without
 * energy ends it: the caller judges by the residual computed afresh. */
static ul_status iterate(work *w, double off, double stop, const ul_job *job, int *iterations) {
  ul_solver *s = w->s;
  ul_status status = UL_OK;
  double energy = 0, sum[2];
  memset(s->p, 0, matrix_size(&s->a) * sizeof *s->p);
  while (status == UL_OK && off > stop && *iterations < MOST_ITERATIONS) {
    w->by = (double)matrix_size(&s->a) / off;
    status = run(w, hand_over_block, job, sum);
    if (status == UL_OK) status = ul_multigrid_cycle(&s->multigrid, job);
    if (status == UL_OK) status = run(w, products_block, job, sum);
    const double along = sum[0];
    w->by = energy > 0 ? -sum[1] / energy : 0;
    if (status == UL_OK) status = run(w, direction_block, job, sum);
    if (status == UL_OK) status = ul_matrix_apply(&s->a, s->p, s->q, &energy, job);
    if (status != UL_OK || !(energy > 0) || !(along > 0)) break;
    w->by = along / energy;
    status = run(w, step_block, job, sum);
    off = sum[0];
    ++*iterations;
  }
  return status;
}

/* The residual afresh, into r. `floor`: what of it may be rounding. */
static ul_status look(work *w, const ul_job *job, double *off, double *floor) {
  ul_solver *s = w->s;
  const size_t count = s->a.strips.cube_count, size = s->a.strips.size;
  double sum[2];
  ul_status status = run(w, load_block, job, sum);
  for (size_t b = 0; b < s->a.body_count; b++) {
    s->r[size + b] = w->source[count + b];
    if (w->value) s->x[size + b] = w->value[count + b];
  }
  w->value = NULL;
  if (status == UL_OK) status = ul_matrix_apply(&s->a, s->x, s->q, NULL, job);
  if (status == UL_OK) status = run(w, residual_block, job, sum);
  *off = sum[0];
  *floor = 8 * DBL_EPSILON * sum[1];
  return status;
}

static ul_status solve(work *w, double stop, double share, const ul_job *job, ul_solved *solved,
                       ul_error *err) {
  double floor, before = INFINITY;
  ul_status status = look(w, job, &solved->residual, &floor);
  solved->began = solved->residual;
  stop = fmax(stop, share * solved->began);
  /* Where values grow without end because nothing holds them, so does their rounding: it is no
   * excuse for more than this. */
  const double most = fmax(floor, 0.01 * solved->residual);
  /* Rounding lets the recurrence's residual drift from the true one: then it is begun again, as
   * long as that helps. */
  while (status == UL_OK && !(solved->residual <= fmax(stop, fmin(floor, most)))) {
    if (!(solved->residual < 0.5 * before))
      return ul_fail(err, UL_E_NUMBER,
                     "the linear system cannot be solved: after %d iterations a residual of %g is "
                     "left, to be under %g: is a part of the cavity held nowhere?",
                     solved->iterations, solved->residual, stop);
    before = solved->residual;
    status = iterate(w, before, stop, job, &solved->iterations);
    if (status == UL_OK) status = look(w, job, &solved->residual, &floor);
  }
  return status;
}

ul_status ul_solver_solve(ul_solver *solver, const double *source, double *value, double stop,
                          const ul_job *job, ul_solved *solved, ul_error *err) {
  return ul_solver_improve(solver, source, value, stop, 0, job, solved, err);
}

ul_status ul_solver_improve(ul_solver *solver, const double *source, double *value, double stop,
                            double share, const ul_job *job, ul_solved *solved, ul_error *err) {
  if (!solver->ready) return ul_fail(err, UL_E_USAGE, "the solver was given no system to solve");
  ul_solved mine = {0};
  work w = {.s = solver, .source = source, .value = value};
  const size_t count = solver->a.strips.cube_count;
  ul_status status = solve(&w, stop, share, job, &mine, err);
  double sum[2];
  w.value = value;
  ul_status stored = run(&w, store_block, job, sum);
  for (size_t b = 0; b < solver->a.body_count; b++)
    value[count + b] = solver->x[solver->a.strips.size + b];
  if (solved) *solved = mine;
  return status != UL_OK ? status : stored;
}

/* ---- a system, and the whole ---- */

static bool make_room(ul_solver *s, size_t size) {
  double **vector[] = {&s->x, &s->r, &s->p, &s->q, &s->diagonal};
  if (size <= s->vector_room) return true;
  const size_t room = size + size / 64; /* a few more bodies shall not move them again */
  s->vector_room = 0;
  for (size_t i = 0; i < sizeof vector / sizeof *vector; i++) {
    free(*vector[i]);
    if (!(*vector[i] = ul_new(room, sizeof(double)))) return false;
  }
  s->vector_room = room;
  return true;
}

ul_status ul_solver_set(ul_solver *solver, const ul_system *system, const ul_job *job,
                        ul_error *err) {
  solver->ready = false;
  if (!make_room(solver, solver->a.strips.size + system->body_count)) return ul_fail_memory(err);
  ul_status status = ul_matrix_take(&solver->a, system, job, err);
  if (status == UL_OK) status = ul_matrix_diagonal(&solver->a, solver->diagonal, job);
  if (status == UL_OK)
    status = ul_multigrid_take(&solver->multigrid, &solver->a, solver->diagonal, job, err);
  solver->ready = status == UL_OK;
  return status;
}

ul_status ul_solver_new(const int32_t n[3], const uint8_t *inside, const uint8_t *shut,
                        const ul_job *job, ul_solver **out, ul_error *err) {
  *out = NULL;
  ul_solver *s = ul_new(1, sizeof *s);
  if (!s) return ul_fail_memory(err);
  ul_status status = ul_matrix_build(n, inside, shut, &s->a, err);
  if (status == UL_OK && !ul_job_tell(job, "numbering the cubes", 1))
    status = ul_fail(err, UL_E_STOPPED, "stopped on request");
  if (status == UL_OK) status = ul_multigrid_build(&s->a.strips, &s->multigrid, err);
  if (status == UL_OK && !(s->sum = ul_new(s->a.strips.block_count, sizeof *s->sum)))
    status = ul_fail_memory(err);
  if (status != UL_OK) {
    ul_solver_free(s);
    return status;
  }
  *out = s;
  return UL_OK;
}

void ul_solver_free(ul_solver *solver) {
  if (!solver) return;
  ul_matrix_clear(&solver->a);
  free(solver->x);
  free(solver->r);
  free(solver->p);
  free(solver->q);
  ul_multigrid_clear(&solver->multigrid);
  free(solver->diagonal);
  free(solver->sum);
  free(solver);
}
