#include "cavity/audited.h"
#include "cavity/exact.h"
#include "cavity/triangle_pair.h"

#include <math.h>
#include <stdlib.h>

static ul_mesh *moved(ul_mesh *mesh, double x, double y, double z) {
  shape_move(mesh, x, y, z);
  return mesh;
}

static ul_mesh *with(ul_mesh *mesh, ul_mesh *other) {
  shape_append(mesh, other);
  return mesh;
}

static ul_mesh *reversed(ul_mesh *mesh) {
  shape_reverse(mesh);
  return mesh;
}

/* -- sides -- */

/* Coordinates on a lattice far from the origin, offset by ulps: naive arithmetic is lost there. */
static void sides_are_exact_next_to_a_plane(void **state) {
  (void)state;
  const double a[3] = {1e4, 1e4, 1e4}, b[3] = {1e4 + 3, 1e4 + 1, 1e4},
               c[3] = {1e4 + 1, 1e4 + 3, 1e4 + 7};
  for (int i = -40; i <= 40; i++)
    for (int j = -40; j <= 40; j++) {
      double p[3];
      for (int k = 0; k < 3; k++) p[k] = a[k] + i * (b[k] - a[k]) + j * (c[k] - a[k]);
      assert_int_equal(ul_side(a, b, c, p), 0);
      /* The normal is (7, -21, 8): one ulp in z decides. */
      p[2] = nextafter(p[2], INFINITY);
      assert_int_equal(ul_side(a, b, c, p), 1);
      p[2] = nextafter(nextafter(p[2], -INFINITY), -INFINITY);
      assert_int_equal(ul_side(a, b, c, p), -1);
    }
}

static void turns_are_exact_next_to_a_line(void **state) {
  (void)state;
  const double a[3] = {12, 12, 0}, b[3] = {24, 24, 0};
  for (int i = 0; i < 64; i++)
    for (int j = 0; j < 64; j++) {
      const double p[3] = {0.5 + i * 0x1p-53, 0.5 + j * 0x1p-53, 0};
      assert_int_equal(ul_turn(a, b, p, 0, 1), j > i ? 1 : j < i ? -1 : 0);
    }
}

/* -- pairs, against another method in whole numbers -- */

typedef struct {
  int v[3][3];
} whole;

static void whole_cross(const int a[3], const int b[3], int out[3]) {
  for (int c = 0; c < 3; c++)
    out[c] = a[(c + 1) % 3] * b[(c + 2) % 3] - a[(c + 2) % 3] * b[(c + 1) % 3];
}

static void whole_edge(const whole *t, int k, int out[3]) {
  for (int c = 0; c < 3; c++) out[c] = t->v[(k + 1) % 3][c] - t->v[k][c];
}

/* Both on sides of a plane square to the axis, touching allowed. */
static bool axis_parts(const int axis[3], const whole *t, const whole *u) {
  int low[2] = {1 << 30, 1 << 30}, high[2] = {-(1 << 30), -(1 << 30)};
  for (int i = 0; i < 2; i++)
    for (int k = 0; k < 3; k++) {
      const int *p = (i ? u : t)->v[k];
      int d = axis[0] * p[0] + axis[1] * p[1] + axis[2] * p[2];
      if (d < low[i]) low[i] = d;
      if (d > high[i]) high[i] = d;
    }
  return (axis[0] || axis[1] || axis[2]) && (high[0] <= low[1] || high[1] <= low[0]);
}

/* The insides of two triangles in different planes meet when no axis parts them: the normals and
 * the products of their edges are all the facet directions of the difference body. */
static bool insides_meet(const whole *t, const whole *u) {
  int e[3], f[3], axis[3];
  for (int i = 0; i < 3; i++)
    for (int j = 0; j < 3; j++) {
      whole_edge(t, i, e);
      whole_edge(u, j, f);
      whole_cross(e, f, axis);
      if (axis_parts(axis, t, u)) return false;
    }
  for (int i = 0; i < 2; i++) {
    whole_edge(i ? u : t, 0, e);
    whole_edge(i ? u : t, 1, f);
    whole_cross(e, f, axis);
    if (axis_parts(axis, t, u)) return false;
  }
  return true;
}

static uint32_t next_random(uint32_t *seed) {
  *seed = *seed * 1664525u + 1013904223u;
  return *seed >> 8;
}

/* 0: no area; the normal otherwise. */
static bool whole_normal(const whole *t, int normal[3]) {
  int e[3], f[3];
  whole_edge(t, 0, e);
  whole_edge(t, 1, f);
  whole_cross(e, f, normal);
  return normal[0] || normal[1] || normal[2];
}

static void pairs_agree_with_separating_axes_in_whole_numbers(void **state) {
  (void)state;
  uint32_t seed = 7, twin[6];
  int met = 0, compared = 0;
  memset(twin, 0xff, sizeof twin);
  ul_edges edges = {.twin = twin};
  ul_mesh *mesh = shape_new(6, 2);
  for (uint32_t v = 0; v < 6; v++) mesh->triangle[v / 3][v % 3] = v;
  for (int trial = 0; trial < 300000; trial++) {
    whole t[2];
    for (int v = 0; v < 6; v++)
      for (int c = 0; c < 3; c++) {
        t[v / 3].v[v % 3][c] = (int)(next_random(&seed) % 5);
        mesh->vertex_mm[v][c] = t[v / 3].v[v % 3][c];
      }
    int n[3], m[3], x[3];
    if (!whole_normal(&t[0], n) || !whole_normal(&t[1], m)) continue;
    whole_cross(n, m, x);
    if (!x[0] && !x[1] && !x[2]) continue;
    bool want = insides_meet(&t[0], &t[1]);
    ul_face face;
    ul_face_load(mesh, 0, 1e-9, &face);
    assert_int_equal(ul_face_pair(mesh, &edges, 1e-9, &face, 1) == UL_PAIR_CROSS, want);
    ul_face_load(mesh, 1, 1e-9, &face);
    assert_int_equal(ul_face_pair(mesh, &edges, 1e-9, &face, 0) == UL_PAIR_CROSS, want);
    met += want;
    compared++;
  }
  assert_true(met > 10000 && compared - met > 10000);
  ul_mesh_free(mesh);
}

/* Both in the plane z = x + y. */
static void triangles_in_one_plane_overlap_when_they_share_area(void **state) {
  (void)state;
  const double v[6][3] = {{0, 0, 0}, {4, 0, 4}, {0, 4, 4}, {1, 1, 2}, {3, 1, 4}, {1, 3, 4}};
  uint32_t twin[6];
  memset(twin, 0xff, sizeof twin);
  ul_edges edges = {.twin = twin};
  ul_mesh *mesh = shape_new(6, 2);
  for (uint32_t i = 0; i < 6; i++) mesh->triangle[i / 3][i % 3] = i;
  memcpy(mesh->vertex_mm, v, sizeof v);
  ul_face face;
  ul_face_load(mesh, 0, 1e-9, &face);
  assert_int_equal(ul_face_pair(mesh, &edges, 1e-9, &face, 1), UL_PAIR_ALIKE);
  mesh->triangle[1][1] = 5;
  mesh->triangle[1][2] = 4;
  assert_int_equal(ul_face_pair(mesh, &edges, 1e-9, &face, 1), UL_PAIR_FACING);
  for (int i = 3; i < 6; i++) /* beyond the edge x + y = 4, touching it */
    for (int c = 0; c < 3; c++) mesh->vertex_mm[i][c] = v[i][c] + (c == 2 ? 2 : 1);
  assert_int_equal(ul_face_pair(mesh, &edges, 1e-9, &face, 1), UL_PAIR_APART);
  mesh->vertex_mm[3][0] -= 1e-4; /* over it, by a hair, in the same plane */
  mesh->vertex_mm[3][2] -= 1e-4;
  assert_int_equal(ul_face_pair(mesh, &edges, 1e-9, &face, 1), UL_PAIR_FACING);
  ul_face_load(mesh, 0, 1e-3, &face);
  assert_int_equal(ul_face_pair(mesh, &edges, 1e-3, &face, 1), UL_PAIR_APART);
  ul_mesh_free(mesh);
}

/* -- shells -- */

static void assert_overlapping(ul_mesh *mesh) {
  audited a = audit_of(mesh);
  assert_true(a.audit->usable);
  assert_int_equal(fault_count(&a, UL_FAULT_OVERLAPPING), 1);
  assert_int_equal(a.solid->cavity_count, 1);
  assert_true(a.solid->overlapping);
  audited_free(&a);
}

static void assert_two_cavities(ul_mesh *mesh) {
  audited a = audit_of(mesh);
  assert_true(a.audit->usable);
  assert_int_equal(fault_count(&a, UL_FAULT_OVERLAPPING), 0);
  assert_int_equal(a.solid->cavity_count, 2);
  assert_false(a.solid->overlapping);
  assert_int_equal(a.solid->shell[0].depth, 0);
  assert_int_equal(a.solid->shell[1].depth, 0);
  audited_free(&a);
}

/* Every way a 10 mm box can be moved by -10, -5, 0, 5 or 10: diagonals, edges and faces meet
 * exactly. They overlap when all three moves are under 10. */
static void boxes_on_a_lattice_overlap_or_touch(void **state) {
  (void)state;
  for (int x = -2; x <= 2; x++)
    for (int y = -2; y <= 2; y++)
      for (int z = -2; z <= 2; z++) {
        if (x == 0 && y == 0 && z == 0) continue; /* twice the same box */
        ul_mesh *mesh =
            with(shape_box(10, 10, 10), moved(shape_box(10, 10, 10), 5 * x, 5 * y, 5 * z));
        if (abs(x) == 2 || abs(y) == 2 || abs(z) == 2)
          assert_two_cavities(mesh);
        else
          assert_overlapping(mesh);
      }
}

/* The same with the touching places shared, as welding leaves them. */
static void welded_boxes_that_touch_stay_two_cavities(void **state) {
  (void)state;
  for (int x = -2; x <= 2; x++)
    for (int y = -2; y <= 2; y++)
      for (int inside_out = 0; inside_out < 2; inside_out++) {
        ul_mesh *other = moved(shape_box(10, 10, 10), 5 * x, 5 * y, 10);
        ul_mesh *mesh = with(shape_box(10, 10, 10), inside_out ? reversed(other) : other);
        ul_weld_result welded;
        assert_ok(ul_mesh_weld(mesh, 0, &welded, NULL), NULL);
        assert_int_equal(welded.triangles_dropped, 0);
        assert_two_cavities(mesh);
      }
}

static void boxes_that_cross_without_a_corner_inside_overlap(void **state) {
  (void)state;
  assert_overlapping(with(shape_box(30, 10, 10), moved(shape_box(10, 30, 10), 10, -10, 0)));
  assert_overlapping(with(shape_box(30, 10, 10), moved(shape_box(10, 30, 4), 10, -10, 3)));
  ul_mesh *turned = shape_box(20, 20, 20);
  shape_rotate(turned, 2, 45);
  assert_overlapping(with(shape_box(20, 20, 20), moved(turned, 10, -5, 0)));
}

static void a_ring_of_vertices_in_a_face_is_a_crossing(void **state) {
  (void)state;
  const double rz[5][2] = {{0, -5}, {3, -5}, {3, 0}, {3, 5}, {0, 5}};
  ul_mesh *pin = shape_revolve(rz, 5, false, 12);
  assert_overlapping(with(moved(shape_box(20, 20, 20), -10.1, -9.7, -20), pin));
}

static void a_pin_that_stands_on_a_face_only_touches(void **state) {
  (void)state;
  ul_mesh *pin = shape_cylinder(3, 5, 12);
  assert_two_cavities(with(moved(shape_box(20, 20, 20), -10.1, -9.7, -20), pin));
  ul_mesh *tip_down = shape_cone(3, 5, 9);
  shape_rotate(tip_down, 0, 180);
  assert_two_cavities(with(moved(shape_box(20, 20, 20), -10.1, -9.7, -25), tip_down));
}

static void a_core_flush_with_the_wall_is_a_core(void **state) {
  (void)state;
  ul_mesh *mesh = with(shape_box(20, 20, 20), reversed(moved(shape_box(5, 5, 5), 5, 5, 0)));
  audited a = audit_of(mesh);
  assert_int_equal(a.audit->fault_count, 0);
  assert_int_equal(a.solid->cavity_count, 1);
  assert_rel(a.solid->cavity[0].volume_mm3, 8000 - 125, 1e-12);
  audited_free(&a);
}

static void overlapping_shells_bound_one_cavity_with_its_cores(void **state) {
  (void)state;
  ul_mesh *mesh = with(shape_box(20, 20, 20), moved(shape_box(20, 20, 20), 15, 3, 4));
  with(mesh, reversed(moved(shape_box(4, 4, 4), 2, 2, 2)));
  with(mesh, moved(shape_box(5, 5, 5), 100, 0, 0));
  audited a = audit_of(mesh);
  assert_int_equal(a.solid->cavity_count, 2);
  assert_true(a.solid->overlapping);
  for (int i = 0; i < 3; i++) assert_int_equal(a.solid->shell[i].cavity, 0);
  assert_rel(a.solid->cavity[0].volume_mm3, 16000 - 5 * 17 * 16 - 64, 1e-12);
  assert_rel(a.solid->cavity[1].volume_mm3, 125, 1e-12);
  ul_solid *picked;
  assert_ok(ul_solid_pick(a.solid, 1, &picked, NULL), NULL);
  assert_false(picked->overlapping);
  ul_solid_free(picked);
  audited_free(&a);
}

static void a_chain_of_overlaps_is_one_cavity(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(10, 10, 10);
  for (int i = 1; i < 6; i++) with(mesh, moved(shape_box(10, 10, 10), 7 * i, 1.5 * i, 0.5 * i));
  audited a = audit_of(mesh);
  assert_int_equal(a.solid->cavity_count, 1);
  assert_int_equal(fault_count(&a, UL_FAULT_OVERLAPPING), 5);
  audited_free(&a);
}

/* The corner at the origin pushed out through the face x = 10: the edges to it pierce that face. */
static ul_mesh *pierced_box(void) {
  ul_mesh *mesh = shape_box(10, 10, 10);
  const double origin[3] = {0}, beyond[3] = {15, 5, 5};
  for (size_t v = 0; v < 8; v++)
    if (memcmp(mesh->vertex_mm[v], origin, sizeof origin) == 0)
      memcpy(mesh->vertex_mm[v], beyond, sizeof beyond);
  return mesh;
}

static void a_shell_through_itself_is_said_with_its_place(void **state) {
  (void)state;
  audited a = audit_of(pierced_box());
  const ul_fault *fault = fault_in(&a, UL_FAULT_SELF_INTERSECTING);
  assert_non_null(fault);
  assert_true(fault->count >= 3);
  assert_true(fault->at_mm[0] > 5 && fault->at_mm[0] <= 15);
  assert_true(fault->triangle >= 0 && fault->triangle < 12);
  assert_true(a.audit->usable);
  audited_free(&a);
  ul_solid_opts opts = ul_solid_opts_default();
  opts.skip_self_intersection = true;
  a = audit_with(pierced_box(), opts);
  assert_null(fault_in(&a, UL_FAULT_SELF_INTERSECTING));
  audited_free(&a);
}

static void sound_shapes_do_not_intersect_themselves_at_any_tilt(void **state) {
  (void)state;
  for (int turn = 0; turn < 8; turn++) {
    ul_mesh *shapes[] = {shape_horn_and_dome(),       shape_comb(7, 2, 0.4, 5, 20, 12),
                         shape_torus(40, 11, 37, 19), shape_rib_box(60, 40, 30, 21, 0.3, 25),
                         shape_cap(40, 12, 60, 9),    shape_box_in_sphere(40, 20, 31, 17),
                         shape_steps(6, 10, 5.5, 22), shape_sheet(300, 200, 0.1, 33)};
    for (size_t i = 0; i < sizeof shapes / sizeof *shapes; i++) {
      shape_rotate(shapes[i], turn % 3, 17.3 * turn);
      shape_rotate(shapes[i], (turn + 1) % 3, 41.9 * turn);
      shape_move(shapes[i], 5000.3 * (turn % 2), -4321.7 * (turn % 2), 0);
      audited a = audit_of(shapes[i]);
      assert_int_equal(a.audit->fault_count, 0);
      audited_free(&a);
    }
  }
}

static void threads_change_nothing(void **state) {
  (void)state;
  ul_mesh *mesh = with(shape_icosphere(20, 5), moved(shape_icosphere(20, 5), 13, 5, 2));
  ul_solid_opts opts = ul_solid_opts_default();
  audited first = {0};
  for (int threads = 1; threads <= 4; threads++) {
    ul_job job = {.threads = threads};
    audited a;
    assert_ok(ul_audit_mesh(mesh, &opts, &job, &a.audit, &a.solid, NULL), NULL);
    if (threads == 1) {
      first = a;
      continue;
    }
    assert_int_equal(a.audit->fault_count, first.audit->fault_count);
    assert_memory_equal(a.audit->fault, first.audit->fault,
                        a.audit->fault_count * sizeof *a.audit->fault);
    assert_memory_equal(a.solid->cavity, first.solid->cavity, sizeof *a.solid->cavity);
    audited_free(&a);
  }
  audited_free(&first);
  ul_mesh_free(mesh);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sides_are_exact_next_to_a_plane),
      cmocka_unit_test(turns_are_exact_next_to_a_line),
      cmocka_unit_test(pairs_agree_with_separating_axes_in_whole_numbers),
      cmocka_unit_test(triangles_in_one_plane_overlap_when_they_share_area),
      cmocka_unit_test(boxes_on_a_lattice_overlap_or_touch),
      cmocka_unit_test(welded_boxes_that_touch_stay_two_cavities),
      cmocka_unit_test(boxes_that_cross_without_a_corner_inside_overlap),
      cmocka_unit_test(a_ring_of_vertices_in_a_face_is_a_crossing),
      cmocka_unit_test(a_pin_that_stands_on_a_face_only_touches),
      cmocka_unit_test(a_core_flush_with_the_wall_is_a_core),
      cmocka_unit_test(overlapping_shells_bound_one_cavity_with_its_cores),
      cmocka_unit_test(a_chain_of_overlaps_is_one_cavity),
      cmocka_unit_test(a_shell_through_itself_is_said_with_its_place),
      cmocka_unit_test(sound_shapes_do_not_intersect_themselves_at_any_tilt),
      cmocka_unit_test(threads_change_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
