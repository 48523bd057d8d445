/* The shadow of a torus seen aslant, where its outline crosses itself. Prints CSV: triangles,
 * seconds (best of five). Exits with 1 when the shadow seen along the axis is not the ring of the
 * facets, or the one seen from the other side differs. */
#include <stdio.h>

#include "ball.h"
#include "ullage/hold.h"

static bool right(const ul_mesh *torus, int segments, double aslant) {
  const double axis[3] = {0, 0, 1}, behind[3] = {-1, -0.2, -0.6};
  double ring, other;
  if (ul_shadow_mm2(torus, axis, &ring, NULL) || ul_shadow_mm2(torus, behind, &other, NULL))
    return false;
  double want = segments / 2.0 * (80.0 * 80 - 40.0 * 40) * sin(2 * M_PI / segments);
  return fabs(ring / want - 1) < 1e-9 && fabs(other / aslant - 1) < 1e-9;
}

int main(void) {
  puts("kernel,triangles,best_s");
  for (int segments = 128; segments <= 1024; segments *= 2) {
    ul_mesh *torus = shape_torus(60, 20, segments, segments / 2);
    const double direction[3] = {1, 0.2, 0.6};
    double best = INFINITY, area = 0;
    for (int run = 0; run < 5; run++) {
      double begin = now_s();
      if (ul_shadow_mm2(torus, direction, &area, NULL)) return 1;
      best = fmin(best, now_s() - begin);
    }
    if (!right(torus, segments, area)) return 1;
    printf("shadow,%zu,%.4f\n", torus->triangle_count, best);
    ul_mesh_free(torus);
  }
  return 0;
}
