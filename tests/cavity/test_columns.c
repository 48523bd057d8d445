#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "cavity/by_hand.h"
#include "shapes/check.h"
#include "shapes/shapes.h"
#include "ullage/columns.h"

static ul_columns *build(const ul_solid *solid, const ul_solid *insert, const ul_lattice *lattice,
                         int threads) {
  ul_columns *columns = NULL;
  ul_error err = {0};
  ul_job job = {.threads = threads};
  assert_ok(ul_columns_build(solid, &insert, insert ? 1 : 0, lattice, &job, &columns, &err), &err);
  return columns;
}

static ul_lattice lattice_of(const ul_mesh *mesh, double cube_mm) {
  double box[2][3];
  ul_lattice lattice;
  ul_error err = {0};
  ul_mesh_box_mm(mesh, box);
  assert_ok(ul_lattice_for_box((const double(*)[3])box, cube_mm, &lattice, &err), &err);
  return lattice;
}

static double run_volume(const ul_columns *columns, int axis) {
  const ul_bundle *b = &columns->bundle[axis];
  double sum = 0, h = columns->lattice.cube_mm;
  for (size_t i = 0; i < b->run_count; i++) sum += b->run[i].hi - b->run[i].lo;
  return sum * h * h;
}

/* Runs rise, none is empty, none touch, first[] brackets them. */
static void assert_sound(const ul_columns *columns) {
  for (int axis = 0; axis < 3; axis++) {
    const ul_bundle *b = &columns->bundle[axis];
    const ul_lattice *l = &columns->lattice;
    assert_int_equal(b->axis, axis);
    assert_int_equal(b->ray_count, (size_t)l->n[(axis + 1) % 3] * (size_t)l->n[(axis + 2) % 3]);
    assert_int_equal(b->first[0], 0);
    assert_int_equal(b->first[b->ray_count], b->run_count);
    for (size_t r = 0; r < b->ray_count; r++)
      for (uint32_t i = b->first[r]; i < b->first[r + 1]; i++) {
        assert_true(b->run[i].lo < b->run[i].hi);
        assert_true(i == b->first[r] || b->run[i - 1].hi < b->run[i].lo);
      }
  }
}

static bool in_run(const ul_columns *columns, int axis, const int32_t cube[3]) {
  const ul_bundle *b = &columns->bundle[axis];
  const ul_lattice *l = &columns->lattice;
  size_t r = ul_ray(l, axis, cube[(axis + 1) % 3], cube[(axis + 2) % 3]);
  double x = l->origin_mm[axis] + (cube[axis] + 0.5) * l->cube_mm;
  for (uint32_t i = b->first[r]; i < b->first[r + 1]; i++)
    if (b->run[i].lo < x && x < b->run[i].hi) return true;
  return false;
}

static void a_lattice_leaves_an_empty_cube_on_each_side(void **state) {
  (void)state;
  for (double length = 0.1; length < 30; length += 0.37) {
    const double box[2][3] = {{5, -7, 1000}, {5 + length, -7 + 2 * length, 1000 + length / 3}};
    ul_lattice l;
    assert_int_equal(ul_lattice_for_box(box, 0.7, &l, NULL), UL_OK);
    for (int c = 0; c < 3; c++) {
      assert_true(box[0][c] - l.origin_mm[c] >= 0.7 - 1e-6);
      assert_true(l.origin_mm[c] + l.n[c] * 0.7 - box[1][c] >= 0.7 - 1e-6);
      assert_true(box[0][c] - l.origin_mm[c] <= 2 * 0.7);
    }
  }
}

/* Whole cubes across: the faces lie between cubes, whatever the last digit of the box. */
static void faces_of_a_box_of_whole_cubes_lie_between_cubes(void **state) {
  (void)state;
  for (int across = 1; across < 40; across++)
    for (int nudge = -1; nudge <= 1; nudge++) {
      double length = across * 0.1 * (1 + nudge * 3e-16);
      const double box[2][3] = {{3, 3, 3}, {3 + length, 3 + length, 3 + length}};
      ul_lattice l;
      assert_int_equal(ul_lattice_for_box(box, 0.1, &l, NULL), UL_OK);
      assert_int_equal(l.n[0], across + 2);
      double margin = (3 - l.origin_mm[0]) / 0.1;
      assert_near(margin, 1, 1e-9);
    }
}

static void a_lattice_that_cannot_be_is_refused(void **state) {
  (void)state;
  const double box[2][3] = {{0, 0, 0}, {1000, 1000, 1000}};
  const double inside_out[2][3] = {{0, 0, 0}, {1, -1, 1}};
  ul_lattice l;
  ul_error err;
  assert_int_equal(ul_lattice_for_box(box, 0.5, &l, &err), UL_E_LIMIT);
  assert_non_null(strstr(err.text, "use a larger --cube"));
  assert_int_equal(ul_lattice_for_box(box, 0, &l, &err), UL_E_USAGE);
  assert_int_equal(ul_lattice_for_box(box, NAN, &l, &err), UL_E_USAGE);
  assert_int_equal(ul_lattice_for_box(inside_out, 1, &l, &err), UL_E_NUMBER);
  assert_non_null(strstr(err.text, "along y"));
}

static void the_cube_for_a_count_puts_that_many_into_the_volume(void **state) {
  (void)state;
  ul_solid *box = by_hand(shape_box(30, 20, 10), false);
  assert_rel(ul_cube_for_count(box, 6000), 1, 1e-14);
  assert_rel(ul_cube_for_count(box, 48000), 0.5, 1e-14);
  by_hand_free(box);
}

static void runs_of_a_box_end_exactly_on_its_faces(void **state) {
  (void)state;
  const double size[3] = {30.1, 20.7, 10.3};
  ul_solid *box = by_hand(shape_box(size[0], size[1], size[2]), false);
  ul_lattice l = lattice_of(box->mesh, 0.97);
  ul_columns *columns = build(box, NULL, &l, 2);
  assert_sound(columns);
  for (int axis = 0; axis < 3; axis++) {
    const ul_bundle *b = &columns->bundle[axis];
    assert_int_equal(b->odd_rays, 0);
    assert_true(b->run_count > 100);
    for (size_t i = 0; i < b->run_count; i++) {
      assert_true(b->run[i].lo == 0 && b->run[i].hi == size[axis]);
      const uint32_t *lo = box->mesh->triangle[b->lo_triangle[i]];
      const uint32_t *hi = box->mesh->triangle[b->hi_triangle[i]];
      for (int c = 0; c < 3; c++) {
        assert_true(box->mesh->vertex_mm[lo[c]][axis] == 0);
        assert_true(box->mesh->vertex_mm[hi[c]][axis] == size[axis]);
      }
    }
  }
  ul_columns_free(columns);
  by_hand_free(box);
}

/* Midpoint rule; run lengths end like a square root at the rim, so the error falls as h^1.5. The
 * facets' own volume is the truth. */
static void run_volumes_of_round_shapes_converge(void **state) {
  (void)state;
  ul_solid *sphere = by_hand(shape_icosphere(10, 5), false);
  ul_solid *torus = by_hand(shape_torus(10, 4, 96, 48), false);
  const ul_solid *shape[2] = {sphere, torus};
  for (int s = 0; s < 2; s++)
    for (double h = 1; h > 0.1; h /= 2) {
      ul_lattice l = lattice_of(shape[s]->mesh, h);
      ul_columns *columns = build(shape[s], NULL, &l, 2);
      assert_sound(columns);
      for (int axis = 0; axis < 3; axis++) {
        assert_int_equal(columns->bundle[axis].odd_rays, 0);
        assert_rel(run_volume(columns, axis), shape[s]->cavity->volume_mm3, 0.025 * pow(h, 1.5));
      }
      ul_columns_free(columns);
    }
  by_hand_free(sphere);
  by_hand_free(torus);
}

/* A solid of whole-number cells has faces, edges and corners on the rays of a lattice of whole or
 * half cubes. At every offset the winding closes on every ray and the volume is that of the cells:
 * each column of cells is met by exactly one ray. */
static void rays_through_edges_and_corners_never_go_odd(void **state) {
  (void)state;
  const double line[6] = {0, 1, 2, 3, 4, 5};
  unsigned char solid[125];
  memset(solid, 1, sizeof solid);
  solid[62] = 0;                                    /* a core */
  solid[0] = solid[1] = solid[24] = solid[120] = 0; /* corners and an edge bitten off */
  ul_solid *cells = by_hand(shape_cells(line, 5, line, 5, line, 5, solid), false);
  for (int offset = 0; offset < 125; offset++) {
    ul_lattice l = {
        {-2 + 0.25 * (offset % 5), -2 + 0.25 * (offset / 5 % 5), -2 + 0.25 * (offset / 25)},
        1,
        {9, 9, 9}};
    ul_columns *columns = build(cells, NULL, &l, 1);
    assert_sound(columns);
    for (int axis = 0; axis < 3; axis++) {
      assert_int_equal(columns->bundle[axis].odd_rays, 0);
      assert_true(run_volume(columns, axis) == 120);
    }
    ul_columns_free(columns);
  }
  by_hand_free(cells);
}

/* Rays down the axis of a cone meet its apex and the fan of its base. */
static void rays_through_a_fan_of_triangles_never_go_odd(void **state) {
  (void)state;
  for (int segments = 3; segments < 40; segments++) {
    ul_solid *cone = by_hand(shape_cone(4, 6, segments), false);
    ul_lattice l = {{-5.5, -5.5, -1.5}, 1, {11, 11, 10}};
    ul_columns *columns = build(cone, NULL, &l, 1);
    assert_sound(columns);
    for (int axis = 0; axis < 3; axis++) assert_int_equal(columns->bundle[axis].odd_rays, 0);
    ul_columns_free(columns);
    by_hand_free(cone);
  }
}

static void overlapping_boxes_are_their_union(void **state) {
  (void)state;
  ul_mesh *both = shape_box(20, 20, 20), *other = shape_box(20, 20, 20);
  shape_move(other, 12.25, 4, 8);
  shape_append(both, other);
  ul_solid *solid = by_hand(both, true);
  ul_lattice l = lattice_of(both, 0.25);
  ul_columns *columns = build(solid, NULL, &l, 2);
  assert_sound(columns);
  for (int axis = 0; axis < 3; axis++)
    assert_rel(run_volume(columns, axis), 16000 - 7.75 * 16 * 12, 1e-12);
  ul_columns_free(columns);
  by_hand_free(solid);
}

/* Two boxes that share a face: one run through both. */
static void touching_boxes_are_one_run(void **state) {
  (void)state;
  ul_mesh *both = shape_box(10, 10, 10), *other = shape_box(10, 10, 10);
  shape_move(other, 0, 0, 10);
  shape_append(both, other);
  ul_solid *solid = by_hand(both, true);
  ul_lattice l = lattice_of(both, 1);
  ul_columns *columns = build(solid, NULL, &l, 2);
  const ul_bundle *b = &columns->bundle[2];
  assert_int_equal(b->run_count, 100);
  for (size_t i = 0; i < b->run_count; i++) assert_true(b->run[i].lo == 0 && b->run[i].hi == 20);
  ul_columns_free(columns);
  by_hand_free(solid);
}

static void a_core_and_an_insert_are_taken_out(void **state) {
  (void)state;
  ul_solid *solid = by_hand(shape_box_in_box(20, 8), false);
  ul_mesh *bolt_mesh = shape_box(4, 4, 30);
  shape_move(bolt_mesh, 5, -2, -15); /* through both walls, beside the core */
  ul_solid *bolt = by_hand(bolt_mesh, false);
  ul_lattice l = lattice_of(solid->mesh, 0.5);
  ul_columns *columns = build(solid, bolt, &l, 2);
  assert_sound(columns);
  for (int axis = 0; axis < 3; axis++)
    assert_rel(run_volume(columns, axis), 8000 - 512 - 4 * 4 * 20, 1e-12);
  const ul_bundle *b = &columns->bundle[0];
  size_t on_bolt = 0;
  for (size_t i = 0; i < b->run_count; i++) {
    on_bolt += b->hi_triangle[i] == UINT32_MAX;
    assert_true((b->hi_triangle[i] == UINT32_MAX) == (b->run[i].hi == 5));
  }
  assert_int_equal(on_bolt, 8 * 40);
  ul_columns_free(columns);
  by_hand_free(solid);
  by_hand_free(bolt);
}

/* Against solid angles, on a shape turned askew with a core, at cubes picked over the lattice. All
 * three bundles must agree with it. */
static void cubes_in_runs_are_the_points_with_winding(void **state) {
  (void)state;
  ul_mesh *mesh = shape_torus(10, 5, 24, 12), *other = shape_box_in_box(16, 5);
  shape_move(other, 9, 0, 2);
  shape_append(mesh, other);
  shape_rotate(mesh, 0, 31);
  shape_rotate(mesh, 2, 17);
  ul_solid *solid = by_hand(mesh, true);
  ul_lattice l = lattice_of(mesh, 0.41);
  ul_columns *columns = build(solid, NULL, &l, 2);
  uint64_t random = 12345;
  int inside = 0;
  for (int i = 0; i < 4000; i++) {
    int32_t cube[3];
    double at[3];
    for (int c = 0; c < 3; c++) {
      random = random * 6364136223846793005u + 1442695040888963407u;
      cube[c] = (int32_t)((random >> 33) % (uint64_t)l.n[c]);
      at[c] = l.origin_mm[c] + (cube[c] + 0.5) * l.cube_mm;
    }
    bool want = by_hand_winding(mesh, at) > 0.5;
    inside += want;
    for (int axis = 0; axis < 3; axis++) assert_int_equal(in_run(columns, axis, cube), want);
  }
  assert_in_range(inside, 800, 3200);
  ul_columns_free(columns);
  by_hand_free(solid);
}

/* Turning coordinates x -> y -> z -> x turns the bundles with them, to the last bit. */
static void a_turned_mesh_gives_the_turned_bundles(void **state) {
  (void)state;
  ul_mesh *mesh = shape_torus(10, 4, 40, 20);
  shape_rotate(mesh, 1, 23);
  ul_mesh *turned_mesh = NULL;
  assert_ok(ul_mesh_copy(mesh, &turned_mesh, NULL), NULL);
  for (size_t v = 0; v < mesh->vertex_count; v++)
    for (int c = 0; c < 3; c++) turned_mesh->vertex_mm[v][(c + 1) % 3] = mesh->vertex_mm[v][c];
  ul_solid *solid = by_hand(mesh, false), *turned = by_hand(turned_mesh, false);
  ul_lattice l = lattice_of(mesh, 0.5), m = lattice_of(turned_mesh, 0.5);
  ul_columns *a = build(solid, NULL, &l, 2), *b = build(turned, NULL, &m, 2);
  for (int axis = 0; axis < 3; axis++) {
    const ul_bundle *from = &a->bundle[axis], *to = &b->bundle[(axis + 1) % 3];
    assert_int_equal(from->run_count, to->run_count);
    assert_memory_equal(from->first, to->first, (from->ray_count + 1) * sizeof *from->first);
    assert_memory_equal(from->run, to->run, from->run_count * sizeof *from->run);
  }
  ul_columns_free(a);
  ul_columns_free(b);
  by_hand_free(solid);
  by_hand_free(turned);
}

static void the_number_of_threads_changes_no_byte(void **state) {
  (void)state;
  ul_solid *solid = by_hand(shape_icosphere(10, 5), false);
  ul_lattice l = lattice_of(solid->mesh, 0.2);
  ul_columns *one = build(solid, NULL, &l, 1);
  for (int threads = 2; threads <= 7; threads += 5) {
    ul_columns *many = build(solid, NULL, &l, threads);
    for (int axis = 0; axis < 3; axis++) {
      const ul_bundle *a = &one->bundle[axis], *b = &many->bundle[axis];
      assert_int_equal(a->run_count, b->run_count);
      assert_memory_equal(a->first, b->first, (a->ray_count + 1) * sizeof *a->first);
      assert_memory_equal(a->run, b->run, a->run_count * sizeof *a->run);
      assert_memory_equal(a->lo_triangle, b->lo_triangle, a->run_count * sizeof *a->lo_triangle);
      assert_memory_equal(a->hi_triangle, b->hi_triangle, a->run_count * sizeof *a->hi_triangle);
    }
    ul_columns_free(many);
  }
  ul_columns_free(one);
  by_hand_free(solid);
}

/* With one triangle gone the rays through it, and only those, are odd. */
static void an_open_mesh_has_odd_rays(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(10, 10, 10);
  shape_drop_triangle(mesh, 0);
  ul_solid *solid = by_hand(mesh, false);
  ul_lattice l = lattice_of(mesh, 1);
  ul_columns *columns = build(solid, NULL, &l, 1);
  size_t odd = 0;
  for (int axis = 0; axis < 3; axis++) odd += columns->bundle[axis].odd_rays;
  assert_in_range(odd, 45, 55);
  ul_columns_free(columns);
  by_hand_free(solid);
}

static void a_failed_allocation_is_said_and_leaks_nothing(void **state) {
  (void)state;
  ul_solid *solid = by_hand(shape_box(10, 10, 10), false);
  ul_lattice l = lattice_of(solid->mesh, 1);
  ul_job job = {.threads = 1};
  int refused = 0;
  for (long nth = 1;; nth++) {
    ul_columns *columns = NULL;
    ul_error err = {0};
    ul_memory_fail_at(nth);
    ul_status status = ul_columns_build(solid, NULL, 0, &l, &job, &columns, &err);
    ul_memory_fail_at(0);
    ul_columns_free(columns);
    if (status == UL_OK) break;
    assert_int_equal(status, UL_E_MEMORY);
    assert_null(columns);
    refused++;
  }
  assert_true(refused > 20);
  by_hand_free(solid);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_lattice_leaves_an_empty_cube_on_each_side),
      cmocka_unit_test(faces_of_a_box_of_whole_cubes_lie_between_cubes),
      cmocka_unit_test(a_lattice_that_cannot_be_is_refused),
      cmocka_unit_test(the_cube_for_a_count_puts_that_many_into_the_volume),
      cmocka_unit_test(runs_of_a_box_end_exactly_on_its_faces),
      cmocka_unit_test(run_volumes_of_round_shapes_converge),
      cmocka_unit_test(rays_through_edges_and_corners_never_go_odd),
      cmocka_unit_test(rays_through_a_fan_of_triangles_never_go_odd),
      cmocka_unit_test(overlapping_boxes_are_their_union),
      cmocka_unit_test(touching_boxes_are_one_run),
      cmocka_unit_test(a_core_and_an_insert_are_taken_out),
      cmocka_unit_test(cubes_in_runs_are_the_points_with_winding),
      cmocka_unit_test(a_turned_mesh_gives_the_turned_bundles),
      cmocka_unit_test(the_number_of_threads_changes_no_byte),
      cmocka_unit_test(an_open_mesh_has_odd_rays),
      cmocka_unit_test(a_failed_allocation_is_said_and_leaks_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
