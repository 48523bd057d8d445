#include "base/vec.h"
#include "cavity/measure.h"
#include "shapes/check.h"
#include "shapes/shapes.h"

#include <math.h>
#include <string.h>

static ul_measure measured(ul_mesh *mesh) {
  ul_measure m;
  ul_measure_triangles(mesh, NULL, mesh->triangle_count, &m);
  ul_mesh_free(mesh);
  return m;
}

static void a_box_has_its_volume_area_centroid_and_inertia(void **state) {
  (void)state;
  ul_measure m = measured(shape_box(30, 20, 10));
  assert_rel(m.volume_mm3, 6000, 1e-14);
  assert_rel(m.area_mm2, 2200, 1e-14);
  const double centroid[3] = {15, 10, 5};
  const double side[3] = {30, 20, 10};
  for (int c = 0; c < 3; c++) {
    assert_rel(m.centroid_mm[c], centroid[c], 1e-14);
    assert_near(m.box_mm[0][c], 0, 0);
    assert_near(m.box_mm[1][c], side[c], 0);
    double b = side[(c + 1) % 3], d = side[(c + 2) % 3];
    assert_rel(m.inertia_mm5[c][c], 6000 * (b * b + d * d) / 12, 1e-13);
    assert_near(m.inertia_mm5[c][(c + 1) % 3], 0, 1e-8);
  }
}

/* The corner tetrahedron with legs a, b, c: V = abc/6, and the product of inertia about the origin
 * -int xy = -a^2 b^2 c / 120. */
static void a_tetrahedron_has_its_products_of_inertia(void **state) {
  (void)state;
  const double a = 3, b = 5, c = 7, v[4][3] = {{0}, {a, 0, 0}, {0, b, 0}, {0, 0, c}};
  const uint32_t t[4][3] = {{0, 2, 1}, {0, 1, 3}, {1, 2, 3}, {0, 3, 2}};
  ul_mesh *mesh;
  assert_ok(ul_mesh_from_arrays(v, 4, t, 4, &mesh, NULL), NULL);
  ul_measure m = measured(mesh);
  double volume = a * b * c / 6;
  assert_rel(m.volume_mm3, volume, 1e-14);
  assert_rel(m.centroid_mm[1], b / 4, 1e-14);
  double about_centroid = -(a * a * b * b * c / 120) + volume * (a / 4) * (b / 4);
  assert_rel(m.inertia_mm5[0][1], about_centroid, 1e-13);
  assert_rel(m.inertia_mm5[2][2], volume * 3.0 / 80 * (a * a + b * b), 1e-13);
}

/* |got - want| / want for a shape refined twice: the facets' error falls fourfold. */
static void assert_second_order(double coarse, double fine, double want) {
  assert_true(coarse < want && fine < want); /* vertices on a convex surface lie around less */
  assert_rel((want - coarse) / (want - fine), 4, 0.03);
}

static void round_shapes_near_their_closed_forms_with_second_order(void **state) {
  (void)state;
  double coarse = measured(shape_icosphere(50, 4)).volume_mm3;
  double fine = measured(shape_icosphere(50, 5)).volume_mm3;
  assert_second_order(coarse, fine, 4.0 / 3 * M_PI * 125000);
  coarse = measured(shape_cap(40, 25, 64, 32)).volume_mm3;
  fine = measured(shape_cap(40, 25, 128, 64)).volume_mm3;
  assert_second_order(coarse, fine, M_PI * 25 * 25 * (3 * 40 - 25) / 3);
  coarse = measured(shape_torus(60, 12, 64, 64)).volume_mm3;
  fine = measured(shape_torus(60, 12, 128, 128)).volume_mm3;
  assert_second_order(coarse, fine, 2 * M_PI * M_PI * 60 * 144);
}

/* A facetted cone or torus is its polygon's share of the round one, exactly. */
static void facetted_shapes_match_their_own_closed_forms(void **state) {
  (void)state;
  ul_measure cone = measured(shape_cone(20, 60, 17));
  assert_rel(cone.volume_mm3, M_PI * 400 * 60 / 3 * shape_ngon_ratio(17), 1e-13);
  assert_rel(cone.centroid_mm[2], 15, 1e-13);
  ul_measure torus = measured(shape_torus(60, 12, 31, 31));
  double section = M_PI * 144 * shape_ngon_ratio(31);
  assert_rel(torus.volume_mm3, 2 * M_PI * 60 * section * shape_ngon_ratio(31), 1e-12);
  assert_near(torus.centroid_mm[0], 0, 1e-10);
}

static void the_measure_does_not_depend_on_where_or_how_the_shape_lies(void **state) {
  (void)state;
  ul_measure home = measured(shape_cone(20, 60, 24));
  for (int turn = 1; turn < 12; turn++) {
    ul_mesh *mesh = shape_cone(20, 60, 24);
    shape_rotate(mesh, turn % 3, 29.0 * turn);
    shape_rotate(mesh, (turn + 1) % 3, 47.0 * turn);
    shape_move(mesh, 5000, -5000, 5000);
    ul_measure m = measured(mesh);
    assert_rel(m.volume_mm3, home.volume_mm3, 1e-12);
    assert_rel(m.area_mm2, home.area_mm2, 1e-12);
    double trace = 0, home_trace = 0;
    for (int c = 0; c < 3; c++) trace += m.inertia_mm5[c][c], home_trace += home.inertia_mm5[c][c];
    assert_rel(trace, home_trace, 1e-11);
  }
}

static void five_metres_from_the_origin_nothing_is_lost(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(30, 20, 10);
  shape_move(mesh, 5000, 5000, -5000);
  ul_measure m = measured(mesh);
  assert_rel(m.volume_mm3, 6000, 1e-14);
  assert_rel(m.centroid_mm[0], 5015, 1e-15);
  assert_rel(m.inertia_mm5[0][0], 6000 * (400.0 + 100.0) / 12, 1e-13);
}

static void a_core_counts_as_missing(void **state) {
  (void)state;
  ul_measure m = measured(shape_box_in_box(50, 20));
  assert_rel(m.volume_mm3, 125000 - 8000, 1e-13);
  assert_rel(m.area_mm2, 6 * 2500 + 6 * 400, 1e-13);
}

static void a_choice_of_triangles_is_measured_alone(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(10, 10, 10), *other = shape_box(5, 5, 5);
  shape_move(other, 100, 0, 0);
  shape_append(mesh, other);
  uint32_t id[12];
  for (uint32_t i = 0; i < 12; i++) id[i] = 12 + i;
  ul_measure m;
  ul_measure_triangles(mesh, id, 12, &m);
  assert_rel(m.volume_mm3, 125, 1e-14);
  assert_rel(m.centroid_mm[0], 102.5, 1e-15);
  assert_near(m.box_mm[0][0], 100, 0);
  ul_measure_triangles(mesh, id, 0, &m);
  assert_true(m.volume_mm3 == 0 && m.area_mm2 == 0);
  ul_mesh_free(mesh);
}

static void threads_do_not_change_a_bit(void **state) {
  (void)state;
  ul_mesh *mesh = shape_icosphere(37, 6);
  shape_move(mesh, 123.4, 567.8, -91.2);
  ul_measure one, many;
  memset(&one, 0, sizeof one);
  memset(&many, 0, sizeof many);
  ul_measure_triangles(mesh, NULL, mesh->triangle_count, &one);
  for (int threads = 1; threads <= 5; threads++) {
    ul_job job = {.threads = threads};
    assert_ok(ul_measure_parallel(mesh, NULL, mesh->triangle_count, &job, &many), NULL);
    assert_memory_equal(&one, &many, sizeof one);
  }
  ul_mesh_free(mesh);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_box_has_its_volume_area_centroid_and_inertia),
      cmocka_unit_test(a_tetrahedron_has_its_products_of_inertia),
      cmocka_unit_test(round_shapes_near_their_closed_forms_with_second_order),
      cmocka_unit_test(facetted_shapes_match_their_own_closed_forms),
      cmocka_unit_test(the_measure_does_not_depend_on_where_or_how_the_shape_lies),
      cmocka_unit_test(five_metres_from_the_origin_nothing_is_lost),
      cmocka_unit_test(a_core_counts_as_missing),
      cmocka_unit_test(a_choice_of_triangles_is_measured_alone),
      cmocka_unit_test(threads_do_not_change_a_bit),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
