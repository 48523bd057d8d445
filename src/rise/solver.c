#include "rise/solver.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "base/wide.h"
#include "rise/islands.h"
#include "rise/multigrid.h"
#include "rise/sums.h"

enum { MOST_ITERATIONS = 3000 };

/* The iterations carry the residual along in float, where it drifts from the true one by about 1e-7
 * of the most it was (1e-9 to 5e-7 measured). So it is taken afresh, in double, when this share of
 * that is left; and believed without that, with a margin, when it is to be no smaller. */
static const double FLOAT_TELLS = 1e-4, MARGIN = 0.99;

/* Energy of a new direction, as a share of what it was before the last one was taken out. */
static const double ALL_BUT_NONE = 1e-10;

struct ul_solver {
  packing packing;
  matrix a;
  islands islands;
  multigrid multigrid; /* its level 0's b: the residual; x: that preconditioned */
  size_t vector_room;
  double *x, *rest, *p; /* p: direction */
  float *q;             /* A p */
  double (*sum)[2];     /* per block: its parts of two sums */
  bool ready;
};

/* What a block of work is told. */
typedef struct {
  ul_solver *s;
  const double *source;
  double *value; /* load: NULL once the first guess is in x */
  double by, unit, turn;
} work;

size_t ul_solver_count(const ul_solver *solver) {
  return solver->packing.count;
}

size_t ul_solver_bytes(const ul_solver *solver) {
  return ul_packing_bytes(&solver->packing) + ul_matrix_bytes(&solver->a) +
         ul_multigrid_bytes(&solver->multigrid) + ul_islands_bytes(&solver->islands, &solver->a) +
         solver->vector_room * (3 * sizeof(double) + sizeof(float)) +
         solver->a.strips->block_count * sizeof *solver->sum;
}

/* ---- vectors, block by block; then the bodies ---- */

static ul_status run_blocks(work *w, ul_block_fn fn, const ul_job *job, double sum[2]) {
  const size_t blocks = w->s->a.strips->block_count;
  ul_status status = ul_parallel(job, NULL, blocks, fn, w);
  sum[0] = sum[1] = 0;
  for (size_t b = 0; b < blocks; b++)
    for (int i = 0; i < 2; i++) sum[i] += w->s->sum[b][i];
  return status;
}

/* The source, and the first guess. Sum: of |source|. */
static ul_status load_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const ul_solver *s = w->s;
  double sum = 0;
  for (const strip *t = live_first(s->a.strips, block); t < live_end(s->a.strips, block); t++) {
    const double *source = w->source + s->packing.number[t->start];
    const double *value = w->value ? w->value + s->packing.number[t->start] : NULL;
    const uint8_t *active = s->a.active + t->start;
    double *rest = s->rest + t->start, *x = s->x + t->start;
    for (size_t i = 0; i < t->count; i++) rest[i] = active[i] ? source[i] : 0;
    for (size_t i = 0; i < t->count; i++) sum += fabs(rest[i]);
    for (size_t i = 0; i < t->count && value; i++) x[i] = active[i] ? value[i] : 0;
  }
  s->sum[block][0] = sum;
  return UL_OK;
}

static ul_status load(work *w, const ul_job *job, double *size) {
  const ul_solver *s = w->s;
  const size_t count = s->packing.count, at = s->a.strips->size;
  double sum[2];
  ul_status status = run_blocks(w, load_block, job, sum);
  for (size_t b = 0; b < s->a.body_count; b++) {
    s->rest[at + b] = w->source[count + b];
    sum[0] += fabs(s->rest[at + b]);
    if (w->value) s->x[at + b] = w->value[count + b];
  }
  w->value = NULL;
  *size = sum[0];
  return status;
}

static ul_status store_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const ul_solver *s = w->s;
  for (const strip *t = live_first(s->a.strips, block); t < live_end(s->a.strips, block); t++) {
    double *value = w->value + s->packing.number[t->start];
    for (size_t i = 0; i < t->count; i++)
      if (s->a.active[t->start + i]) value[i] = s->x[t->start + i];
  }
  return UL_OK;
}

/* The new direction p = z + turn p, A p = q likewise, and by * unit of it: x += p, r -= q. What is
 * kept in double is p, lest x, with a level that may be far above its slopes, be rounded; q is what
 * r is in float. Turn 0 is the first one: nothing is known of p and q then. */
UL_WIDE static void step_run(const work *w, const level *l, const run *r) {
  const float *z = l->x + r->start, *az = l->y + r->start;
  double *restrict p = w->s->p + r->start, *restrict x = w->s->x + r->start;
  float *restrict q = w->s->q + r->start, *restrict residual = l->b + r->start;
  const double x_by = w->by * w->unit, p_turn = w->turn;
  const float by = (float)w->by, turn = (float)w->turn;
  if (w->turn == 0) {
    for (size_t i = 0; i < r->count; i++) x[i] += x_by * (p[i] = (double)z[i]);
    for (size_t i = 0; i < r->count; i++) residual[i] -= by * (q[i] = az[i]);
    return;
  }
  for (size_t i = 0; i < r->count; i++) x[i] += x_by * (p[i] = (double)z[i] + p_turn * p[i]);
  for (size_t i = 0; i < r->count; i++) residual[i] -= by * (q[i] = az[i] + turn * q[i]);
}

/* Sum: |r|. */
static ul_status step_block(void *context, size_t block, int worker) {
  (void)worker;
  const work *w = context;
  const level *l = &w->s->multigrid.level[0];
  double sum = 0;
  for (const run *r = run_first(&l->strips, block); r < run_end(&l->strips, block); r++) {
    step_run(w, l, r);
    sum += sum_magnitudes(l->b + r->start, r->count);
  }
  w->s->sum[block][0] = sum;
  return UL_OK;
}

static ul_status step(work *w, const ul_job *job, double *off) {
  const ul_solver *s = w->s;
  const level *l = &s->multigrid.level[0];
  const run bodies = {(uint32_t)s->a.strips->size, (uint32_t)s->a.body_count};
  double sum[2];
  ul_status status = run_blocks(w, step_block, job, sum);
  step_run(w, l, &bodies);
  *off = sum[0] + sum_magnitudes(l->b + bodies.start, bodies.count);
  return status;
}

/* ---- conjugate gradients ---- */

/* The residual as it is: in float `by` times what it is, which is of a size that suits float. */
typedef struct {
  double by, off, floor; /* off: the sum of magnitudes; floor: what of it may be rounding */
  double most;           /* off at its largest since then */
  double energy;         /* of the last direction; 0: there is none */
} state;

/* The residual afresh. */
static ul_status look(work *w, const ul_job *job, state *now) {
  const ul_solver *s = w->s;
  const double count = (double)matrix_size(&s->a);
  double size, guess = now->off;
  for (int again = 0; again < 2; again++) {
    ul_status status = load(w, job, &size);
    if (!(guess > 0)) guess = size > 0 ? size : 1;
    now->by = count / guess;
    if (status == UL_OK)
      status = ul_matrix_residual(&s->a, s->x, s->rest, now->by, s->multigrid.level[0].b, &now->off,
                                  &size, job);
    now->floor = 8 * DBL_EPSILON * size;
    if (status != UL_OK || !(now->off > 1e6 * guess || now->off < 1e-6 * guess)) return status;
    guess = now->off;
  }
  return UL_OK;
}

static ul_status set_levels(ul_solver *s, const ul_job *job, state *now) {
  ul_status status =
      ul_islands_level(&s->islands, &s->a, now->by, s->x, s->multigrid.level[0].b, &now->off, job);
  now->off /= now->by;
  return status;
}

/* From x on, until the residual carried along sums to `stop`, or to a share of the most it was. The
 * flexible form: the new direction is made conjugate to the last one whatever the preconditioner
 * did. A direction without energy ends it: the caller judges by the residual taken afresh. */
static ul_status iterate(work *w, state *now, double stop, const ul_job *job, int *iterations) {
  ul_solver *s = w->s;
  level *l = &s->multigrid.level[0];
  ul_status status = UL_OK;
  w->unit = s->multigrid.scale / now->by;
  now->most = now->off;
  while (status == UL_OK && now->off > fmax(stop, FLOAT_TELLS * now->most) &&
         *iterations < MOST_ITERATIONS) {
    status = ul_multigrid_cycle(&s->multigrid, job);
    if (status != UL_OK) break;
    const products z = ul_level_apply(&s->multigrid, l, l->x, s->q, l->y);
    const double share = now->energy > 0 ? z.cross / now->energy : 0;
    const double energy = z.energy - share * z.cross;
    if (!(energy > ALL_BUT_NONE * z.energy) || !(z.along > 0)) {
      now->energy = 0;
      break;
    }
    now->energy = energy;
    w->turn = -share;
    w->by = z.along / energy;
    status = step(w, job, &now->off);
    now->off /= now->by;
    now->most = fmax(now->most, now->off);
    ++*iterations;
  }
  return status == UL_OK ? s->multigrid.status : status;
}

static ul_status solve(work *w, double stop, double share, const ul_job *job, ul_solved *solved,
                       ul_error *err) {
  ul_solver *s = w->s;
  state now = {0};
  double before = INFINITY;
  ul_status status = look(w, job, &now);
  solved->began = now.off;
  stop = fmax(stop, share * solved->began);
  if (status == UL_OK) status = set_levels(s, job, &now);
  /* Where values grow without end because nothing holds them, so does their rounding: it is no
   * excuse for more than this. */
  const double most = fmax(now.floor, 0.01 * now.off);
  while (status == UL_OK && !(now.off <= fmax(stop, fmin(now.floor, most)))) {
    if (!(now.off < 0.5 * before))
      return ul_fail(err, UL_E_NUMBER,
                     "the linear system cannot be solved: after %d iterations a residual of %g is "
                     "left, to be under %g: is a part of the cavity held nowhere?",
                     solved->iterations, now.off, stop);
    before = now.off;
    status = iterate(w, &now, MARGIN * stop, job, &solved->iterations);
    if (status == UL_OK && now.off <= MARGIN * stop && stop >= FLOAT_TELLS * now.most) break;
    if (status == UL_OK) status = look(w, job, &now);
    if (status == UL_OK) status = set_levels(s, job, &now);
  }
  solved->residual = now.off;
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
  ul_status status = solve(&w, stop, share, job, &mine, err);
  double sum[2];
  w.value = value;
  ul_status stored = run_blocks(&w, store_block, job, sum);
  for (size_t b = 0; b < solver->a.body_count; b++)
    value[solver->packing.count + b] = solver->x[solver->a.strips->size + b];
  if (solved) *solved = mine;
  return status != UL_OK ? status : stored;
}

/* ---- a system, and the whole ---- */

static bool make_room(ul_solver *s, size_t size) {
  if (size <= s->vector_room) return true;
  const size_t room = size + size / 64; /* a few more bodies shall not move them again */
  s->vector_room = 0;
  free(s->x);
  free(s->rest);
  free(s->p);
  free(s->q);
  s->x = ul_new(room, sizeof *s->x);
  s->rest = ul_new(room, sizeof *s->rest);
  s->p = ul_new(room, sizeof *s->p);
  s->q = ul_new(room, sizeof *s->q);
  if (!s->x || !s->rest || !s->p || !s->q) return false;
  s->vector_room = room;
  return true;
}

ul_status ul_solver_set(ul_solver *solver, const ul_system *system, const ul_job *job,
                        ul_error *err) {
  solver->a.holds = solver->ready; /* else what failed half way is gone through in full */
  solver->ready = false;
  if (!make_room(solver, solver->a.strips->size + system->body_count)) return ul_fail_memory(err);
  ul_status status = ul_matrix_take(&solver->a, system, job, err);
  if (status == UL_OK) {
    status = ul_islands_find(&solver->islands, &solver->a, job);
    if (status == UL_E_MEMORY) return ul_fail_memory(err);
  }
  if (status == UL_OK) status = ul_multigrid_take(&solver->multigrid, &solver->a, job, err);
  solver->ready = status == UL_OK;
  return status;
}

static ul_status build(ul_solver *s, const int32_t n[3], const uint8_t *inside, const uint8_t *shut,
                       const ul_job *job, ul_error *err) {
  graph g;
  ul_status status = ul_packing_build(n, inside, shut, &s->packing, &g, err);
  if (status == UL_OK && !ul_job_tell(job, "numbering the cubes", 1))
    status = ul_fail(err, UL_E_STOPPED, "stopped on request");
  if (status == UL_OK) status = ul_multigrid_build(&g, &s->multigrid, err);
  ul_graph_clear(&g);
  if (status != UL_OK) return status;
  strips *finest = &s->multigrid.level[0].strips;
  s->sum = ul_new(finest->block_count, sizeof *s->sum);
  if (!s->sum) return ul_fail_memory(err);
  status = ul_matrix_build(&s->packing, finest, &s->a, err);
  if (status != UL_OK) return status;
  return ul_islands_build(&s->a, &s->islands) ? UL_OK : ul_fail_memory(err);
}

ul_status ul_solver_new(const int32_t n[3], const uint8_t *inside, const uint8_t *shut,
                        const ul_job *job, ul_solver **out, ul_error *err) {
  *out = NULL;
  ul_solver *s = ul_new(1, sizeof *s);
  if (!s) return ul_fail_memory(err);
  ul_status status = build(s, n, inside, shut, job, err);
  if (status != UL_OK) {
    ul_solver_free(s);
    return status;
  }
  *out = s;
  return UL_OK;
}

void ul_solver_free(ul_solver *solver) {
  if (!solver) return;
  ul_packing_clear(&solver->packing);
  ul_matrix_clear(&solver->a);
  ul_islands_clear(&solver->islands);
  ul_multigrid_clear(&solver->multigrid);
  free(solver->x);
  free(solver->rest);
  free(solver->p);
  free(solver->q);
  free(solver->sum);
  free(solver);
}
