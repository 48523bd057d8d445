#include "base/memory.h"
#include "base/vec.h"
#include "rise/cubes.h"
#include "rise/mask.h"
#include "shapes/check.h"
#include "ullage/level.h"

#include <math.h>
#include <string.h>

static const double upright[3] = {0, 0, 1};

static ul_level *rise(const ul_grid *grid, const double up[3], const double *pour_mm,
                      const ul_vent_at *vent, size_t vents) {
  ul_level *level = NULL;
  ul_error err;
  assert_ok(ul_level_rise(grid, NULL, up, (const double(*)[3])pour_mm, vent, vents,
                          UL_UNVENTED_OPEN, NULL, &level, &err),
            &err);
  return level;
}

static double arrival(const ul_grid *g, const ul_level *l, double x, double y, double z) {
  return (double)l->arrival[mask_cube(g, x, y, z)];
}

static void a_level_box_fills_layer_by_layer(void **state) {
  (void)state;
  const double size[3] = {20, 10, 8};
  ul_grid *g = mask_grid(size, 1, mask_everything, NULL);
  ul_level *l = rise(g, upright, NULL, NULL, 0);
  for (int k = 0; k < 8; k++)
    for (int i = 0; i < 20; i++) {
      double t = arrival(g, l, i + 0.5, 4.5, k + 0.5);
      assert_true(t > k / 8.0 && t < (k + 1) / 8.0);
    }
  assert_int_equal(l->void_count, 0);
  assert_rel(l->filled[0], 1, 1e-12);
  assert_rel(l->last_mm[0][2], 7.5, 1e-12);
  assert_true(isnan(l->arrival[0]));
  ul_level_free(l);
  mask_free(g);
}

/* A floor, an edge, a corner. */
static void it_is_poured_in_the_middle_of_what_is_lowest(void **state) {
  (void)state;
  const double size[3] = {21, 11, 8}, edge[3] = {0.3, 0, 1}, corner[3] = {0.3, 0.3, 1};
  ul_grid *g = mask_grid(size, 1, mask_everything, NULL);
  ul_level *l = rise(g, upright, NULL, NULL, 0);
  assert_near(ul_distance(l->pour_mm[0], (double[3]){10.5, 5.5, 0}), 0, 1e-9);
  ul_level_free(l);
  l = rise(g, edge, NULL, NULL, 0);
  assert_near(l->pour_mm[0][1], 5.5, 1e-9);
  assert_true(l->pour_mm[0][0] < 2);
  ul_level_free(l);
  l = rise(g, corner, NULL, NULL, 0);
  assert_true(l->pour_mm[0][0] < 2 && l->pour_mm[0][1] < 2);
  ul_level_free(l);
  mask_free(g);
}

static void an_unvented_cavity_keeps_its_air_when_asked_to(void **state) {
  (void)state;
  const double size[3] = {20, 10, 8};
  ul_grid *g = mask_grid(size, 1, mask_everything, NULL);
  const ul_vent_at vent = {{20, 5, 8}, 3};
  ul_level *l;
  for (size_t vents = 0; vents < 2; vents++) {
    assert_ok(ul_level_rise(g, NULL, upright, NULL, &vent, vents, UL_UNVENTED_SHUT, NULL, &l, NULL),
              NULL);
    assert_near(l->filled[0], (double)vents, 1e-12);
    assert_int_equal(l->void_count, 1 - vents);
    if (!vents) assert_rel(l->voids[0].void_mm3, 20 * 10 * 8, 1e-12);
    ul_level_free(l);
  }
  mask_free(g);
}

/* Two arms 4 x 4 x 20 joined below by a duct 4 high: arms from x = 0 and x = 16. */
static bool in_u_tube(const double at[3], const void *context) {
  (void)context;
  return at[2] < 4 || at[0] < 4 || at[0] > 16;
}

static void both_arms_of_a_u_tube_rise_together(void **state) {
  (void)state;
  const double size[3] = {20, 4, 20}, pour[3] = {2, 2, 19.5};
  const ul_vent_at vent[2] = {{{2, 2, 20}, 3}, {{18, 2, 20}, 3}};
  ul_grid *g = mask_grid(size, 1, in_u_tube, NULL);
  ul_level *l = rise(g, upright, pour, vent, 2);
  const double layer = 32.0 / (20 * 4 * 4 + 2 * 4 * 4 * 16);
  for (int k = 0; k < 20; k++)
    assert_near(arrival(g, l, 2, 2, k + 0.5), arrival(g, l, 18, 2, k + 0.5), k < 4 ? 0.1 : layer);
  assert_int_equal(l->void_count, 0);
  ul_level_free(l);
  mask_free(g);
}

static void the_far_arm_without_a_vent_keeps_its_air_above_the_bend(void **state) {
  (void)state;
  const double size[3] = {20, 4, 20}, pour[3] = {2, 2, 19.5};
  const ul_vent_at vent = {{2, 2, 20}, 3};
  ul_grid *g = mask_grid(size, 1, in_u_tube, NULL);
  ul_level *l = rise(g, upright, pour, &vent, 1);
  const double total = 20 * 4 * 4 + 2 * 4 * 4 * 16, arm = 4 * 4 * 16;
  assert_int_equal(l->void_count, 1);
  /* Cut off when the last of the bend's layer fills; that layer's cubes fill in order of number, so
   * up to a layer of the bend may be caught with the arm. */
  assert_true(l->voids[0].air_mm3 >= arm && l->voids[0].air_mm3 <= arm + 16 + 1e-9);
  assert_near(l->voids[0].cut_off_fraction, 320 / total, 80 / total);
  assert_rel(l->voids[0].at_mm[2], 20, 1e-12);
  assert_rel(l->filled[0] * total + l->voids[0].air_mm3, total, 1e-12);
  assert_rel(arrival(g, l, 18, 2, 10), 2, 0);
  ul_level_free(l);
  mask_free(g);
}

/* A wall 2 thick at x = 10 to 12, up to z = 6, between a basin of 10 and one of 18. */
static bool in_two_basins(const double at[3], const void *context) {
  (void)context;
  return at[0] < 10 || at[0] > 12 || at[2] > 6;
}

static void a_full_basin_spills_and_the_next_fills_before_both_rise(void **state) {
  (void)state;
  const double size[3] = {30, 5, 12}, pour[3] = {2, 2, 11};
  ul_grid *g = mask_grid(size, 1, in_two_basins, NULL);
  ul_level *l = rise(g, upright, pour, NULL, 0);
  const double total = 30 * 5 * 12 - 2 * 5 * 6, near = 10 * 5 * 6, far = 18 * 5 * 6;
  for (int k = 0; k < 6; k++) {
    double a = arrival(g, l, 5.5, 2.5, k + 0.5), b = arrival(g, l, 20.5, 2.5, k + 0.5);
    assert_true(a * total > near * k / 6 && a * total < near * (k + 1) / 6);
    assert_true(b * total > near + far * k / 6 && b * total < near + far * (k + 1) / 6);
  }
  for (int k = 6; k < 12; k++)
    for (int i = 0; i < 30; i++) {
      double t = arrival(g, l, i + 0.5, 2.5, k + 0.5) * total - near - far;
      assert_true(t > 150 * (k - 6) && t < 150 * (k - 5));
    }
  assert_int_equal(l->void_count, 0);
  ul_level_free(l);
  mask_free(g);
}

/* A cup upside down: walls 1 thick from z = 4 to 12 round x, y in 6 to 14, its bottom at 11 to 12.
 */
static bool round_a_cup(const double at[3], const void *context) {
  (void)context;
  double r = fmax(fabs(at[0] - 10), fabs(at[1] - 10));
  return !(at[2] > 4 && at[2] < 12 && r < 4 && (r > 3 || at[2] > 11));
}

static void a_cup_upside_down_keeps_the_air_above_its_rim(void **state) {
  (void)state;
  const double size[3] = {20, 20, 16};
  ul_grid *g = mask_grid(size, 1, round_a_cup, NULL);
  ul_level *l = rise(g, upright, NULL, NULL, 0);
  assert_int_equal(l->void_count, 1);
  const ul_void *v = &l->voids[0];
  assert_rel(v->air_mm3, 6 * 6 * 7, 1e-12);
  assert_near(v->cut_off_fraction * (20 * 20 * 16 - 8 * 8 * 8 + 6 * 6 * 7), 20 * 20 * 4, 400);
  assert_rel(v->at_mm[2], 11, 1e-12);
  assert_true(v->across_mm > 6 * sqrt(2) && v->across_mm < 12);
  ul_level_free(l);
  mask_free(g);
}

typedef struct {
  double half[3], mid[3], axis[3][3];
} turned;

static bool in_turned_box(const double at[3], const void *context) {
  const turned *b = context;
  for (int a = 0; a < 3; a++) {
    double d = 0;
    for (int c = 0; c < 3; c++) d += b->axis[a][c] * (at[c] - b->mid[c]);
    if (fabs(d) > b->half[a]) return false;
  }
  return true;
}

/* A box has one peak in every attitude, however its walls lie to the lattice: any void would be an
 * artefact of the stair steps. */
static void a_box_vented_at_its_highest_corner_keeps_nothing_in_any_attitude(void **state) {
  (void)state;
  const double size[3] = {60, 60, 60};
  for (int deg = 0; deg < 90; deg += 15) {
    double c = cos(deg * M_PI / 180), s = sin(deg * M_PI / 180);
    turned box = {{20, 14, 9}, {30, 30, 30}, {{c, s, 0}, {-s * c, c * c, s}, {s * s, -s * c, c}}};
    ul_grid *g = mask_grid(size, 1, in_turned_box, &box);
    for (int i = 0; i < 24; i++) {
      double z = 1 - (2 * i + 1) / 24.0, r = sqrt(1 - z * z), turn = i * 2.399963;
      const double up[3] = {r * cos(turn), r * sin(turn), z};
      ul_level *l = rise(g, up, NULL, NULL, 0);
      assert_int_equal(l->void_count, 0);
      assert_rel(l->filled[0], 1, 1e-12);
      ul_level_free(l);
    }
    mask_free(g);
  }
}

static bool two_rooms(const double at[3], const void *context) {
  (void)context;
  return at[0] < 8 || at[0] > 12;
}

static void every_cavity_is_filled_from_its_own_pour(void **state) {
  (void)state;
  const double size[3] = {30, 6, 6}, pour[2][3] = {{1, 3, 3}, {29, 3, 3}};
  ul_grid *g = mask_grid(size, 1, two_rooms, NULL);
  ul_level *l = rise(g, upright, &pour[0][0], NULL, 0);
  for (int v = 0; v < 2; v++) {
    assert_rel(l->filled[v], 1, 1e-12);
    assert_rel(l->pour_mm[v][0], pour[v][0], 0);
  }
  assert_int_equal(l->void_count, 0);
  ul_level_free(l);
  const double crossed[2][3] = {{29, 3, 3}, {1, 3, 3}};
  ul_error err;
  assert_int_equal(
      ul_level_rise(g, NULL, upright, crossed, NULL, 0, UL_UNVENTED_OPEN, NULL, &l, &err),
      UL_E_OUTSIDE);
  assert_null(l);
  assert_non_null(strstr(err.text, "is in cavity 2, not in cavity 1"));
  mask_free(g);
}

static void a_place_outside_is_refused_with_its_distance(void **state) {
  (void)state;
  const double size[3] = {20, 10, 8}, pour[3] = {10, 5, -4.3};
  ul_grid *g = mask_grid(size, 1, mask_everything, NULL);
  ul_level *l = NULL;
  ul_error err;
  assert_int_equal(ul_level_rise(g, NULL, upright, (const double(*)[3])pour, NULL, 0,
                                 UL_UNVENTED_OPEN, NULL, &l, &err),
                   UL_E_OUTSIDE);
  assert_null(l);
  assert_string_equal(err.text, "pour at 10.0, 5.0, -4.3 mm is outside the cavity, 4.3 mm from its "
                                "nearest point 10.0, 5.0, 0.0 mm: move it there");
  const ul_vent_at vent[2] = {{{3, 3, 8}, 3}, {{3, 3, 12}, 3}};
  assert_int_equal(ul_level_rise(g, NULL, upright, NULL, vent, 2, UL_UNVENTED_OPEN, NULL, &l, &err),
                   UL_E_OUTSIDE);
  assert_non_null(strstr(err.text, "vent 2 at 3.0, 3.0, 12.0 mm"));
  assert_true(err.has_place && err.at_mm[2] == 12);
  const double nowhere[3] = {0, 0, 0};
  assert_int_equal(ul_level_rise(g, NULL, nowhere, NULL, NULL, 0, UL_UNVENTED_OPEN, NULL, &l, &err),
                   UL_E_USAGE);
  mask_free(g);
}

static void partly_filled_cubes_count_with_a_neighbour_inside(void **state) {
  (void)state;
  const double size[3] = {10, 10, 10};
  ul_grid *g = mask_grid(size, 1, mask_everything, NULL);
  double want = 1000;
  for (int i = 0; i < 10; i++) { /* a skin of 0.3 above the top, and a sliver on that */
    g->fill[mask_cube(g, i + 0.5, 4.5, 10.5)] = 0.3f;
    want += (double)0.3f;
  }
  ul_cubes *c = NULL;
  ul_error err;
  assert_ok(ul_cubes_new(g, NULL, &c, &err), &err);
  assert_rel(c->cavity_mm3[0], want, 1e-12);
  assert_rel(c->volume_mm3[c->of_lattice[mask_cube(g, 3.5, 4.5, 9.5)]], 1 + (double)0.3f, 1e-12);
  ul_cubes_free(c);
  mask_free(g);
}

static void a_failing_allocation_leaves_nothing_behind(void **state) {
  (void)state;
  const double size[3] = {20, 20, 16};
  ul_grid *g = mask_grid(size, 1, round_a_cup, NULL);
  ul_status status = UL_E_MEMORY;
  for (long n = 1; status != UL_OK; n++) {
    ul_level *l = NULL;
    ul_memory_fail_at(n);
    status = ul_level_rise(g, NULL, upright, NULL, NULL, 0, UL_UNVENTED_OPEN, NULL, &l, NULL);
    assert_true(status == UL_OK ? l != NULL : status == UL_E_MEMORY && l == NULL);
    ul_level_free(l);
    assert_true(n < 200);
  }
  ul_memory_fail_at(0);
  mask_free(g);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_level_box_fills_layer_by_layer),
      cmocka_unit_test(it_is_poured_in_the_middle_of_what_is_lowest),
      cmocka_unit_test(an_unvented_cavity_keeps_its_air_when_asked_to),
      cmocka_unit_test(both_arms_of_a_u_tube_rise_together),
      cmocka_unit_test(the_far_arm_without_a_vent_keeps_its_air_above_the_bend),
      cmocka_unit_test(a_full_basin_spills_and_the_next_fills_before_both_rise),
      cmocka_unit_test(a_cup_upside_down_keeps_the_air_above_its_rim),
      cmocka_unit_test(a_box_vented_at_its_highest_corner_keeps_nothing_in_any_attitude),
      cmocka_unit_test(every_cavity_is_filled_from_its_own_pour),
      cmocka_unit_test(a_place_outside_is_refused_with_its_distance),
      cmocka_unit_test(partly_filled_cubes_count_with_a_neighbour_inside),
      cmocka_unit_test(a_failing_allocation_leaves_nothing_behind),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
