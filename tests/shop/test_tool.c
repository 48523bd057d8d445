/* The tool's box and the blocks under its corners: closed forms. */
#include "shapes/check.h"
#include "ullage/attitude.h"

#include <math.h>

/* A tool of 200 x 100 x 60 mm whose lowest corner is at (-10, 5, 1000). */
static ul_tool tool_200_100_60(void) {
  return (ul_tool){.box_mm = {{-10, 5, 1000}, {190, 105, 1060}}};
}

static ul_props props_at(double x, double y, double z) {
  ul_tool tool = tool_200_100_60();
  double up[3];
  assert_ok(ul_up_normalise((double[3]){x, y, z}, up, NULL), NULL);
  ul_props props;
  ul_props_for(&tool, up, &props);
  return props;
}

/* Block under the corner of the standing face at the given place. */
static double block_at(const ul_props *p, double x, double y, double z) {
  for (int i = 0; i < 4; i++)
    if (p->corner_mm[i][0] == x && p->corner_mm[i][1] == y && p->corner_mm[i][2] == z)
      return p->block_mm[i];
  fail_msg("no corner at %g %g %g", x, y, z);
  return NAN;
}

static void a_wall_goes_round_all_cavities(void **state) {
  (void)state;
  ul_measure cavity[2] = {{.box_mm = {{0, 0, 0}, {10, 20, 30}}},
                          {.box_mm = {{-5, 1, 2}, {5, 40, 3}}}};
  ul_solid solid = {.cavity_count = 2, .cavity = cavity};
  ul_tool tool = ul_tool_wall(&solid, 25, true);
  const double want[2][3] = {{-30, -25, -25}, {35, 65, 55}};
  for (int c = 0; c < 3; c++) {
    assert_true(tool.box_mm[0][c] == want[0][c]);
    assert_true(tool.box_mm[1][c] == want[1][c]);
  }
  assert_true(tool.wall_mm == 25 && tool.assumed && !tool.mesh);
}

static void flat_needs_no_blocks(void **state) {
  (void)state;
  const double up[6][3] = {{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}};
  for (int face = 0; face < 6; face++) { /* +x up stands on -x, face 0, and so on */
    ul_props p = props_at(up[face][0], up[face][1], up[face][2]);
    assert_int_equal(p.face, face);
    for (int i = 0; i < 4; i++) assert_true(p.block_mm[i] == 0);
  }
}

/* +x raised 10 degrees: blocks of 200 sin 10 under both corners at +x. */
static void one_side_raised_needs_two_equal_blocks(void **state) {
  (void)state;
  double a = 10 * M_PI / 180;
  ul_props p = props_at(sin(a), 0, cos(a));
  assert_int_equal(p.face, 4);
  assert_near(block_at(&p, -10, 5, 1000), 0, 1e-12);
  assert_near(block_at(&p, -10, 105, 1000), 0, 1e-12);
  assert_near(block_at(&p, 190, 5, 1000), 200 * sin(a), 1e-12);
  assert_near(block_at(&p, 190, 105, 1000), 200 * sin(a), 1e-12);
  assert_near(p.level_reads_x_deg, 10, 1e-12);
  assert_near(p.level_reads_y_deg, 0, 1e-12);
  assert_near(p.level_reads_z_deg, 80, 1e-12);
}

/* A corner raised: each edge adds its length times the sine that the level reads along it. */
static void one_corner_raised_adds_both_edges(void **state) {
  (void)state;
  double up[3];
  assert_ok(ul_up_from_raise(-5, 15, up, NULL), NULL); /* -x and +y raised */
  ul_props p = props_at(up[0], up[1], up[2]);
  double dx = 200 * sin(5 * M_PI / 180), dy = 100 * sin(15 * M_PI / 180);
  assert_int_equal(p.face, 4);
  assert_near(block_at(&p, 190, 5, 1000), 0, 1e-12);
  assert_near(block_at(&p, -10, 5, 1000), dx, 1e-12);
  assert_near(block_at(&p, 190, 105, 1000), dy, 1e-12);
  assert_near(block_at(&p, -10, 105, 1000), dx + dy, 1e-12);
}

/* Five degrees short of on edge: it stands on its -x side, lifted along z by 60 sin 5. */
static void near_on_edge_it_stands_on_its_side(void **state) {
  (void)state;
  double a = 5 * M_PI / 180;
  ul_props p = props_at(cos(a), 0, sin(a));
  assert_int_equal(p.face, 0);
  assert_near(block_at(&p, -10, 5, 1000), 0, 1e-12);
  assert_near(block_at(&p, -10, 105, 1000), 0, 1e-12);
  assert_near(block_at(&p, -10, 5, 1060), 60 * sin(a), 1e-12);
  assert_near(block_at(&p, -10, 105, 1060), 60 * sin(a), 1e-12);
  assert_near(p.level_reads_x_deg, 85, 1e-12);
  assert_near(p.level_reads_z_deg, 5, 1e-12);
}

/* Upside down with +x raised: it stands on its lid. */
static void upside_down_it_stands_on_its_top(void **state) {
  (void)state;
  double a = 20 * M_PI / 180;
  ul_props p = props_at(sin(a), 0, -cos(a));
  assert_int_equal(p.face, 5);
  assert_near(block_at(&p, -10, 5, 1060), 0, 1e-12);
  assert_near(block_at(&p, 190, 5, 1060), 200 * sin(a), 1e-12);
}

static void corners_go_once_round_the_face_and_the_lowest_rests(void **state) {
  (void)state;
  ul_tool tool = tool_200_100_60();
  for (int n = 1; n <= 500; n++) { /* a spiral over the sphere */
    double z = 1 - (2 * n - 1) / 500.0, r = sqrt(1 - z * z), w = 2.399963 * n;
    double up[3] = {r * cos(w), r * sin(w), z}, lowest_of_box = INFINITY;
    ul_props p;
    ul_props_for(&tool, up, &p);
    double lowest = INFINITY, base = INFINITY;
    for (int i = 0; i < 4; i++) {
      const double *here = p.corner_mm[i], *next = p.corner_mm[(i + 1) % 4];
      int differ = 0;
      for (int c = 0; c < 3; c++) differ += here[c] != next[c];
      assert_int_equal(differ, 1);
      lowest = fmin(lowest, p.block_mm[i]);
      base = fmin(base, here[0] * up[0] + here[1] * up[1] + here[2] * up[2]);
    }
    for (int k = 0; k < 8; k++)
      lowest_of_box =
          fmin(lowest_of_box, tool.box_mm[k & 1][0] * up[0] + tool.box_mm[k >> 1 & 1][1] * up[1] +
                                  tool.box_mm[k >> 2][2] * up[2]);
    assert_true(lowest == 0);
    assert_near(base, lowest_of_box, 1e-9); /* nothing of the box hangs below the table */
  }
}

static void a_tie_between_faces_does_not_hang_on_a_rounding_error(void **state) {
  (void)state;
  assert_int_equal(props_at(1, 0, 1 + 1e-12).face, 4);
  assert_int_equal(props_at(1 + 1e-12, 0, 1).face, 4);
  assert_int_equal(props_at(1 + 1e-12, 1, 0).face, 2);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_wall_goes_round_all_cavities),
      cmocka_unit_test(flat_needs_no_blocks),
      cmocka_unit_test(one_side_raised_needs_two_equal_blocks),
      cmocka_unit_test(one_corner_raised_adds_both_edges),
      cmocka_unit_test(near_on_edge_it_stands_on_its_side),
      cmocka_unit_test(upside_down_it_stands_on_its_top),
      cmocka_unit_test(corners_go_once_round_the_face_and_the_lowest_rests),
      cmocka_unit_test(a_tie_between_faces_does_not_hang_on_a_rounding_error),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
