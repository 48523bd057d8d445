#include "rise/solver.h"

#include <math.h>
#include <stdbool.h>
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

/* Links over four decades, shut faces, cubes left out, holds here and there, three bodies. */
static void make_random(sample *s, uint64_t state, const int32_t n[3]) {
  sample_make(s, n, random_cube, &state);
  for (size_t i = 0; i < s->count; i++) {
    for (int a = 0; a < 3; a++) s->link[a][i] = pow(10, 4 * sample_random(&state) - 3);
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

/* ---- answers known beforehand ---- */

static uint8_t in_star(const int32_t cube[3], const void *context) {
  (void)context;
  return (cube[1] == 0 && cube[2] == 0) || (cube[0] == 0 && cube[2] == 0) ||
         (cube[0] == 0 && cube[1] == 0);
}

/* Three ducts of 20, 30 and 40 links from one cube, their links 1, 2 and 8, their far ends held by
 * 0.5, 4 and 1 against 0: resistances 20/1 + 1/0.5 = 22, 30/2 + 1/4 = 15.25, 40/8 + 1 = 6. */
static void three_ducts_in_a_star_share_the_flow_by_their_resistances(void **state) {
  (void)state;
  const double link[3] = {1, 2, 8}, hold[3] = {0.5, 4, 1}, resistance[3] = {22, 15.25, 6};
  const int32_t n[3] = {21, 31, 41};
  sample s;
  sample_make(&s, n, in_star, NULL);
  const size_t stride[3] = {1, 21, 21 * 31};
  double conductance = 0;
  for (int a = 0; a < 3; a++) {
    for (int32_t i = 0; i < n[a]; i++) s.link[a][s.number[(size_t)i * stride[a]]] = link[a];
    s.hold[s.number[(size_t)(n[a] - 1) * stride[a]]] = hold[a];
    conductance += 1 / resistance[a];
  }
  double *source = ul_new(s.count, sizeof *source), *x = ul_new(s.count, sizeof *x);
  source[0] = 1;
  ul_solver *solver = set_up(&s, NULL);
  ul_error err = {0};
  assert_ok(ul_solver_solve(solver, source, x, 1e-13, NULL, NULL, &err), &err);
  assert_rel(x[0], 1 / conductance, 1e-11);
  for (int a = 0; a < 3; a++)
    assert_rel(x[s.number[(size_t)(n[a] - 1) * stride[a]]] * hold[a], x[0] / resistance[a], 1e-11);
  ul_solver_free(solver);
  free(source);
  free(x);
  sample_free(&s);
}

static uint8_t everywhere(const int32_t cube[3], const void *context) {
  (void)cube;
  (void)context;
  return 1;
}

/* -div(k grad p) + p = f in the unit cube, walls shut, p = cos(pi x) cos(2 pi y) cos(pi z),
 * k = 1 + x/2: largest error of p. */
static double manufactured_error(int32_t n) {
  const double pi = acos(-1), h = 1.0 / n;
  const int32_t side[3] = {n, n, n};
  sample s;
  sample_make(&s, side, everywhere, NULL);
  double *source = ul_new(s.count, sizeof *source), *x = ul_new(s.count, sizeof *x);
  double *want = ul_new(s.count, sizeof *want), worst = 0;
  for (size_t i = 0; i < s.count; i++) {
    const double at[3] = {h * ((double)(i % (size_t)n) + 0.5),
                          h * ((double)(i / (size_t)n % (size_t)n) + 0.5),
                          h * ((double)(i / (size_t)n / (size_t)n) + 0.5)};
    const double k = 1 + at[0] / 2, yz = cos(2 * pi * at[1]) * cos(pi * at[2]);
    want[i] = cos(pi * at[0]) * yz;
    source[i] = h * h * h * (want[i] * (1 + 6 * pi * pi * k) + 0.5 * pi * sin(pi * at[0]) * yz);
    s.hold[i] = h * h * h;
    s.link[0][i] = h * (k + h / 4);
    s.link[1][i] = s.link[2][i] = h * k;
  }
  ul_solver *solver = set_up(&s, NULL);
  ul_error err = {0};
  assert_ok(ul_solver_solve(solver, source, x, 1e-12, NULL, NULL, &err), &err);
  for (size_t i = 0; i < s.count; i++) worst = fmax(worst, fabs(x[i] - want[i]));
  ul_solver_free(solver);
  free(source);
  free(x);
  free(want);
  sample_free(&s);
  return worst;
}

static void a_manufactured_pressure_comes_back_to_second_order(void **state) {
  (void)state;
  const double coarse = manufactured_error(12), fine = manufactured_error(24);
  assert_true(coarse < 0.03);
  assert_near(coarse / fine, 4, 0.4);
}

/* What a source at i does at j, a source at j does at i; bodies are no exception. */
static void cause_and_effect_may_change_places(void **state) {
  (void)state;
  sample s;
  make_random(&s, 5, (int32_t[3]){9, 8, 7});
  const size_t size = s.count + s.body_count;
  const size_t i = s.count + 1, others[] = {s.count, s.count + 2, 3, s.count / 2, s.count - 2};
  double *source = ul_new(size, sizeof *source), *x = ul_new(size, sizeof *x);
  ul_solver *solver = set_up(&s, NULL);
  ul_error err = {0};
  for (size_t k = 0; k < sizeof others / sizeof *others; k++) {
    const size_t j = others[k];
    if (j < s.count && !s.active[j]) continue;
    double effect[2];
    for (int way = 0; way < 2; way++) {
      source[way ? j : i] = 1;
      assert_ok(ul_solver_solve(solver, source, x, 1e-13, NULL, NULL, &err), &err);
      effect[way] = x[way ? i : j];
      source[way ? j : i] = 0;
    }
    assert_rel(effect[0], effect[1], 1e-9);
  }
  ul_solver_free(solver);
  free(source);
  free(x);
  sample_free(&s);
}

/* ---- a ball of foam that has grown to a height, under two bodies of air ---- */

typedef struct {
  int32_t side;
  bool brush;
} shape;

static uint8_t in_shape(const int32_t cube[3], const void *context) {
  const shape *c = context;
  if (c->brush) return cube[2] <= c->side / 8 || (cube[0] % 3 != 2 && cube[1] % 3 != 2);
  double r = 0;
  for (int a = 0; a < 3; a++) r += pow(2 * (cube[a] + 0.5) / c->side - 1, 2);
  return r < 0.95;
}

/* Mobility over three decades; cubes above the front are left out, those at it are linked to one of
 * two bodies. `hold`: of each cube; of each body it is a thousand times that. */
static void make_foam(sample *s, const shape *c, double hold) {
  sample_make(s, (int32_t[3]){c->side, c->side, c->side}, in_shape, c);
  const size_t layer = (size_t)c->side * (size_t)c->side;
  const size_t front = (size_t)(c->side * 0.7);
  s->body_count = 2;
  s->body_cube = ul_new(s->count, sizeof *s->body_cube);
  s->body_link = ul_new(s->count, sizeof *s->body_link);
  size_t links = 0;
  for (size_t b = 0; b < 2; b++) {
    s->body_first[b] = links;
    s->body_hold[b] = 1000 * hold;
    for (size_t i = 0; i < s->count; i++)
      if (s->at[i] / layer == front && s->at[i] % 2 == b) {
        s->body_cube[links] = (uint32_t)i;
        s->body_link[links++] = 2;
      }
  }
  s->body_first[2] = links;
  for (size_t i = 0; i < s->count; i++) {
    const double p = (double)(s->at[i] % (size_t)c->side) / c->side;
    s->active[i] = s->at[i] / layer <= front;
    s->hold[i] = hold;
    for (int a = 0; a < 3; a++)
      s->link[a][i] = pow(10, 1.5 * sin(9 * p + (double)(s->at[i] / layer) / c->side));
  }
}

static int solve_foam(const sample *s, const ul_job *job, double *x) {
  const size_t size = s->count + s->body_count;
  double *source = ul_new(size, sizeof *source);
  for (size_t i = 0; i < s->count; i++) source[i] = s->active[i];
  ul_solver *solver = set_up(s, job);
  ul_solved solved;
  ul_error err = {0};
  assert_ok(ul_solver_solve(solver, source, x, 1e-6 * (double)size, job, &solved, &err), &err);
  ul_solver_free(solver);
  free(source);
  return solved.iterations;
}

static int foam_iterations(const shape *c, double hold) {
  sample s;
  make_foam(&s, c, hold);
  double *x = ul_new(s.count + s.body_count, sizeof *x);
  const int iterations = solve_foam(&s, NULL, x);
  free(x);
  sample_free(&s);
  return iterations;
}

static void iterations_do_not_grow_with_the_number_of_cubes(void **state) {
  (void)state;
  const int coarse = foam_iterations(&(shape){16, false}, 1e-3);
  const int middle = foam_iterations(&(shape){32, false}, 1e-3);
  const int fine = foam_iterations(&(shape){64, false}, 1e-3);
  assert_in_range(fine, 1, 16);
  assert_true(fine <= middle + 2 && middle <= coarse + 4);
}

static void iterations_do_not_grow_on_a_brush_of_rods_two_cubes_wide(void **state) {
  (void)state;
  const int coarse = foam_iterations(&(shape){24, true}, 1e-3);
  const int fine = foam_iterations(&(shape){72, true}, 1e-3);
  assert_in_range(fine, 1, 24);
  assert_true(fine <= coarse + 4);
}

/* Shut in, and all but incompressible: one pressure level, ten thousand million times softer than
 * the links, is what decides. */
static void a_shut_cavity_of_stiff_foam_takes_no_more_iterations(void **state) {
  (void)state;
  assert_in_range(foam_iterations(&(shape){32, false}, 1e-10), 1, 20);
}

static void the_same_bytes_for_any_number_of_threads(void **state) {
  (void)state;
  sample s;
  make_foam(&s, &(shape){76, false}, 1e-4); /* several blocks of work also on the next level */
  const size_t size = s.count + s.body_count;
  double *one = ul_new(size, sizeof *one), *many = ul_new(size, sizeof *many);
  const int iterations = solve_foam(&s, &(ul_job){.threads = 1}, one);
  for (int threads = 2; threads <= 5; threads += 3) {
    memset(many, 0, size * sizeof *many);
    assert_int_equal(solve_foam(&s, &(ul_job){.threads = threads}, many), iterations);
    assert_memory_equal(one, many, size * sizeof *one);
  }
  free(one);
  free(many);
  sample_free(&s);
}

/* A part cut off from the rest and held by a hundred millionth of its links: its level is the sum
 * of its sources over that of its holds, although single sources are ten million times their mean.
 * It is met however soon the solver may stop, and no iteration is spent on it. */
static void a_part_that_is_hardly_held_gets_its_level(void **state) {
  (void)state;
  sample s;
  sample_make(&s, (int32_t[3]){60, 24, 24}, everywhere, NULL);
  double *source = ul_new(s.count, sizeof *source), *x = ul_new(s.count, sizeof *x);
  uint64_t random = 3;
  double sources = 0, holds = 0, size = 0, left = 0;
  for (size_t i = 0; i < s.count; i++) {
    const bool far = s.at[i] % 60 > 28;
    s.active[i] = s.at[i] % 60 != 28;
    s.hold[i] = far ? 1e-8 : 1e-2;
    source[i] = sample_random(&random) - 0.5;
    sources += far ? source[i] : 0;
    holds += far ? s.hold[i] : 0;
    size += fabs(source[i]);
  }
  const double wanted = 1e-7 * holds / 1e-8;
  for (size_t i = 0; i < s.count; i++) /* a mean of 1e-7 in the far part */
    if (s.at[i] % 60 > 28) source[i] -= (sources - wanted) * 1e-8 / holds;
  ul_solver *solver = set_up(&s, NULL);
  ul_solved solved;
  ul_error err = {0};
  assert_ok(ul_solver_solve(solver, source, x, 1e-3 * size, NULL, &solved, &err), &err);
  assert_in_range(solved.iterations, 1, 8);
  for (size_t i = 0; i < s.count; i++)
    if (s.at[i] % 60 > 28) left += s.hold[i] * x[i];
  assert_rel(left, wanted, 0.05);
  ul_solver_free(solver);
  free(source);
  free(x);
  sample_free(&s);
}

/* ---- one structure, many systems ---- */

static void a_solver_used_before_answers_as_a_new_one_does(void **state) {
  (void)state;
  const shape c = {20, false};
  sample s;
  make_foam(&s, &c, 1e-3);
  const size_t size = s.count + s.body_count;
  double *source = ul_new(size, sizeof *source);
  double *fresh = ul_new(size, sizeof *fresh), *used = ul_new(size, sizeof *used);
  for (size_t i = 0; i < s.count; i++) source[i] = 1;
  ul_error err = {0};
  ul_solver *old = set_up(&s, NULL);
  assert_ok(ul_solver_solve(old, source, used, 1e-6, NULL, NULL, &err), &err);
  for (size_t i = 0; i < s.count; i++) { /* other foam, other links, a body more, out of nothing */
    s.active[i] = s.at[i] % 20 < 12;
    for (int a = 0; a < 3; a++) s.link[a][i] *= 1e-6;
  }
  s.body_first[3] = s.body_first[2];
  s.body_hold[2] = 1;
  s.body_count = 3;
  ul_system system = sample_system(&s);
  double *wider = realloc(source, (size + 1) * sizeof *source);
  double *more[2] = {ul_new(size + 1, sizeof(double)), ul_new(size + 1, sizeof(double))};
  assert_non_null(wider);
  wider[size] = 3;
  assert_ok(ul_solver_set(old, &system, NULL, &err), &err);
  assert_ok(ul_solver_solve(old, wider, more[0], 1e-6, NULL, NULL, &err), &err);
  ul_solver *new = set_up(&s, NULL);
  assert_ok(ul_solver_solve(new, wider, more[1], 1e-6, NULL, NULL, &err), &err);
  assert_memory_equal(more[0], more[1], (size + 1) * sizeof(double));
  assert_rel(more[0][size], 3, 1e-6);
  ul_solver_free(old);
  ul_solver_free(new);
  free(wider);
  free(fresh);
  free(used);
  free(more[0]);
  free(more[1]);
  sample_free(&s);
}

/* What is active changes from system to system, along and across the rows, with one that is refused
 * in between: each answer is the one of a solver that never saw another. */
static void foam_that_comes_and_goes_leaves_nothing_behind(void **state) {
  (void)state;
  sample s;
  make_foam(&s, &(shape){26, false}, 1e-3);
  const size_t size = s.count + s.body_count;
  double *source = ul_new(size, sizeof *source), *used = ul_new(size, sizeof *used);
  double *fresh = ul_new(size, sizeof *fresh);
  for (size_t i = 0; i < s.count; i++) source[i] = 1;
  ul_error err = {0};
  ul_solver *old = set_up(&s, NULL);
  for (int draw = 0; draw < 12; draw++) {
    const size_t stride = (const size_t[]){1, 26, 26 * 26}[draw % 3];
    for (size_t i = 0; i < s.count; i++) {
      const size_t at = s.at[i] / stride % 26;
      s.active[i] = draw == 9 ? 0 : at < (size_t)(5 * draw % 23) || at > (size_t)(24 - draw);
    }
    ul_system system = sample_system(&s);
    if (draw % 4 == 1) {
      const double was = s.hold[s.count / 2];
      s.hold[s.count / 2] = s.active[s.count / 2] ? -1 : was;
      (void)ul_solver_set(old, &system, NULL, NULL);
      s.hold[s.count / 2] = was;
    }
    memset(used, 0, size * sizeof *used);
    memset(fresh, 0, size * sizeof *fresh);
    ul_solver *new = set_up(&s, NULL);
    assert_ok(ul_solver_set(old, &system, NULL, &err), &err);
    assert_ok(ul_solver_solve(old, source, used, 1e-6, NULL, NULL, &err), &err);
    assert_ok(ul_solver_solve(new, source, fresh, 1e-6, NULL, NULL, &err), &err);
    assert_memory_equal(used, fresh, size * sizeof *used);
    ul_solver_free(new);
  }
  ul_solver_free(old);
  free(source);
  free(used);
  free(fresh);
  sample_free(&s);
}

/* The cube and those around it, inside the lattice. */
static size_t list_around(const sample *s, size_t cube, uint32_t *list) {
  const size_t stride[4] = {1, (size_t)s->n[0], (size_t)s->n[0] * (size_t)s->n[1],
                            (size_t)s->n[0] * (size_t)s->n[1] * (size_t)s->n[2]};
  size_t count = 0;
  list[count++] = (uint32_t)cube;
  for (int side = 0; side < 6; side++) {
    const size_t step = stride[side / 2], row = stride[side / 2 + 1];
    const size_t at = s->at[cube], along = at % row / step;
    if (side % 2 ? along + 1 == row / step : along == 0) continue;
    const uint32_t beside = s->number[side % 2 ? at + step : at - step];
    if (beside != UINT32_MAX) list[count++] = beside;
  }
  return count;
}

/* Another system, of which one cube in fifty and its surroundings differ from the last. */
static size_t change_some(sample *s, uint64_t *random, uint32_t *list) {
  size_t count = 0;
  for (size_t i = 0; i < s->count; i++) {
    if (sample_random(random) > 0.02) continue;
    s->active[i] = sample_random(random) < 0.6;
    s->hold[i] = sample_random(random) < 0.3 ? 20 * sample_random(random) : 1e-3;
    for (int a = 0; a < 3; a++) s->link[a][i] = pow(10, 4 * sample_random(random) - 3);
    count += list_around(s, i, list + count);
  }
  for (size_t l = 0; l < s->body_first[s->body_count]; l++) {
    if (sample_random(random) > 0.02) continue;
    s->body_link[l] = 3 * sample_random(random);
    list[count++] = s->body_cube[l];
  }
  for (size_t b = 0; b < s->body_count; b++) s->body_hold[b] = sample_random(random);
  return count;
}

/* Told what changed, a solver answers to the bit as a new one that is told everything; also after a
 * system that was refused. */
static void a_system_told_as_changes_is_the_whole_system(void **state) {
  (void)state;
  const int32_t n[3] = {27, 26, 24};
  sample s;
  make_random(&s, 5, n);
  const size_t size = s.count + s.body_count;
  double *source = ul_new(size, sizeof *source), *told = ul_new(size, sizeof *told);
  double *whole = ul_new(size, sizeof *whole);
  uint32_t *list = ul_new(8 * s.count, sizeof *list);
  uint64_t random = 11;
  for (size_t i = 0; i < size; i++) source[i] = sample_random(&random) - 0.3;
  ul_error err = {0};
  ul_solver *old = set_up(&s, NULL);
  for (int draw = 0; draw < 5; draw++) {
    ul_system system = sample_system(&s);
    system.changed_count = change_some(&s, &random, list);
    system.changed = list;
    if (draw == 3) {
      s.body_hold[0] *= -1;
      assert_int_equal(ul_solver_set(old, &system, NULL, NULL), UL_E_NUMBER);
      s.body_hold[0] *= -1;
    }
    memset(told, 0, size * sizeof *told);
    memset(whole, 0, size * sizeof *whole);
    ul_solver *new = set_up(&s, NULL);
    assert_ok(ul_solver_set(old, &system, NULL, &err), &err);
    assert_ok(ul_solver_solve(old, source, told, 1e-5, NULL, NULL, &err), &err);
    assert_ok(ul_solver_solve(new, source, whole, 1e-5, NULL, NULL, &err), &err);
    assert_true(sample_residual(&s, source, told) < 2e-5);
    assert_memory_equal(told, whole, size * sizeof *told);
    ul_solver_free(new);
  }
  ul_solver_free(old);
  free(source);
  free(told);
  free(whole);
  free(list);
  sample_free(&s);
}

static void a_good_first_guess_is_made_use_of(void **state) {
  (void)state;
  sample s;
  make_foam(&s, &(shape){24, false}, 1e-3);
  const size_t size = s.count + s.body_count;
  double *source = ul_new(size, sizeof *source), *x = ul_new(size, sizeof *x);
  for (size_t i = 0; i < s.count; i++) source[i] = s.active[i];
  ul_solver *solver = set_up(&s, NULL);
  ul_solved cold, again, near;
  ul_error err = {0};
  const double stop = 1e-8 * (double)size;
  assert_ok(ul_solver_solve(solver, source, x, stop, NULL, &cold, &err), &err);
  assert_ok(ul_solver_solve(solver, source, x, stop, NULL, &again, &err), &err);
  for (size_t i = 0; i < s.count; i++) source[i] *= 1.001;
  assert_ok(ul_solver_solve(solver, source, x, stop, NULL, &near, &err), &err);
  assert_int_equal(again.iterations, 0);
  assert_true(near.iterations < cold.iterations);
  ul_solver_free(solver);
  free(source);
  free(x);
  sample_free(&s);
}

/* ---- what cannot be solved ---- */

static void a_part_held_nowhere_is_solved_only_if_its_sources_cancel(void **state) {
  (void)state;
  sample s;
  sample_make(&s, (int32_t[3]){12, 5, 5}, everywhere, NULL);
  double *source = ul_new(s.count, sizeof *source), *x = ul_new(s.count, sizeof *x);
  ul_solver *solver = set_up(&s, NULL);
  ul_error err = {0};
  source[0] = 1;
  assert_int_equal(ul_solver_solve(solver, source, x, 1e-6, NULL, NULL, &err), UL_E_NUMBER);
  assert_non_null(strstr(err.text, "held nowhere"));
  source[s.count - 1] = -1;
  memset(x, 0, s.count * sizeof *x);
  assert_ok(ul_solver_solve(solver, source, x, 1e-9, NULL, NULL, &err), &err);
  assert_true(sample_residual(&s, source, x) < 1e-8);
  ul_solver_free(solver);
  free(source);
  free(x);
  sample_free(&s);
}

static void links_and_holds_that_are_no_numbers_are_refused(void **state) {
  (void)state;
  const double bad[] = {-1, NAN, INFINITY};
  double x[8] = {0}, source[8] = {0};
  sample s;
  sample_make(&s, (int32_t[3]){2, 2, 2}, everywhere, NULL);
  ul_solver *solver = set_up(&s, NULL);
  for (int i = 0; i < 6; i++) {
    double *at = i < 3 ? &s.link[i][0] : &s.hold[i];
    const double good = *at;
    ul_system system = sample_system(&s);
    ul_error err = {0};
    *at = bad[i % 3];
    assert_int_equal(ul_solver_set(solver, &system, NULL, &err), UL_E_NUMBER);
    assert_non_null(strstr(err.text, "negative or not finite"));
    assert_int_equal(ul_solver_solve(solver, source, x, 1, NULL, NULL, &err), UL_E_USAGE);
    *at = good;
  }
  s.link[0][1] = NAN; /* no neighbour there: not looked at */
  ul_system system = sample_system(&s);
  assert_int_equal(ul_solver_set(solver, &system, NULL, NULL), UL_OK);
  ul_solver_free(solver);
  sample_free(&s);
}

static uint8_t nowhere(const int32_t cube[3], const void *context) {
  (void)cube;
  (void)context;
  return 0;
}

static void a_cavity_without_a_cube_is_refused(void **state) {
  (void)state;
  sample s;
  sample_make(&s, (int32_t[3]){3, 3, 3}, nowhere, NULL);
  ul_solver *solver;
  ul_error err = {0};
  assert_int_equal(ul_solver_new(s.n, s.inside, NULL, NULL, &solver, &err), UL_E_THIN);
  assert_null(solver);
  assert_non_null(strstr(err.text, "smaller cubes"));
  sample_free(&s);
}

static void every_allocation_may_fail(void **state) {
  (void)state;
  sample s;
  make_random(&s, 9, (int32_t[3]){14, 14, 14});
  ul_system system = sample_system(&s);
  ul_status status = UL_E_MEMORY;
  long nth = 0;
  while (status == UL_E_MEMORY) {
    ul_error err = {0};
    ul_solver *solver = NULL;
    ul_memory_fail_at(++nth);
    status = ul_solver_new(s.n, s.inside, s.shut, NULL, &solver, &err);
    if (status == UL_OK) status = ul_solver_set(solver, &system, NULL, &err);
    if (status != UL_OK) assert_int_equal(err.code, UL_E_MEMORY);
    ul_solver_free(solver);
  }
  ul_memory_fail_at(0);
  assert_int_equal(status, UL_OK);
  assert_true(nth > 50);
  sample_free(&s);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(random_systems_solve_as_dense_cholesky_does),
      cmocka_unit_test(three_ducts_in_a_star_share_the_flow_by_their_resistances),
      cmocka_unit_test(a_manufactured_pressure_comes_back_to_second_order),
      cmocka_unit_test(cause_and_effect_may_change_places),
      cmocka_unit_test(iterations_do_not_grow_with_the_number_of_cubes),
      cmocka_unit_test(iterations_do_not_grow_on_a_brush_of_rods_two_cubes_wide),
      cmocka_unit_test(a_shut_cavity_of_stiff_foam_takes_no_more_iterations),
      cmocka_unit_test(a_part_that_is_hardly_held_gets_its_level),
      cmocka_unit_test(the_same_bytes_for_any_number_of_threads),
      cmocka_unit_test(a_solver_used_before_answers_as_a_new_one_does),
      cmocka_unit_test(foam_that_comes_and_goes_leaves_nothing_behind),
      cmocka_unit_test(a_system_told_as_changes_is_the_whole_system),
      cmocka_unit_test(a_good_first_guess_is_made_use_of),
      cmocka_unit_test(a_part_held_nowhere_is_solved_only_if_its_sources_cancel),
      cmocka_unit_test(links_and_holds_that_are_no_numbers_are_refused),
      cmocka_unit_test(a_cavity_without_a_cube_is_refused),
      cmocka_unit_test(every_allocation_may_fail),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
