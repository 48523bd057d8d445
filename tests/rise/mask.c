#include "rise/mask.h"

#include <math.h>
#include <stdlib.h>

#include "rise/solver.h"
#include "shapes/check.h"

bool mask_everything(const double at[3], const void *context) {
  (void)at, (void)context;
  return true;
}

size_t mask_cube(const ul_grid *g, double x, double y, double z) {
  const double at[3] = {x, y, z};
  size_t i[3];
  for (int a = 0; a < 3; a++)
    i[a] = (size_t)floor((at[a] - g->lattice.origin_mm[a]) / g->lattice.cube_mm);
  return (i[2] * (size_t)g->lattice.n[1] + i[1]) * (size_t)g->lattice.n[0] + i[0];
}

static void mark(ul_grid *g, const double size_mm[3], mask_fn inside, const void *context) {
  const ul_lattice *l = &g->lattice;
  for (size_t i = 0; i < g->cube_count; i++) {
    size_t n0 = (size_t)l->n[0], n1 = (size_t)l->n[1];
    size_t ijk[3] = {i % n0, i / n0 % n1, i / (n0 * n1)};
    double at[3];
    bool in = true;
    for (int a = 0; a < 3; a++) {
      at[a] = l->origin_mm[a] + ((double)ijk[a] + 0.5) * l->cube_mm;
      in = in && at[a] > 0 && at[a] < size_mm[a];
    }
    g->cavity[i] = UINT32_MAX;
    g->inside[i] = in && inside(at, context);
    g->fill[i] = g->inside[i];
    g->inside_count += g->inside[i];
  }
}

static void spread(ul_grid *g, size_t from, uint32_t cavity, size_t *stack) {
  const size_t stride[3] = {1, (size_t)g->lattice.n[0],
                            (size_t)g->lattice.n[0] * (size_t)g->lattice.n[1]};
  size_t count = 0;
  stack[count++] = from;
  g->cavity[from] = cavity;
  while (count) {
    size_t i = stack[--count];
    for (int s = 0; s < 6; s++) { /* the empty rim keeps this inside the lattice */
      size_t n = s % 2 ? i + stride[s / 2] : i - stride[s / 2];
      if (!g->inside[n] || g->cavity[n] != UINT32_MAX) continue;
      g->cavity[n] = cavity;
      stack[count++] = n;
    }
  }
}

ul_grid *mask_grid(const double size_mm[3], double cube_mm, mask_fn inside, const void *context) {
  ul_grid *g = calloc(1, sizeof *g);
  g->lattice.cube_mm = cube_mm;
  g->cube_count = 1;
  for (int a = 0; a < 3; a++) {
    g->lattice.origin_mm[a] = -cube_mm;
    g->lattice.n[a] = (int32_t)lround(size_mm[a] / cube_mm) + 2;
    g->cube_count *= (size_t)g->lattice.n[a];
  }
  g->inside = calloc(g->cube_count, 1);
  g->fill = calloc(g->cube_count, sizeof *g->fill);
  g->wall_mm = calloc(g->cube_count, sizeof *g->wall_mm);
  g->half_gap_mm = calloc(g->cube_count, sizeof *g->half_gap_mm);
  g->cavity = calloc(g->cube_count, sizeof *g->cavity);
  mark(g, size_mm, inside, context);
  size_t *stack = calloc(g->cube_count, sizeof *stack);
  uint32_t cavities = 0;
  for (size_t i = 0; i < g->cube_count; i++)
    if (g->inside[i] && g->cavity[i] == UINT32_MAX) spread(g, i, cavities++, stack);
  free(stack);
  return g;
}

void mask_free(ul_grid *g) {
  free(g->inside);
  free(g->fill);
  free(g->wall_mm);
  free(g->half_gap_mm);
  free(g->cavity);
  free(g);
}

/* A wall stands half a cube from the centre: link 2, and a quarter of h^2 less source a wall. */
float *mask_mobility(const ul_grid *g, double half_gap_mm) {
  const double h2 = g->lattice.cube_mm * g->lattice.cube_mm;
  const size_t n = g->inside_count;
  const size_t stride[3] = {1, (size_t)g->lattice.n[0],
                            (size_t)g->lattice.n[0] * (size_t)g->lattice.n[1]};
  double *link = malloc(n * sizeof *link), *hold = calloc(n, sizeof *hold);
  double *source = malloc(n * sizeof *source), *k = calloc(n, sizeof *k);
  float *out = calloc(g->cube_count, sizeof *out);
  size_t c = 0;
  for (size_t i = 0; i < g->cube_count; i++) {
    if (!g->inside[i]) continue;
    link[c] = 1;
    source[c] = h2;
    for (int s = 0; s < 6; s++) {
      if (g->inside[s % 2 ? i + stride[s / 2] : i - stride[s / 2]]) continue;
      hold[c] += 2;
      source[c] -= h2 / 4;
    }
    c++;
  }
  ul_solver *solver;
  ul_error err;
  assert_ok(ul_solver_new(g->lattice.n, g->inside, NULL, NULL, &solver, &err), &err);
  ul_system system = {.link = {link, link, link}, .hold = hold};
  assert_ok(ul_solver_set(solver, &system, NULL, &err), &err);
  assert_ok(ul_solver_solve(solver, source, k, 1e-9 * h2 * (double)n, NULL, NULL, &err), &err);
  c = 0;
  for (size_t i = 0; i < g->cube_count; i++)
    if (g->inside[i]) out[i] = (float)fmax(k[c++], 0.015 * half_gap_mm * half_gap_mm);
  ul_solver_free(solver);
  free(link);
  free(hold);
  free(source);
  free(k);
  return out;
}
