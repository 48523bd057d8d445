#include <math.h>
#include <stdlib.h>

#include "base/vec.h"
#include "cavity/bvh.h"
#include "cavity/by_hand.h"
#include "shapes/check.h"
#include "shapes/shapes.h"

static double random_unit(uint64_t *state) {
  *state = *state * 6364136223846793005u + 1442695040888963407u;
  return (double)(*state >> 11) / 9007199254740992.0;
}

static ul_bvh *tree(const ul_mesh *mesh) {
  ul_bvh *bvh = NULL;
  assert_int_equal(ul_bvh_new(&mesh, 1, NULL, &bvh, NULL), UL_OK);
  return bvh;
}

/* Distance to one triangle by parameters: the foot in its plane if it is inside, else the nearest
 * of many points along its edges. Slow, and written another way than what it checks. */
static double slow_triangle(const double p[3][3], const double from[3]) {
  double best = INFINITY;
  for (int k = 0; k < 3; k++) {
    const double *a = p[k], *b = p[(k + 1) % 3];
    double lo = 0, hi = 1, at[3], ab[3];
    ul_sub(b, a, ab);
    for (int i = 0; i < 200; i++) { /* ternary search: the distance along an edge is convex */
      double l = lo + (hi - lo) / 3, r = hi - (hi - lo) / 3, to[3];
      ul_add_scaled(a, l, ab, at);
      ul_add_scaled(a, r, ab, to);
      if (ul_distance(at, from) < ul_distance(to, from))
        hi = r;
      else
        lo = l;
    }
    ul_add_scaled(a, (lo + hi) / 2, ab, at);
    best = fmin(best, ul_distance(at, from));
  }
  double ab[3], ac[3], af[3], n[3];
  ul_sub(p[1], p[0], ab);
  ul_sub(p[2], p[0], ac);
  ul_sub(from, p[0], af);
  ul_cross(ab, ac, n);
  double aa = ul_dot(ab, ab), bb = ul_dot(ac, ac), m = ul_dot(ab, ac);
  double x = ul_dot(af, ab), y = ul_dot(af, ac), det = aa * bb - m * m;
  double s = (x * bb - y * m) / det, t = (y * aa - x * m) / det;
  if (s >= 0 && t >= 0 && s + t <= 1) best = fmin(best, fabs(ul_dot(af, n)) / ul_norm(n));
  return best;
}

static void the_nearest_point_is_that_of_a_search_over_all_triangles(void **state) {
  (void)state;
  ul_mesh *mesh = shape_torus(10, 4, 19, 11);
  shape_rotate(mesh, 0, 33);
  shape_move(mesh, 4000, 0, 0);
  ul_bvh *bvh = tree(mesh);
  uint64_t random = 5;
  for (int i = 0; i < 300; i++) {
    double from[3] = {4000 + 30 * random_unit(&random) - 15, 30 * random_unit(&random) - 15,
                      30 * random_unit(&random) - 15};
    double best = INFINITY, at[3], corner[3][3];
    for (size_t t = 0; t < mesh->triangle_count; t++) {
      for (int v = 0; v < 3; v++) ul_copy3(mesh->vertex_mm[mesh->triangle[t][v]], corner[v]);
      best = fmin(best, slow_triangle((const double(*)[3])corner, from));
    }
    ul_nearest near = {.square = INFINITY};
    assert_true(ul_bvh_nearest(bvh, from, &near));
    assert_near(sqrt(near.square), best, 1e-9);
    assert_near(ul_distance(near.at, from), best, 1e-9);
    ul_bvh_triangle(bvh, near.triangle, corner);
    ul_triangle_nearest((const double(*)[3])corner, from, at);
    assert_near(ul_distance(at, near.at), 0, 1e-12);
    near.square *= 0.999;
    assert_false(ul_bvh_nearest(bvh, from, &near));
  }
  ul_bvh_free(bvh);
  ul_mesh_free(mesh);
}

/* A cone's triangles are long and thin, and as near as one another from its axis; those at its foot
 * have one corner and no height in common with their box. The tree's last levels bound them by more
 * than boxes. */
static void nearest_points_and_windings_of_a_cone_are_those_of_a_search_over_all(void **state) {
  (void)state;
  ul_mesh *mesh = shape_cone(10, 14, 400);
  shape_rotate(mesh, 0, 33);
  shape_move(mesh, 900, 0, 0);
  ul_bvh *bvh = tree(mesh);
  uint64_t random = 11;
  int inside = 0;
  for (int i = 0; i < 1000; i++) {
    double from[3], best = INFINITY, at[3], corner[3][3];
    for (int c = 0; c < 3; c++)
      from[c] = mesh->vertex_mm[0][c] + (i % 2 ? 24 : 4) * (2 * random_unit(&random) - 1);
    for (size_t t = 0; t < mesh->triangle_count; t++) {
      for (int v = 0; v < 3; v++) ul_copy3(mesh->vertex_mm[mesh->triangle[t][v]], corner[v]);
      best = fmin(best, ul_triangle_nearest((const double(*)[3])corner, from, at));
    }
    ul_nearest near = {.square = INFINITY};
    assert_true(ul_bvh_nearest(bvh, from, &near));
    assert_rel(near.square, best, 1e-12);
    const int winding = ul_bvh_winding(bvh, from);
    assert_near(winding, by_hand_winding(mesh, from), 1e-6);
    inside += winding;
  }
  assert_true(inside > 20 && inside < 900);
  ul_bvh_free(bvh);
  ul_mesh_free(mesh);
}

/* From inside a box every ray leaves through the face that arithmetic says. */
static void mark(void *context, uint32_t triangle) {
  ((int *)context)[triangle]++;
}

static bool boxes_meet(const double corner[3][3], const double low[3], const double high[3]) {
  bool meets = true;
  for (int c = 0; c < 3; c++) {
    int below = 0, above = 0;
    for (int k = 0; k < 3; k++) below += corner[k][c]<low[c], above += corner[k][c]> high[c];
    meets = meets && below < 3 && above < 3;
  }
  return meets;
}

static void what_is_in_a_box_is_told_once(void **state) {
  (void)state;
  ul_mesh *mesh = shape_torus(10, 4, 19, 11);
  shape_rotate(mesh, 0, 33);
  shape_move(mesh, 4000, 0, 0);
  ul_bvh *bvh = tree(mesh);
  uint64_t random = 7;
  for (int i = 0; i < 100; i++) {
    double low[3], high[3], corner[3][3];
    for (int c = 0; c < 3; c++) {
      low[c] = (c == 0) * 4000 + 30 * random_unit(&random) - 15;
      high[c] = low[c] + 10 * random_unit(&random);
    }
    int told[2 * 19 * 11] = {0};
    ul_bvh_in_box(bvh, low, high, mark, told);
    for (uint32_t t = 0; t < mesh->triangle_count; t++) {
      ul_bvh_triangle(bvh, t, corner);
      assert_int_equal(told[t], boxes_meet((const double(*)[3])corner, low, high));
    }
  }
  ul_bvh_free(bvh);
  ul_mesh_free(mesh);
}

static void rays_in_a_box_meet_the_face_ahead(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(10, 20, 30);
  ul_bvh *bvh = tree(mesh);
  uint64_t random = 17;
  for (int i = 0; i < 2000; i++) {
    double from[3], way[3], want = INFINITY;
    for (int c = 0; c < 3; c++) {
      double size = 10 * (c + 1);
      from[c] = size * random_unit(&random);
      way[c] = i % 8 == 0 ? (c == i / 8 % 3) : 2 * random_unit(&random) - 1;
      if (way[c] != 0) want = fmin(want, ((way[c] > 0 ? size : 0) - from[c]) / way[c]);
    }
    double t = INFINITY;
    uint32_t triangle;
    assert_true(ul_bvh_ray(bvh, from, way, 0, UINT32_MAX, &t, &triangle));
    assert_rel(t, want, 1e-9);
    assert_false(ul_bvh_ray(bvh, from, way, 0, triangle, &t, &triangle));
  }
  ul_bvh_free(bvh);
  ul_mesh_free(mesh);
}

/* Numbers go on from mesh to mesh. */
static void several_meshes_share_one_tree(void **state) {
  (void)state;
  ul_mesh *one = shape_box(1, 1, 1), *two = shape_icosphere(1, 4);
  shape_move(two, 10, 0, 0);
  const ul_mesh *both[2] = {one, two};
  ul_bvh *bvh = NULL;
  assert_int_equal(ul_bvh_new(both, 2, NULL, &bvh, NULL), UL_OK);
  ul_nearest near = {.square = INFINITY};
  assert_true(ul_bvh_nearest(bvh, (const double[3]){12, 0, 0}, &near));
  assert_true(near.triangle >= 12 && near.triangle < 12 + two->triangle_count);
  near.square = INFINITY;
  assert_true(ul_bvh_nearest(bvh, (const double[3]){0.5, 0.4, -3}, &near));
  assert_true(near.triangle < 12 && near.square == 9);
  ul_bvh_free(bvh);
  ul_mesh_free(one);
  ul_mesh_free(two);
}

/* Two shells that overlap: 0, 1 and 2 all occur. */
static void windings_are_those_of_the_solid_angles(void **state) {
  (void)state;
  ul_mesh *mesh = shape_icosphere(10, 3), *other = shape_box(15, 9, 7);
  shape_append(mesh, other);
  ul_bvh *bvh = tree(mesh);
  uint64_t random = 3;
  int seen[3] = {0};
  for (int i = 0; i < 1000; i++) {
    double from[3];
    for (int c = 0; c < 3; c++) from[c] = 28 * random_unit(&random) - 12;
    int winding = ul_bvh_winding(bvh, from);
    assert_near(winding, by_hand_winding(mesh, from), 1e-6);
    seen[winding]++;
  }
  assert_true(seen[0] > 20 && seen[1] > 20 && seen[2] > 10);
  ul_bvh_free(bvh);
  ul_mesh_free(mesh);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_nearest_point_is_that_of_a_search_over_all_triangles),
      cmocka_unit_test(nearest_points_and_windings_of_a_cone_are_those_of_a_search_over_all),
      cmocka_unit_test(what_is_in_a_box_is_told_once),
      cmocka_unit_test(rays_in_a_box_meet_the_face_ahead),
      cmocka_unit_test(several_meshes_share_one_tree),
      cmocka_unit_test(windings_are_those_of_the_solid_angles),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
