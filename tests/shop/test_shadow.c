/* The shadow's area against closed forms. */
#include "base/memory.h"
#include "shapes/check.h"
#include "shapes/shapes.h"
#include "ullage/hold.h"

#include <math.h>

static double shadow(const ul_mesh *mesh, double x, double y, double z) {
  double area = NAN;
  ul_error err = {0};
  assert_ok(ul_shadow_mm2(mesh, (double[3]){x, y, z}, &area, &err), &err);
  return area;
}

/* |n| . (yz, zx, xy) for any direction. */
static void a_box_throws_the_sum_of_its_three_faces(void **state) {
  (void)state;
  ul_mesh *box = shape_box(30, 20, 10);
  shape_move(box, 5000, -5000, 5000);
  for (int n = 0; n < 500; n++) {
    double z = 1 - (2 * n + 1) / 500.0, r = sqrt(1 - z * z), w = 2.399963 * n;
    double x = r * cos(w), y = r * sin(w);
    assert_rel(shadow(box, 7 * x, 7 * y, 7 * z), 200 * fabs(x) + 300 * fabs(y) + 600 * fabs(z),
               1e-11);
  }
  ul_mesh_free(box);
}

/* Cauchy: a convex body's mean shadow is a quarter of its surface. The regular 96-gon of a cylinder
 * seen along its axis is exact. */
static void round_things_throw_round_shadows(void **state) {
  (void)state;
  ul_mesh *cylinder = shape_cylinder(25, 60, 96);
  double polygon = 96 / 2.0 * 25 * 25 * sin(2 * M_PI / 96);
  assert_rel(shadow(cylinder, 0, 0, 1), polygon, 1e-12);
  assert_rel(shadow(cylinder, 0, 0, -3), polygon, 1e-12);
  assert_rel(shadow(cylinder, 1, 0, 0), 50 * 60, 1e-12);
  ul_mesh_free(cylinder);
  ul_mesh *ball = shape_icosphere(40, 5);
  double off[2];
  for (int i = 0; i < 2; i++) {
    off[i] = 1 - shadow(ball, 0.3, 0.2 + i, 0.5) / (M_PI * 1600);
    assert_true(off[i] > 0 && off[i] < 2e-3);
  }
  ul_mesh_free(ball);
}

static void a_hole_lets_light_through_until_it_is_seen_aslant(void **state) {
  (void)state;
  ul_mesh *tube = shape_tube(10, 20, 30, 64);
  double ring = 64 / 2.0 * (400 - 100) * sin(2 * M_PI / 64);
  assert_rel(shadow(tube, 0, 0, 1), ring, 1e-12);
  assert_rel(shadow(tube, 1, 0, 0), 40 * 30, 1e-12);
  ul_mesh_free(tube);
}

/* Two boxes that overlap in the shadow, and a core inside a box. */
static void what_lies_in_the_shadow_of_another_adds_nothing(void **state) {
  (void)state;
  ul_mesh *pair = shape_box(30, 20, 10), *other = shape_box(30, 20, 10);
  shape_move(other, 20, 10, 50);
  shape_append(pair, other);
  assert_rel(shadow(pair, 0, 0, 1), 2 * 600 - 10 * 10, 1e-12);
  assert_rel(shadow(pair, 0, 1, 0), 2 * 300, 1e-12);
  ul_mesh_free(pair);
  ul_mesh *cored = shape_box_in_box(40, 20);
  assert_rel(shadow(cored, 0, 0, 1), 1600, 1e-12);
  ul_mesh_free(cored);
}

/* Two squares turned by 45 degrees against each other cross in eight places: a star of the area of
 * both less the octagon in common, 2 s^2 - 2 (sqrt 2 - 1) s^2. */
static void crossing_outlines_are_a_union(void **state) {
  (void)state;
  ul_mesh *star = shape_box(20, 20, 5), *turned = shape_box(20, 20, 5);
  shape_move(star, -10, -10, 0);
  shape_move(turned, -10, -10, 20);
  shape_rotate(turned, 2, 45);
  shape_append(star, turned);
  shape_rotate(star, 2, 11); /* no edge along the strips */
  assert_rel(shadow(star, 0, 0, 1), 400 * (2 - 2 * (sqrt(2) - 1)), 1e-10);
  ul_mesh_free(star);
}

/* Tread by tread the same from above, and the side view is the stair itself. */
static void a_stair_throws_its_plan_and_its_side(void **state) {
  (void)state;
  ul_mesh *stair = shape_steps(5, 10, 7, 30);
  assert_rel(shadow(stair, 0, 0, 1), 50 * 30, 1e-12);
  assert_rel(shadow(stair, 0, 1, 0), 10 * 7 * (1 + 2 + 3 + 4 + 5), 1e-12);
  ul_mesh_free(stair);
}

static void a_direction_needs_a_length(void **state) {
  (void)state;
  ul_mesh *box = shape_box(1, 1, 1);
  double area = -1;
  ul_error err;
  assert_int_equal(ul_shadow_mm2(box, (double[3]){0, 0, 0}, &area, &err), UL_E_USAGE);
  assert_int_equal(ul_shadow_mm2(box, (double[3]){0, NAN, 1}, &area, &err), UL_E_USAGE);
  assert_true(area == -1);
  ul_mesh_free(box);
}

static void without_memory_it_says_so(void **state) {
  (void)state;
  ul_mesh *box = shape_box(1, 1, 1);
  double area = -1;
  for (long n = 1; n <= 6; n++) {
    ul_memory_fail_at(n);
    assert_int_equal(ul_shadow_mm2(box, (double[3]){0, 0, 1}, &area, NULL), UL_E_MEMORY);
  }
  ul_memory_fail_at(0);
  assert_true(area == -1);
  ul_mesh_free(box);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_box_throws_the_sum_of_its_three_faces),
      cmocka_unit_test(round_things_throw_round_shadows),
      cmocka_unit_test(a_hole_lets_light_through_until_it_is_seen_aslant),
      cmocka_unit_test(what_lies_in_the_shadow_of_another_adds_nothing),
      cmocka_unit_test(crossing_outlines_are_a_union),
      cmocka_unit_test(a_stair_throws_its_plan_and_its_side),
      cmocka_unit_test(a_direction_needs_a_length),
      cmocka_unit_test(without_memory_it_says_so),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
