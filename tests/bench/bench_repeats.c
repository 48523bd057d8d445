/* 64 coarse rises of a demo cavity, repeated with the shop's scatter: to be done within a minute on
 * two cores. Vented where an open rise comes last. Checked before it is timed: the same tries on
 * one thread give the same bytes (the first four of them). Arguments: the mesh, how many cubes. */
#include "ullage/ullage.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { TRIES = 64, VENTS = 4 };

typedef struct {
  ul_solid *solid;
  ul_columns *columns;
  ul_grid *grid;
  float *mobility;
  ul_rise_vent vent[VENTS];
  double (*pour)[3];
  ul_rise_opts opts;
} bed;

static double now_s(clockid_t clock) {
  struct timespec t;
  clock_gettime(clock, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static ul_status cut(const char *path, double cubes, bed *b, ul_error *err) {
  ul_import_opts import = ul_import_opts_default();
  ul_solid_opts audit_opts = ul_solid_opts_default();
  ul_import_info info;
  ul_audit *audit;
  ul_mesh *mesh;
  ul_status status = ul_import(path, &import, NULL, &mesh, &info, err);
  if (status == UL_OK) status = ul_audit_mesh(mesh, &audit_opts, NULL, &audit, &b->solid, err);
  if (status != UL_OK) return status;
  ul_mesh_free(mesh);
  ul_audit_free(audit);
  double box[2][3];
  ul_lattice lattice;
  ul_mesh_box_mm(b->solid->mesh, box);
  status = ul_lattice_for_box((const double(*)[3])box, ul_cube_for_count(b->solid, cubes), &lattice,
                              err);
  if (status == UL_OK)
    status = ul_columns_build(b->solid, NULL, 0, &lattice, NULL, &b->columns, err);
  if (status == UL_OK) status = ul_grid_build(b->solid, NULL, 0, b->columns, NULL, &b->grid, err);
  if (status != UL_OK) return status;
  b->mobility = calloc(b->grid->cube_count, sizeof *b->mobility);
  return ul_mobility(b->grid, b->columns, NULL, NULL, b->mobility, err);
}

/* An open rise, its last places as vents, its pour as the one to scatter. */
static ul_status vent(bed *b, ul_error *err) {
  b->opts = ul_rise_opts_default();
  b->opts.mobility_mm2 = b->mobility;
  b->opts.up[0] = 0.2;
  b->opts.open = true;
  ul_rise *rise;
  ul_status status = ul_rise_run(b->grid, b->columns, &b->opts, NULL, &rise, err);
  if (status != UL_OK) return status;
  ul_last_place last[VENTS];
  size_t count;
  status =
      ul_last_places(b->grid, b->columns, rise->arrival_s, b->opts.up, 0, VENTS, last, &count, err);
  for (size_t i = 0; i < count; i++) {
    b->vent[i] = (ul_rise_vent){.diameter_mm = 3, .length_mm = 25};
    memcpy(b->vent[i].at_mm, last[i].at_mm, sizeof last[i].at_mm);
  }
  b->pour = calloc(rise->cavity_count, sizeof *b->pour);
  for (size_t i = 0; i < rise->cavity_count; i++)
    memcpy(b->pour[i], rise->cavity[i].pour_mm, sizeof b->pour[i]);
  b->opts.open = false;
  b->opts.vent = b->vent;
  b->opts.vent_count = count;
  b->opts.pour_mm = (const double(*)[3])b->pour;
  ul_rise_free(rise);
  return status;
}

static ul_status repeat(const bed *b, size_t tries, int threads, ul_repeats **out, ul_error *err) {
  ul_repeats_opts opts = ul_repeats_opts_default();
  const ul_job job = {.threads = threads};
  opts.tries = tries;
  return ul_repeats_run(b->grid, b->columns, &b->opts, &opts, &job, out, err);
}

int main(int argc, char **argv) {
  if (argc < 2) return 2;
  bed b = {0};
  ul_error err = {0};
  ul_repeats *few = NULL, *all = NULL;
  ul_status status = cut(argv[1], argc > 2 ? atof(argv[2]) : 4000, &b, &err);
  if (status == UL_OK) status = vent(&b, &err);
  if (status == UL_OK) status = repeat(&b, 4, 1, &few, &err);
  double wall = now_s(CLOCK_MONOTONIC), cpu = now_s(CLOCK_PROCESS_CPUTIME_ID);
  if (status == UL_OK) status = repeat(&b, TRIES, 2, &all, &err);
  wall = now_s(CLOCK_MONOTONIC) - wall;
  cpu = now_s(CLOCK_PROCESS_CPUTIME_ID) - cpu;
  bool good = status == UL_OK && memcmp(few->list, all->list, 4 * sizeof *few->list) == 0;
  if (good)
    printf("repeats,%d rises,%zu cubes,%.1f s on two threads,%.1f s of processor,%zu good\n", TRIES,
           b.grid->inside_count, wall, cpu, all->good);
  else
    printf("repeats,wrong,%s\n", err.text);
  ul_repeats_free(few);
  ul_repeats_free(all);
  free(b.pour);
  free(b.mobility);
  ul_grid_free(b.grid);
  ul_columns_free(b.columns);
  ul_solid_free(b.solid);
  return good ? 0 : 1;
}
