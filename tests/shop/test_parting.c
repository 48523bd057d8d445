/* Undercuts and draft of shapes whose answers are known beforehand. */
#include "base/memory.h"
#include "base/vec.h"
#include "shapes/check.h"
#include "shapes/shapes.h"
#include "ullage/hold.h"
#include "ullage/parting.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double up[3] = {0, 0, 1};

static ul_parting part_at(const ul_solid *solid, double z, const double *draw) {
  ul_error err = {0};
  ul_parting parting;
  assert_ok(ul_parting_make(solid, (double[3]){0, 0, z}, up, draw, &parting, &err), &err);
  return parting;
}

static size_t undercuts(const ul_solid *solid, const ul_parting *parting, double cube,
                        ul_undercut **list) {
  ul_error err = {0};
  size_t count;
  assert_ok(ul_undercuts_find(solid, parting, cube, NULL, list, &count, &err), &err);
  return count;
}

/* The upper half must pass the equator: a ring from the opening's radius to the ball's. */
static void a_ball_parted_off_its_middle_is_caught_by_a_ring(void **state) {
  (void)state;
  double R = 40, c = 16, a = sqrt(R * R - c * c);
  ul_solid *ball = shape_solid(shape_sphere(R, 256, 128));
  ul_parting parting = part_at(ball, -c, NULL);
  ul_undercut *u;
  assert_int_equal(undercuts(ball, &parting, 0.5, &u), 1);
  assert_int_equal(u[0].half, 1);
  assert_rel(u[0].area_mm2, M_PI * c * c, 0.01); /* pi R2 - pi a2 */
  assert_near(u[0].depth_mm, R - a, 0.75);
  /* Between plane and ball: the ring's column of height c less what of the ball is in it, the half
   * ball's part outside the opening's radius: 2/3 pi c3. */
  assert_rel(u[0].volume_mm3, M_PI * c * c * c - 2.0 / 3 * M_PI * c * c * c, 0.03);
  assert_near(hypot(u[0].at_mm[0], u[0].at_mm[1]), R, 0.75);
  free(u);
  ul_solid_free(ball);
}

static void a_ball_parted_at_its_middle_comes_out(void **state) {
  (void)state;
  ul_solid *ball = shape_solid(shape_sphere(40, 64, 32));
  ul_parting parting = part_at(ball, 0, NULL);
  ul_undercut *u;
  assert_int_equal(undercuts(ball, &parting, 1, &u), 0);
  free(u);
  ul_solid_free(ball);
}

/* A bar 20 wide with a head 60 wide above it: 20 mm on either side of the bar. */
static ul_mesh *tee(void) {
  const double outline[8][2] = {{20, 0},  {40, 0}, {40, 30}, {60, 30},
                                {60, 50}, {0, 50}, {0, 30},  {20, 30}};
  shape_loop loop = {outline, 8};
  return shape_prism(&loop, 1, 1, 0, 100);
}

static void a_tee_is_caught_under_both_arms(void **state) {
  (void)state;
  ul_solid *solid = shape_solid(tee());
  ul_parting parting = part_at(solid, 10, NULL);
  ul_undercut *u;
  assert_int_equal(undercuts(solid, &parting, 0.5, &u), 2);
  for (int i = 0; i < 2; i++) {
    assert_int_equal(u[i].half, 1);
    assert_near(u[i].depth_mm, 20, 0.5);
    assert_rel(u[i].area_mm2, 20 * 100, 0.03);
    assert_rel(u[i].volume_mm3, 20 * 100 * 20, 0.03); /* from the plane to the arm */
    assert_near(u[i].at_mm[2], 30, 1e-9);
  }
  free(u);
  ul_solid_free(solid);
}

static void a_tee_parted_under_its_head_or_drawn_along_its_bar_comes_out(void **state) {
  (void)state;
  ul_solid *solid = shape_solid(tee());
  ul_parting parting = part_at(solid, 30, NULL);
  ul_undercut *u;
  assert_int_equal(undercuts(solid, &parting, 1, &u), 0);
  free(u);
  ul_error err = {0};
  assert_ok(ul_parting_make(solid, NULL, NULL, (double[3]){0, 1, 0}, &parting, &err), &err);
  assert_int_equal(undercuts(solid, &parting, 1, &u), 0);
  free(u);
  ul_solid_free(solid);
}

/* Turned in space with its plane and draw, everything measured is the same. */
static void a_draw_along_no_axis_gives_the_same(void **state) {
  (void)state;
  ul_mesh *mesh = tee();
  double draw[3] = {0, 0, 1}, at[3] = {0, 0, 10};
  shape_rotate(mesh, 0, 33);
  shape_rotate(mesh, 2, 71);
  shape_turn(draw, 0, 33), shape_turn(at, 0, 33);
  shape_turn(draw, 2, 71), shape_turn(at, 2, 71);
  ul_solid *solid = shape_solid(mesh);
  ul_error err = {0};
  ul_parting parting;
  assert_ok(ul_parting_make(solid, at, draw, NULL, &parting, &err), &err);
  ul_undercut *u;
  assert_int_equal(undercuts(solid, &parting, 0.5, &u), 2);
  for (int i = 0; i < 2; i++) {
    assert_near(u[i].depth_mm, 20, 1);
    assert_rel(u[i].volume_mm3, 20 * 100 * 20, 0.05);
    assert_near(ul_dot(u[i].at_mm, draw), 30, 1e-9);
  }
  free(u);
  double area;
  assert_ok(ul_shadow_mm2(solid->mesh, draw, &area, &err), &err);
  assert_rel(area, 60 * 100, 1e-12);
  ul_solid_free(solid);
}

/* Without a plane, only what is caught wherever the halves part: a hook, not a tee. */
static void without_a_plane_a_gap_along_the_draw_is_an_undercut_of_either_half(void **state) {
  (void)state;
  ul_solid *solid = shape_solid(tee());
  ul_error err = {0};
  ul_parting parting;
  assert_ok(ul_parting_make(solid, NULL, NULL, up, &parting, &err), &err);
  ul_undercut *u;
  assert_int_equal(undercuts(solid, &parting, 1, &u), 0);
  free(u);
  ul_solid_free(solid);
  ul_mesh *hook = shape_u(10, 30, 15, 60, 60, 20);
  shape_rotate(hook, 1, 90); /* its legs now run along x, one over the other */
  solid = shape_solid(hook);
  assert_ok(ul_parting_make(solid, NULL, NULL, up, &parting, &err), &err);
  assert_int_equal(undercuts(solid, &parting, 0.5, &u), 1);
  assert_int_equal(u[0].half, 0);
  assert_rel(u[0].volume_mm3, 45 * 20 * 30, 0.03);
  assert_near(u[0].depth_mm, 45, 1); /* to the bar */
  free(u);
  ul_solid_free(solid);
}

/* A box with a core of 40 x 40 x 20 mm in it, 10 mm above its floor and `aside` from its wall. */
static ul_solid *with_core(double aside) {
  ul_mesh *mesh = shape_box(160, 100, 60), *core = shape_box(40, 40, 20);
  shape_move(core, aside, 30, 10);
  shape_reverse(core);
  shape_append(mesh, core);
  return shape_solid(mesh);
}

/* "A flexible one must strip over 20.1 mm" was told of a core that no way leads off and nothing
 * holds; one that reaches the wall is held there. */
static void a_core_that_touches_nothing_hangs_and_has_no_way_out(void **state) {
  (void)state;
  ul_solid *solid = with_core(50);
  ul_error err = {0};
  const double planes[] = {30, 45, 20, 10, 5};
  ul_undercut *u;
  for (int i = 0; i < 6; i++) {
    ul_parting parting;
    if (i < 5)
      parting = part_at(solid, planes[i], NULL);
    else
      assert_ok(ul_parting_make(solid, NULL, NULL, up, &parting, &err), &err);
    size_t count = undercuts(solid, &parting, 1, &u);
    assert_int_equal(count, i == 2 ? 2 : 1); /* through the core: it is in the way of either half */
    for (size_t k = 0; k < count; k++) {
      assert_true(u[k].hangs && isnan(u[k].depth_mm));
      assert_near(u[k].area_mm2, 1600, 1e-6);
    }
    free(u);
  }
  ul_solid_free(solid);
  solid = with_core(0);
  ul_parting parting = part_at(solid, 30, NULL);
  assert_int_equal(undercuts(solid, &parting, 1, &u), 1);
  assert_false(u[0].hangs);
  assert_near(u[0].depth_mm, 20, 1); /* to its nearer sides */
  free(u);
  ul_solid_free(solid);
}

/* A box whose core of 40 x 40 x 20 mm, 10 mm above its floor, has another core by it. */
static ul_solid *with_another(double x, double y, double z, double at_x, double at_y, double at_z) {
  ul_mesh *mesh = shape_box(160, 100, 60), *core = shape_box(40, 40, 20),
          *other = shape_box(x, y, z);
  shape_move(core, 50, 30, 10);
  shape_reverse(core);
  shape_move(other, at_x, at_y, at_z);
  shape_reverse(other);
  shape_append(mesh, core);
  shape_append(mesh, other);
  return shape_solid(mesh);
}

/* "A closed core hangs there: nothing holds it" was told of one that stands on a pin, since only
 * the core's own corners were looked at. A bar across it has no corner on it either, and two that
 * hold one another are held by nothing. */
static void a_core_on_a_pin_or_a_bar_is_held(void **state) {
  (void)state;
  const struct {
    double size[3], at[3];
    int hangs;
  } other[] = {
      {{6, 6, 10}, {67, 47, 0}, 0},     /* a pin up to the middle of its floor */
      {{6, 6, 13}, {67, 47, 0}, 0},     /* and into it */
      {{6, 6, 9.5}, {67, 47, 0}, 1},    /* too short */
      {{6, 100, 10}, {67, 0, 0}, 0},    /* a rib from wall to wall */
      {{6, 80, 10}, {67, 10, 0}, 0},    /* a bar on the floor, longer than the core */
      {{6, 80, 5}, {67, 10, 5}, 1},     /* a bar that hangs on the core */
      {{10, 100, 10}, {100, 0, 10}, 1}, /* 10 mm beside it */
  };
  for (size_t i = 0; i < sizeof other / sizeof *other; i++) {
    const double *size = other[i].size, *at = other[i].at;
    ul_solid *solid = with_another(size[0], size[1], size[2], at[0], at[1], at[2]);
    ul_parting parting = part_at(solid, 45, NULL);
    ul_undercut *u;
    size_t count = undercuts(solid, &parting, 1, &u);
    int hangs = 0;
    for (size_t k = 0; k < count; k++) hangs |= u[k].hangs;
    assert_true(count > 0);
    assert_int_equal(hangs, other[i].hangs);
    free(u);
    ul_solid_free(solid);
  }
}

/* A frustum of a pyramid whose walls lean in by `deg`. */
static ul_solid *tapered(double deg) {
  ul_mesh *mesh = shape_box(80, 60, 40);
  double in = 40 * tan(deg * M_PI / 180);
  for (size_t v = 0; v < mesh->vertex_count; v++) {
    double *at = mesh->vertex_mm[v];
    if (at[2] != 40) continue;
    at[0] += at[0] > 0 ? -in : in;
    at[1] += at[1] > 0 ? -in : in;
  }
  return shape_solid(mesh);
}

static void a_tapered_block_drags_only_under_one_degree(void **state) {
  (void)state;
  const double deg[4] = {0, 0.5, 0.99, 1.01};
  for (int i = 0; i < 4; i++) {
    ul_solid *block = tapered(deg[i]);
    ul_error err = {0};
    ul_drag *drag;
    size_t count;
    assert_ok(ul_drags_find(block->mesh, up, 1, NULL, &drag, &count, &err), &err);
    assert_int_equal(count, i < 3 ? 4 : 0);
    for (size_t w = 0; w < count; w++) {
      double in = 40 * tan(deg[i] * M_PI / 180), slant = 40 / cos(deg[i] * M_PI / 180);
      assert_near(drag[w].draft_deg, deg[i], 1e-9);
      assert_near(drag[w].height_mm, 40, 1e-12);
      assert_rel(drag[w].area_mm2, ((w < 2 ? 80 : 60) - in) * slant, 1e-12);
      bool on = fabs(drag[w].at_mm[w < 2 ? 1 : 0] - (w < 2 ? 30 : 40)) > (w < 2 ? 28 : 38);
      assert_true(on);
    }
    free(drag);
    ul_solid_free(block);
  }
}

static void refuse(const ul_solid *solid, const double at[3], const double normal[3],
                   const double *draw, ul_status code, const char *says) {
  ul_error err = {0};
  ul_parting parting;
  assert_int_equal(ul_parting_make(solid, at, normal, draw, &parting, &err), code);
  if (!strstr(err.text, says)) fail_msg("\"%s\" does not say \"%s\"", err.text, says);
}

static void a_plane_that_misses_or_a_draw_that_does_not_open_is_refused(void **state) {
  (void)state;
  ul_solid *box = shape_solid(shape_box(30, 20, 10));
  refuse(box, (double[3]){0, 0, 11}, up, NULL, UL_E_OUTSIDE,
         "it lies at 11.00 mm along its normal 0,0,1 and the cavity from 0.00 to 10.00 mm");
  refuse(box, (double[3]){0, 0, -0.5}, up, NULL, UL_E_OUTSIDE, "misses the cavity");
  refuse(box, (double[3]){0, 0, 5}, (double[3]){0, 0, 0}, NULL, UL_E_USAGE, "");
  refuse(box, (double[3]){0, 0, 5}, up, (double[3]){1, 0, 0.05}, UL_E_USAGE, "degrees");
  ul_error err = {0};
  ul_parting parting;
  assert_ok(ul_parting_make(box, (double[3]){0, 0, 10}, up, NULL, &parting, &err), &err);
  assert_ok(ul_parting_make(box, (double[3]){0, 0, 5}, up, (double[3]){0, 0, -2}, &parting, &err),
            &err);
  assert_true(parting.normal[2] == -1 && parting.draw[2] == -1);
  assert_ok(ul_parting_make(box, NULL, NULL, NULL, &parting, &err), &err);
  assert_true(!parting.has_plane && ul_norm(parting.draw) == 0);
  ul_solid_free(box);
}

static void every_allocation_may_fail(void **state) {
  (void)state;
  ul_solid *solid = shape_solid(tee());
  ul_parting parting = part_at(solid, 10, NULL);
  ul_status status = UL_E_MEMORY;
  long nth = 0;
  while (status != UL_OK) {
    ul_undercut *undercut = NULL;
    ul_drag *drag = NULL;
    size_t count;
    ul_error err = {.code = UL_OK};
    ul_memory_fail_at(++nth);
    status = ul_undercuts_find(solid, &parting, 4, NULL, &undercut, &count, &err);
    if (status == UL_OK) status = ul_drags_find(solid->mesh, up, 1, NULL, &drag, &count, &err);
    ul_memory_fail_at(0);
    assert_true(status == UL_OK || (status == UL_E_MEMORY && err.code == UL_E_MEMORY));
    free(undercut);
    free(drag);
  }
  assert_true(nth > 15);
  ul_solid_free(solid);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_ball_parted_off_its_middle_is_caught_by_a_ring),
      cmocka_unit_test(a_ball_parted_at_its_middle_comes_out),
      cmocka_unit_test(a_tee_is_caught_under_both_arms),
      cmocka_unit_test(a_tee_parted_under_its_head_or_drawn_along_its_bar_comes_out),
      cmocka_unit_test(a_draw_along_no_axis_gives_the_same),
      cmocka_unit_test(a_core_that_touches_nothing_hangs_and_has_no_way_out),
      cmocka_unit_test(a_core_on_a_pin_or_a_bar_is_held),
      cmocka_unit_test(without_a_plane_a_gap_along_the_draw_is_an_undercut_of_either_half),
      cmocka_unit_test(a_tapered_block_drags_only_under_one_degree),
      cmocka_unit_test(every_allocation_may_fail),
      cmocka_unit_test(a_plane_that_misses_or_a_draw_that_does_not_open_is_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
