#include "rise/cut.h"

#include <stdlib.h>

#include "base/memory.h"

enum { SAMPLES = 8, RUNS_A_RAY = 4 };
static const double BEYOND = 10; /* cubes by which a run goes on beyond the lattice */

typedef struct {
  cut_rule rule;
  const void *context;
  const ul_lattice *lattice;
} cutter;

/* The wall on the ray along `axis` through p, between a place inside and one outside. */
static double wall_between(const cutter *c, int axis, const double p[3], double in, double out) {
  double q[3] = {p[0], p[1], p[2]};
  for (int i = 0; i < 60; i++) {
    q[axis] = 0.5 * (in + out);
    if (c->rule(q, c->context))
      in = q[axis];
    else
      out = q[axis];
  }
  return 0.5 * (in + out);
}

static void cut_ray(const cutter *c, int axis, double p[3], ul_bundle *b) {
  const double step = c->lattice->cube_mm / SAMPLES, from = c->lattice->origin_mm[axis];
  const int32_t steps = c->lattice->n[axis] * SAMPLES;
  bool was = false;
  for (int32_t i = 0; i <= steps; i++) {
    const double at = p[axis] = from + i * step;
    const bool is = c->rule(p, c->context);
    ul_run *run = &b->run[b->run_count];
    if (is && !was)
      run->lo = i ? wall_between(c, axis, p, at, at - step) : at - BEYOND * c->lattice->cube_mm;
    if (was && !is) run->hi = wall_between(c, axis, p, at - step, at);
    if (is && i == steps) run->hi = at + BEYOND * c->lattice->cube_mm;
    b->run_count += was ? !is || i == steps : is && i == steps;
    was = is;
  }
}

static void cut_bundle(const cutter *c, int axis, ul_bundle *b) {
  const ul_lattice *l = c->lattice;
  const int u = (axis + 1) % 3, v = (axis + 2) % 3;
  b->axis = axis;
  b->ray_count = (size_t)l->n[u] * (size_t)l->n[v];
  b->first = ul_new(b->ray_count + 1, sizeof *b->first);
  b->run = ul_new(b->ray_count * RUNS_A_RAY, sizeof *b->run);
  for (size_t r = 0; r < b->ray_count; r++) {
    double p[3];
    p[u] = l->origin_mm[u] + ((double)(r % (size_t)l->n[u]) + 0.5) * l->cube_mm;
    p[v] = l->origin_mm[v] + ((double)(r / (size_t)l->n[u]) + 0.5) * l->cube_mm;
    cut_ray(c, axis, p, b);
    b->first[r + 1] = (uint32_t)b->run_count;
  }
}

void cut_centre(const cut *c, size_t cube, double out[3]) {
  const ul_lattice *l = &c->grid.lattice;
  const size_t ijk[3] = {cube % (size_t)l->n[0], cube / (size_t)l->n[0] % (size_t)l->n[1],
                         cube / (size_t)l->n[0] / (size_t)l->n[1]};
  for (int a = 0; a < 3; a++) out[a] = l->origin_mm[a] + ((double)ijk[a] + 0.5) * l->cube_mm;
}

void cut_make(cut_rule rule, const void *context, const int32_t n[3], double cube_mm,
              const double shift[3], double half_gap_mm, cut *out) {
  ul_lattice l = {.cube_mm = cube_mm, .n = {n[0], n[1], n[2]}};
  for (int a = 0; a < 3; a++) l.origin_mm[a] = (shift[a] - 0.5 * n[a]) * cube_mm;
  const cutter c = {rule, context, &l};
  *out = (cut){.grid = {.lattice = l}, .columns = {.lattice = l}};
  for (int a = 0; a < 3; a++) cut_bundle(&c, a, &out->columns.bundle[a]);
  ul_grid *g = &out->grid;
  g->cube_count = (size_t)n[0] * (size_t)n[1] * (size_t)n[2];
  g->inside = ul_new(g->cube_count, 1);
  g->wall_mm = ul_new(g->cube_count, sizeof *g->wall_mm);
  g->half_gap_mm = ul_new(g->cube_count, sizeof *g->half_gap_mm);
  for (size_t i = 0; i < g->cube_count; i++) {
    double p[3];
    cut_centre(out, i, p);
    if (!rule(p, context)) continue;
    g->inside[i] = 1;
    g->inside_count++;
    g->wall_mm[i] = g->half_gap_mm[i] = (float)half_gap_mm;
  }
}

void cut_free(cut *c) {
  free(c->grid.inside);
  free(c->grid.wall_mm);
  free(c->grid.half_gap_mm);
  for (int a = 0; a < 3; a++) {
    free(c->columns.bundle[a].first);
    free(c->columns.bundle[a].run);
  }
}
