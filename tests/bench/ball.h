/* ball.h - a large bumpy ball to time things on, and the clock. */
#ifndef BENCH_BALL_H
#define BENCH_BALL_H

#include <math.h>
#include <time.h>

#include "shapes/shapes.h"

static inline double now_s(void) {
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

/* About `triangles` of them, shared vertices, radius 45 to 61 mm. */
static inline ul_mesh *bumpy_ball(double triangles) {
  int segments = (int)sqrt(triangles);
  ul_mesh *mesh = shape_sphere(1, segments, segments / 2 + 1);
  for (size_t v = 0; v < mesh->vertex_count; v++) {
    double *p = mesh->vertex_mm[v];
    double r = 53 + 8 * sin(5 * p[0]) * sin(4 * p[1] + 1) * cos(6 * p[2]);
    for (int c = 0; c < 3; c++) p[c] *= r;
  }
  return mesh;
}

#endif
