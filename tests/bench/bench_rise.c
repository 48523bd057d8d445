/* A whole rise: a lidded level box vented in its four corners, at 30,000 to 1 million cubes.
 * Checked before it is timed: masses close, the box is full, and the pressure at set is that of the
 * packing formula. Argument: how many cubes, to do only that.
 *
 * The last column is the time a cube takes over that of the first row, and what it would be if it
 * grew with the number of layers, N^(1/3). */
#include "rise/mask.h"
#include "ullage/rise.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

static double now_s(void) {
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double most_memory(void) {
  struct rusage usage;
  getrusage(RUSAGE_SELF, &usage);
  return 1024.0 * (double)usage.ru_maxrss;
}

static double memory_now(void) {
  unsigned long pages = 0;
  FILE *f = fopen("/proc/self/statm", "r");
  if (!f || fscanf(f, "%*u %lu", &pages) != 1) pages = 0;
  if (f) fclose(f);
  return (double)pages * (double)sysconf(_SC_PAGESIZE);
}

static int wrong(const ul_rise_cavity *c) {
  double x = 64.0 / 1080, kpa = 101.325 * (1.25 * (1 - x) * 0.98 / (1 - 1.25 * x) - 1);
  return fabs(c->mass_error) > 1e-9 || fabs(c->air_error) > 1e-9 || c->filled_fraction < 0.999 ||
         fabs(c->end_kpa / kpa - 1) > 0.01;
}

static int time_one(double cubes) {
  const double size[3] = {120, 80, 40}, pour[3] = {60, 40, 0.1};
  ul_rise_vent vent[4];
  for (int i = 0; i < 4; i++)
    vent[i] = (ul_rise_vent){{i % 2 ? 120 : 0, i / 2 ? 80 : 0, 40}, 3, 25, false};
  double cube = 40 / round(cbrt(cubes / 6)); /* a whole number of cubes each way */
  ul_grid *grid = mask_grid(size, cube, mask_everything, NULL);
  float *mobility = mask_mobility(grid, 20);
  ul_rise_opts opts = ul_rise_opts_default();
  opts.mobility_mm2 = mobility;
  opts.pour_mm = &pour;
  opts.vent = vent;
  opts.vent_count = 4;
  opts.pack = 1.25;
  opts.poured_s = 10;
  ul_rise *rise = NULL;
  ul_error err = {0};
  double start = now_s(), before = memory_now();
  ul_status status = ul_rise_run(grid, NULL, &opts, NULL, &rise, &err);
  double took = now_s() - start;
  int bad = status != UL_OK || wrong(&rise->cavity[0]);
  if (bad) printf("rise,%zu,wrong,%s\n", grid->inside_count, err.text);
  static double first_s, first_cubes;
  const double n = (double)grid->inside_count;
  if (!first_cubes) {
    first_s = took;
    first_cubes = n;
  }
  if (!bad)
    printf("rise,%zu cubes,%.2f s,%zu steps,%zu solves,%zu iterations,%.0f bytes a cube,"
           "%.2f times as long a cube; layers %.2f\n",
           grid->inside_count, took, rise->sample_count, rise->cavity[0].solves,
           rise->cavity[0].solver_iterations, (most_memory() - before) / n,
           took / n / (first_s / first_cubes), cbrt(n / first_cubes));
  ul_rise_free(rise);
  free(mobility);
  mask_free(grid);
  return bad;
}

int main(int argc, char **argv) {
  if (argc > 1) return time_one(atof(argv[1]));
  return time_one(30e3) | time_one(250e3) | time_one(1e6);
}
