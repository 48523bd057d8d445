/* Mobility and pressure together on a cut grid, against a pressure made up beforehand. */
#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "rise/cut.h"
#include "rise/solver.h"
#include "shapes/check.h"
#include "ullage/mobility.h"

static const double HALF[3] = {5, 7, 9}; /* of the ellipsoid, mm */

/* In an ellipsoid lap K = -1, K = 0 on the wall has this quadratic for its answer. */
static double exact_mobility(const double at[3]) {
  double f = 1, curvature = 0;
  for (int a = 0; a < 3; a++) {
    f -= at[a] * at[a] / (HALF[a] * HALF[a]);
    curvature += 2 / (HALF[a] * HALF[a]);
  }
  return f / curvature;
}

static bool in_ellipsoid(const double at[3], const void *context) {
  (void)context;
  return exact_mobility(at) > 0;
}

static double made_up(const double at[3]) {
  return sin(0.3 * at[0]) + at[1] * at[2] / 40 + at[2] * at[2] / 60;
}

/* p - div(K grad p) of it. K is 0 on the wall, so nothing flows through it whatever p is. */
static double source_of(const double at[3]) {
  const double grad[3] = {0.3 * cos(0.3 * at[0]), at[2] / 40, at[1] / 40 + at[2] / 30};
  double curvature = 0, along = 0;
  for (int a = 0; a < 3; a++) curvature += 2 / (HALF[a] * HALF[a]);
  for (int a = 0; a < 3; a++) along += -2 * at[a] / (HALF[a] * HALF[a]) / curvature * grad[a];
  const double laplacian = -0.09 * sin(0.3 * at[0]) + 1.0 / 30;
  return made_up(at) - along - exact_mobility(at) * laplacian;
}

/* As the rise has it: the mobility of a face is that of both half cubes in series. */
static double series(double a, double b) {
  return 2 * a * b / (a + b);
}

typedef struct {
  size_t count;
  double *link[3], *hold, *source, *p, *want;
} problem;

static void describe(const cut *c, const float *k, problem *out) {
  const ul_grid *g = &c->grid;
  const double h = g->lattice.cube_mm;
  const size_t stride[3] = {1, (size_t)g->lattice.n[0],
                            (size_t)g->lattice.n[0] * (size_t)g->lattice.n[1]};
  for (int a = 0; a < 3; a++) out->link[a] = ul_new(g->inside_count, sizeof(double));
  double **const own[] = {&out->hold, &out->source, &out->p, &out->want};
  for (int i = 0; i < 4; i++) *own[i] = ul_new(g->inside_count, sizeof(double));
  for (size_t cube = 0; cube < g->cube_count; cube++) {
    if (!g->inside[cube]) continue;
    const size_t i = out->count++;
    double at[3];
    cut_centre(c, cube, at);
    for (int a = 0; a < 3; a++) {
      const size_t next = cube + stride[a]; /* the lattice has a rim outside the ellipsoid */
      if (g->inside[next]) out->link[a][i] = h * series((double)k[cube], (double)k[next]);
    }
    out->hold[i] = h * h * h;
    out->source[i] = h * h * h * source_of(at);
    out->want[i] = made_up(at);
  }
}

/* Mean error of the pressure over its largest value. */
static double pressure_error(int32_t cubes) {
  const ul_mobility_opts bare = {.floor = 0, .slip = 0};
  const int32_t n[3] = {cubes + 4, cubes * 7 / 5 + 4, cubes * 9 / 5 + 4};
  cut c;
  problem q = {0};
  ul_error err = {0};
  cut_make(in_ellipsoid, NULL, n, 10.0 / cubes, (double[3]){0.11, 0.23, 0.37}, 5, &c);
  float *k = ul_new(c.grid.cube_count, sizeof *k);
  assert_ok(ul_mobility(&c.grid, &c.columns, &bare, NULL, k, &err), &err);
  describe(&c, k, &q);
  ul_solver *solver = NULL;
  const ul_system system = {.link = {q.link[0], q.link[1], q.link[2]}, .hold = q.hold};
  assert_ok(ul_solver_new(c.grid.lattice.n, c.grid.inside, NULL, NULL, &solver, &err), &err);
  assert_ok(ul_solver_set(solver, &system, NULL, &err), &err);
  assert_ok(ul_solver_solve(solver, q.source, q.p, 1e-9, NULL, NULL, &err), &err);
  double sum = 0, most = 0;
  for (size_t i = 0; i < q.count; i++) {
    sum += fabs(q.p[i] - q.want[i]);
    most = fmax(most, fabs(q.want[i]));
  }
  ul_solver_free(solver);
  for (int a = 0; a < 3; a++) free(q.link[a]);
  free(q.hold);
  free(q.source);
  free(q.p);
  free(q.want);
  free(k);
  cut_free(&c);
  return sum / (double)q.count / most;
}

/* Seen: 2.0, 0.65, 0.22 % at 8, 16 and 32 cubes across, order 1.6: the cubes at the wall are whole
 * ones. */
static void a_made_up_pressure_comes_back_with_the_mobility_of_the_cut_grid(void **state) {
  (void)state;
  const double error[3] = {pressure_error(8), pressure_error(16), pressure_error(32)};
  assert_true(error[2] < 0.003);
  assert_true(error[0] > 2.5 * error[1] && error[1] > 2.5 * error[2]);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_made_up_pressure_comes_back_with_the_mobility_of_the_cut_grid),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
