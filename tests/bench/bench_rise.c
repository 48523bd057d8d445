/* A whole rise: a lidded level box vented in its four corners, at 1/4 and 1 million cubes. Checked
 * before it is timed: masses close, the box is full, and the pressure at set is that of the packing
 * formula. Argument: how many cubes, to do only that. */
#include "rise/mask.h"
#include "ullage/rise.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static double now_s(void) {
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
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
  double start = now_s();
  ul_status status = ul_rise_run(grid, NULL, &opts, NULL, &rise, &err);
  double took = now_s() - start;
  int bad = status != UL_OK || wrong(&rise->cavity[0]);
  if (bad) printf("rise,%zu,wrong,%s\n", grid->inside_count, err.text);
  if (!bad)
    printf("rise,%zu cubes,%.2f s,%zu steps,%zu solves,%zu iterations\n", grid->inside_count, took,
           rise->sample_count, rise->cavity[0].solves, rise->cavity[0].solver_iterations);
  ul_rise_free(rise);
  free(mobility);
  mask_free(grid);
  return bad;
}

int main(int argc, char **argv) {
  if (argc > 1) return time_one(atof(argv[1]));
  return time_one(250e3) | time_one(1e6);
}
