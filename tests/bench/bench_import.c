/* A torus of 1,000,000 triangles as a binary STL: from the file, through the child and the weld, to
 * a mesh; and the weld alone, of loose triangles. Prints best and median of five. */
#define _GNU_SOURCE /* mkdtemp() */
#include "ullage/import.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { AROUND = 1000, TUBE = 500, TRIANGLES = 2 * AROUND * TUBE, RUNS = 5 };

static double seconds(void) {
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void on_torus(int i, int j, float at[3]) {
  double u = 2 * M_PI * (i % AROUND) / AROUND, v = 2 * M_PI * (j % TUBE) / TUBE;
  at[0] = (float)((100 + 40 * cos(v)) * cos(u));
  at[1] = (float)((100 + 40 * cos(v)) * sin(u));
  at[2] = (float)(40 * sin(v));
}

static void corners(int t, float at[3][3]) {
  int i = t / 2 / TUBE, j = t / 2 % TUBE;
  on_torus(i, j, at[0]);
  on_torus(i + 1, j + t % 2, at[1]);
  on_torus(i + 1 - t % 2, j + 1, at[2]);
}

static int write_stl(const char *path) {
  FILE *out = fopen(path, "wb");
  if (!out) return 0;
  char header[80] = "torus";
  uint32_t count = TRIANGLES;
  fwrite(header, sizeof header, 1, out);
  fwrite(&count, sizeof count, 1, out);
  for (int t = 0; t < TRIANGLES; t++) {
    char record[50] = {0};
    float at[3][3];
    corners(t, at);
    memcpy(record + 12, at, sizeof at);
    fwrite(record, sizeof record, 1, out);
  }
  return fclose(out) == 0;
}

static ul_mesh *loose(void) {
  ul_mesh *mesh;
  if (ul_mesh_new(3 * (size_t)TRIANGLES, TRIANGLES, &mesh, NULL) != UL_OK) exit(1);
  for (uint32_t t = 0; t < TRIANGLES; t++) {
    float at[3][3];
    corners((int)t, at);
    for (uint32_t c = 0; c < 3; c++) {
      mesh->triangle[t][c] = 3 * t + c;
      for (int k = 0; k < 3; k++) mesh->vertex_mm[3 * t + c][k] = (double)at[c][k];
    }
  }
  return mesh;
}

/* The torus has as many vertices as faces of its grid, and every triangle has an area. */
static void verify(const ul_mesh *mesh) {
  if (mesh->triangle_count == TRIANGLES && mesh->vertex_count == TRIANGLES / 2) return;
  printf("wrong: %zu triangles, %zu vertices\n", mesh->triangle_count, mesh->vertex_count);
  exit(1);
}

static double import_s(const char *path) {
  ul_import_opts opts = ul_import_opts_default();
  ul_mesh *mesh;
  ul_error err;
  double start = seconds();
  if (ul_import(path, &opts, NULL, &mesh, NULL, &err) != UL_OK) {
    printf("wrong: %s\n", err.text);
    exit(1);
  }
  double took = seconds() - start;
  verify(mesh);
  ul_mesh_free(mesh);
  return took;
}

static double weld_s(double tolerance_mm) {
  ul_mesh *mesh = loose();
  double start = seconds();
  if (ul_mesh_weld(mesh, tolerance_mm, NULL, NULL) != UL_OK) exit(1);
  double took = seconds() - start;
  verify(mesh);
  ul_mesh_free(mesh);
  return took;
}

static int by_size(const void *a, const void *b) {
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void print(const char *what, double *s) {
  qsort(s, RUNS, sizeof *s, by_size);
  printf("%s,%d,%.3f,%.3f\n", what, TRIANGLES, s[0], s[RUNS / 2]);
}

int main(void) {
  char directory[] = "/tmp/ullage-bench-XXXXXX", path[100];
  double import[RUNS], equal[RUNS], near[RUNS];
  if (!mkdtemp(directory)) return 1;
  snprintf(path, sizeof path, "%s/torus.stl", directory);
  int written = write_stl(path);
  for (int run = 0; run < RUNS && written; run++) import[run] = import_s(path);
  unlink(path);
  rmdir(directory);
  if (!written) return 1;
  for (int run = 0; run < RUNS; run++) equal[run] = weld_s(0), near[run] = weld_s(-1);
  printf("what,triangles,best_s,median_s\n");
  print("import binary STL", import);
  print("weld equal", equal);
  print("weld default tolerance", near);
  return 0;
}
