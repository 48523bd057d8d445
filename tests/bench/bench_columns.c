/* Columns of a bumpy ball. Prints CSV: triangles, cubes a side, threads, seconds (best of five for
 * all three bundles), runs, megabytes the result holds. Exits with 1 when the runs' volume is not
 * the mesh's. */
#include <stdio.h>

#include "ball.h"
#include "cavity/by_hand.h"
#include "ullage/columns.h"

static double held_mb(const ul_columns *columns) {
  double bytes = 0;
  for (int axis = 0; axis < 3; axis++)
    bytes += (double)columns->bundle[axis].ray_count * sizeof(uint32_t) +
             (double)columns->bundle[axis].run_count * (sizeof(ul_run) + 2 * sizeof(uint32_t));
  return bytes / 1e6;
}

static bool right(const ul_columns *columns, double volume_mm3) {
  double h = columns->lattice.cube_mm;
  for (int axis = 0; axis < 3; axis++) {
    const ul_bundle *b = &columns->bundle[axis];
    double sum = 0;
    for (size_t i = 0; i < b->run_count; i++) sum += b->run[i].hi - b->run[i].lo;
    if (b->odd_rays || fabs(sum * h * h / volume_mm3 - 1) > 3e-4 * h * sqrt(h)) return false;
  }
  return true;
}

static bool time_one(const ul_solid *solid, int side, int threads) {
  double box[2][3], best = INFINITY;
  ul_mesh_box_mm(solid->mesh, box);
  ul_lattice lattice;
  ul_job job = {.threads = threads};
  if (ul_lattice_for_box((const double(*)[3])box, (box[1][0] - box[0][0]) / (side - 2.5), &lattice,
                         NULL))
    return false;
  for (int run = 0; run < 5; run++) {
    ul_columns *columns;
    double begin = now_s();
    if (ul_columns_build(solid, NULL, 0, &lattice, &job, &columns, NULL)) return false;
    best = fmin(best, now_s() - begin);
    bool good = right(columns, solid->cavity->volume_mm3);
    if (run == 0 && good)
      printf("columns,%zu,%d,%d,%zu,%.1f,", solid->mesh->triangle_count, lattice.n[0], threads,
             columns->bundle[0].run_count + columns->bundle[1].run_count +
                 columns->bundle[2].run_count,
             held_mb(columns));
    ul_columns_free(columns);
    if (!good) return false;
  }
  printf("%.4f\n", best);
  return true;
}

int main(void) {
  puts("kernel,triangles,side,threads,runs,held_MB,best_s");
  ul_solid *solid = by_hand(bumpy_ball(1e6), false);
  bool good = true;
  for (int side = 128; side <= 512; side *= 2)
    for (int threads = 1; threads <= 2; threads++) good = good && time_one(solid, side, threads);
  by_hand_free(solid);
  return good ? 0 : 1;
}
