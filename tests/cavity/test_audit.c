#include "base/memory.h"
#include "cavity/audited.h"

#include <math.h>
#include <stdlib.h>

static ul_mesh *with(ul_mesh *mesh, ul_mesh *other) {
  shape_append(mesh, other);
  return mesh;
}

static void turn_triangle(ul_mesh *mesh, size_t t) {
  uint32_t *c = mesh->triangle[t], keep = c[0];
  c[0] = c[1];
  c[1] = keep;
}

/* `mesh` with more triangles after its own; frees it. */
static ul_mesh *with_triangles(ul_mesh *mesh, const uint32_t more[][3], size_t count) {
  ul_mesh *longer = shape_new(mesh->vertex_count, mesh->triangle_count + count);
  memcpy(longer->vertex_mm, mesh->vertex_mm, mesh->vertex_count * sizeof *mesh->vertex_mm);
  memcpy(longer->triangle, mesh->triangle, mesh->triangle_count * sizeof *mesh->triangle);
  memcpy(longer->triangle + mesh->triangle_count, more, count * sizeof *more);
  ul_mesh_free(mesh);
  return longer;
}

static ul_solid_opts patching(double mm) {
  ul_solid_opts opts = ul_solid_opts_default();
  opts.patch_mm = mm;
  return opts;
}

static void assert_refused(const audited *a, ul_status status, const char *words) {
  ul_error err = {0};
  assert_false(a->audit->usable);
  assert_null(a->solid);
  assert_int_equal(ul_audit_verdict(a->audit, &err), status);
  assert_true(err.has_place);
  if (!strstr(err.text, words)) fail_msg("%s", err.text);
}

/* -- holes -- */

static void every_missing_triangle_is_found_and_placed(void **state) {
  (void)state;
  for (size_t t = 0; t < 12; t++) {
    ul_mesh *mesh = shape_box(30, 20, 10);
    double middle[3] = {0}, round = 0, across = 0;
    for (int k = 0; k < 3; k++) {
      const double *p = mesh->vertex_mm[mesh->triangle[t][k]];
      const double *q = mesh->vertex_mm[mesh->triangle[t][(k + 1) % 3]];
      double side = sqrt(pow(p[0] - q[0], 2) + pow(p[1] - q[1], 2) + pow(p[2] - q[2], 2));
      for (int c = 0; c < 3; c++) middle[c] += p[c] / 3;
      round += side;
      across = fmax(across, side);
    }
    shape_drop_triangle(mesh, t);
    audited a = audit_of(mesh);
    assert_false(a.audit->closed);
    assert_int_equal(a.audit->hole_count, 1);
    const ul_hole *hole = &a.audit->hole[0];
    assert_int_equal(hole->edge_count, 3);
    assert_rel(hole->rim_mm, round, 1e-12);
    assert_rel(hole->across_mm, across, 1e-12);
    const ul_fault *fault = fault_in(&a, UL_FAULT_OPEN);
    assert_int_equal(fault->count, 3);
    assert_rel(fault->length_mm, round, 1e-12);
    for (int c = 0; c < 3; c++) {
      assert_near(hole->at_mm[c], middle[c], 1e-12);
      assert_near(fault->at_mm[c], middle[c], 1e-12);
    }
    assert_refused(&a, UL_E_OPEN, "cavity is not closed: 1 hole, the longest ");
    audited_free(&a);
  }
}

static void a_hole_says_which_patch_would_close_it(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(30, 20, 10);
  shape_drop_triangle(mesh, 0);
  audited a = audit_of(mesh);
  double across = a.audit->hole[0].across_mm;
  const char *try = strstr(fault_in(&a, UL_FAULT_OPEN)->remedy, "--patch ");
  assert_non_null(try);
  double patch = strtod(try + 8, NULL);
  assert_true(patch >= across && patch < 1.2 * across);
  audited_free(&a);
}

static void holes_are_listed_longest_first(void **state) {
  (void)state;
  ul_mesh *mesh = with(shape_box(10, 10, 10), shape_box(50, 50, 50));
  shape_drop_triangle(mesh, 12);
  shape_drop_triangle(mesh, 0);
  audited a = audit_of(mesh);
  assert_int_equal(a.audit->hole_count, 2);
  assert_rel(a.audit->hole[0].rim_mm, 100 + 50 * sqrt(2), 1e-12);
  assert_rel(a.audit->hole[1].rim_mm, 20 + 10 * sqrt(2), 1e-12);
  assert_refused(&a, UL_E_OPEN, "2 holes, the longest 170.7 mm round");
  audited_free(&a);
}

/* Two triangles of one ball that meet at a corner only: the walk closes two loops, not one. */
static void holes_that_meet_at_a_corner_are_two(void **state) {
  (void)state;
  ul_mesh *mesh = shape_icosphere(20, 1);
  size_t second = 0;
  for (size_t t = 1; t < mesh->triangle_count && !second; t++) {
    int shared = 0;
    for (int i = 0; i < 9; i++) shared += mesh->triangle[0][i / 3] == mesh->triangle[t][i % 3];
    if (shared == 1) second = t;
  }
  shape_drop_triangle(mesh, second);
  shape_drop_triangle(mesh, 0);
  audited a = audit_of(mesh);
  assert_int_equal(a.audit->hole_count, 2);
  for (int h = 0; h < 2; h++) assert_int_equal(a.audit->hole[h].edge_count, 3);
  audited_free(&a);
}

static void a_patch_closes_holes_up_to_its_size(void **state) {
  (void)state;
  for (size_t t = 0; t < 12; t++) {
    ul_mesh *mesh = shape_box(30, 20, 10);
    shape_drop_triangle(mesh, t);
    audited a = audit_with(mesh, patching(40));
    assert_int_equal(fault_count(&a, UL_FAULT_PATCHED), 1);
    assert_int_equal(a.audit->fault_count, 1);
    assert_rel(a.solid->cavity[0].volume_mm3, 6000, 1e-13);
    audited_free(&a);
  }
  ul_mesh *mesh = with(shape_box(10, 10, 10), shape_box(50, 50, 50));
  shape_drop_triangle(mesh, 12);
  shape_drop_triangle(mesh, 0);
  audited a = audit_with(mesh, patching(20));
  assert_int_equal(fault_count(&a, UL_FAULT_PATCHED), 1);
  assert_int_equal(a.audit->hole_count, 1);
  assert_refused(&a, UL_E_OPEN, "1 hole, the longest 170.7 mm round");
  audited_free(&a);
}

/* The base of a comb is a polygon with many corners; the end face of a stair is not convex. */
static void a_patch_follows_a_rim_that_is_not_convex(void **state) {
  (void)state;
  for (int drop_side = 0; drop_side < 2; drop_side++) {
    ul_mesh *mesh = drop_side ? shape_steps(7, 10, 5, 20) : shape_comb(5, 4, 3, 6, 15, 10);
    double volume =
        drop_side ? 10 * 5 * 20 * 7 * 8 / 2.0 : (5 * 4 + 4 * 3) * 6 * 10 + 5 * 4 * 15 * 10;
    for (size_t t = mesh->triangle_count; t-- > 0;) {
      const uint32_t *c = mesh->triangle[t];
      if (mesh->vertex_mm[c[0]][1] == 0 && mesh->vertex_mm[c[1]][1] == 0 &&
          mesh->vertex_mm[c[2]][1] == 0)
        shape_drop_triangle(mesh, t);
    }
    shape_rotate(mesh, 0, 33);
    shape_rotate(mesh, 2, 71);
    audited a = audit_with(mesh, patching(200));
    assert_int_equal(fault_count(&a, UL_FAULT_PATCHED), 1);
    assert_true(a.audit->usable);
    assert_rel(a.solid->cavity[0].volume_mm3, volume, 1e-12);
    assert_int_equal(fault_count(&a, UL_FAULT_SELF_INTERSECTING), 0);
    audited_free(&a);
  }
}

static void a_size_of_patch_that_is_none_is_refused(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(1, 1, 1);
  const double bad[3] = {-1, NAN, INFINITY};
  for (int i = 0; i < 3; i++) {
    ul_solid_opts opts = patching(bad[i]);
    ul_audit *audit;
    ul_solid *solid;
    ul_error err;
    assert_int_equal(ul_audit_mesh(mesh, &opts, NULL, &audit, &solid, &err), UL_E_USAGE);
    assert_non_null(strstr(err.text, "--patch"));
    assert_true(audit == NULL && solid == NULL);
  }
  ul_solid_opts zeroed = {0};
  ul_audit *audit;
  ul_solid *solid;
  assert_int_equal(ul_audit_mesh(mesh, &zeroed, NULL, &audit, &solid, NULL), UL_E_USAGE);
  ul_mesh_free(mesh);
}

/* -- winding -- */

static void any_triangles_turned_are_turned_back(void **state) {
  (void)state;
  for (unsigned turned = 0; turned < 1u << 12; turned++) {
    ul_mesh *mesh = shape_box(30, 20, 10);
    unsigned count = 0;
    for (size_t t = 0; t < 12; t++) {
      if (!(turned >> t & 1)) continue;
      turn_triangle(mesh, t);
      count++;
    }
    audited a = audit_of(mesh);
    assert_true(a.audit->usable);
    assert_rel(a.solid->cavity[0].volume_mm3, 6000, 1e-13);
    assert_int_equal(fault_count(&a, UL_FAULT_WINDING), count > 6 ? 12 - count : count);
    assert_int_equal(fault_count(&a, UL_FAULT_INSIDE_OUT), count == 12);
    if (count > 0 && count <= 6) {
      long t = fault_in(&a, UL_FAULT_WINDING)->triangle;
      if (count < 6) assert_true(turned >> t & 1);
    }
    audited_free(&a);
  }
}

/* A band with half a twist has one rim; a fan to a point off it closes the rim into a surface that
 * has one side (a projective plane, crossing itself). */
static void a_surface_with_one_side_is_refused(void **state) {
  (void)state;
  enum { N = 12 };
  ul_mesh *mesh = shape_new(2 * N + 1, 4 * N);
  for (uint32_t i = 0; i < N; i++) {
    double around = 2 * M_PI * i / N, twist = around / 2;
    for (int side = 0; side < 2; side++) {
      double off = side ? 5 : -5, r = 20 + off * cos(twist);
      const double p[3] = {r * cos(around), r * sin(around), off * sin(twist)};
      memcpy(mesh->vertex_mm[2 * i + (uint32_t)side], p, sizeof p);
    }
  }
  memcpy(mesh->vertex_mm[2 * N], (double[3]){0, 0, 40}, sizeof(double[3]));
  for (uint32_t i = 0; i < N; i++) {
    uint32_t a = 2 * i, b = a + 1, c = i + 1 < N ? a + 2 : 1, d = i + 1 < N ? b + 2 : 0;
    const uint32_t t[4][3] = {{a, c, b}, {b, c, d}, {c, a, 2 * N}, {b, d, 2 * N}};
    memcpy(mesh->triangle[4 * i], t, sizeof t);
  }
  audited a = audit_of(mesh);
  assert_true(a.audit->closed);
  assert_refused(&a, UL_E_SURFACE, "cannot be wound consistently");
  audited_free(&a);
}

/* -- too much -- */

static void a_triangle_that_is_there_twice_is_dropped(void **state) {
  (void)state;
  for (size_t t = 0; t < 12; t++)
    for (int turned = 0; turned < 2; turned++) {
      ul_mesh *mesh = shape_box(30, 20, 10);
      uint32_t copy[1][3];
      memcpy(copy, mesh->triangle[t], sizeof copy);
      mesh = with_triangles(mesh, (const uint32_t(*)[3])copy, 1);
      if (turned) turn_triangle(mesh, 12);
      audited a = audit_of(mesh);
      assert_int_equal(fault_count(&a, UL_FAULT_DUPLICATE), 1);
      assert_int_equal(fault_in(&a, UL_FAULT_DUPLICATE)->triangle, 12);
      assert_int_equal(a.audit->fault_count, 1);
      assert_rel(a.solid->cavity[0].volume_mm3, 6000, 1e-13);
      audited_free(&a);
    }
}

static void a_body_that_is_there_twice_is_dropped_once(void **state) {
  (void)state;
  ul_mesh *mesh = with(shape_box(30, 20, 10), shape_box(30, 20, 10));
  ul_weld_result welded;
  assert_ok(ul_mesh_weld(mesh, 0, &welded, NULL), NULL);
  audited a = audit_of(mesh);
  assert_int_equal(fault_count(&a, UL_FAULT_DUPLICATE), 12);
  assert_int_equal(a.audit->shell_count, 1);
  assert_rel(a.solid->cavity[0].volume_mm3, 6000, 1e-13);
  audited_free(&a);
}

/* A needle between two corners of an edge and its middle is needed: the surface is open without. */
static void a_sliver_that_closes_the_surface_is_kept(void **state) {
  (void)state;
  const double v[5][3] = {{0, 0, 0}, {10, 0, 0}, {0, 10, 0}, {0, 0, 10}, {5, 0, 0}};
  const uint32_t t[6][3] = {{0, 2, 4}, {4, 2, 1}, {0, 1, 3}, {1, 2, 3}, {0, 3, 2}, {0, 4, 1}};
  ul_mesh *mesh;
  assert_ok(ul_mesh_from_arrays(v, 5, t, 6, &mesh, NULL), NULL);
  audited a = audit_of(mesh);
  assert_true(a.audit->usable);
  assert_int_equal(fault_count(&a, UL_FAULT_DEGENERATE), 1);
  assert_int_equal(a.audit->fault_count, 1);
  assert_int_equal(a.solid->mesh->triangle_count, 6);
  assert_rel(a.solid->cavity[0].volume_mm3, 1000.0 / 6, 1e-13);
  audited_free(&a);
}

static void a_sliver_too_many_is_dropped(void **state) {
  (void)state;
  const double v[5][3] = {{0, 0, 0}, {10, 0, 0}, {0, 10, 0}, {0, 0, 10}, {5, 0, 0}};
  const uint32_t t[7][3] = {{0, 2, 4}, {4, 2, 1}, {0, 4, 3}, {4, 1, 3},
                            {1, 2, 3}, {0, 3, 2}, {1, 1, 3}};
  ul_mesh *mesh;
  assert_ok(ul_mesh_from_arrays(v, 5, t, 7, &mesh, NULL), NULL);
  audited a = audit_of(mesh);
  assert_int_equal(fault_count(&a, UL_FAULT_DEGENERATE), 1);
  assert_int_equal(a.solid->mesh->triangle_count, 6);
  audited_free(&a);
}

static void a_wall_between_two_boxes_drawn_once_is_refused(void **state) {
  (void)state;
  const double x[3] = {0, 10, 20}, side[2] = {0, 10};
  ul_mesh *mesh = shape_cells(x, 2, side, 1, side, 1, (const unsigned char[2]){1, 1});
  uint32_t corner[4], n = 0;
  for (uint32_t v = 0; v < mesh->vertex_count; v++)
    if (mesh->vertex_mm[v][0] == 10) corner[n++] = v;
  assert_int_equal(n, 4);
  const uint32_t wall[2][3] = {{corner[0], corner[1], corner[2]},
                               {corner[1], corner[3], corner[2]}};
  audited a = audit_of(with_triangles(mesh, wall, 2));
  assert_false(a.audit->closed);
  assert_int_equal(fault_count(&a, UL_FAULT_ODD_EDGE), 4);
  assert_refused(&a, UL_E_SURFACE, "odd number of triangles");
  audited_free(&a);
}

static void a_sheet_drawn_from_both_sides_has_no_thickness(void **state) {
  (void)state;
  const double v[4][3] = {{0, 0, 0}, {10, 0, 0}, {10, 10, 0}, {0, 10, 0}};
  const uint32_t t[4][3] = {{0, 1, 2}, {0, 2, 3}, {0, 2, 1}, {0, 3, 2}};
  ul_mesh *mesh;
  assert_ok(ul_mesh_from_arrays(v, 4, t, 4, &mesh, NULL), NULL);
  audited a = audit_of(mesh);
  assert_true(a.audit->closed);
  assert_refused(&a, UL_E_FLAT, "without thickness");
  audited_free(&a);
}

static void a_mesh_without_any_area_is_empty(void **state) {
  (void)state;
  const double v[3][3] = {{0, 0, 0}, {10, 0, 0}, {10, 10, 0}};
  const uint32_t t[2][3] = {{0, 1, 1}, {2, 2, 0}};
  ul_mesh *mesh;
  assert_ok(ul_mesh_from_arrays(v, 3, t, 2, &mesh, NULL), NULL);
  for (int triangles = 2; triangles >= 0; triangles -= 2) {
    mesh->triangle_count = (size_t)triangles;
    ul_solid_opts opts = ul_solid_opts_default();
    ul_audit *audit;
    ul_solid *solid;
    ul_error err;
    assert_int_equal(ul_audit_mesh(mesh, &opts, NULL, &audit, &solid, &err), UL_E_EMPTY);
    assert_true(audit == NULL && solid == NULL && strlen(err.text) > 10);
  }
  ul_mesh_free(mesh);
}

/* -- edges with four triangles -- */

static void boxes_that_share_an_edge_stay_apart(void **state) {
  (void)state;
  ul_mesh *other = shape_box(10, 10, 10);
  shape_move(other, 10, 10, 0);
  ul_mesh *mesh = with(shape_box(10, 10, 10), other);
  ul_weld_result welded;
  assert_ok(ul_mesh_weld(mesh, 0, &welded, NULL), NULL);
  audited a = audit_of(mesh);
  assert_int_equal(fault_count(&a, UL_FAULT_NON_MANIFOLD), 1);
  const ul_fault *fault = fault_in(&a, UL_FAULT_NON_MANIFOLD);
  assert_near(fault->at_mm[0], 10, 0);
  assert_near(fault->at_mm[2], 5, 0);
  assert_int_equal(a.audit->shell_count, 2);
  assert_int_equal(a.solid->cavity_count, 2);
  audited_free(&a);
}

/* -- around it all -- */

static void words_and_usability_follow_the_list(void **state) {
  (void)state;
  assert_string_equal(ul_fault_word(UL_FAULT_SAME_SENSE), "nested-same-sense");
  assert_true(ul_fault_usable(UL_FAULT_WINDING));
  assert_false(ul_fault_usable(UL_FAULT_OPEN));
  assert_false(ul_fault_usable(UL_FAULT_END));
  for (int kind = 0; kind < UL_FAULT_END; kind++)
    assert_true(strlen(ul_fault_word((ul_fault_kind)kind)) > 3);
}

static bool stop_at_once(void *user, const char *stage, double done) {
  (void)user, (void)stage, (void)done;
  return false;
}

static void an_audit_can_be_stopped(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(1, 1, 1);
  ul_solid_opts opts = ul_solid_opts_default();
  ul_job job = {.progress = stop_at_once};
  ul_audit *audit;
  ul_solid *solid;
  ul_error err;
  assert_int_equal(ul_audit_mesh(mesh, &opts, &job, &audit, &solid, &err), UL_E_STOPPED);
  assert_true(audit == NULL && solid == NULL);
  ul_mesh_free(mesh);
}

/* Open, patched, four-fold edges, copies, overlaps and nesting, so that every step allocates. */
static ul_mesh *troubled_mesh(void) {
  ul_mesh *mesh = shape_box(10, 10, 10), *other = shape_box(10, 10, 10);
  shape_move(other, 10, 0, 0);
  with(mesh, other);
  other = shape_box(4, 4, 4);
  shape_reverse(other);
  shape_move(other, 3, 3, 3);
  with(mesh, other);
  other = shape_box(10, 10, 10);
  shape_move(other, 5, 5, 5);
  with(mesh, other);
  shape_drop_triangle(mesh, 40);
  turn_triangle(mesh, 30);
  ul_weld_result welded;
  assert_ok(ul_mesh_weld(mesh, 0, &welded, NULL), NULL);
  uint32_t copy[1][3];
  memcpy(copy, mesh->triangle[0], sizeof copy);
  return with_triangles(mesh, (const uint32_t(*)[3])copy, 1);
}

static void every_allocation_may_fail(void **state) {
  (void)state;
  ul_mesh *mesh = troubled_mesh();
  ul_solid_opts opts = patching(100);
  ul_job job = {.threads = 1};
  long failures = 0;
  for (long nth = 1;; nth++) {
    ul_audit *audit = NULL;
    ul_solid *solid = NULL;
    ul_error err = {0};
    ul_memory_fail_at(nth);
    ul_status status = ul_audit_mesh(mesh, &opts, &job, &audit, &solid, &err);
    ul_memory_fail_at(0);
    if (status == UL_OK) {
      assert_true(audit->usable && audit->fault_count >= 5);
      ul_audit_free(audit);
      ul_solid_free(solid);
      break;
    }
    assert_int_equal(status, UL_E_MEMORY);
    assert_true(audit == NULL && solid == NULL && err.code == UL_E_MEMORY);
    failures++;
  }
  assert_true(failures > 30);
  ul_mesh_free(mesh);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_missing_triangle_is_found_and_placed),
      cmocka_unit_test(a_hole_says_which_patch_would_close_it),
      cmocka_unit_test(holes_are_listed_longest_first),
      cmocka_unit_test(holes_that_meet_at_a_corner_are_two),
      cmocka_unit_test(a_patch_closes_holes_up_to_its_size),
      cmocka_unit_test(a_patch_follows_a_rim_that_is_not_convex),
      cmocka_unit_test(a_size_of_patch_that_is_none_is_refused),
      cmocka_unit_test(any_triangles_turned_are_turned_back),
      cmocka_unit_test(a_surface_with_one_side_is_refused),
      cmocka_unit_test(a_triangle_that_is_there_twice_is_dropped),
      cmocka_unit_test(a_body_that_is_there_twice_is_dropped_once),
      cmocka_unit_test(a_sliver_that_closes_the_surface_is_kept),
      cmocka_unit_test(a_sliver_too_many_is_dropped),
      cmocka_unit_test(a_wall_between_two_boxes_drawn_once_is_refused),
      cmocka_unit_test(a_sheet_drawn_from_both_sides_has_no_thickness),
      cmocka_unit_test(a_mesh_without_any_area_is_empty),
      cmocka_unit_test(boxes_that_share_an_edge_stay_apart),
      cmocka_unit_test(words_and_usability_follow_the_list),
      cmocka_unit_test(an_audit_can_be_stopped),
      cmocka_unit_test(every_allocation_may_fail),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
