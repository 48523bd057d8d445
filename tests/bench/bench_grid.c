/* The grid of a bumpy ball. Prints CSV: triangles, cubes inside, threads, seconds. Exits with 1
 * when the shares' sum is not the mesh's volume, or a cube's distance is not that of a search over
 * all triangles. */
#include <stdio.h>

#include "ball.h"
#include "base/vec.h"
#include "cavity/bvh.h"
#include "cavity/by_hand.h"
#include "ullage/grid.h"

static double brute(const ul_mesh *mesh, const double from[3]) {
  double best = INFINITY;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    double corner[3][3], at[3];
    for (int v = 0; v < 3; v++) ul_copy3(mesh->vertex_mm[mesh->triangle[t][v]], corner[v]);
    best = fmin(best, ul_triangle_nearest((const double(*)[3])corner, from, at));
  }
  return sqrt(best);
}

static bool right(const ul_grid *g, const ul_solid *solid) {
  double sum = 0, h = g->lattice.cube_mm;
  for (size_t i = 0; i < g->cube_count; i++) sum += g->fill[i];
  if (fabs(sum * h * h * h / solid->cavity->volume_mm3 - 1) > 1e-7) return false;
  for (size_t i = 0; i < g->cube_count; i += g->cube_count / 40) {
    if (!g->inside[i]) continue;
    size_t nx = (size_t)g->lattice.n[0], ny = (size_t)g->lattice.n[1];
    const size_t n[3] = {i % nx, i / nx % ny, i / nx / ny};
    double at[3];
    for (int c = 0; c < 3; c++) at[c] = g->lattice.origin_mm[c] + ((double)n[c] + 0.5) * h;
    if (fabs(g->wall_mm[i] - brute(solid->mesh, at)) > 1e-5) return false;
  }
  return true;
}

static bool time_one(double triangles, double cubes, int threads) {
  ul_solid *solid = by_hand(bumpy_ball(triangles), false);
  double box[2][3], best = INFINITY;
  ul_lattice lattice;
  ul_columns *columns;
  ul_job job = {.threads = threads};
  ul_mesh_box_mm(solid->mesh, box);
  if (ul_lattice_for_box((const double(*)[3])box, ul_cube_for_count(solid, cubes), &lattice, NULL))
    return false;
  if (ul_columns_build(solid, NULL, 0, &lattice, &job, &columns, NULL)) return false;
  size_t inside = 0;
  for (int run = 0; run < 3; run++) {
    ul_grid *grid;
    double begin = now_s();
    if (ul_grid_build(solid, NULL, 0, columns, &job, &grid, NULL)) return false;
    best = fmin(best, now_s() - begin);
    inside = grid->inside_count;
    bool good = run > 0 || right(grid, solid);
    ul_grid_free(grid);
    if (!good) return false;
  }
  printf("grid,%zu,%zu,%d,%.3f\n", solid->mesh->triangle_count, inside, threads, best);
  ul_columns_free(columns);
  by_hand_free(solid);
  return true;
}

int main(void) {
  puts("kernel,triangles,inside,threads,best_s");
  for (int threads = 1; threads <= 2; threads++)
    for (double triangles = 1e4; triangles <= 1e6; triangles *= 100)
      if (!time_one(triangles, 250000, threads)) return 1;
  return 0;
}
