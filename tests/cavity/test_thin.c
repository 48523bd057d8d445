#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "cavity/by_hand.h"
#include "shapes/check.h"
#include "shapes/shapes.h"
#include "ullage/grid.h"

enum { MOST = 8 };

/* Places of `mesh`, which it frees, less those of an insert, at four cubes across. */
static size_t places(ul_mesh *mesh, bool overlapping, ul_mesh *insert_mesh, double cube_mm,
                     ul_thin_place out[MOST]) {
  ul_solid *solid = by_hand(mesh, overlapping);
  ul_solid *insert = insert_mesh ? by_hand(insert_mesh, false) : NULL;
  const ul_solid *inserts[1] = {insert};
  ul_thin_place *found;
  size_t count;
  ul_error err = {0};
  assert_ok(ul_thin_places(solid, inserts, insert ? 1 : 0, cube_mm, 4, NULL, &found, &count, &err),
            &err);
  assert_true(count <= MOST);
  memcpy(out, found, count * sizeof *out);
  free(found);
  by_hand_free(solid);
  by_hand_free(insert);
  return count;
}

static void edges_corners_poles_and_wedges_are_not_thin(void **state) {
  (void)state;
  ul_thin_place p[MOST];
  for (double deg = 0; deg < 50; deg += 17) {
    ul_mesh *shape[] = {
        shape_box(40, 30, 20),      shape_icosphere(10, 4),    shape_torus(20, 8, 60, 30),
        shape_cone(20, 15, 60),     shape_cylinder(9, 30, 48), shape_gable(40, 30, 12, 25),
        shape_cap(30, 9.5, 60, 12), shape_steps(4, 9, 9, 30),  shape_box_in_box(40, 20)};
    for (size_t s = 0; s < sizeof shape / sizeof *shape; s++) {
      shape_rotate(shape[s], 0, deg);
      shape_rotate(shape[s], 2, 2 * deg);
      assert_int_equal(places(shape[s], false, NULL, 2, p), 0);
    }
  }
}

/* A fin of 0.6 mm, 12 x 10 mm, on a block; at any angle, whether rays meet it or not. */
static void a_fin_is_found_with_its_thickness(void **state) {
  (void)state;
  const double x[] = {0, 9.7, 10.3, 20}, y[] = {0, 4, 16, 20}, z[] = {0, 15, 25};
  unsigned char solid[18];
  for (int i = 0; i < 18; i++) solid[i] = i < 9 || i == 9 + 4;
  for (double deg = 0; deg < 50; deg += 9) {
    ul_mesh *mesh = shape_cells(x, 3, y, 3, z, 2, solid);
    shape_rotate(mesh, 1, deg);
    ul_thin_place p[MOST];
    assert_int_equal(places(mesh, false, NULL, 2, p), 1);
    assert_rel(p[0].thick_mm, 0.6, 1e-9);
    assert_rel(p[0].needs_cube_mm, 0.15, 1e-9);
    assert_rel(p[0].area_mm2, 120, 1e-9);
    assert_rel(p[0].volume_mm3, 72, 1e-9);
    double c = cos(deg * M_PI / 180), s = sin(deg * M_PI / 180);
    double along = c * p[0].at_mm[0] - s * p[0].at_mm[2];
    double up = s * p[0].at_mm[0] + c * p[0].at_mm[2];
    assert_near(along, 10, 1e-9);
    assert_true(up > 15 && up < 25 && p[0].at_mm[1] > 4 && p[0].at_mm[1] < 16);
  }
}

/* A duct 1 mm wide runs between the rays of a lattice of 2 mm: no bundle sees it. */
static void a_duct_between_all_rays_is_found(void **state) {
  (void)state;
  ul_mesh *mesh = shape_chambers(24, 1, 30);
  double box[2][3];
  ul_mesh_box_mm(mesh, box);
  double middle = (box[0][0] + box[1][0]) / 2;
  ul_thin_place p[MOST];
  assert_int_equal(places(mesh, false, NULL, 2, p), 1);
  assert_rel(p[0].thick_mm, 1, 1e-9);
  assert_near(p[0].at_mm[0], middle, 15);
  assert_rel(p[0].area_mm2, 60, 0.05); /* two pairs of walls see it */
}

static void places_come_thinnest_first(void **state) {
  (void)state;
  const double x[] = {0, 10, 10.8, 30, 30.5, 40}, y[] = {0, 20}, z[] = {0, 15, 25};
  const unsigned char solid[10] = {1, 1, 1, 1, 1, 0, 1, 0, 1, 0};
  ul_thin_place p[MOST];
  assert_int_equal(places(shape_cells(x, 5, y, 1, z, 2, solid), false, NULL, 2, p), 2);
  assert_rel(p[0].thick_mm, 0.5, 1e-9);
  assert_rel(p[1].thick_mm, 0.8, 1e-9);
  assert_near(p[0].at_mm[0], 30.25, 1e-9);
  assert_near(p[1].at_mm[0], 10.4, 1e-9);
}

/* The limit is four cubes: 7.9 mm is under four of 2 mm, 8.1 is not. */
static void thin_is_under_the_number_of_cubes_asked_for(void **state) {
  (void)state;
  ul_thin_place p[MOST];
  assert_int_equal(places(shape_box(60, 50, 7.9), false, NULL, 2, p), 1);
  assert_rel(p[0].thick_mm, 7.9, 1e-9);
  assert_rel(p[0].volume_mm3, 60 * 50 * 7.9, 1e-9);
  assert_int_equal(places(shape_box(60, 50, 8.1), false, NULL, 2, p), 0);
}

/* A plate 0.5 mm off the floor; flush with it there is no gap, and what sticks out of the cavity
 * makes none either. */
static void a_gap_beside_an_insert_is_found(void **state) {
  (void)state;
  ul_thin_place p[MOST];
  ul_mesh *plate = shape_box(60, 20, 3);
  shape_move(plate, -10, 10, 0.5);
  assert_int_equal(places(shape_box(40, 40, 30), false, plate, 2, p), 1);
  assert_rel(p[0].thick_mm, 0.5, 1e-9);
  assert_rel(p[0].volume_mm3, 40 * 20 * 0.5, 0.05);
  plate = shape_box(60, 20, 3);
  shape_move(plate, -10, 10, 0);
  assert_int_equal(places(shape_box(40, 40, 30), false, plate, 2, p), 0);
}

/* Two boxes that overlap by 1 mm: the wall between is gone. */
static void an_overlap_is_not_thin(void **state) {
  (void)state;
  ul_mesh *both = shape_box(20, 20, 20), *other = shape_box(20, 20, 20);
  shape_move(other, 19, 0, 0);
  shape_append(both, other);
  ul_thin_place p[MOST];
  assert_int_equal(places(both, true, NULL, 2, p), 0);
}

static void places_do_not_depend_on_threads(void **state) {
  (void)state;
  ul_solid *solid = by_hand(shape_torus(20, 3, 80, 40), false);
  ul_thin_place *one = NULL;
  size_t count = 0;
  for (int threads = 1; threads <= 7; threads += 3) {
    ul_job job = {.threads = threads};
    ul_thin_place *many;
    size_t more;
    assert_int_equal(ul_thin_places(solid, NULL, 0, 2, 4, &job, &many, &more, NULL), UL_OK);
    if (threads == 1) {
      one = many, count = more;
      assert_int_equal(count, 1);
      continue;
    }
    assert_int_equal(more, count);
    assert_memory_equal(many, one, count * sizeof *one);
    free(many);
  }
  free(one);
  by_hand_free(solid);
}

static void a_search_that_cannot_be_is_refused(void **state) {
  (void)state;
  ul_solid *solid = by_hand(shape_box(20, 20, 5), false);
  ul_thin_place *found;
  size_t count;
  ul_error err;
  assert_int_equal(ul_thin_places(solid, NULL, 0, 0, 4, NULL, &found, &count, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "a cube of 0 mm"));
  ul_job job = {.threads = 1};
  int refused = 0;
  for (long nth = 1;; nth++, refused++) {
    ul_memory_fail_at(nth);
    ul_status status = ul_thin_places(solid, NULL, 0, 2, 4, &job, &found, &count, &err);
    ul_memory_fail_at(0);
    free(found);
    if (status == UL_OK) break;
    assert_int_equal(status, UL_E_MEMORY);
    assert_null(found);
  }
  assert_true(refused > 8);
  by_hand_free(solid);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(edges_corners_poles_and_wedges_are_not_thin),
      cmocka_unit_test(a_fin_is_found_with_its_thickness),
      cmocka_unit_test(a_duct_between_all_rays_is_found),
      cmocka_unit_test(places_come_thinnest_first),
      cmocka_unit_test(thin_is_under_the_number_of_cubes_asked_for),
      cmocka_unit_test(a_gap_beside_an_insert_is_found),
      cmocka_unit_test(an_overlap_is_not_thin),
      cmocka_unit_test(places_do_not_depend_on_threads),
      cmocka_unit_test(a_search_that_cannot_be_is_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
