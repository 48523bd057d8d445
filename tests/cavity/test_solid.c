#include "cavity/audited.h"

#include <math.h>

static ul_mesh *box_at(double side, double x, double y, double z) {
  ul_mesh *mesh = shape_box(side, side, side);
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

static void assert_one_cavity(const audited *a, double volume) {
  assert_true(a->audit->usable);
  assert_int_equal(a->solid->cavity_count, 1);
  assert_rel(a->solid->cavity[0].volume_mm3, volume, 1e-12);
}

static void a_clean_box_is_one_cavity_without_faults(void **state) {
  (void)state;
  audited a = audit_of(shape_box(30, 20, 10));
  assert_one_cavity(&a, 6000);
  assert_true(a.audit->closed);
  assert_int_equal(a.audit->fault_count, 0);
  assert_int_equal(a.audit->shell_count, 1);
  assert_int_equal(a.solid->mesh->triangle_count, 12);
  assert_false(a.solid->overlapping || a.solid->read_as_block || a.solid->reading_doubtful);
  ul_error err;
  assert_int_equal(ul_audit_verdict(a.audit, &err), UL_OK);
  audited_free(&a);
}

static void a_core_belongs_to_the_cavity_around_it(void **state) {
  (void)state;
  audited a = audit_of(shape_box_in_sphere(40, 20, 24, 12));
  assert_int_equal(a.audit->fault_count, 0);
  assert_int_equal(a.solid->cavity_count, 1);
  assert_int_equal(a.solid->shell_count, 2);
  const ul_shell *s = a.solid->shell;
  assert_rel(a.solid->cavity[0].volume_mm3, s[0].volume_mm3 + s[1].volume_mm3, 1e-12);
  int core = s[0].depth == 1 ? 0 : 1;
  assert_rel(s[core].volume_mm3, -8000, 1e-12);
  assert_int_equal(s[core].parent, 1 - core);
  assert_int_equal(s[core].cavity, 0);
  audited_free(&a);
}

static ul_mesh *four_boxes(void) {
  ul_mesh *mesh = box_at(40, -20, -20, -20);
  with(mesh, reversed(box_at(30, -15, -15, -15)));
  with(mesh, box_at(20, -10, -10, -10));
  return with(mesh, reversed(box_at(10, -5, -5, -5)));
}

static void a_shell_in_a_core_is_a_cavity_of_its_own(void **state) {
  (void)state;
  audited a = audit_of(four_boxes());
  assert_true(a.audit->usable);
  assert_int_equal(a.audit->fault_count, 0);
  assert_int_equal(a.solid->cavity_count, 2);
  assert_rel(a.solid->cavity[0].volume_mm3, 64000 - 27000, 1e-12);
  assert_rel(a.solid->cavity[1].volume_mm3, 8000 - 1000, 1e-12);
  for (int i = 0; i < 4; i++) {
    assert_int_equal(a.solid->shell[i].depth, i);
    assert_int_equal(a.solid->shell[i].parent, i - 1);
    assert_int_equal(a.solid->shell[i].cavity, i / 2);
  }
  audited_free(&a);
}

static void a_nest_drawn_inside_out_is_turned_as_a_whole(void **state) {
  (void)state;
  audited a = audit_of(reversed(four_boxes()));
  assert_int_equal(fault_count(&a, UL_FAULT_INSIDE_OUT), 1);
  assert_int_equal(a.audit->fault_count, 1);
  assert_int_equal(a.solid->cavity_count, 2);
  assert_rel(a.solid->cavity[0].volume_mm3, 64000 - 27000, 1e-12);
  audited_free(&a);
}

static void a_shell_of_the_same_sense_cuts_nothing_out(void **state) {
  (void)state;
  for (int inside_out = 0; inside_out < 2; inside_out++) {
    ul_mesh *mesh = with(box_at(40, -20, -20, -20), box_at(20, -10, -10, -10));
    audited a = audit_of(inside_out ? reversed(mesh) : mesh);
    assert_int_equal(fault_count(&a, UL_FAULT_SAME_SENSE), 1);
    assert_int_equal(fault_count(&a, UL_FAULT_INSIDE_OUT), inside_out);
    assert_one_cavity(&a, 64000);
    assert_false(a.solid->overlapping);
    assert_int_equal(a.solid->mesh->triangle_count, 12);
    assert_int_equal(a.solid->mesh->vertex_count, 8);
    assert_true(a.solid->shell[1].cavity == UINT32_MAX);
    audited_free(&a);
  }
}

static void a_core_whose_winding_was_mended_is_a_core_by_its_place(void **state) {
  (void)state;
  ul_mesh *mesh = with(box_at(40, -20, -20, -20), box_at(20, -10, -10, -10));
  uint32_t *c = mesh->triangle[15], keep = c[0];
  c[0] = c[1];
  c[1] = keep;
  audited a = audit_of(mesh);
  assert_int_equal(fault_count(&a, UL_FAULT_WINDING), 1);
  assert_int_equal(fault_count(&a, UL_FAULT_SAME_SENSE), 0);
  assert_one_cavity(&a, 64000 - 8000);
  audited_free(&a);
}

static void boxes_apart_are_cavities_in_the_order_of_the_file(void **state) {
  (void)state;
  ul_mesh *mesh = with(with(box_at(10, 100, 0, 0), box_at(20, 0, 0, 0)), box_at(30, 0, 100, 0));
  audited a = audit_of(mesh);
  assert_int_equal(a.solid->cavity_count, 3);
  const double side[3] = {10, 20, 30};
  for (int i = 0; i < 3; i++) assert_rel(a.solid->cavity[i].volume_mm3, pow(side[i], 3), 1e-13);
  for (size_t t = 0; t < 36; t++) assert_int_equal(a.solid->cavity_of[t], t / 12);
  audited_free(&a);
}

static void one_cavity_can_be_picked(void **state) {
  (void)state;
  audited a = audit_of(four_boxes());
  ul_solid *picked;
  ul_error err = {0};
  assert_ok(ul_solid_pick(a.solid, 1, &picked, &err), &err);
  assert_int_equal(picked->cavity_count, 1);
  assert_int_equal(picked->shell_count, 2);
  assert_int_equal(picked->mesh->triangle_count, 24);
  assert_int_equal(picked->mesh->vertex_count, 16);
  assert_int_equal(picked->shell[0].parent, -1);
  assert_int_equal(picked->shell[1].parent, 0);
  assert_int_equal(picked->shell[1].depth, 1);
  assert_int_equal(picked->shell[1].first_triangle, 12);
  ul_measure m;
  ul_measure_triangles(picked->mesh, NULL, 24, &m);
  assert_rel(m.volume_mm3, 7000, 1e-12);
  assert_rel(picked->cavity[0].volume_mm3, 7000, 1e-12);
  ul_solid_free(picked);
  assert_int_equal(ul_solid_pick(a.solid, 2, &picked, &err), UL_E_USAGE);
  assert_null(picked);
  assert_non_null(strstr(err.text, "no cavity 3, only 1 to 2"));
  audited_free(&a);
}

/* -- part or block -- */

static audited read_as(ul_mesh *mesh, ul_drawn drawn) {
  ul_solid_opts opts = ul_solid_opts_default();
  opts.drawn = drawn;
  return audit_with(mesh, opts);
}

static void the_void_of_a_block_is_the_cavity(void **state) {
  (void)state;
  audited a = read_as(four_boxes(), UL_DRAWN_BLOCK);
  assert_true(a.solid->read_as_block);
  assert_int_equal(a.solid->cavity_count, 2);
  assert_rel(a.solid->cavity[0].volume_mm3, 27000 - 8000, 1e-12);
  assert_rel(a.solid->cavity[1].volume_mm3, 1000, 1e-12);
  assert_true(a.solid->shell[0].cavity == UINT32_MAX);
  assert_int_equal(a.solid->mesh->triangle_count, 36);
  assert_int_equal(a.audit->fault_count, 0);
  audited_free(&a);
}

static void a_block_with_two_voids_holds_two_cavities(void **state) {
  (void)state;
  ul_mesh *mesh = box_at(100, 0, 0, 0);
  with(mesh, reversed(box_at(20, 10, 10, 10)));
  with(mesh, box_at(30, 50, 50, 50)); /* drawn as a body of its own: still a void of the block */
  audited a = read_as(mesh, UL_DRAWN_BLOCK);
  assert_int_equal(a.solid->cavity_count, 2);
  assert_rel(a.solid->cavity[0].volume_mm3, 8000, 1e-12);
  assert_rel(a.solid->cavity[1].volume_mm3, 27000, 1e-12);
  audited_free(&a);
}

static void a_block_without_a_void_is_refused(void **state) {
  (void)state;
  audited a = read_as(shape_box(30, 20, 10), UL_DRAWN_BLOCK);
  assert_true(a.audit->closed);
  assert_false(a.audit->usable);
  ul_error err;
  assert_int_equal(ul_audit_verdict(a.audit, &err), UL_E_SURFACE);
  assert_non_null(strstr(err.text, "--drawn part"));
  audited_free(&a);
}

static void a_box_around_a_void_may_be_a_block_but_a_ball_is_not(void **state) {
  (void)state;
  audited a = read_as(shape_box_in_box(50, 20), UL_DRAWN_ASK);
  assert_true(a.solid->reading_doubtful);
  assert_false(a.solid->read_as_block);
  assert_one_cavity(&a, 125000 - 8000);
  audited_free(&a);
  a = read_as(shape_box_in_box(50, 20), UL_DRAWN_PART);
  assert_false(a.solid->reading_doubtful);
  audited_free(&a);
  a = read_as(shape_box_in_sphere(40, 20, 24, 12), UL_DRAWN_ASK);
  assert_false(a.solid->reading_doubtful);
  audited_free(&a);
  a = read_as(shape_box(30, 20, 10), UL_DRAWN_ASK);
  assert_false(a.solid->reading_doubtful);
  audited_free(&a);
}

/* -- touching -- */

/* An octahedron all of whose vertices lie in the faces of the box: only its own faces tell that it
 * is inside. */
static ul_mesh *octahedron(double r) {
  const double v[6][3] = {{r, 0, 0}, {-r, 0, 0}, {0, r, 0}, {0, -r, 0}, {0, 0, r}, {0, 0, -r}};
  const uint32_t t[8][3] = {{0, 2, 4}, {2, 1, 4}, {1, 3, 4}, {3, 0, 4},
                            {2, 0, 5}, {1, 2, 5}, {3, 1, 5}, {0, 3, 5}};
  ul_mesh *mesh;
  assert_ok(ul_mesh_from_arrays(v, 6, t, 8, &mesh, NULL), NULL);
  return mesh;
}

static void a_core_that_touches_the_wall_everywhere_is_still_a_core(void **state) {
  (void)state;
  ul_mesh *mesh = with(box_at(40, -20, -20, -20), reversed(octahedron(20)));
  audited a = audit_of(mesh);
  assert_one_cavity(&a, 64000 - 4.0 / 3 * 8000);
  assert_int_equal(a.solid->shell[1].depth, 1);
  audited_free(&a);
}

static void a_bar_that_fills_a_channel_is_not_inside_it(void **state) {
  (void)state;
  ul_mesh *mesh = with(shape_u(10, 20, 10, 40, 40, 30), shape_box(20, 30, 30));
  for (size_t v = mesh->vertex_count - 8; v < mesh->vertex_count; v++) {
    mesh->vertex_mm[v][0] += 10;
    mesh->vertex_mm[v][2] += 10;
  }
  audited a = audit_of(mesh);
  assert_int_equal(a.solid->cavity_count, 2);
  assert_int_equal(a.solid->shell[1].depth, 0);
  assert_int_equal(fault_count(&a, UL_FAULT_SAME_SENSE), 0);
  audited_free(&a);
}

static void a_hundred_cores_find_their_cavities(void **state) {
  (void)state;
  ul_mesh *mesh = box_at(100, 0, 0, 0);
  with(mesh, box_at(100, 200, 0, 0));
  for (int i = 0; i < 100; i++)
    with(mesh, reversed(box_at(5, 2 + 9.7 * (i % 10) + (i % 2) * 200, 2 + 9.7 * (i / 10), 40)));
  audited a = audit_of(mesh);
  assert_int_equal(a.solid->cavity_count, 2);
  for (int c = 0; c < 2; c++) assert_rel(a.solid->cavity[c].volume_mm3, 1e6 - 50 * 125, 1e-12);
  audited_free(&a);
}

/* A cube of 100 mm with a core of 40 in its middle, and a box beside it that does not count. */
static void what_lies_below_a_level_is_exact(void **state) {
  (void)state;
  ul_mesh *mesh = with(box_at(100, 0, 0, 0), reversed(box_at(40, 30, 30, 30)));
  audited a = audit_of(with(mesh, box_at(50, 200, 0, 0)));
  const double up[3] = {0, 0, 1}, down[3] = {0, 0, -1};
  const double corner[3] = {1 / sqrt(3), 1 / sqrt(3), 1 / sqrt(3)};
  assert_near(ul_solid_below_mm3(a.solid, 0, up, -1), 0, 0);
  assert_rel(ul_solid_below_mm3(a.solid, 0, up, 20), 2e5, 1e-12);
  assert_rel(ul_solid_below_mm3(a.solid, 0, up, 50), 5e5 - 32000, 1e-12);
  assert_rel(ul_solid_below_mm3(a.solid, 0, up, 100), 1e6 - 64000, 1e-12);
  assert_rel(ul_solid_below_mm3(a.solid, 0, down, -80), 2e5, 1e-12);
  assert_rel(ul_solid_below_mm3(a.solid, 1, up, 10), 25000, 1e-12);
  /* A corner cut off: legs of 60 mm; half of all, by symmetry. */
  assert_rel(ul_solid_below_mm3(a.solid, 0, corner, 60 / sqrt(3)), 60.0 * 60 * 60 / 6, 1e-12);
  assert_rel(ul_solid_below_mm3(a.solid, 0, corner, 150 / sqrt(3)), (1e6 - 64000) / 2, 1e-12);
  audited_free(&a);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_clean_box_is_one_cavity_without_faults),
      cmocka_unit_test(a_core_belongs_to_the_cavity_around_it),
      cmocka_unit_test(a_shell_in_a_core_is_a_cavity_of_its_own),
      cmocka_unit_test(a_nest_drawn_inside_out_is_turned_as_a_whole),
      cmocka_unit_test(a_shell_of_the_same_sense_cuts_nothing_out),
      cmocka_unit_test(a_core_whose_winding_was_mended_is_a_core_by_its_place),
      cmocka_unit_test(boxes_apart_are_cavities_in_the_order_of_the_file),
      cmocka_unit_test(one_cavity_can_be_picked),
      cmocka_unit_test(the_void_of_a_block_is_the_cavity),
      cmocka_unit_test(a_block_with_two_voids_holds_two_cavities),
      cmocka_unit_test(a_block_without_a_void_is_refused),
      cmocka_unit_test(a_box_around_a_void_may_be_a_block_but_a_ball_is_not),
      cmocka_unit_test(a_core_that_touches_the_wall_everywhere_is_still_a_core),
      cmocka_unit_test(a_bar_that_fills_a_channel_is_not_inside_it),
      cmocka_unit_test(a_hundred_cores_find_their_cavities),
      cmocka_unit_test(what_lies_below_a_level_is_exact),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
