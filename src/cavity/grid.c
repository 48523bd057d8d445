#include "ullage/grid.h"

#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "cavity/columns.h"
#include "cavity/crossing.h"
#include "cavity/fill.h"
#include "cavity/half_gap.h"
#include "cavity/wall.h"

typedef struct {
  const ul_solid *solid;
  const ul_bundle *along_z;
  const ul_bundle *named; /* the runs along z without inserts: each knows its cavity */
  ul_grid *grid;
  size_t *row_count;
} marking;

/* A cube is inside when its centre is in a run along z, ends settled as rays' are. The other two
 * bundles say the same but where a wall passes within rounding of the centre. */
static void run_cubes(const ul_lattice *l, const ul_run *run, int32_t k[2]) {
  k[0] = ul_centres_below(l, 2, run->lo);
  k[1] = ul_centres_below(l, 2, run->hi);
}

static ul_status mark_row(void *context, size_t row, int worker) {
  (void)worker;
  marking *m = context;
  const ul_lattice *l = &m->grid->lattice;
  size_t nx = (size_t)l->n[0], plane = nx * (size_t)l->n[1];
  int32_t k[2];
  for (size_t ray = row * nx; ray < (row + 1) * nx; ray++) {
    for (uint32_t r = m->along_z->first[ray]; r < m->along_z->first[ray + 1]; r++) {
      run_cubes(l, &m->along_z->run[r], k);
      for (int32_t z = k[0]; z < k[1]; z++) m->grid->inside[(size_t)z * plane + ray] = 1;
      m->row_count[row] += (size_t)(k[1] - k[0]);
    }
    for (uint32_t r = m->named->first[ray]; r < m->named->first[ray + 1]; r++) {
      uint32_t cavity = m->solid->cavity_of[m->named->lo_triangle[r]];
      run_cubes(l, &m->named->run[r], k);
      for (int32_t z = k[0]; z < k[1]; z++)
        if (m->grid->inside[(size_t)z * plane + ray])
          m->grid->cavity[(size_t)z * plane + ray] = cavity;
    }
  }
  return UL_OK;
}

static ul_status mark(const ul_solid *solid, size_t insert_count, const ul_columns *columns,
                      ul_grid *grid, const ul_job *job, ul_error *err) {
  ul_columns *bare = NULL;
  ul_status status = UL_OK;
  if (insert_count)
    status = ul_columns_build_axes(solid, NULL, 0, &grid->lattice, 1u << 2, job, &bare, err);
  if (status) return status;
  size_t rows = (size_t)grid->lattice.n[1];
  marking m = {solid, &columns->bundle[2], bare ? &bare->bundle[2] : &columns->bundle[2], grid,
               ul_new(rows, sizeof(size_t))};
  status = m.row_count ? ul_parallel(job, NULL, rows, mark_row, &m) : UL_E_MEMORY;
  for (size_t row = 0; row < rows && !status; row++) grid->inside_count += m.row_count[row];
  free(m.row_count);
  ul_columns_free(bare);
  if (status == UL_E_MEMORY) return ul_fail_memory(err);
  return status ? ul_fail(err, status, "cubes: %s", ul_status_text(status)) : UL_OK;
}

/* -- percentiles -- */

/* A float above 0 sorts as its bits do. */
static uint32_t bits_of(float x) {
  uint32_t bits;
  memcpy(&bits, &x, sizeof bits);
  return bits;
}

/* Adds up volume by 16 bits of the half-gap: the upper, or the lower of those with `upper`. */
static double tally(const ul_grid *g, bool low, uint32_t upper, double *bin) {
  double sum = 0;
  memset(bin, 0, 65536 * sizeof *bin);
  for (size_t i = 0; i < g->cube_count; i++) {
    if (!g->inside[i]) continue;
    uint32_t bits = bits_of(g->half_gap_mm[i]);
    if (low && bits >> 16 != upper) continue;
    bin[low ? bits & 0xffff : bits >> 16] += g->fill[i];
    sum += g->fill[i];
  }
  return sum;
}

/* First bin at which the running sum reaches *want, less what comes before it. */
static uint32_t find_bin(const double *bin, double *want) {
  uint32_t last = 0;
  for (uint32_t i = 0; i < 65536; i++) {
    if (bin[i] == 0) continue;
    last = i;
    if (*want <= bin[i]) break;
    *want -= bin[i];
  }
  return last;
}

static ul_status percentiles(ul_grid *g, ul_error *err) {
  const double share[3] = {0.05, 0.5, 0.95};
  double *to[3] = {&g->half_gap_p5_mm, &g->half_gap_p50_mm, &g->half_gap_p95_mm};
  double *upper_bin = ul_new(2 * 65536, sizeof *upper_bin);
  if (!upper_bin) return ul_fail_memory(err);
  double *lower_bin = upper_bin + 65536;
  double volume = tally(g, false, 0, upper_bin);
  for (int p = 0; p < 3 && volume > 0; p++) {
    double want = share[p] * volume;
    uint32_t upper = find_bin(upper_bin, &want);
    tally(g, true, upper, lower_bin);
    uint32_t bits = upper << 16 | find_bin(lower_bin, &want);
    float value;
    memcpy(&value, &bits, sizeof value);
    *to[p] = value;
  }
  free(upper_bin);
  return UL_OK;
}

/* -- the whole -- */

static ul_grid *grid_new(const ul_lattice *lattice) {
  ul_grid *g = ul_new(1, sizeof *g);
  if (!g) return NULL;
  g->lattice = *lattice;
  g->cube_count = (size_t)lattice->n[0] * (size_t)lattice->n[1] * (size_t)lattice->n[2];
  g->inside = ul_new(g->cube_count, sizeof *g->inside);
  g->fill = ul_new_raw(g->cube_count, sizeof *g->fill);
  g->wall_mm = ul_new(g->cube_count, sizeof *g->wall_mm);
  g->half_gap_mm = ul_new(g->cube_count, sizeof *g->half_gap_mm);
  g->cavity = ul_new_raw(g->cube_count, sizeof *g->cavity);
  if (g->inside && g->fill && g->wall_mm && g->half_gap_mm && g->cavity) {
    memset(g->cavity, 0xff, g->cube_count * sizeof *g->cavity);
    return g;
  }
  ul_grid_free(g);
  return NULL;
}

ul_status ul_grid_build(const ul_solid *solid, const ul_solid *const *inserts, size_t insert_count,
                        const ul_columns *columns, const ul_job *job, ul_grid **out,
                        ul_error *err) {
  *out = NULL;
  const ul_lattice *l = &columns->lattice;
  ul_grid *g = grid_new(l);
  if (!g) return ul_fail_memory(err);
  ul_bvh *wall = NULL;
  double sum;
  ul_status status = mark(solid, insert_count, columns, g, job, err);
  if (!status) status = ul_fill(solid, inserts, insert_count, l, job, g->fill, &sum, err);
  if (!status) status = ul_wall_tree(solid, inserts, insert_count, l->cube_mm, job, &wall, err);
  if (!status) status = ul_half_gap(wall, g, job, err);
  if (!status) status = percentiles(g, err);
  ul_bvh_free(wall);
  if (status) {
    ul_grid_free(g);
    return status;
  }
  *out = g;
  return UL_OK;
}

void ul_grid_free(ul_grid *grid) {
  if (!grid) return;
  free(grid->inside);
  free(grid->fill);
  free(grid->wall_mm);
  free(grid->half_gap_mm);
  free(grid->cavity);
  free(grid);
}
