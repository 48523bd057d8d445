#include "ullage/mobility.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "rise/solver.h"

/* A wall nearer than this to a cube's centre counts as so near: its link would outweigh all others
 * and tell nothing more. */
static const double NEAREST_WALL = 0.05;
static const double STOP = 1e-7; /* residual over source */

/* The equation of a cube in units of its edge h, K in h^2: links of 1 to its neighbours, a hold for
 * each wall, and a source of 1, less what lies beyond the walls. */
typedef struct {
  const ul_grid *grid;
  const ul_columns *columns;
  ul_mobility_opts opts;
  const uint8_t *wet; /* per cube of the lattice; NULL: all are */
  uint32_t *number;   /* per cube of the lattice: numbered closely */
  uint8_t *shut;      /* the rest per numbered cube */
  double *link[3], *hold, *source, *k;
} torsion;

ul_mobility_opts ul_mobility_opts_default(void) {
  return (ul_mobility_opts){.floor = 0.015, .slip = 0};
}

/* A wall at `distance` cubes from the centre of cube i. Of a parabola through the wall value, with
 * second derivative -1, the flow into the wall is (K + d^2/2) / (d + slip), and the cube reaches to
 * d instead of 1/2: with no slip, a link of 1/d and (1 - d)/2 off the source. */
static void add_wall(torsion *t, size_t cube, double distance) {
  const size_t i = t->number[cube];
  const double slip = t->opts.slip * t->grid->half_gap_mm[cube] / t->grid->lattice.cube_mm;
  const double d = fmax(distance, NEAREST_WALL), link = 1 / (d + slip);
  t->hold[i] += link;
  t->source[i] -= 0.5 - d + 0.5 * d * d * link;
}

/* The cubes whose centres lie on a run, first to last along `axis`, the run's ends being at lo and
 * hi cubes from the lattice's begin. Where a run leaves the lattice there is no wall, and no
 * neighbour. */
static void add_run(torsion *t, int axis, size_t cube0, double lo, double hi) {
  const ul_lattice *l = &t->grid->lattice;
  const size_t stride[3] = {1, (size_t)l->n[0], (size_t)l->n[0] * (size_t)l->n[1]};
  const int32_t first = (int32_t)fmax(0, ceil(lo - 0.5));
  const int32_t last = (int32_t)fmin(l->n[axis] - 1, floor(hi - 0.5));
  for (int32_t at = first; at <= last; at++) {
    const size_t cube = cube0 + (size_t)at * stride[axis];
    if (!t->grid->inside[cube]) continue;
    const bool meets = at < last && t->grid->inside[cube + stride[axis]];
    if (at == first && at + 0.5 - lo <= 1) add_wall(t, cube, at + 0.5 - lo);
    if (at == last && hi - at - 0.5 <= 1) add_wall(t, cube, hi - at - 0.5);
    t->link[axis][t->number[cube]] = meets;
    if (meets) t->shut[t->number[cube]] &= (uint8_t) ~(1u << axis);
  }
}

static void add_bundle(torsion *t, const ul_bundle *b) {
  const ul_lattice *l = &t->grid->lattice;
  const int u = (b->axis + 1) % 3, v = (b->axis + 2) % 3;
  const size_t stride[3] = {1, (size_t)l->n[0], (size_t)l->n[0] * (size_t)l->n[1]};
  const double origin = l->origin_mm[b->axis];
  for (size_t ray = 0; ray < b->ray_count; ray++) {
    const size_t cube0 = ray % (size_t)l->n[u] * stride[u] + ray / (size_t)l->n[u] * stride[v];
    for (uint32_t r = b->first[ray]; r < b->first[ray + 1]; r++)
      add_run(t, b->axis, cube0, (b->run[r].lo - origin) / l->cube_mm,
              (b->run[r].hi - origin) / l->cube_mm);
  }
}

static bool allocate(torsion *t) {
  const size_t count = t->grid->inside_count;
  t->number = ul_new_raw(t->grid->cube_count, sizeof *t->number);
  t->shut = ul_new_raw(count, 1);
  t->hold = ul_new(count, sizeof *t->hold);
  t->source = ul_new_raw(count, sizeof *t->source);
  t->k = ul_new_raw(count, sizeof *t->k);
  bool got = t->number && t->shut && t->hold && t->source && t->k;
  for (int a = 0; a < 3; a++) got &= (t->link[a] = ul_new(count, sizeof *t->link[a])) != NULL;
  return got;
}

/* First guess: the parabola of the slot that is as wide as the place. */
static void begin(torsion *t) {
  uint32_t i = 0;
  for (size_t cube = 0; cube < t->grid->cube_count; cube++) {
    if (!t->grid->inside[cube]) continue;
    const double h = t->grid->lattice.cube_mm;
    const double d = t->grid->wall_mm[cube] / h, r = fmax(t->grid->half_gap_mm[cube] / h, d);
    t->shut[i] = 7;
    t->source[i] = 1;
    t->k[i] = 0.5 * d * (2 * r - d);
    t->number[cube] = i++;
  }
}

static void give(const torsion *t, float *mobility_mm2) {
  const ul_grid *g = t->grid;
  const double h2 = g->lattice.cube_mm * g->lattice.cube_mm;
  if (!t->wet) memset(mobility_mm2, 0, g->cube_count * sizeof *mobility_mm2);
  for (size_t cube = 0; cube < g->cube_count; cube++) {
    if (!g->inside[cube] || (t->wet && !t->wet[cube])) continue;
    const double r = g->half_gap_mm[cube], k = t->k[t->number[cube]] * h2;
    mobility_mm2[cube] = (float)fmax(k, t->opts.floor * r * r);
  }
}

/* Dry cubes stand alone; nothing leads from a wet one to a dry one. */
static void leave_out_dry(torsion *t) {
  const ul_lattice *l = &t->grid->lattice;
  const size_t stride[3] = {1, (size_t)l->n[0], (size_t)l->n[0] * (size_t)l->n[1]};
  for (size_t cube = 0; t->wet && cube < t->grid->cube_count; cube++) {
    if (!t->grid->inside[cube]) continue;
    const size_t i = t->number[cube];
    for (int a = 0; a < 3; a++)
      if (!t->wet[cube] || (t->link[a][i] > 0 && !t->wet[cube + stride[a]])) t->link[a][i] = 0;
    if (t->wet[cube]) continue;
    t->hold[i] = 1;
    t->source[i] = t->k[i] = 0;
  }
}

static ul_status solve(torsion *t, const ul_job *job, float *mobility_mm2, ul_error *err) {
  if (!allocate(t)) return ul_fail_memory(err);
  begin(t);
  for (int a = 0; a < 3; a++) add_bundle(t, &t->columns->bundle[a]);
  leave_out_dry(t);
  const ul_system system = {.link = {t->link[0], t->link[1], t->link[2]}, .hold = t->hold};
  ul_solver *solver = NULL;
  ul_status status = ul_solver_new(t->grid->lattice.n, t->grid->inside, t->shut, job, &solver, err);
  if (status == UL_OK) status = ul_solver_set(solver, &system, job, err);
  if (status == UL_OK)
    status = ul_solver_solve(solver, t->source, t->k, STOP * (double)t->grid->inside_count, job,
                             NULL, err);
  ul_solver_free(solver);
  if (status == UL_OK) give(t, mobility_mm2);
  return status;
}

static bool same_lattice(const ul_lattice *a, const ul_lattice *b) {
  for (int c = 0; c < 3; c++)
    if (a->n[c] != b->n[c] || a->origin_mm[c] != b->origin_mm[c]) return false;
  return a->cube_mm == b->cube_mm;
}

ul_status ul_mobility(const ul_grid *grid, const ul_columns *columns, const ul_mobility_opts *opts,
                      const ul_job *job, float *mobility_mm2, ul_error *err) {
  return ul_mobility_of(grid, columns, opts, NULL, job, mobility_mm2, err);
}

ul_status ul_mobility_of(const ul_grid *grid, const ul_columns *columns,
                         const ul_mobility_opts *opts, const uint8_t *wet, const ul_job *job,
                         float *mobility_mm2, ul_error *err) {
  torsion t = {.grid = grid, .columns = columns, .wet = wet};
  t.opts = opts ? *opts : ul_mobility_opts_default();
  if (!(t.opts.floor >= 0 && t.opts.floor <= 1 && t.opts.slip >= 0 && t.opts.slip <= 100))
    return ul_fail(err, UL_E_USAGE,
                   "mobility floor %g and slip %g: the floor goes from 0 to 1, the slip from 0 to "
                   "100 half-gaps",
                   t.opts.floor, t.opts.slip);
  if (!same_lattice(&grid->lattice, &columns->lattice))
    return ul_fail(err, UL_E_USAGE, "grid and columns are not of the same lattice");
  ul_status status = solve(&t, job, mobility_mm2, err);
  free(t.number);
  free(t.shut);
  for (int a = 0; a < 3; a++) free(t.link[a]);
  free(t.hold);
  free(t.source);
  free(t.k);
  return status;
}
