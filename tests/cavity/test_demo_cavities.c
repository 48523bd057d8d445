/* The five demo cavities, from their files to their cubes. */
#include "shapes/check.h"
#include "shapes/shapes.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "ullage/ullage.h"

static const char *const demo[5] = {"bow-ball.3mf", "seat-pad.stl", "rigger-float.stl",
                                    "dock-fender.stl", "rack-saddle.obj"};
enum { BALL, PAD, FLOAT, FENDER, SADDLE };

static ul_mesh *demo_mesh(int which, ul_import_info *info) {
  char path[4096];
  snprintf(path, sizeof path, "%s/%s", MESHES, demo[which]);
  ul_import_opts opts = ul_import_opts_default();
  ul_mesh *mesh = NULL;
  ul_error err = {0};
  assert_ok(ul_import(path, &opts, NULL, &mesh, info, &err), &err);
  return mesh;
}

static ul_solid *demo_solid(int which) {
  ul_import_info info;
  return shape_solid(demo_mesh(which, &info));
}

static void no_demo_cavity_has_a_fault(void **state) {
  (void)state;
  for (int d = 0; d < 5; d++) {
    ul_import_info info;
    ul_mesh *mesh = demo_mesh(d, &info);
    ul_solid_opts opts = ul_solid_opts_default();
    ul_audit *audit = NULL;
    ul_solid *solid = NULL;
    ul_error err = {0};
    assert_ok(ul_audit_mesh(mesh, &opts, NULL, &audit, &solid, &err), &err);
    for (size_t f = 0; f < audit->fault_count; f++)
      print_error("%s: %zu %s\n", demo[d], audit->fault[f].count,
                  ul_fault_word(audit->fault[f].kind));
    assert_true(audit->usable && audit->closed && audit->fault_count == 0);
    assert_int_equal(solid->cavity_count, 1);
    assert_int_equal(solid->shell_count, d == FENDER ? 2 : 1);
    assert_int_equal(info.weld.triangles_dropped, 0);
    ul_solid_free(solid);
    ul_audit_free(audit);
    ul_mesh_free(mesh);
  }
}

/* 260 x 50 x 12 mm, a core: negative. */
static void the_fenders_board_is_a_core_of_its_size(void **state) {
  (void)state;
  ul_solid *fender = demo_solid(FENDER);
  double board = fmin(fender->shell[0].volume_mm3, fender->shell[1].volume_mm3);
  assert_rel(board, -260 * 50 * 12, 1e-4); /* its sides lie at multiples of 1/1024 mm */
  ul_solid_free(fender);
}

static void the_ball_says_its_unit_and_the_saddle_its_faces(void **state) {
  (void)state;
  ul_import_info info;
  ul_mesh *mesh = demo_mesh(BALL, &info);
  assert_true(info.unit_from_file && info.unit == UL_UNIT_MM);
  ul_mesh_free(mesh);
  mesh = demo_mesh(SADDLE, &info);
  bool cradle = false;
  for (size_t p = 0; p < mesh->part_count; p++) cradle |= strstr(mesh->part_name[p], "cradle") != 0;
  assert_true(mesh->part_count >= 9 && cradle);
  ul_mesh_free(mesh);
}

/* (sum of fill fractions x cube volume) / mesh volume - 1, at `across` cubes along the longest side
 * of the box. */
static double fill_error(const ul_solid *solid, double across) {
  double box_mm[2][3], longest = 0, sum = 0;
  ul_mesh_box_mm(solid->mesh, box_mm);
  for (int a = 0; a < 3; a++) longest = fmax(longest, box_mm[1][a] - box_mm[0][a]);
  ul_lattice lattice;
  ul_columns *columns = NULL;
  ul_grid *grid = NULL;
  ul_error err = {0};
  assert_ok(ul_lattice_for_box((const double(*)[3])box_mm, longest / across, &lattice, &err), &err);
  assert_ok(ul_columns_build(solid, NULL, 0, &lattice, NULL, &columns, &err), &err);
  assert_ok(ul_grid_build(solid, NULL, 0, columns, NULL, &grid, &err), &err);
  for (size_t c = 0; c < grid->cube_count; c++) sum += grid->fill[c];
  ul_grid_free(grid);
  ul_columns_free(columns);
  return sum * pow(lattice.cube_mm, 3) / solid->cavity[0].volume_mm3 - 1;
}

/* Shares are exact for the polyhedron, so there is no order of convergence to see: coarse cubes are
 * as good as fine ones, to the rounding of each share to float. */
static void fill_fractions_add_up_to_the_volume_at_any_cube(void **state) {
  (void)state;
  for (int d = 0; d < 5; d++) {
    ul_solid *solid = demo_solid(d);
    for (int across = 16; across <= 64; across *= 2)
      assert_near(fill_error(solid, across), 0, 1e-6);
    ul_solid_free(solid);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_demo_cavity_has_a_fault),
      cmocka_unit_test(the_fenders_board_is_a_core_of_its_size),
      cmocka_unit_test(the_ball_says_its_unit_and_the_saddle_its_faces),
      cmocka_unit_test(fill_fractions_add_up_to_the_volume_at_any_cube),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
