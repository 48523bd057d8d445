/* Ribs much thinner than the body they stand on: how coarse cubes may be and still tell what air
 * stays in them, which is what a plan believes of its rise (main/foam_proof.h). */
#include "base/vec.h"
#include "rise/mesh_mould.h"
#include "shapes/check.h"

enum { THICK = 5, APART = 30, BODY = 40, HIGH = 25, DEEP = 50, TEETH = 4 };

/* A bar stood on end, with ribs that stick out level: foam passes their mouths before they are
 * full. Air, mm3, in the two in the middle; the first is full of liquid, and the last is the lid.
 * Turned by `deg` about y, up with it, so that they lie askew in the cubes. */
static double air_in_ribs(double cubes_across, double deg, double thinner) {
  const double length = TEETH * THICK + (TEETH - 1) * APART, cube = THICK / cubes_across;
  double up[3] = {1, 0, 0}, out[3] = {0, 0, 1}; /* the way the ribs stick out */
  double vent[3] = {0, DEEP / 2.0, 0}, pour[3] = {0, DEEP / 2.0, 0}, air = 0;
  ul_mesh *comb = shape_comb(TEETH, THICK, APART, BODY, HIGH, DEEP);
  mesh_mould m;
  shape_rotate(comb, 1, deg);
  shape_turn(up, 1, deg);
  shape_turn(out, 1, deg);
  ul_add_scaled(vent, length, up, vent);
  ul_add_scaled(vent, BODY / 2.0, out, vent);
  ul_add_scaled(pour, 0.6 * cube, up, pour);
  ul_add_scaled(pour, BODY / 2.0, out, pour);
  mesh_mould_make(&m, comb, cube, 0, 0);
  ul_copy3(pour, m.pour_mm);
  ul_copy3(up, m.opts.up);
  mesh_mould_vent(&m, vent[0], vent[1], vent[2], 3);
  m.opts.foam.viscosity_pa_s.lo /= thinner;
  m.opts.foam.viscosity_pa_s.hi /= thinner;
  ul_rise *r = mesh_mould_rise(&m);
  for (size_t i = 0; i < r->cavity[0].void_count; i++) {
    const double at = ul_dot(r->cavity[0].voids[i].at_mm, up);
    if (at > APART && at < length - APART) air += r->cavity[0].voids[i].void_mm3;
  }
  ul_rise_free(r);
  mesh_mould_free(&m);
  return air;
}

/* Of 12,500 mm3. In cubes of which one, one and a half, then two go across: 8376, 7476, 7738 (7841
 * with three); askew 9048, 7902, 8033 (7871); foam a hundredth as thick 6632, 5872, 5944 (6383 with
 * two and a half). */
static void a_ribs_air_is_told_in_cubes_as_large_as_it_is_thick(void **state) {
  (void)state;
  static const struct {
    double deg, thinner, at_one, at_one_and_a_half; /* as main/foam_proof.h has it */
  } rib[] = {{0, 1, 0.15, 0.05}, {25, 1, 0.15, 0.05}, {0, 100, 0.15, 0.05}};
  for (size_t i = 0; i < sizeof rib / sizeof *rib; i++) {
    const double fine = air_in_ribs(2, rib[i].deg, rib[i].thinner);
    assert_true(fine > 5000);
    assert_rel(air_in_ribs(1, rib[i].deg, rib[i].thinner), fine, rib[i].at_one);
    assert_rel(air_in_ribs(1.5, rib[i].deg, rib[i].thinner), fine, rib[i].at_one_and_a_half);
  }
}

/* One that lies between the rows of centres is not there at all: what a plan's coarse look misses.
 */
static void a_rib_thinner_than_a_cube_may_be_missed(void **state) {
  (void)state;
  assert_true(air_in_ribs(0.4, 0, 1) == 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_ribs_air_is_told_in_cubes_as_large_as_it_is_thick),
      cmocka_unit_test(a_rib_thinner_than_a_cube_may_be_missed)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
