/* Sharp edges and tips, where a lattice has cubes that join no other, or none at all. Reference
 * foam: ul_foam_middling(). */
#include "base/vec.h"
#include "rise/mesh_mould.h"
#include "shapes/check.h"
#include "ullage/level.h"

/* The triangle in x and z, extruded along y. */
static ul_mesh *wedge(const double xz[3][2], double length) {
  return shape_prism(&(shape_loop){xz, 3}, 1, 1, 0, length);
}

/* It fills as it would by the packing formula, with the vent in its edge. */
static void demand_filled(const mesh_mould *m) {
  ul_level *level = NULL;
  ul_error err;
  ul_rise *r = mesh_mould_rise(m);
  assert_true(r->cavity[0].filled_fraction > 0.99);
  assert_near(r->cavity[0].unreached_mm3, 0, 0);
  assert_true(r->cavity[0].peak_kpa < 40); /* shut in, the air stood at over 100 */
  ul_rise_free(r);
  const ul_vent_at vent = {
      .at_mm = {m->vent[0].at_mm[0], m->vent[0].at_mm[1], m->vent[0].at_mm[2]}};
  assert_ok(ul_level_rise(m->grid, m->columns, m->opts.up, &m->pour_mm, &vent, 1, UL_UNVENTED_SHUT,
                          NULL, &level, &err),
            &err);
  assert_true(level->filled[0] > 0.99);
  ul_level_free(level);
}

/* A ridge on end: turned by 45 degrees, its last row of cubes met the others across edges only, and
 * a vent there was none: 57 % filled. */
static void a_ridge_is_filled_however_it_lies_in_the_lattice(void **state) {
  (void)state;
  static const double roof[3][2] = {{0, 0}, {40, 0}, {20, 60}};
  for (double degrees = 0; degrees < 90; degrees += 15)
    for (double cube = 2; cube < 3.1; cube += 0.5) {
      double top[3] = {20, 30, 60};
      ul_mesh *mesh = wedge(roof, 60);
      mesh_mould m;
      shape_rotate(mesh, 1, degrees);
      mesh_mould_make(&m, mesh, cube, 0, 0);
      ul_copy3((const double[]){20, 30, 2}, m.pour_mm);
      shape_turn(m.pour_mm, 1, degrees);
      shape_turn(m.opts.up, 1, degrees);
      shape_turn(top, 1, degrees);
      mesh_mould_vent(&m, top[0], top[1], top[2], 3);
      demand_filled(&m);
      mesh_mould_free(&m);
    }
}

/* Centres in the wall itself: the ray along z held them, that along x began behind them. */
static void cubes_with_their_centres_in_the_wall_join_the_others(void **state) {
  (void)state;
  static const double stop[3][2] = {{0, 0}, {120, 0}, {120, 40}};
  mesh_mould m;
  mesh_mould_make(&m, wedge(stop, 50), 1.8171205928321394, 118, 25);
  m.opts.up[0] = -1;
  m.opts.up[2] = 0;
  mesh_mould_vent(&m, 0, 25, 0, 3);
  demand_filled(&m);
  mesh_mould_free(&m);
}

/* No ray comes by the tip of a cone: a vent there was outside the cavity. */
static void a_vent_in_a_tip_is_in_the_cavity(void **state) {
  (void)state;
  for (double cube = 2; cube < 4; cube += 0.5) {
    mesh_mould m;
    mesh_mould_make(&m, shape_cone(40, 70, 64), cube, 0, 0);
    mesh_mould_vent(&m, 0, 0, 70, 3);
    demand_filled(&m);
    mesh_mould_free(&m);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_ridge_is_filled_however_it_lies_in_the_lattice),
      cmocka_unit_test(cubes_with_their_centres_in_the_wall_join_the_others),
      cmocka_unit_test(a_vent_in_a_tip_is_in_the_cavity),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
