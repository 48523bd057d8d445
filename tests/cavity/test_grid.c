#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/vec.h"
#include "cavity/by_hand.h"
#include "shapes/check.h"
#include "shapes/shapes.h"
#include "ullage/grid.h"

static ul_grid *grid_of(const ul_solid *solid, const ul_solid *insert, double cube_mm,
                        int threads) {
  double box[2][3];
  ul_lattice lattice;
  ul_columns *columns;
  ul_grid *grid = NULL;
  ul_error err = {0};
  ul_job job = {.threads = threads};
  size_t inserts = insert ? 1 : 0;
  ul_mesh_box_mm(solid->mesh, box);
  assert_ok(ul_lattice_for_box((const double(*)[3])box, cube_mm, &lattice, &err), &err);
  assert_ok(ul_columns_build(solid, &insert, inserts, &lattice, &job, &columns, &err), &err);
  assert_ok(ul_grid_build(solid, &insert, inserts, columns, &job, &grid, &err), &err);
  ul_columns_free(columns);
  return grid;
}

static void centre_of(const ul_grid *g, size_t cube, double at[3]) {
  const ul_lattice *l = &g->lattice;
  size_t nx = (size_t)l->n[0], ny = (size_t)l->n[1];
  const size_t n[3] = {cube % nx, cube / nx % ny, cube / nx / ny};
  for (int c = 0; c < 3; c++) at[c] = l->origin_mm[c] + ((double)n[c] + 0.5) * l->cube_mm;
}

/* Of the volume inside, the share whose half-gap is within `tolerance` of `want`. */
static double share_reading(const ul_grid *g, double want, double tolerance) {
  double all = 0, good = 0;
  for (size_t i = 0; i < g->cube_count; i++) {
    if (!g->inside[i]) continue;
    all += g->fill[i];
    if (fabs(g->half_gap_mm[i] - want) <= tolerance) good += g->fill[i];
  }
  return good / all;
}

static void cubes_inside_are_the_points_with_winding(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box_in_sphere(10, 7, 24, 12);
  shape_rotate(mesh, 0, 19);
  ul_solid *solid = by_hand(mesh, false);
  ul_grid *g = grid_of(solid, NULL, 1.3, 2);
  size_t inside = 0;
  for (size_t i = 0; i < g->cube_count; i++) {
    double at[3];
    centre_of(g, i, at);
    assert_int_equal(g->inside[i], by_hand_winding(mesh, at) > 0.5);
    assert_true(g->cavity[i] == (g->inside[i] ? 0 : UINT32_MAX));
    assert_true(g->inside[i] ? g->half_gap_mm[i] >= g->wall_mm[i] * (1 - 1e-6F)
                             : g->wall_mm[i] == 0);
    inside += g->inside[i];
  }
  assert_int_equal(inside, g->inside_count);
  ul_grid_free(g);
  by_hand_free(solid);
}

/* d of a box by arithmetic, in a box turned askew. */
static void the_wall_is_as_far_as_arithmetic_says(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(12, 9, 7);
  shape_rotate(mesh, 2, 30);
  ul_solid *solid = by_hand(mesh, false);
  ul_grid *g = grid_of(solid, NULL, 0.6, 2);
  double cosine = sqrt(0.75), sine = 0.5;
  for (size_t i = 0; i < g->cube_count; i++) {
    if (!g->inside[i]) continue;
    double at[3];
    centre_of(g, i, at);
    double x = cosine * at[0] + sine * at[1], y = cosine * at[1] - sine * at[0], z = at[2];
    double want = fmin(fmin(fmin(x, 12 - x), fmin(y, 9 - y)), fmin(z, 7 - z));
    assert_near(g->wall_mm[i], want, 1e-6);
  }
  ul_grid_free(g);
  by_hand_free(solid);
}

/* A slab of any thickness, at any angle and offset to the cubes, reads half of it. */
static void a_slab_reads_half_its_thickness(void **state) {
  (void)state;
  for (double thick = 2.3; thick < 9; thick += 1.9)
    for (double deg = 0; deg < 50; deg += 15) {
      ul_solid *slab = by_hand(shape_sheet(60, 50, thick, deg), false);
      ul_grid *g = grid_of(slab, NULL, 1, 2);
      assert_true(share_reading(g, thick / 2, 0.02) > 0.995);
      assert_near(g->half_gap_p50_mm, thick / 2, 1e-6);
      ul_grid_free(g);
      by_hand_free(slab);
    }
}

static void a_sphere_reads_its_radius(void **state) {
  (void)state;
  ul_solid *sphere = by_hand(shape_icosphere(10, 4), false);
  ul_grid *g = grid_of(sphere, NULL, 0.8, 2);
  assert_true(share_reading(g, 10, 0.06) > 0.99);
  assert_near(g->half_gap_p5_mm, 10, 0.06);
  ul_grid_free(g);
  by_hand_free(sphere);
}

static void a_cylinder_reads_its_radius(void **state) {
  (void)state;
  for (double deg = 0; deg < 60; deg += 25) {
    ul_mesh *mesh = shape_cylinder(5, 60, 48);
    shape_rotate(mesh, 1, deg);
    ul_solid *cylinder = by_hand(mesh, false);
    ul_grid *g = grid_of(cylinder, NULL, 0.9, 2);
    double ideal = 5 * cos(M_PI / 48); /* to the middle of a facet */
    assert_true(share_reading(g, ideal, 0.05) > 0.98);
    ul_grid_free(g);
    by_hand_free(cylinder);
  }
}

/* Two chambers joined by a duct: the duct keeps its own half-gap, the chambers theirs. */
static void a_duct_does_not_take_the_chambers_gap(void **state) {
  (void)state;
  ul_mesh *mesh = shape_chambers(24, 6, 30);
  ul_solid *solid = by_hand(mesh, false);
  ul_grid *g = grid_of(solid, NULL, 1, 2);
  double box[2][3];
  ul_mesh_box_mm(mesh, box);
  double middle = (box[0][0] + box[1][0]) / 2;
  size_t duct = 0, wrong = 0, chamber_wrong = 0, chamber = 0;
  for (size_t i = 0; i < g->cube_count; i++) {
    double at[3];
    centre_of(g, i, at);
    if (!g->inside[i]) continue;
    double from_middle = fabs(at[0] - middle);
    if (from_middle < 14) {
      duct++;
      wrong += fabs(g->half_gap_mm[i] - 3) > 0.02;
    } else if (from_middle > 16) {
      chamber++;
      chamber_wrong += fabs(g->half_gap_mm[i] - 12) > 0.02;
    }
  }
  assert_true(duct > 900 && chamber > 20000);
  assert_int_equal(wrong, 0);
  assert_true((double)chamber_wrong < 0.01 * (double)chamber);
  ul_grid_free(g);
  by_hand_free(solid);
}

/* The wall inside an overlap is no wall. */
static void overlapping_boxes_are_as_wide_as_their_union(void **state) {
  (void)state;
  ul_mesh *both = shape_box(30, 12, 12), *other = shape_box(30, 12, 12);
  shape_move(other, 19.7, 0, 0);
  shape_append(both, other);
  ul_solid *solid = by_hand(both, true);
  ul_grid *g = grid_of(solid, NULL, 1.2, 2);
  assert_true(share_reading(g, 6, 0.02) > 0.99);
  for (size_t i = 0; i < g->cube_count; i++) {
    if (!g->inside[i]) continue;
    double at[3];
    centre_of(g, i, at);
    double want =
        fmin(fmin(at[0], 49.7 - at[0]), fmin(fmin(at[1], 12 - at[1]), fmin(at[2], 12 - at[2])));
    assert_near(g->wall_mm[i], want, 1e-6);
  }
  ul_grid_free(g);
  by_hand_free(solid);
}

/* A plate stood in a box leaves two slots. */
static void an_insert_narrows_the_gap(void **state) {
  (void)state;
  ul_solid *box = by_hand(shape_box(40, 40, 20), false);
  ul_mesh *plate_mesh = shape_box(60, 60, 8);
  shape_move(plate_mesh, -10, -10, 7);
  ul_solid *plate = by_hand(plate_mesh, false);
  ul_grid *g = grid_of(box, plate, 1, 2);
  assert_true(share_reading(g, 3.5, 0.01) + share_reading(g, 2.5, 0.01) > 0.99);
  assert_near(g->half_gap_p5_mm, 2.5, 0.01);
  assert_near(g->half_gap_p95_mm, 3.5, 0.01);
  ul_grid_free(g);
  by_hand_free(box);
  by_hand_free(plate);
}

static void cavities_keep_their_numbers_above_an_insert(void **state) {
  (void)state;
  ul_mesh *both = shape_box(10, 10, 10), *other = shape_box(10, 10, 10);
  shape_move(other, 20, 0, 0);
  shape_append(both, other);
  ul_solid *solid = by_hand(both, false);
  for (size_t t = 12; t < 24; t++) solid->cavity_of[t] = 1;
  ul_mesh *plate_mesh = shape_box(40, 20, 2);
  shape_move(plate_mesh, -5, -5, 4);
  ul_solid *plate = by_hand(plate_mesh, false);
  ul_grid *g = grid_of(solid, plate, 1, 2);
  assert_int_equal(g->inside_count, 1600);
  for (size_t i = 0; i < g->cube_count; i++) {
    double at[3];
    centre_of(g, i, at);
    if (g->inside[i]) assert_int_equal(g->cavity[i], at[0] > 15);
  }
  ul_grid_free(g);
  by_hand_free(solid);
  by_hand_free(plate);
}

static void a_grid_does_not_depend_on_threads(void **state) {
  (void)state;
  ul_mesh *mesh = shape_torus(10, 4, 40, 20);
  shape_rotate(mesh, 0, 40);
  ul_solid *solid = by_hand(mesh, false);
  ul_grid *one = grid_of(solid, NULL, 0.7, 1);
  for (int threads = 2; threads <= 7; threads += 5) {
    ul_grid *g = grid_of(solid, NULL, 0.7, threads);
    assert_memory_equal(g->inside, one->inside, g->cube_count);
    assert_memory_equal(g->fill, one->fill, g->cube_count * sizeof(float));
    assert_memory_equal(g->wall_mm, one->wall_mm, g->cube_count * sizeof(float));
    assert_memory_equal(g->half_gap_mm, one->half_gap_mm, g->cube_count * sizeof(float));
    assert_memory_equal(g->cavity, one->cavity, g->cube_count * sizeof(uint32_t));
    assert_true(g->half_gap_p50_mm == one->half_gap_p50_mm);
    ul_grid_free(g);
  }
  ul_grid_free(one);
  by_hand_free(solid);
}

static void a_grid_without_memory_is_said_and_leaks_nothing(void **state) {
  (void)state;
  ul_mesh *both = shape_box(10, 10, 10), *other = shape_box(10, 10, 10);
  shape_move(other, 5, 5, 5);
  shape_append(both, other);
  ul_solid *solid = by_hand(both, true);
  double box[2][3];
  ul_lattice lattice;
  ul_columns *columns;
  ul_job job = {.threads = 1};
  ul_mesh_box_mm(both, box);
  assert_int_equal(ul_lattice_for_box((const double(*)[3])box, 3, &lattice, NULL), UL_OK);
  assert_int_equal(ul_columns_build(solid, NULL, 0, &lattice, &job, &columns, NULL), UL_OK);
  int refused = 0;
  for (long nth = 1;; nth++, refused++) {
    ul_grid *g = NULL;
    ul_error err = {0};
    ul_memory_fail_at(nth);
    ul_status status = ul_grid_build(solid, NULL, 0, columns, &job, &g, &err);
    ul_memory_fail_at(0);
    ul_grid_free(g);
    if (status == UL_OK) break;
    assert_int_equal(status, UL_E_MEMORY);
    assert_null(g);
  }
  assert_true(refused > 40);
  ul_columns_free(columns);
  by_hand_free(solid);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cubes_inside_are_the_points_with_winding),
      cmocka_unit_test(the_wall_is_as_far_as_arithmetic_says),
      cmocka_unit_test(a_slab_reads_half_its_thickness),
      cmocka_unit_test(a_sphere_reads_its_radius),
      cmocka_unit_test(a_cylinder_reads_its_radius),
      cmocka_unit_test(a_duct_does_not_take_the_chambers_gap),
      cmocka_unit_test(overlapping_boxes_are_as_wide_as_their_union),
      cmocka_unit_test(an_insert_narrows_the_gap),
      cmocka_unit_test(cavities_keep_their_numbers_above_an_insert),
      cmocka_unit_test(a_grid_does_not_depend_on_threads),
      cmocka_unit_test(a_grid_without_memory_is_said_and_leaks_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
