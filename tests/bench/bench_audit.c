/* Audit of a bumpy ball of 1,000,000 triangles: topology, shells, self-intersection, measure, and
 * the whole call. Two volumes are compared before any time is printed: by the audit, and by plain
 * long double tetrahedra about the ball's middle. */
#include "base/memory.h"
#include "cavity/measure.h"
#include "cavity/nesting.h"
#include "cavity/self_intersect.h"
#include "ullage/solid.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { RUNS = 5, SEGMENTS = 1000, STACKS = 501 };

static double now_s(clockid_t clock) {
  struct timespec t;
  clock_gettime(clock, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void ball_point(int stack, int segment, double p[3]) {
  double theta = M_PI * stack / STACKS, phi = 2 * M_PI * segment / SEGMENTS;
  double r = 50 * (1 + 0.08 * sin(7 * theta) * cos(5 * phi) + 0.02 * cos(23 * theta));
  p[0] = r * sin(theta) * cos(phi);
  p[1] = r * sin(theta) * sin(phi);
  p[2] = r * cos(theta);
}

/* A pole, the rings, a pole: 2 * SEGMENTS * (STACKS - 1) triangles. */
static ul_mesh *bumpy_ball(void) {
  ul_mesh *mesh = NULL;
  size_t vertices = (size_t)SEGMENTS * (STACKS - 1) + 2, t = 0;
  if (ul_mesh_new(vertices, 2ul * SEGMENTS * (STACKS - 1), &mesh, NULL) != UL_OK) exit(1);
  uint32_t south = (uint32_t)vertices - 1;
  ball_point(0, 0, mesh->vertex_mm[0]);
  ball_point(STACKS, 0, mesh->vertex_mm[south]);
  for (int stack = 1; stack < STACKS; stack++)
    for (int s = 0; s < SEGMENTS; s++) {
      uint32_t row = 1 + (uint32_t)(stack - 1) * SEGMENTS, a = row + (uint32_t)s,
               b = row + (uint32_t)((s + 1) % SEGMENTS);
      ball_point(stack, s, mesh->vertex_mm[a]);
      uint32_t above_b = stack == 1 ? 0 : b - SEGMENTS;
      uint32_t below_a = stack == STACKS - 1 ? south : a + SEGMENTS;
      memcpy(mesh->triangle[t++], (uint32_t[3]){above_b, a, b}, sizeof *mesh->triangle);
      memcpy(mesh->triangle[t++], (uint32_t[3]){b, a, below_a}, sizeof *mesh->triangle);
    }
  return mesh;
}

static double plain_volume(const ul_mesh *mesh) {
  long double sum = 0;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    const double *a = mesh->vertex_mm[mesh->triangle[t][0]],
                 *b = mesh->vertex_mm[mesh->triangle[t][1]],
                 *c = mesh->vertex_mm[mesh->triangle[t][2]];
    sum += (long double)a[0] * ((long double)b[1] * c[2] - (long double)b[2] * c[1]) +
           (long double)a[1] * ((long double)b[2] * c[0] - (long double)b[0] * c[2]) +
           (long double)a[2] * ((long double)b[0] * c[1] - (long double)b[1] * c[0]);
  }
  return (double)(sum / 6);
}

typedef struct {
  const ul_mesh *mesh;
  const ul_job *job;
  ul_edges edges;
  ul_flood flood;
  ul_measure measure;
  ul_crossings crossings;
  double whole_volume;
  bool good;
} bench;

static void topology(bench *b) {
  ul_edges_free(&b->edges);
  b->good = ul_edges_make(b->mesh, b->job, &b->edges) == UL_OK && b->edges.run_count == 0;
}

static void shells(bench *b) {
  ul_flood_free(&b->flood);
  b->good = ul_flood_make(b->mesh, &b->edges, &b->flood) == UL_OK && b->flood.shell_count == 1 &&
            b->flood.turned[0] == 0 && b->flood.conflict_count == 0;
}

static void measure(bench *b) {
  b->good =
      ul_measure_parallel(b->mesh, NULL, b->mesh->triangle_count, b->job, &b->measure) == UL_OK;
}

static void self_intersection(bench *b) {
  const signed char outward = 1;
  ul_crossings_free(&b->crossings);
  b->good = ul_crossings_find(b->mesh, &b->edges, b->flood.shell_of, &outward, 1e-5, b->job,
                              &b->crossings) == UL_OK &&
            b->crossings.self_count == 0;
}

static void whole_audit(bench *b) {
  ul_solid_opts opts = ul_solid_opts_default();
  ul_audit *audit = NULL;
  ul_solid *solid = NULL;
  b->good = ul_audit_mesh(b->mesh, &opts, b->job, &audit, &solid, NULL) == UL_OK && solid &&
            audit->fault_count == 0;
  b->whole_volume = b->good ? solid->cavity[0].volume_mm3 : 0;
  ul_audit_free(audit);
  ul_solid_free(solid);
}

static bool time_step(bench *b, const char *name, void (*step)(bench *)) {
  double best_s = INFINITY, best_cpu_s = INFINITY;
  for (int run = 0; run < RUNS; run++) {
    double start = now_s(CLOCK_MONOTONIC), cpu = now_s(CLOCK_PROCESS_CPUTIME_ID);
    step(b);
    best_s = fmin(best_s, now_s(CLOCK_MONOTONIC) - start);
    best_cpu_s = fmin(best_cpu_s, now_s(CLOCK_PROCESS_CPUTIME_ID) - cpu);
    if (!b->good) {
      fprintf(stderr, "%s: wrong answer\n", name);
      return false;
    }
  }
  printf("%s,%zu,%d,%.4f,%.4f\n", name, b->mesh->triangle_count, b->job->threads, best_s,
         best_cpu_s);
  return true;
}

static bool same_volume(double a, double b) {
  return fabs(a - b) <= 1e-12 * fabs(b);
}

int main(void) {
  ul_mesh *mesh = bumpy_ball();
  double volume = plain_volume(mesh);
  bool good = true;
  printf("step,triangles,threads,best_s,best_cpu_s\n");
  for (int threads = 1; good && threads <= 2; threads++) {
    ul_job job = {.threads = threads};
    bench b = {.mesh = mesh, .job = &job};
    whole_audit(&b);
    measure(&b);
    good = same_volume(b.whole_volume, volume) && same_volume(b.measure.volume_mm3, volume);
    if (!good) fprintf(stderr, "volume %.17g, should be %.17g\n", b.whole_volume, volume);
    good = good && time_step(&b, "topology", topology) && time_step(&b, "shells", shells) &&
           time_step(&b, "self-intersection", self_intersection) &&
           time_step(&b, "measure", measure) && time_step(&b, "audit", whole_audit);
    ul_edges_free(&b.edges);
    ul_flood_free(&b.flood);
    ul_crossings_free(&b.crossings);
  }
  ul_mesh_free(mesh);
  return good ? 0 : 1;
}
