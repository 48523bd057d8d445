#include "base/memory.h"
#include "shapes/check.h"
#include "ullage/mesh.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double corner[8][3] = {{0, 0, 0}, {1, 0, 0}, {1, 1, 0}, {0, 1, 0},
                                    {0, 0, 1}, {1, 0, 1}, {1, 1, 1}, {0, 1, 1}};
static const uint32_t face[12][3] = {{0, 2, 1}, {0, 3, 2}, {4, 5, 6}, {4, 6, 7},
                                     {0, 1, 5}, {0, 5, 4}, {1, 2, 6}, {1, 6, 5},
                                     {2, 3, 7}, {2, 7, 6}, {3, 0, 4}, {3, 4, 7}};

/* A box of that size, shifted, as 12 loose triangles. */
static ul_mesh *loose_box(double x, double y, double z, double shift) {
  ul_mesh *mesh;
  assert_ok(ul_mesh_new(36, 12, &mesh, NULL), NULL);
  const double size[3] = {x, y, z};
  for (uint32_t t = 0; t < 12; t++)
    for (uint32_t c = 0; c < 3; c++) {
      uint32_t v = 3 * t + c;
      for (int k = 0; k < 3; k++) mesh->vertex_mm[v][k] = corner[face[t][c]][k] * size[k] + shift;
      mesh->triangle[t][c] = v;
    }
  return mesh;
}

/* The same numbers on every machine. */
static double next_random(uint64_t *state) {
  *state = *state * 6364136223846793005u + 1442695040888963407u;
  return (double)(*state >> 11) * 0x1p-53;
}

static ul_mesh *cloud(size_t vertices, double spread, uint64_t *random) {
  ul_mesh *mesh;
  assert_ok(ul_mesh_new(vertices, vertices / 3, &mesh, NULL), NULL);
  for (size_t v = 0; v < vertices; v++)
    for (int c = 0; c < 3; c++) mesh->vertex_mm[v][c] = spread * (next_random(random) - 0.5);
  for (size_t t = 0; t < vertices / 3; t++)
    for (uint32_t c = 0; c < 3; c++) mesh->triangle[t][c] = (uint32_t)(3 * t + c);
  return mesh;
}

/* The rule of ul_mesh_weld() by trying all pairs: kept[i] is the vertex i becomes. */
static void weld_by_all_pairs(const ul_mesh *mesh, double tolerance, size_t *kept) {
  for (size_t i = 0; i < mesh->vertex_count; i++) {
    double best = tolerance * tolerance;
    kept[i] = i;
    for (size_t j = 0; j < i; j++) {
      if (kept[j] != j) continue;
      double squared = 0;
      for (int c = 0; c < 3; c++) squared += pow(mesh->vertex_mm[i][c] - mesh->vertex_mm[j][c], 2);
      if (squared < best || (squared == best && kept[i] == i)) best = squared, kept[i] = j;
    }
  }
}

static void assert_welds_as_all_pairs(ul_mesh *mesh, double tolerance) {
  size_t *kept = calloc(mesh->vertex_count, sizeof *kept), left = 0;
  weld_by_all_pairs(mesh, tolerance, kept);
  ul_mesh *before;
  assert_ok(ul_mesh_copy(mesh, &before, NULL), NULL);
  assert_ok(ul_mesh_weld(mesh, tolerance, NULL, NULL), NULL);
  for (size_t t = 0; t < before->triangle_count; t++) {
    size_t a = kept[3 * t], b = kept[3 * t + 1], c = kept[3 * t + 2];
    if (a == b || b == c || c == a) continue;
    assert_true(left < mesh->triangle_count);
    for (int k = 0; k < 3; k++)
      assert_memory_equal(mesh->vertex_mm[mesh->triangle[left][k]],
                          before->vertex_mm[kept[3 * t + (size_t)k]], 3 * sizeof(double));
    left++;
  }
  assert_int_equal(left, mesh->triangle_count);
  ul_mesh_free(before);
  ul_mesh_free(mesh);
  free(kept);
}

static void a_loose_box_welds_to_eight_corners(void **state) {
  (void)state;
  for (int far = 0; far < 2; far++) {
    ul_mesh *box = loose_box(300, 200, 100, far ? 5000 : 0);
    ul_weld_result result;
    assert_ok(ul_mesh_weld(box, 0, &result, NULL), NULL);
    assert_int_equal(box->vertex_count, 8);
    assert_int_equal(box->triangle_count, 12);
    assert_int_equal(result.vertices_merged, 28);
    assert_int_equal(result.triangles_dropped, 0);
    ul_mesh_free(box);
  }
}

static void equal_vertices_merge_as_all_pairs_say(void **state) {
  (void)state;
  uint64_t random = 1;
  for (int round = 0; round < 20; round++) {
    ul_mesh *mesh = cloud(900, 12, &random);
    for (size_t v = 0; v < mesh->vertex_count; v++)
      for (int c = 0; c < 3; c++) mesh->vertex_mm[v][c] = trunc(mesh->vertex_mm[v][c]) + 0.0;
    assert_welds_as_all_pairs(mesh, 0);
  }
}

/* Dense enough that most vertices have neighbours over one or more cell borders. */
static void near_vertices_merge_as_all_pairs_say(void **state) {
  (void)state;
  uint64_t random = 2;
  for (int round = 0; round < 60; round++)
    assert_welds_as_all_pairs(cloud(900, 1, &random), 0.002 * (1 + round));
}

static void negative_zero_is_zero(void **state) {
  (void)state;
  ul_mesh *box = loose_box(1, 1, 1, 0);
  for (size_t v = 0; v < box->vertex_count; v += 2)
    for (int c = 0; c < 3; c++)
      if (box->vertex_mm[v][c] == 0) box->vertex_mm[v][c] = -0.0;
  assert_ok(ul_mesh_weld(box, 0, NULL, NULL), NULL);
  assert_int_equal(box->vertex_count, 8);
  ul_mesh_free(box);
}

static void a_chain_of_near_vertices_does_not_creep(void **state) {
  (void)state;
  ul_mesh *chain;
  assert_ok(ul_mesh_new(99, 33, &chain, NULL), NULL);
  for (uint32_t v = 0; v < 99; v++) {
    chain->vertex_mm[v][0] = 0.8 * v, chain->vertex_mm[v][1] = chain->vertex_mm[v][2] = 0;
    chain->triangle[v / 3][v % 3] = v;
  }
  assert_welds_as_all_pairs(chain, 1);
}

/* Two float roundings of one corner of a 300 mm part 5 m out lie up to an ulp apart per axis. */
static void float_gaps_at_five_metres_close_by_default(void **state) {
  (void)state;
  uint64_t random = 3;
  ul_mesh *box = loose_box(300.1, 200.2, 100.3, 5000);
  for (size_t v = 0; v < box->vertex_count; v++)
    for (int c = 0; c < 3; c++) {
      float x = (float)box->vertex_mm[v][c];
      box->vertex_mm[v][c] = (double)(next_random(&random) < 0.5 ? x : nextafterf(x, FLT_MAX));
    }
  ul_weld_result result;
  assert_ok(ul_mesh_weld(box, -1, &result, NULL), NULL);
  assert_int_equal(box->vertex_count, 8);
  assert_int_equal(box->triangle_count, 12);
  assert_near(result.tolerance_mm, 4 * 0x1p-11, 1e-15);
  ul_mesh_free(box);
}

static void a_hundredth_millimetre_fin_survives_the_default(void **state) {
  (void)state;
  for (int far = 0; far < 2; far++) {
    ul_mesh *box = loose_box(300, 200, 0.01, far ? 5000 : 0);
    assert_ok(ul_mesh_weld(box, -1, NULL, NULL), NULL);
    assert_int_equal(box->vertex_count, 8);
    assert_int_equal(box->triangle_count, 12);
    ul_mesh_free(box);
  }
}

static void degenerate_triangles_and_unused_vertices_go(void **state) {
  (void)state;
  const double vertex[5][3] = {{0, 0, 0}, {10, 0, 0}, {0, 10, 0}, {0, 1e-9, 0}, {900, 0, 0}};
  const uint32_t triangle[3][3] = {{0, 3, 1}, {0, 1, 2}, {4, 4, 0}};
  ul_mesh *mesh;
  assert_ok(ul_mesh_from_arrays(vertex, 5, triangle, 3, &mesh, NULL), NULL);
  ul_weld_result result;
  assert_ok(ul_mesh_weld(mesh, 1e-6, &result, NULL), NULL);
  assert_int_equal(result.triangles_dropped, 2);
  assert_int_equal(result.vertices_merged, 1);
  assert_int_equal(mesh->triangle_count, 1);
  assert_int_equal(mesh->vertex_count, 3);
  double box[2][3];
  ul_mesh_box_mm(mesh, box);
  assert_near(box[1][0], 10, 0);
  ul_mesh_free(mesh);
}

static void absurd_tolerances_are_safe(void **state) {
  (void)state;
  ul_mesh *box = loose_box(300, 200, 100, 0);
  assert_int_equal(ul_mesh_weld(box, NAN, NULL, NULL), UL_E_USAGE);
  assert_ok(ul_mesh_weld(box, 1e-300, NULL, NULL), NULL);
  assert_int_equal(box->vertex_count, 8);
  assert_ok(ul_mesh_weld(box, 1e6, NULL, NULL), NULL);
  assert_int_equal(box->triangle_count, 0);
  assert_ok(ul_mesh_weld(box, -1, NULL, NULL), NULL);
  ul_mesh_free(box);
}

static void bad_arrays_are_refused_with_their_triangle(void **state) {
  (void)state;
  const double vertex[3][3] = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}};
  const uint32_t triangle[2][3] = {{0, 1, 2}, {0, 1, 3}};
  ul_mesh *mesh;
  ul_error err;
  assert_int_equal(ul_mesh_from_arrays(vertex, 3, triangle, 2, &mesh, &err), UL_E_NUMBER);
  assert_null(mesh);
  assert_int_equal(err.triangle, 1);
  const double broken[3][3] = {{0, 0, 0}, {1, 0, NAN}, {0, 1, 0}};
  assert_int_equal(ul_mesh_from_arrays(broken, 3, triangle, 1, &mesh, &err), UL_E_NUMBER);
  assert_non_null(strstr(err.text, "vertex 1 has the z coordinate nan"));
}

static void every_failing_allocation_is_reported_and_leaks_nothing(void **state) {
  (void)state;
  ul_mesh *box = loose_box(3, 2, 1, 0), *copy = NULL;
  int failures = 0;
  for (long n = 1; n < 20; n++) {
    ul_memory_fail_at(n);
    ul_status status = ul_mesh_copy(box, &copy, NULL);
    if (status == UL_OK) status = ul_mesh_weld(copy, -1, NULL, NULL);
    ul_memory_fail_at(0);
    failures += status == UL_E_MEMORY;
    if (status != UL_OK && copy) assert_int_equal(copy->vertex_count, 36);
    ul_mesh_free(copy);
  }
  assert_int_equal(failures, 6 + 3); /* a mesh's blocks with one name, the weld's three */
  ul_mesh_free(box);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_loose_box_welds_to_eight_corners),
      cmocka_unit_test(equal_vertices_merge_as_all_pairs_say),
      cmocka_unit_test(near_vertices_merge_as_all_pairs_say),
      cmocka_unit_test(negative_zero_is_zero),
      cmocka_unit_test(a_chain_of_near_vertices_does_not_creep),
      cmocka_unit_test(float_gaps_at_five_metres_close_by_default),
      cmocka_unit_test(a_hundredth_millimetre_fin_survives_the_default),
      cmocka_unit_test(degenerate_triangles_and_unused_vertices_go),
      cmocka_unit_test(absurd_tolerances_are_safe),
      cmocka_unit_test(bad_arrays_are_refused_with_their_triangle),
      cmocka_unit_test(every_failing_allocation_is_reported_and_leaks_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
