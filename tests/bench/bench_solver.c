/* The linear solver on a bumpy ball of 100 thousand and of a million cubes, cold, to a residual of
 * 1e-6 of the source (sums of magnitudes): a mobility that varies
 * smoothly over three decades, the same with blocks that jump over three decades, and a brush of
 * rods two cubes wide. Walls are shut, a part of the surface is open, every cube is a source. And
 * the smooth one filled to half its height, as a rise meets it. CPU time is of a solve, a cube that
 * is active and an iteration; that of taking the coefficients is counted in iterations. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "rise/sample.h"

enum { RUNS = 3 };

static double clock_s(clockid_t which) {
  struct timespec t;
  clock_gettime(which, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* ---- cavities ---- */

typedef struct {
  int32_t side;
  bool teeth;
} cavity;

static uint8_t in_cavity(const int32_t cube[3], const void *context) {
  const cavity *c = context;
  double p[3], r = 0;
  for (int a = 0; a < 3; a++) p[a] = 2 * (cube[a] + 0.5) / c->side - 1;
  for (int a = 0; a < 3; a++) r += p[a] * p[a];
  r = sqrt(r);
  if (c->teeth) return cube[2] <= c->side / 8 || (cube[0] % 3 != 2 && cube[1] % 3 != 2);
  const double bump = 0.08 * sin(7 * p[0]) * sin(6 * p[1] + 1) * sin(5 * p[2] + 2);
  return r < 0.9 + bump;
}

static double smooth(const double p[3]) {
  return pow(10, 1.5 * sin(3 * p[0] + 1) * cos(2 * p[1]) * cos(2.5 * p[2] + 0.4));
}

/* A factor over three decades for each block of 8 cubes. */
static double jump(const int32_t cube[3]) {
  uint64_t state = 1;
  for (int a = 0; a < 3; a++) {
    state ^= (uint64_t)(cube[a] / 8 + 1);
    sample_random(&state);
  }
  sample_random(&state);
  return pow(10, 3 * sample_random(&state) - 1.5);
}

static void set_mobility(sample *s, bool teeth, bool jumps) {
  double *k = malloc(s->count * sizeof *k);
  const size_t stride[3] = {1, (size_t)s->n[0], (size_t)s->n[0] * (size_t)s->n[1]};
  for (size_t i = 0; i < s->count; i++) {
    double p[3];
    int32_t cube[3];
    for (int a = 0; a < 3; a++) {
      cube[a] = (int32_t)(s->at[i] / stride[a] % (size_t)s->n[a]);
      p[a] = 2 * (cube[a] + 0.5) / s->n[a] - 1;
    }
    k[i] = smooth(p) * (jumps ? jump(cube) : 1);
    const bool open =
        teeth ? cube[2] == 0 && p[0] < -0.5 : p[2] > 0.4 && !s->inside[s->at[i] + stride[2]];
    if (open) s->hold[i] = 2 * k[i];
  }
  for (size_t i = 0; i < s->count; i++)
    for (int a = 0; a < 3; a++) {
      const bool last = (int32_t)(s->at[i] / stride[a] % (size_t)s->n[a]) + 1 == s->n[a];
      const uint32_t to = last ? UINT32_MAX : s->number[s->at[i] + stride[a]];
      s->link[a][i] = to == UINT32_MAX ? 0 : 2 * k[i] * k[to] / (k[i] + k[to]);
    }
  free(k);
}

/* ---- a run ---- */

/* Only the lower half is filled. */
static size_t fill_half(sample *s) {
  const size_t layer = (size_t)s->n[0] * (size_t)s->n[1], top = (size_t)s->n[2] / 2;
  size_t active = 0;
  for (size_t i = 0; i < s->count; i++) {
    s->active[i] = s->at[i] / layer < top;
    if (s->at[i] / layer + 1 == top) s->hold[i] = 1;
    active += s->active[i];
  }
  return active;
}

typedef struct {
  bool teeth, jumps, half;
} kind;

static int bench(const char *name, int32_t side, kind k, int threads) {
  const cavity c = {side, k.teeth};
  const int32_t n[3] = {side, side, side};
  const ul_job job = {.threads = threads};
  sample s;
  sample_make(&s, n, in_cavity, &c);
  set_mobility(&s, k.teeth, k.jumps);
  const double active = (double)(k.half ? fill_half(&s) : s.count);
  double *source = malloc(s.count * sizeof *source), *x = malloc(s.count * sizeof *x);
  for (size_t i = 0; i < s.count; i++) source[i] = s.active[i];
  ul_system system = sample_system(&s);
  ul_solver *solver = NULL;
  ul_solved solved = {0};
  double t0 = clock_s(CLOCK_MONOTONIC), best = INFINITY, set = INFINITY;
  double cpu = INFINITY, set_cpu = INFINITY;
  int bad = ul_solver_new(n, s.inside, NULL, &job, &solver, NULL) != UL_OK;
  const double build = clock_s(CLOCK_MONOTONIC) - t0;
  for (int run = 0; run < RUNS && !bad; run++) {
    memset(x, 0, s.count * sizeof *x);
    t0 = clock_s(CLOCK_MONOTONIC);
    const double c0 = clock_s(CLOCK_PROCESS_CPUTIME_ID);
    bad |= ul_solver_set(solver, &system, &job, NULL) != UL_OK;
    set = fmin(set, clock_s(CLOCK_MONOTONIC) - t0);
    const double c1 = clock_s(CLOCK_PROCESS_CPUTIME_ID);
    bad |= ul_solver_solve(solver, source, x, 1e-6 * active, &job, &solved, NULL) != UL_OK;
    best = fmin(best, clock_s(CLOCK_MONOTONIC) - t0);
    set_cpu = fmin(set_cpu, c1 - c0);
    cpu = fmin(cpu, clock_s(CLOCK_PROCESS_CPUTIME_ID) - c1);
  }
  bad |= sample_residual(&s, source, x) > 1.001e-6 * active;
  if (!bad)
    printf("%s,%zu,%d,%d,%.4f,%.4f,%.4f,%.1f,%.2f,%.0f\n", name, s.count, threads,
           solved.iterations, build, set, best, 1e9 * cpu / (active * solved.iterations),
           set_cpu * solved.iterations / cpu, (double)ul_solver_bytes(solver) / (double)s.count);
  ul_solver_free(solver);
  free(source);
  free(x);
  sample_free(&s);
  fflush(stdout);
  return bad;
}

int main(void) {
  printf("system,cubes,threads,iterations,structure_s,coefficients_s,cold_solve_s,"
         "cpu_ns,coefficients_in_iterations,bytes_a_cube\n");
  int bad = 0;
  for (int threads = 1; threads <= 2; threads++)
    for (int big = 0; big < 2; big++) {
      const int32_t side = big ? 137 : 64;
      bad |= bench("smooth", side, (kind){0}, threads);
      bad |= bench("jumps", side, (kind){.jumps = true}, threads);
      bad |= bench("brush", side, (kind){.teeth = true}, threads);
      bad |= bench("half", side, (kind){.half = true}, threads);
    }
  return bad;
}
