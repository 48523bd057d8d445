/* list_peaks MESH CUBES ATTITUDES: prints the cavity's cubes, about CUBES of them, and the peaks
 * that ullage finds in every attitude, for gudhi_peaks.py to compare. */
#include "air/air.h"
#include "ullage/ullage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { MOST = 100000 };

static void must(ul_status status, const ul_error *err) {
  if (status == UL_OK) return;
  fprintf(stderr, "list_peaks: %s: %s\n", ul_status_text(status), err->text);
  exit(ul_status_exit_code(status));
}

/* Direction `i` of `count`: first the six axes, along which tops lie level, then points spread
 * evenly over the sphere on a spiral by the golden angle. */
static void direction(int i, int count, double up[3]) {
  double z = 1 - 2 * (i - 6 + 0.5) / (count - 6), turn = M_PI * (3 - sqrt(5)) * i;
  up[0] = sqrt(1 - z * z) * cos(turn);
  up[1] = sqrt(1 - z * z) * sin(turn);
  up[2] = z;
  for (int a = 0; a < 3 && i < 6; a++) up[a] = i / 2 == a ? 1 - 2 * (i % 2) : 0;
}

static ul_solid *solid_of(const char *path) {
  ul_error err = {0};
  ul_import_opts import = ul_import_opts_default();
  ul_import_info info;
  ul_solid_opts opts = ul_solid_opts_default();
  ul_mesh *mesh = NULL;
  ul_audit *audit = NULL;
  ul_solid *solid = NULL;
  must(ul_import(path, &import, NULL, &mesh, &info, &err), &err);
  must(ul_audit_mesh(mesh, &opts, NULL, &audit, &solid, &err), &err);
  must(ul_audit_verdict(audit, &err), &err);
  ul_audit_free(audit);
  ul_mesh_free(mesh);
  return solid;
}

static ul_columns *columns_of(const ul_solid *solid, double cubes) {
  ul_error err = {0};
  double box_mm[2][3];
  ul_lattice lattice;
  ul_columns *columns = NULL;
  ul_mesh_box_mm(solid->mesh, box_mm);
  must(ul_lattice_for_box((const double(*)[3])box_mm, ul_cube_for_count(solid, cubes), &lattice,
                          &err),
       &err);
  must(ul_columns_build(solid, NULL, 0, &lattice, NULL, &columns, &err), &err);
  return columns;
}

/* The first cube whose centre lies at or above `height_mm`. */
static int first_above(const ul_lattice *lattice, double height_mm) {
  return (int)ceil((height_mm - lattice->origin_mm[2]) / lattice->cube_mm - 0.5);
}

/* "run i j k0 k1": cubes (i, j, k0) to (i, j, k1 - 1) have their centres inside. */
static void print_cubes(const ul_columns *columns) {
  const ul_lattice *l = &columns->lattice;
  const ul_bundle *z = &columns->bundle[2];
  printf("lattice %.17g %.17g %.17g %.17g %d %d %d\n", l->origin_mm[0], l->origin_mm[1],
         l->origin_mm[2], l->cube_mm, l->n[0], l->n[1], l->n[2]);
  for (int32_t j = 0; j < l->n[1]; j++)
    for (int32_t i = 0; i < l->n[0]; i++) {
      size_t ray = ul_ray(l, 2, i, j);
      for (uint32_t r = z->first[ray]; r < z->first[ray + 1]; r++)
        printf("run %d %d %d %d\n", i, j, first_above(l, z->run[r].lo),
               first_above(l, z->run[r].hi));
    }
}

/* As people are told of them: exactly placed on the mesh. */
static void print_peaks(const ul_heights *heights, const double up[3]) {
  ul_error err = {0};
  ul_peaks_opts opts = ul_peaks_opts_default();
  ul_peaks *peaks = NULL;
  opts.void_ok_mm3 = 0;
  must(ul_peaks_find(heights, up, &opts, &peaks, &err), &err);
  for (size_t p = 0; p < peaks->count; p++)
    printf("peak %.17g %.17g\n", peaks->peak[p].height_mm, peaks->peak[p].cut_off_mm);
  ul_peaks_free(peaks);
}

/* As a search over attitudes finds them in the columns of a large mesh. */
static void print_pockets(ul_air *air, const double up[3], ul_pocket *pocket) {
  size_t count = 0;
  must(ul_air_pockets(air, up, 0, MOST, pocket, &count), &(ul_error){0});
  for (size_t p = 0; p < count; p++)
    printf("pocket %.17g %.17g\n", pocket[p].height_mm, pocket[p].cut_off_mm);
}

int main(int count, char **argument) {
  if (count != 4) return 2;
  ul_solid *solid = solid_of(argument[1]);
  ul_columns *columns = columns_of(solid, atof(argument[2]));
  int attitudes = atoi(argument[3]);
  ul_error err = {0};
  ul_heights *heights = NULL;
  ul_air *air = NULL;
  ul_pocket *pocket = malloc(MOST * sizeof *pocket);
  must(pocket ? UL_OK : UL_E_MEMORY, &err);
  must(ul_heights_new(solid, columns, NULL, &heights, &err), &err);
  must(ul_air_new_of(heights, &ul_air_columns, &air, &err), &err);
  print_cubes(columns);
  for (int a = 0; a < attitudes; a++) {
    double up[3];
    direction(a, attitudes, up);
    printf("up %.17g %.17g %.17g\n", up[0], up[1], up[2]);
    print_peaks(heights, up);
    print_pockets(air, up, pocket);
  }
  free(pocket);
  ul_air_free(air);
  ul_heights_free(heights);
  ul_columns_free(columns);
  ul_solid_free(solid);
  return 0;
}
