/* The solver against CHOLMOD (SuiteSparse), a general sparse Cholesky that knows nothing of cubes.
 */
#include <math.h>
#include <stdlib.h>
#include <suitesparse/cholmod.h>

#include "base/memory.h"
#include "rise/sample.h"
#include "shapes/check.h"

static uint8_t in_tube_with_bulbs(const int32_t cube[3], const void *context) {
  (void)context;
  const double y = cube[1] - 9.5, z = cube[2] - 9.5;
  const double r = 5.5 + 4 * sin(cube[0] * 0.4);
  return y * y + z * z < r * r;
}

/* Links at random over three decades, a fifth of the cubes left out, a body of air at each end. */
static void make(sample *s) {
  uint64_t state = 7;
  sample_make(s, (int32_t[3]){40, 20, 20}, in_tube_with_bulbs, NULL);
  for (size_t i = 0; i < s->count; i++) {
    for (int a = 0; a < 3; a++) s->link[a][i] = pow(10, 3 * sample_random(&state) - 2);
    s->active[i] = sample_random(&state) < 0.8;
    s->hold[i] = 1e-5 * sample_random(&state);
  }
  s->body_count = 2;
  s->body_cube = ul_new(s->count, sizeof *s->body_cube);
  s->body_link = ul_new(s->count, sizeof *s->body_link);
  size_t links = 0;
  for (size_t b = 0; b < 2; b++) {
    s->body_first[b] = links;
    s->body_hold[b] = 0.1;
    for (size_t i = 0; i < s->count; i++)
      if (s->at[i] % 40 == 39 * b) {
        s->body_cube[links] = (uint32_t)i;
        s->body_link[links++] = 1;
      }
  }
  s->body_first[2] = links;
}

static void add(void *to, size_t row, size_t column, double v) {
  cholmod_triplet *t = to;
  ((int *)t->i)[t->nnz] = (int)row;
  ((int *)t->j)[t->nnz] = (int)column;
  ((double *)t->x)[t->nnz++] = v;
}

static void a_tube_with_bulbs_solves_as_cholmod_does(void **state) {
  (void)state;
  sample s;
  make(&s);
  const size_t size = s.count + s.body_count;
  cholmod_common common;
  cholmod_start(&common);
  cholmod_triplet *list =
      cholmod_allocate_triplet(size, size, 20 * size, -1, CHOLMOD_REAL, &common);
  sample_entries(&s, add, list);
  cholmod_sparse *matrix = cholmod_triplet_to_sparse(list, 0, &common);
  cholmod_factor *factor = cholmod_analyze(matrix, &common);
  assert_true(cholmod_factorize(matrix, factor, &common) && common.status == CHOLMOD_OK);
  cholmod_dense *b = cholmod_zeros(size, 1, CHOLMOD_REAL, &common);
  double *x = ul_new(size, sizeof *x), *source = b->x, largest = 0;
  uint64_t random = 3;
  for (size_t i = 0; i < size; i++)
    source[i] = i < s.count && !s.active[i] ? 0 : sample_random(&random) - 0.2;
  cholmod_dense *want = cholmod_solve(CHOLMOD_A, factor, b, &common);

  ul_solver *solver = NULL;
  ul_system system = sample_system(&s);
  ul_error err = {0};
  assert_ok(ul_solver_new(s.n, s.inside, s.shut, NULL, &solver, &err), &err);
  assert_ok(ul_solver_set(solver, &system, NULL, &err), &err);
  assert_ok(ul_solver_solve(solver, source, x, 1e-9, NULL, NULL, &err), &err);
  for (size_t i = 0; i < size; i++) largest = fmax(largest, fabs(((double *)want->x)[i]));
  for (size_t i = 0; i < size; i++) assert_near(x[i], ((double *)want->x)[i], 1e-8 * largest);

  ul_solver_free(solver);
  free(x);
  cholmod_free_dense(&want, &common);
  cholmod_free_dense(&b, &common);
  cholmod_free_factor(&factor, &common);
  cholmod_free_sparse(&matrix, &common);
  cholmod_free_triplet(&list, &common);
  cholmod_finish(&common);
  sample_free(&s);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_tube_with_bulbs_solves_as_cholmod_does),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
