#include "air/air.h"
#include "air/flood.h"
#include "air/lie.h"
#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MOST = 64 };

/* Every test is made on both graphs; its state says which. */
static const ul_air_kind *kind_of(void **state) {
  return *state;
}

static size_t pockets_of(const ul_air_kind *kind, const lie *l, const double up[3],
                         double void_ok_mm3, ul_pocket *pocket) {
  ul_air *air = NULL;
  ul_error err;
  size_t count;
  assert_ok(ul_air_new_of(l->heights, kind, &air, &err), &err);
  assert_ok(ul_air_pockets(air, up, void_ok_mm3, MOST, pocket, &count), NULL);
  assert_true(count <= MOST);
  ul_air_free(air);
  return count;
}

static double trapped_of(const ul_air_kind *kind, const lie *l, const double up[3],
                         const double (*vent)[3], size_t vents) {
  ul_air *air = NULL;
  double trapped;
  assert_ok(ul_air_new_of(l->heights, kind, &air, NULL), NULL);
  assert_ok(ul_air_trapped_mm3(air, up, vent, vents, &trapped), NULL);
  ul_air_free(air);
  return trapped;
}

static bool listed(double height, double cut_off, double near, const flood_pocket *cubes,
                   size_t count) {
  for (size_t i = 0; i < count; i++)
    if (fabs(cubes[i].height - height) < near && fabs(cubes[i].cut_off - cut_off) < near)
      return true;
  return false;
}

/* --- a second method --- */

/* Both ways: a pocket of cubes three cubes deep is found, and one found that deep is among the
 * cubes'. A cube's centre is up to 0.87 cubes from the run's end it stands for. */
static void pockets_are_those_of_a_flood_cube_by_cube(void **state) {
  uint64_t dice = 11;
  for (int n = 0; n < 10; n++) {
    ul_mesh *mesh = lie_shape(n);
    shape_rotate(mesh, 1, 3);
    shape_rotate(mesh, 0, 7);
    lie l = lie_make(mesh, 40);
    for (int tried = 0; tried < 15; tried++) {
      double up[3];
      ul_pocket pocket[MOST];
      flood_pocket cubes[1000], found[MOST];
      lie_random_up(&dice, up);
      size_t count = pockets_of(kind_of(state), &l, up, 0, pocket), cube_count;
      cube_count = flood_deeper_than(l.columns, up, l.cube_mm, cubes);
      for (size_t i = 0; i < count; i++) {
        found[i] = (flood_pocket){pocket[i].height_mm, pocket[i].cut_off_mm};
        if (pocket[i].height_mm - pocket[i].cut_off_mm > 3 * l.cube_mm)
          assert_true(listed(pocket[i].height_mm, pocket[i].cut_off_mm, 1.5 * l.cube_mm, cubes,
                             cube_count));
      }
      for (size_t i = 0; i < cube_count; i++)
        if (cubes[i].height - cubes[i].cut_off > 3 * l.cube_mm)
          assert_true(listed(cubes[i].height, cubes[i].cut_off, 1.5 * l.cube_mm, found, count));
    }
    lie_free(&l);
  }
}

/* --- closed forms --- */

/* Teeth 8 x 20 x 15 over a bar: three of the four are cut off at the bar's top. */
static void the_teeth_of_a_comb_are_pockets_of_their_own_volume(void **state) {
  lie l = lie_make(shape_comb(4, 8, 6, 10, 20, 15), 100);
  const double up[3] = {0, 0, 2};
  ul_pocket pocket[MOST];
  assert_int_equal(pockets_of(kind_of(state), &l, up, 0, pocket), 4);
  assert_true(isnan(pocket[0].cut_off_mm));
  assert_rel(pocket[0].pocket_mm3, 4 * 2400 + 50 * 15 * 10, 1e-9);
  for (int i = 1; i < 4; i++) {
    assert_near(pocket[i].height_mm, 30, 1e-9);
    assert_near(pocket[i].cut_off_mm, 10, 1e-9);
    assert_rel(pocket[i].pocket_mm3, 2400, 1e-9);
  }
  lie_free(&l);
}

static void one_vent_in_the_horn_leaves_the_domes_air(void **state) {
  lie l = lie_make(shape_horn_and_dome(), 120);
  const double up[3] = {0, 0, 1}, horn[1][3] = {{12.5, 30, 50}}, dome[1][3] = {{85, 30, 30}};
  double both[2][3];
  memcpy(both[0], horn[0], sizeof both[0]);
  memcpy(both[1], dome[0], sizeof both[1]);
  assert_rel(trapped_of(kind_of(state), &l, up, horn, 1), 50000, 1e-9);
  assert_rel(trapped_of(kind_of(state), &l, up, dome, 1), 1000, 1e-9);
  assert_true(trapped_of(kind_of(state), &l, up, (const double(*)[3])both, 2) == 0);
  assert_rel(trapped_of(kind_of(state), &l, up, NULL, 0), 51000 + 120 * 60 * 10, 1e-9);
  lie_free(&l);
}

/* A vent halfway up the left wall of a box: what lies above it stays. */
static void a_vent_below_the_top_keeps_what_is_above_it(void **state) {
  lie l = lie_make(shape_box(40, 30, 20), 80);
  const double up[3] = {1, 0, 0}, vent[1][3] = {{10, 15, 20}};
  assert_rel(trapped_of(kind_of(state), &l, up, vent, 1), 30.0 * 30 * 20, 0.03);
  lie_free(&l);
}

/* A fin that no column meets: its top is still on the cavity, and lets the box's air out. */
static void a_vent_on_a_fin_thinner_than_the_cubes_hangs_below_it(void **state) {
  const double x[4] = {0, 50.6, 51.2, 100}, y[2] = {0, 60}, z[3] = {0, 30, 90};
  const unsigned char solid[6] = {1, 1, 1, 0, 1, 0};
  lie l = lie_make(shape_cells(x, 3, y, 1, z, 2, solid), 40); /* 2.5 mm: rays at 48.75, 51.25 */
  const double up[3] = {0, 0, 1}, vent[1][3] = {{50.9, 30, 90}};
  assert_near(trapped_of(kind_of(state), &l, up, vent, 1), 0, 1e-6);
  lie_free(&l);
}

static void a_vent_far_from_the_cavity_is_refused(void **state) {
  lie l = lie_make(shape_box(40, 30, 20), 20);
  const double up[3] = {0, 0, 1}, vent[1][3] = {{90, 15, 20}}, no_up[3] = {0, 0, 0};
  ul_air *air = NULL;
  double trapped;
  ul_pocket pocket[1];
  size_t count;
  assert_ok(ul_air_new_of(l.heights, kind_of(state), &air, NULL), NULL);
  assert_int_equal(ul_air_trapped_mm3(air, up, vent, 1, &trapped), UL_E_OUTSIDE);
  assert_int_equal(ul_air_pockets(air, no_up, 0, 1, pocket, &count), UL_E_USAGE);
  ul_air_free(air);
  lie_free(&l);
}

/* Thinner than the cube, the rib often lies between two columns: it still parts the air. The box is
 * turned against the columns, and `up` with it, so the cut-off is the rib's foot. */
static void a_thin_rib_always_parts_two_pockets(void **state) {
  const double thick[] = {0.3, 0.5, 0.9}, lean[] = {0, 20, 45};
  for (int t = 0; t < 3; t++)
    for (int a = 0; a < 3; a++)
      for (int offset = 0; offset < 10; offset++) {
        ul_mesh *mesh = shape_rib_box(60, 16, 30, 30 + 0.1 * offset, thick[t], 20);
        shape_rotate(mesh, 1, lean[a]);
        lie l = lie_make(mesh, a ? 75 : 60); /* a cube is 0.9 to 1 mm */
        double turn = lean[a] * M_PI / 180;
        const double up[3] = {sin(turn), 0, cos(turn)};
        ul_pocket pocket[MOST];
        assert_int_equal(pockets_of(kind_of(state), &l, up, 0, pocket), 2);
        double cut_off = isnan(pocket[0].cut_off_mm) ? pocket[1].cut_off_mm : pocket[0].cut_off_mm;
        assert_near(cut_off, 10, 1.5 * l.cube_mm);
        lie_free(&l);
      }
}

/* --- what must not matter --- */

static void a_rounding_error_in_the_attitude_changes_no_pocket(void **state) {
  for (int n = 0; n < 10; n++) {
    lie l = lie_make(lie_shape(n), 50);
    for (int axis = 0; axis < 3; axis++) {
      double up[3] = {0, 0, 0}, off[3];
      ul_pocket pocket[MOST], again[MOST];
      up[axis] = n % 2 ? 1 : -1;
      for (int c = 0; c < 3; c++) off[c] = up[c] + (c == axis ? 0 : 1e-9);
      size_t count = pockets_of(kind_of(state), &l, up, 0, pocket);
      assert_int_equal(pockets_of(kind_of(state), &l, off, 0, again), count);
      for (size_t i = 0; i < count; i++) {
        assert_near(again[i].height_mm, pocket[i].height_mm, 1e-6);
        assert_rel(again[i].pocket_mm3, pocket[i].pocket_mm3, 1e-6);
      }
    }
    lie_free(&l);
  }
}

/* Level, a lid holds nothing once its vent is found; raised, all four attitudes drain to the top
 * corner as well. */
static void a_box_traps_nothing_when_vented_at_its_highest_corner(void **state) {
  lie l = lie_make(shape_box(60, 40, 30), 60);
  const double corner[1][3] = {{60, 40, 30}};
  for (int x = 0; x <= 60; x += 5)
    for (int y = 0; y <= 60; y += 5) {
      double up[3] = {sin(x * M_PI / 180), sin(y * M_PI / 180), 0};
      up[2] = sqrt(fmax(0, 1 - up[0] * up[0] - up[1] * up[1]));
      assert_true(trapped_of(kind_of(state), &l, up, corner, 1) == 0);
    }
  lie_free(&l);
}

static void the_number_of_threads_does_not_show(void **state) {
  lie l = lie_make(shape_torus(30, 10, 48, 24), 50);
  const double up[3] = {0.9, 0.1, 0.2};
  ul_pocket pocket[MOST] = {{0}}, again[MOST] = {{0}};
  size_t count = pockets_of(kind_of(state), &l, up, 0, pocket);
  for (int threads = 1; threads <= 7; threads += 3) {
    ul_job job = {.threads = threads};
    ul_heights_free(l.heights);
    assert_ok(ul_heights_new(l.solid, l.columns, &job, &l.heights, NULL), NULL);
    assert_int_equal(pockets_of(kind_of(state), &l, up, 0, again), count);
    assert_memory_equal(pocket, again, count * sizeof *pocket);
  }
  lie_free(&l);
}

static void any_failing_allocation_is_reported(void **state) {
  lie l = lie_make(shape_u(10, 20, 10, 50, 40, 12), 20);
  const ul_job job = {.threads = 1};
  ul_status status = UL_E_MEMORY;
  for (long nth = 1; status == UL_E_MEMORY; nth++) {
    ul_heights *heights = NULL;
    ul_air *air = NULL;
    ul_memory_fail_at(nth);
    status = ul_heights_new(l.solid, l.columns, &job, &heights, NULL);
    if (status == UL_OK) status = ul_air_new_of(heights, kind_of(state), &air, NULL);
    ul_memory_fail_at(0);
    ul_air_free(air);
    ul_heights_free(heights);
    assert_true(nth < 1000);
  }
  assert_int_equal(status, UL_OK);
  lie_free(&l);
}

int main(void) {
  void *columns = (void *)&ul_air_columns, *skin = (void *)&ul_air_skin;
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_prestate(pockets_are_those_of_a_flood_cube_by_cube, columns),
      cmocka_unit_test_prestate(pockets_are_those_of_a_flood_cube_by_cube, skin),
      cmocka_unit_test_prestate(the_teeth_of_a_comb_are_pockets_of_their_own_volume, columns),
      cmocka_unit_test_prestate(the_teeth_of_a_comb_are_pockets_of_their_own_volume, skin),
      cmocka_unit_test_prestate(one_vent_in_the_horn_leaves_the_domes_air, columns),
      cmocka_unit_test_prestate(one_vent_in_the_horn_leaves_the_domes_air, skin),
      cmocka_unit_test_prestate(a_vent_below_the_top_keeps_what_is_above_it, columns),
      cmocka_unit_test_prestate(a_vent_below_the_top_keeps_what_is_above_it, skin),
      cmocka_unit_test_prestate(a_vent_on_a_fin_thinner_than_the_cubes_hangs_below_it, columns),
      cmocka_unit_test_prestate(a_vent_on_a_fin_thinner_than_the_cubes_hangs_below_it, skin),
      cmocka_unit_test_prestate(a_vent_far_from_the_cavity_is_refused, columns),
      cmocka_unit_test_prestate(a_vent_far_from_the_cavity_is_refused, skin),
      cmocka_unit_test_prestate(a_thin_rib_always_parts_two_pockets, columns),
      cmocka_unit_test_prestate(a_thin_rib_always_parts_two_pockets, skin),
      cmocka_unit_test_prestate(a_rounding_error_in_the_attitude_changes_no_pocket, columns),
      cmocka_unit_test_prestate(a_rounding_error_in_the_attitude_changes_no_pocket, skin),
      cmocka_unit_test_prestate(a_box_traps_nothing_when_vented_at_its_highest_corner, columns),
      cmocka_unit_test_prestate(a_box_traps_nothing_when_vented_at_its_highest_corner, skin),
      cmocka_unit_test_prestate(the_number_of_threads_does_not_show, columns),
      cmocka_unit_test_prestate(the_number_of_threads_does_not_show, skin),
      cmocka_unit_test_prestate(any_failing_allocation_is_reported, columns),
      cmocka_unit_test_prestate(any_failing_allocation_is_reported, skin),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
