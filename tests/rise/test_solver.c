#include "rise/solver.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "rise/sample.h"
#include "shapes/check.h"

/* ---- a second method: dense Cholesky ---- */

typedef struct {
  size_t n;
  double *a;
} dense;

static void add(void *to, size_t row, size_t column, double v) {
  dense *d = to;
  d->a[row * d->n + column] += v;
}

static void cholesky_solve(dense *d, double *b) {
  const size_t n = d->n;
  for (size_t i = 0; i < n; i++) {
    for (size_t j = 0; j <= i; j++) {
      double sum = d->a[i * n + j];
      for (size_t k = 0; k < j; k++) sum -= d->a[i * n + k] * d->a[j * n + k];
      d->a[i * n + j] = j < i ? sum / d->a[j * n + j] : sqrt(sum);
    }
    for (size_t k = 0; k < i; k++) b[i] -= d->a[i * n + k] * b[k];
    b[i] /= d->a[i * n + i];
  }
  for (size_t i = n; i-- > 0;) {
    for (size_t k = i + 1; k < n; k++) b[i] -= d->a[k * n + i] * b[k];
    b[i] /= d->a[i * n + i];
  }
}

static uint8_t random_cube(const int32_t cube[3], const void *context) {
  uint64_t state = *(const uint64_t *)context ^ (uint64_t)(cube[0] + 97 * cube[1] + 9409 * cube[2]);
  for (int i = 0; i < 3; i++) sample_random(&state);
  return sample_random(&state) < 0.72;
}

/* Links over six decades, shut faces, cubes left out, holds here and there, three bodies. */
static void make_random(sample *s, uint64_t state, const int32_t n[3]) {
  sample_make(s, n, random_cube, &state);
  for (size_t i = 0; i < s->count; i++) {
    for (int a = 0; a < 3; a++) s->link[a][i] = pow(10, 6 * sample_random(&state) - 4);
    if (sample_random(&state) < 0.05) s->shut[i] = (uint8_t)(8 * sample_random(&state));
    s->active[i] = sample_random(&state) < 0.9;
    s->hold[i] = sample_random(&state) < 0.3 ? sample_random(&state) : 1e-3;
  }
  s->body_count = 3;
  s->body_cube = ul_new(s->count, sizeof *s->body_cube);
  s->body_link = ul_new(s->count, sizeof *s->body_link);
  size_t links = 0;
  for (size_t b = 0; b < s->body_count; b++) {
    s->body_hold[b] = b ? 0.5 : 0;
    s->body_first[b] = links;
    for (size_t i = b; i < s->count; i += 9) {
      s->body_cube[links] = (uint32_t)i;
      s->body_link[links++] = 3 * sample_random(&state);
    }
  }
  s->body_first[s->body_count] = links;
}

static ul_solver *set_up(const sample *s, const ul_job *job) {
  ul_solver *solver = NULL;
  ul_error err = {0};
  assert_ok(ul_solver_new(s->n, s->inside, s->shut, job, &solver, &err), &err);
  assert_int_equal(ul_solver_count(solver), s->count);
  ul_system system = sample_system(s);
  assert_ok(ul_solver_set(solver, &system, job, &err), &err);
  return solver;
}

static void random_systems_solve_as_dense_cholesky_does(void **state) {
  (void)state;
  for (uint64_t draw = 1; draw <= 12; draw++) {
    const int32_t n[3] = {3 + (int32_t)(draw % 5), 4 + (int32_t)(draw % 7), 2 + (int32_t)draw};
    sample s;
    make_random(&s, draw, n);
    const size_t size = s.count + s.body_count;
    double *source = ul_new(size, sizeof *source), *x = ul_new(size, sizeof *x);
    double *want = ul_new(size, sizeof *want), most = 0;
    uint64_t random = draw;
    for (size_t i = 0; i < size; i++) source[i] = sample_random(&random) - 0.3;
    for (size_t i = 0; i < size; i++)
      want[i] = i < s.count && !s.active[i] ? (x[i] = 7) : source[i];
    dense d = {size, ul_new(size * size, sizeof(double))};
    sample_entries(&s, add, &d);
    cholesky_solve(&d, want);
    ul_solver *solver = set_up(&s, NULL);
    ul_solved solved;
    ul_error err = {0};
    assert_ok(ul_solver_solve(solver, source, x, 1e-12, NULL, &solved, &err), &err);
    assert_near(sample_residual(&s, source, x), solved.residual, 1e-11);
    for (size_t i = 0; i < size; i++) most = fmax(most, fabs(want[i]));
    for (size_t i = 0; i < size; i++) assert_near(x[i], want[i], 1e-9 * most);
    ul_solver_free(solver);
    free(source);
    free(x);
    free(want);
    free(d.a);
    sample_free(&s);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(random_systems_solve_as_dense_cholesky_does),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
