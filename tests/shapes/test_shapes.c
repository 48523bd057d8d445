#include "shapes/check.h"
#include "shapes/shapes.h"

#include <math.h>

#include "base/vec.h"

/* Volume by signed tetrahedra from the origin; the shapes here stand near it. */
static double volume(const ul_mesh *mesh) {
  double six = 0;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    const uint32_t *v = mesh->triangle[t];
    double normal[3];
    ul_cross(mesh->vertex_mm[v[1]], mesh->vertex_mm[v[2]], normal);
    six += ul_dot(mesh->vertex_mm[v[0]], normal);
  }
  return six / 6;
}

/* How often the mesh runs along the edge from a to b. */
static int uses(const ul_mesh *mesh, uint32_t a, uint32_t b) {
  int count = 0;
  for (size_t t = 0; t < mesh->triangle_count; t++)
    for (int e = 0; e < 3; e++)
      count += mesh->triangle[t][e] == a && mesh->triangle[t][(e + 1) % 3] == b;
  return count;
}

/* Closed, manifold, consistently wound, and of the volume said; frees the mesh. */
static void assert_shape(ul_mesh *mesh, double volume_mm3) {
  for (size_t t = 0; t < mesh->triangle_count; t++)
    for (int e = 0; e < 3; e++) {
      uint32_t a = mesh->triangle[t][e], b = mesh->triangle[t][(e + 1) % 3];
      assert_true(a < mesh->vertex_count && a != b);
      assert_int_equal(uses(mesh, a, b), 1);
      assert_int_equal(uses(mesh, b, a), 1);
    }
  assert_rel(volume(mesh), volume_mm3, 1e-12);
  ul_mesh_free(mesh);
}

static void flat_shapes_have_the_volume_of_their_arithmetic(void **state) {
  (void)state;
  assert_shape(shape_box(30, 20, 10), 6000);
  assert_shape(shape_gable(100, 40, 30, 50), 100 * 40 * 40);
  assert_shape(shape_steps(4, 20, 10, 30), 20 * 30 * (10 + 20 + 30 + 40));
  assert_shape(shape_comb(5, 4, 6, 10, 25, 8), 8 * (44 * 10 + 5 * 4 * 25));
  assert_shape(shape_u(10, 30, 12, 80, 60, 15), 15 * (50 * 12 + 10 * 68 + 10 * 48));
  assert_shape(shape_chambers(40, 1, 25), 2 * 64000 + 25);
  assert_shape(shape_rib_box(60, 30, 40, 25, 0.6, 20), 60 * 30 * 40 - 0.6 * 30 * 20);
  assert_shape(shape_sheet(100, 80, 2, 33), 16000);
  assert_shape(shape_horn_and_dome(), 72000 + 1000 + 50000);
  assert_shape(shape_box_in_box(50, 20), 125000 - 8000);
}

static void round_shapes_have_the_volume_of_their_facets(void **state) {
  (void)state;
  double n32 = shape_ngon_ratio(32);
  assert_shape(shape_cylinder(10, 25, 32), n32 * M_PI * 2500);
  assert_shape(shape_tube(6, 10, 25, 32), n32 * M_PI * 64 * 25);
  assert_shape(shape_cone(10, 30, 32), n32 * M_PI * 1000);
  /* Pappus holds for the polygon turned, less the facets of the turning. */
  double tube = shape_ngon_ratio(24) * M_PI * 25;
  assert_shape(shape_torus(20, 5, 32, 24), n32 * 2 * M_PI * 20 * tube);
  assert_shape(shape_arch(20, 30, 12, 32), shape_ngon_ratio(64) * M_PI / 2 * 500 * 12);
}

/* The shortfall falls by four when the facets are halved. */
static void assert_tends_to(ul_mesh *coarse, ul_mesh *fine, double limit) {
  double far = limit - volume(coarse), near = limit - volume(fine);
  assert_true(near > 0 && far / near > 3.8 && far / near < 4.2);
  ul_mesh_free(coarse);
  ul_mesh_free(fine);
}

static void finer_facets_tend_to_the_sphere_at_second_order(void **state) {
  (void)state;
  double ball = 4.0 / 3 * M_PI * 1000;
  assert_tends_to(shape_sphere(10, 24, 12), shape_sphere(10, 48, 24), ball);
  assert_tends_to(shape_icosphere(10, 2), shape_icosphere(10, 3), ball);
  assert_tends_to(shape_cap(20, 8, 24, 12), shape_cap(20, 8, 48, 24), M_PI * 64 * (60 - 8) / 3);
  assert_tends_to(shape_box_in_sphere(10, 6, 24, 12), shape_box_in_sphere(10, 6, 48, 24),
                  ball - 216);
}

static void round_shapes_are_closed_and_wound_outwards(void **state) {
  (void)state;
  ul_mesh *shape[] = {shape_sphere(10, 12, 6), shape_icosphere(10, 2), shape_cap(20, 8, 12, 6),
                      shape_cap(20, 33, 12, 8), shape_box_in_sphere(10, 6, 12, 6)};
  for (size_t s = 0; s < sizeof shape / sizeof *shape; s++) {
    double v = volume(shape[s]);
    assert_true(v > 0);
    assert_shape(shape[s], v);
  }
}

/* A plate with two holes, one square and one wound the other way, along each axis. */
static void a_prism_leaves_its_holes_out(void **state) {
  (void)state;
  const double plate[6][2] = {{0, 0}, {60, 0}, {60, 40}, {30, 30}, {0, 40}, {0, 20}};
  const double square[4][2] = {{10, 10}, {20, 10}, {20, 20}, {10, 20}};
  const double diamond[4][2] = {{40, 10}, {35, 15}, {40, 20}, {45, 15}};
  const shape_loop loop[3] = {{plate, 6}, {square, 4}, {diamond, 4}};
  for (int axis = 0; axis < 3; axis++)
    assert_shape(shape_prism(loop, 3, axis, -2, 5), 7 * (60 * 30 + 60 * 5 - 100 - 50));
}

static void transforms_do_what_they_say(void **state) {
  (void)state;
  ul_mesh *box = shape_box(30, 20, 10);
  shape_rotate(box, 2, 90); /* +x goes to +y */
  shape_scale(box, 2);
  shape_move(box, 1, 2, 3);
  double box_mm[2][3];
  ul_mesh_box_mm(box, box_mm);
  const double want[2][3] = {{-39, 2, 3}, {1, 62, 23}};
  for (int c = 0; c < 6; c++) assert_near(box_mm[c / 3][c % 3], want[c / 3][c % 3], 1e-12);
  shape_append(box, shape_box(1, 1, 1));
  assert_rel(volume(box), 48001, 1e-12);
  shape_reverse(box);
  assert_rel(volume(box), -48001, 1e-12);
  shape_drop_triangle(box, 23);
  assert_int_equal(box->triangle_count, 23);
  ul_mesh_free(box);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(flat_shapes_have_the_volume_of_their_arithmetic),
      cmocka_unit_test(round_shapes_have_the_volume_of_their_facets),
      cmocka_unit_test(finer_facets_tend_to_the_sphere_at_second_order),
      cmocka_unit_test(round_shapes_are_closed_and_wound_outwards),
      cmocka_unit_test(a_prism_leaves_its_holes_out),
      cmocka_unit_test(transforms_do_what_they_say),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
