/* Mobility and pressure together, with the faces and the solver that the rise itself makes of them:
 * against a pressure made up beforehand, and three bores in a star by hand. */
#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "rise/cut.h"
#include "rise/filling.h"
#include "shapes/check.h"
#include "shapes/shapes.h"
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

/* A cavity about to rise: the faces' links are f->face, m3, and the solver is the rise's own. */
static ul_filling *about_to_rise(const ul_grid *grid, const ul_columns *columns, const float *k,
                                 ul_cubes **cubes) {
  ul_filling *f = NULL;
  ul_error err = {0};
  ul_rise_opts opts = ul_rise_opts_default();
  opts.mobility_mm2 = k;
  assert_ok(ul_cubes_new(grid, columns, cubes, &err), &err);
  assert_ok(ul_filling_new(*cubes, &opts, opts.up, NULL, &f, &err), &err);
  return f;
}

static void solve_faces(ul_filling *f, const double *hold, const double *source, double stop,
                        double *p) {
  ul_error err = {0};
  const ul_system system = {.link = {f->face[0], f->face[1], f->face[2]}, .hold = hold};
  assert_ok(ul_solver_set(f->solver, &system, NULL, &err), &err);
  assert_ok(ul_solver_solve(f->solver, source, p, stop, NULL, NULL, &err), &err);
}

/* What cut_make() leaves out: one cavity of whole cubes. */
static void fill_whole(ul_grid *g) {
  g->fill = ul_new(g->cube_count, sizeof *g->fill);
  g->cavity = ul_new(g->cube_count, sizeof *g->cavity);
  for (size_t i = 0; i < g->cube_count; i++) {
    g->fill[i] = g->inside[i];
    g->cavity[i] = g->inside[i] ? 0 : UINT32_MAX;
  }
}

/* Mean error of the pressure over its largest value. */
static double pressure_error(int32_t cubes_across) {
  const ul_mobility_opts bare = {.floor = 0, .slip = 0};
  const int32_t n[3] = {cubes_across + 4, cubes_across * 7 / 5 + 4, cubes_across * 9 / 5 + 4};
  cut c;
  ul_error err = {0};
  ul_cubes *cubes = NULL;
  cut_make(in_ellipsoid, NULL, n, 10.0 / cubes_across, (double[3]){0.11, 0.23, 0.37}, 5, &c);
  fill_whole(&c.grid);
  float *k = ul_new(c.grid.cube_count, sizeof *k);
  assert_ok(ul_mobility(&c.grid, &c.columns, &bare, NULL, k, &err), &err);
  ul_filling *f = about_to_rise(&c.grid, &c.columns, k, &cubes);
  double *hold = ul_new(f->count, sizeof *hold), *source = ul_new(f->count, sizeof *source);
  double *p = ul_new(f->count, sizeof *p), sum = 0, most = 0, at[3];
  const double m3 = pow(f->cube_m, 3);
  for (size_t i = 0; i < f->count; i++) { /* lengths in mm: K in mm2 and grad in 1/mm cancel */
    cut_centre(&c, cubes->at[i], at);
    hold[i] = m3;
    source[i] = m3 * source_of(at);
  }
  solve_faces(f, hold, source, 1e-9 * m3, p);
  for (size_t i = 0; i < f->count; i++) {
    cut_centre(&c, cubes->at[i], at);
    sum += fabs(p[i] - made_up(at));
    most = fmax(most, fabs(made_up(at)));
  }
  const double error = sum / (double)f->count / most;
  free(hold);
  free(source);
  free(p);
  ul_filling_free(f);
  ul_cubes_free(cubes);
  free(k);
  free(c.grid.fill);
  free(c.grid.cavity);
  cut_free(&c);
  return error;
}

/* Seen: 2.0, 0.65, 0.22 % at 8, 16 and 32 cubes across, order 1.6: the cubes at the wall are whole
 * ones. */
static void a_made_up_pressure_comes_back_with_the_mobility_of_the_cut_grid(void **state) {
  (void)state;
  const double error[3] = {pressure_error(8), pressure_error(16), pressure_error(32)};
  assert_true(error[2] < 0.003);
  assert_true(error[0] > 2.5 * error[1] && error[1] > 2.5 * error[2]);
}

/* ---- three bores in a star ---- */

enum { ARMS = 3 };
static const double HUB = 7; /* half of its side, mm */

/* Along +x, -x and +y from the hub to `end` mm: of radius r[0] to `step` mm, and of r[1] on. */
typedef struct {
  double r[2], step, end;
} arm;
static const arm STAR[ARMS] = {{{3, 3}, 45, 45}, {{2.5, 2.5}, 38, 38}, {{3.5, 2.5}, 25, 42}};

/* A round bar along z from lo to hi, laid along the arm's axis. */
static ul_mesh *bore(int which, double radius, double lo, double hi) {
  ul_mesh *mesh = shape_cylinder(radius, hi - lo, 64);
  shape_move(mesh, 0, 0, lo);
  if (which == 2)
    shape_rotate(mesh, 0, -90); /* z to y */
  else
    shape_rotate(mesh, 1, which ? -90 : 90);
  return mesh;
}

static double along_arm(int which, const double at[3]) {
  return which == 2 ? at[1] : which ? -at[0] : at[0];
}

/* Poiseuille: a pascal drives pi / (8 mu sum(L / r^4)) through bores in series. */
static double conductance(const arm *a, double end) {
  return M_PI / 8 / ((a->step - HUB) / pow(a->r[0], 4) + (end - a->step) / pow(a->r[1], 4));
}

static ul_solid *star(void) {
  ul_mesh *mesh = shape_box(2 * HUB, 2 * HUB, 2 * HUB);
  shape_move(mesh, -HUB, -HUB, -HUB);
  for (int i = 0; i < ARMS; i++) {
    shape_append(mesh, bore(i, STAR[i].r[0], HUB - 1, STAR[i].step));
    if (STAR[i].end > STAR[i].step)
      shape_append(mesh, bore(i, STAR[i].r[1], STAR[i].step - 1, STAR[i].end));
  }
  return shape_solid(mesh);
}

typedef struct {
  ul_solid *solid;
  ul_columns *columns;
  ul_grid *grid;
  ul_cubes *cubes;
  ul_filling *f;
  float *k;
} star_model;

static void make_star(double cube_mm, star_model *m) {
  ul_lattice lattice;
  ul_error err = {0};
  m->solid = star();
  const ul_measure *c = &m->solid->cavity[0];
  assert_ok(ul_lattice_for_box((const double(*)[3])c->box_mm, cube_mm, &lattice, &err), &err);
  assert_ok(ul_columns_build(m->solid, NULL, 0, &lattice, NULL, &m->columns, &err), &err);
  assert_ok(ul_grid_build(m->solid, NULL, 0, m->columns, NULL, &m->grid, &err), &err);
  m->k = ul_new(m->grid->cube_count, sizeof *m->k);
  assert_ok(ul_mobility(m->grid, m->columns, NULL, NULL, m->k, &err), &err);
  m->f = about_to_rise(m->grid, m->columns, m->k, &m->cubes);
}

static void free_star(star_model *m) {
  ul_filling_free(m->f);
  ul_cubes_free(m->cubes);
  free(m->k);
  ul_grid_free(m->grid);
  ul_columns_free(m->columns);
  ul_solid_free(m->solid);
}

/* The arm in whose last layer the cube lies, ARMS: none. */
static int ends_arm(const star_model *m, size_t cube, double at[3]) {
  int a = 0;
  ul_cube_centre_mm(m->cubes, cube, at);
  while (a < ARMS && along_arm(a, at) < STAR[a].end - m->grid->lattice.cube_mm) a++;
  return a;
}

/* One unit flows in at the middle of the hub and out at the last layers, which stand at 0 Pa: what
 * of it each arm takes, and where that layer's centres lie. */
static void flows_of_star(const star_model *m, double flow[ARMS], double end[ARMS]) {
  const size_t count = m->f->count;
  double *hold = ul_new(count, sizeof *hold), *source = ul_new(count, sizeof *source);
  double *p = ul_new(count, sizeof *p), at[3];
  for (size_t i = 0; i < count; i++) {
    const int a = ends_arm(m, i, at);
    if (a == ARMS) continue;
    hold[i] = 1;
    end[a] = along_arm(a, at);
  }
  size_t middle;
  ul_error err = {0};
  assert_ok(ul_cubes_find(m->cubes, (double[3]){0.1, 0.1, 0.1}, "middle", &middle, &err), &err);
  source[middle] = 1;
  solve_faces(m->f, hold, source, 1e-9, p);
  for (size_t i = 0; i < count; i++) {
    const int a = ends_arm(m, i, at);
    if (a < ARMS) flow[a] += hold[i] * p[i];
  }
  free(hold);
  free(source);
  free(p);
}

/* Ten cubes across the narrowest. Seen: 1.006, 1.020 and 0.980 of it; 1.003, 1.010, 0.988 with arms
 * a third to a half as long again, so what is left is the way in. */
static void three_bores_of_a_mesh_share_the_flow_as_their_lengths_and_radii_say(void **state) {
  (void)state;
  star_model m = {0};
  double flow[ARMS] = {0}, end[ARMS] = {0}, all = 0;
  make_star(0.5, &m);
  flows_of_star(&m, flow, end);
  for (int a = 0; a < ARMS; a++) all += conductance(&STAR[a], end[a]);
  for (int a = 0; a < ARMS; a++) assert_rel(flow[a], conductance(&STAR[a], end[a]) / all, 0.03);
  free_star(&m);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_made_up_pressure_comes_back_with_the_mobility_of_the_cut_grid),
      cmocka_unit_test(three_bores_of_a_mesh_share_the_flow_as_their_lengths_and_radii_say),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
