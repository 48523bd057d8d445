/* Vents: which peaks get one, where it is by arithmetic, and that every hole is a good one by brute
 * force. */
#include "air/bed.h"
#include "air/heights.h"
#include "air/skin_outlet.h"
#include "shapes/check.h"
#include "shapes/drill.h"
#include "shapes/shapes.h"
#include "ullage/import.h"
#include "ullage/vents.h"

#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double mouth_in = 1.55; /* radius of a 3 mm hole and what it spares */

static bed lay(ul_mesh *mesh, double cube_mm, double x, double y, double z) {
  return bed_lay(mesh, NULL, 0, cube_mm, (double[3]){x, y, z});
}

/* With 3 mm holes and whatever air they should let out: all of them good. */
static ul_vents *vent_well(const bed *b, size_t want) {
  ul_vents_opts opts = ul_vents_opts_default();
  ul_vents *vents = bed_choose(b, &opts);
  assert_int_equal(vents->count, want);
  for (size_t i = 0; i < want; i++) {
    assert_good_hole(b->solid->mesh, &b->tool, &vents->vent[i]);
    assert_true(vents->vent[i].serves_count > 0);
  }
  assert_true(vents->left_mm3 <= opts.void_ok_mm3);
  return vents;
}

/* How many mouths lie within `far` of the place. */
static int mouths_near(const ul_vents *vents, double x, double y, double z, double far) {
  int count = 0;
  for (size_t i = 0; i < vents->count; i++)
    count += ul_distance(vents->vent[i].at_mm, (double[3]){x, y, z}) <= far;
  return count;
}

static void a_box_with_a_corner_raised_is_vented_there_alone(void **state) {
  (void)state;
  for (int corner = 0; corner < 8; corner++) {
    double x = corner & 1 ? 1 : -1, y = corner & 2 ? 1 : -1, z = corner & 4 ? 1 : -1;
    bed b = lay(shape_box(60, 40, 20), 1, 0.15 * x, 0.1 * y, 0.98 * z);
    ul_vents *vents = vent_well(&b, 1);
    const ul_vent *v = &vents->vent[0];
    assert_near(v->at_mm[0], x > 0 ? 60 - mouth_in : mouth_in, 0.003);
    assert_near(v->at_mm[1], y > 0 ? 40 - mouth_in : mouth_in, 0.003);
    assert_near(v->at_mm[2], z > 0 ? 20 : 0, 1e-9);
    assert_near(v->axis[2], z, 1e-12);
    assert_rel(v->air_mm3, 60 * 40 * 20, 1e-3);
    bed_clear(&b, vents);
  }
}

static void a_level_lid_is_vented_in_its_corners(void **state) {
  (void)state;
  bed b = lay(shape_box(60, 40, 20), 1, 0, 0, 1);
  ul_vents *vents = vent_well(&b, 4);
  for (int corner = 0; corner < 4; corner++)
    assert_int_equal(mouths_near(vents, corner & 1 ? 60 - mouth_in : mouth_in,
                                 corner & 2 ? 40 - mouth_in : mouth_in, 20, 0.01),
                     1);
  double air = 0;
  for (int i = 0; i < 4; i++) air += vents->vent[i].air_mm3;
  assert_rel(air, 60 * 40 * 20, 1e-3);
  bed_clear(&b, vents);
}

/* +x raised 15 degrees: the lid's edge at +x is level, and is vented at both ends. */
static void a_level_edge_is_vented_at_its_ends(void **state) {
  (void)state;
  double a = 15 * M_PI / 180;
  bed b = lay(shape_box(60, 40, 20), 1, sin(a), 0, cos(a));
  ul_vents *vents = vent_well(&b, 2);
  assert_int_equal(mouths_near(vents, 60 - mouth_in, mouth_in, 20, 0.01), 1);
  assert_int_equal(mouths_near(vents, 60 - mouth_in, 40 - mouth_in, 20, 0.01), 1);
  bed_clear(&b, vents);
}

static void a_gable_is_vented_at_its_ridge_and_tilted_at_one_end(void **state) {
  (void)state;
  bed b = lay(shape_gable(100, 60, 20, 45), 2, 0, 0, 1);
  ul_vents *vents = vent_well(&b, 2);
  assert_int_equal(mouths_near(vents, mouth_in, 30, 45, 0.02), 1);
  assert_int_equal(mouths_near(vents, 100 - mouth_in, 30, 45, 0.02), 1);
  bed_clear(&b, vents);
  b = lay(shape_gable(100, 60, 20, 45), 2, 0.1, 0, 1);
  vents = vent_well(&b, 1);
  assert_int_equal(mouths_near(vents, 100 - mouth_in, 30, 45, 0.02), 1);
  bed_clear(&b, vents);
}

static void a_dome_is_vented_at_its_top(void **state) {
  (void)state;
  bed b = lay(shape_cap(50, 20, 48, 12), 2, 0, 0, 1);
  ul_vents *vents = vent_well(&b, 1);
  assert_int_equal(mouths_near(vents, 0, 0, 20, 1e-6), 1);
  bed_clear(&b, vents);
  b = lay(shape_cap(50, 20, 48, 12), 2, 0.2, 0, 1); /* tilted, the top is where the slope is */
  vents = vent_well(&b, 1);
  assert_true(vents->vent[0].at_mm[0] > 5);
  bed_clear(&b, vents);
}

static void every_tooth_of_a_comb_gets_a_vent(void **state) {
  (void)state;
  bed b = lay(shape_comb(5, 12, 8, 10, 30, 20), 1, 0.1, 0.05, 1);
  ul_vents *vents = vent_well(&b, 5);
  for (int tooth = 0; tooth < 5; tooth++)
    assert_int_equal(mouths_near(vents, 20 * tooth + 12 - mouth_in, 20 - mouth_in, 40, 0.01), 1);
  /* A tooth is cut off at the higher foot of its right flank: a wedge 1.1 mm high on average stays
   * below. */
  for (int i = 1; i < 5; i++) assert_rel(vents->vent[i].air_mm3, 12 * 20 * (30 - 1.1), 2e-3);
  bed_clear(&b, vents);
}

static void an_upright_torus_is_vented_at_its_crown(void **state) {
  (void)state;
  ul_mesh *mesh = shape_torus(40, 12, 96, 32);
  shape_rotate(mesh, 0, 90); /* its axis along y: the crown is at z = 52 */
  bed b = lay(mesh, 2, 0, 0, 1);
  ul_vents *vents = vent_well(&b, 1);
  assert_int_equal(mouths_near(vents, 0, 0, 52, 1e-6), 1);
  bed_clear(&b, vents);
}

static void both_legs_of_an_upright_u_are_vented(void **state) {
  (void)state;
  bed b = lay(shape_u(15, 40, 12, 80, 60, 15), 1, 0.05, 0.05, 1);
  ul_vents *vents = vent_well(&b, 2);
  assert_int_equal(mouths_near(vents, 15 - mouth_in, 15 - mouth_in, 80, 0.01), 1);
  assert_int_equal(mouths_near(vents, 70 - mouth_in, 15 - mouth_in, 60, 0.01), 1);
  bed_clear(&b, vents);
}

static void each_of_two_cavities_gets_its_own(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(60, 40, 20), *other = shape_box(30, 30, 50);
  shape_move(other, 100, 0, 0);
  shape_append(mesh, other);
  bed b = lay(mesh, 1, 0.1, 0.1, 1);
  ul_vents *vents = vent_well(&b, 2);
  assert_int_equal(mouths_near(vents, 60 - mouth_in, 40 - mouth_in, 20, 0.01), 1);
  assert_int_equal(mouths_near(vents, 130 - mouth_in, 30 - mouth_in, 50, 0.01), 1);
  assert_true(vents->vent[0].cavity != vents->vent[1].cavity);
  bed_clear(&b, vents);
}

/* The horn is higher, the dome holds fifty times the air: one vent must go to the dome. */
static void one_vent_goes_to_the_dome_not_to_the_horn(void **state) {
  (void)state;
  bed b = lay(shape_horn_and_dome(), 1, 0.02, 0.01, 1);
  ul_vents *vents = vent_well(&b, 2);
  bed_clear(&b, vents);
  b = lay(shape_horn_and_dome(), 1, 0.02, 0.01, 1);
  ul_vents_opts opts = ul_vents_opts_default();
  opts.at_most = 1;
  vents = bed_choose(&b, &opts);
  assert_int_equal(vents->count, 1);
  assert_int_equal(mouths_near(vents, 110 - mouth_in, 55 - mouth_in, 30, 0.01), 1);
  assert_near(vents->left_mm3, 1000, 50); /* the horn's, and what a mouth beside a corner leaves */
  ul_vents_free(vents);
  opts.at_most = 8;
  opts.void_ok_mm3 = 1100; /* the horn may be left, though it is the highest */
  vents = bed_choose(&b, &opts);
  assert_int_equal(vents->count, 1);
  assert_int_equal(mouths_near(vents, 110 - mouth_in, 55 - mouth_in, 30, 0.01), 1);
  bed_clear(&b, vents);
}

/* As many teeth are left as vents are missing. */
static void at_most_leaves_the_least_air(void **state) {
  (void)state;
  bed b = lay(shape_comb(5, 12, 8, 10, 30, 20), 1, 0.1, 0.05, 1);
  ul_vents_opts opts = ul_vents_opts_default();
  for (opts.at_most = 1; opts.at_most <= 5; opts.at_most++) {
    ul_vents *vents = bed_choose(&b, &opts);
    assert_int_equal(vents->count, opts.at_most);
    assert_near(vents->left_mm3, (5 - (double)opts.at_most) * 12 * 20 * (30 - 1.1), 20);
    ul_vents_free(vents);
  }
  bed_clear(&b, NULL);
  b = lay(shape_box(60, 40, 20), 1, 0, 0, 1);
  opts.at_most = 2; /* of a lid's corners, two across from each other */
  ul_vents *vents = bed_choose(&b, &opts);
  assert_int_equal(vents->count, 2);
  assert_non_null(strstr(vents->vent[0].note, "2 of the 4 ends of a level top"));
  assert_near(ul_distance(vents->vent[0].at_mm, vents->vent[1].at_mm),
              hypot(60 - 2 * mouth_in, 40 - 2 * mouth_in), 0.02);
  bed_clear(&b, vents);
}

/* A cavity without a vent keeps all its air, so the small one beside the comb gets the second. */
static void every_cavity_comes_first_when_holes_are_few(void **state) {
  (void)state;
  ul_mesh *mesh = shape_comb(5, 12, 8, 10, 30, 20), *other = shape_box(12, 12, 12);
  shape_move(other, 0, 60, 0);
  shape_append(mesh, other);
  bed b = lay(mesh, 1, 0.1, 0.05, 1);
  ul_vents_opts opts = ul_vents_opts_default();
  opts.at_most = 2;
  ul_vents *vents = bed_choose(&b, &opts);
  assert_int_equal(vents->count, 2);
  assert_int_equal(mouths_near(vents, 12 - mouth_in, 72 - mouth_in, 12, 0.01), 1);
  bed_clear(&b, vents);
}

/* Two teeth: the first has a hole already, near its top but not just there. A new one goes to the
 * other, and the old one counts among those that may be; plugged for good it does neither. */
static void what_is_there_already_lets_air_out(void **state) {
  (void)state;
  bed b = lay(shape_comb(2, 12, 8, 10, 30, 20), 1, 0.1, 0.05, 1);
  ul_vents *vents = vent_well(&b, 2);
  ul_vent old = vents->vent[0];
  old.at_mm[0] -= 4;
  old.at_mm[1] -= 2;
  ul_vent first = old;
  first.ok = true;
  ul_vents_free(vents);
  ul_vents_opts opts = ul_vents_opts_default();
  opts.keep = &first;
  opts.keep_count = 1;
  opts.void_ok_mm3 = 500; /* what stays over the old one */
  for (opts.at_most = 1; opts.at_most <= 3; opts.at_most++) {
    vents = bed_choose(&b, &opts);
    assert_int_equal(vents->count, opts.at_most == 1 ? 1 : 2);
    if (vents->count == 2) assert_true(fabs(vents->vent[1].at_mm[0] - old.at_mm[0]) > 10);
    ul_vents_free(vents);
  }
  first.closed = true;
  opts.at_most = 8;
  vents = bed_choose(&b, &opts);
  assert_int_equal(vents->count, 3);
  assert_true(vents->left_mm3 < 50);
  bed_clear(&b, vents);
}

/* The comb has a vent; the small cavity beside it has none and must get the one that is left. */
static void a_cavity_with_an_old_vent_waits_for_one_without(void **state) {
  (void)state;
  ul_mesh *mesh = shape_comb(5, 12, 8, 10, 30, 20), *other = shape_box(12, 12, 12);
  shape_move(other, 0, 60, 0);
  shape_append(mesh, other);
  bed b = lay(mesh, 1, 0.1, 0.05, 1);
  ul_vents_opts opts = ul_vents_opts_default();
  opts.at_most = 1;
  ul_vents *first = bed_choose(&b, &opts);
  assert_int_equal(first->vent[0].cavity, 0);
  const ul_vent_at hole = {.at_mm = {12 - mouth_in, 20 - mouth_in, 40}, .diameter_mm = 3};
  for (int by_hole = 0; by_hole < 2; by_hole++) {
    ul_vents_opts again = ul_vents_opts_default();
    again.at_most = by_hole ? 1 : 2;
    if (by_hole) {
      again.hole = &hole;
      again.hole_count = 1;
    } else {
      again.keep = first->vent;
      again.keep_count = 1;
    }
    ul_vents *vents = bed_choose(&b, &again);
    assert_int_equal(vents->count, by_hole ? 1 : 2);
    assert_int_equal(vents->vent[vents->count - 1].cavity, 1);
    ul_vents_free(vents);
  }
  bed_clear(&b, first);
}

/* A wide pour hole 10 mm beside a boss lets none of the boss's air out. */
static void a_pour_hole_takes_no_vent_that_is_clear_of_it(void **state) {
  (void)state;
  const double x[4] = {0, 40, 52, 100}, y[4] = {0, 40, 52, 100}, z[3] = {0, 20, 40};
  unsigned char solid[18] = {0};
  for (int i = 0; i < 9; i++) solid[i] = 1;
  solid[9 + 4] = 1;
  bed b = lay(shape_cells(x, 3, y, 3, z, 2, solid), 2, 0.05, 0.02, 1);
  const ul_vent_at hole = {.at_mm = {75, 46, 20}, .diameter_mm = 40};
  ul_vents_opts opts = ul_vents_opts_default();
  opts.hole = &hole;
  opts.hole_count = 1;
  ul_vents *vents = bed_choose(&b, &opts);
  assert_int_equal(mouths_near(vents, 52 - mouth_in, 52 - mouth_in, 40, 0.1), 1);
  bed_clear(&b, vents);
}

/* A pour hole over one of two teeth: no vent is put into it, and none beside it. */
static void a_pour_hole_is_a_way_out(void **state) {
  (void)state;
  bed b = lay(shape_comb(2, 12, 8, 10, 30, 20), 1, 0.1, 0.05, 1);
  ul_vent_at hole = {.at_mm = {8, 12, 40}, .diameter_mm = 8};
  ul_vents_opts opts = ul_vents_opts_default();
  opts.hole = &hole;
  opts.hole_count = 1;
  for (int let_be = 0; let_be < 2; let_be++) {
    opts.void_ok_mm3 = let_be ? 500 : 50; /* the hole leaves some 100 mm3 beside it */
    ul_vents *vents = bed_choose(&b, &opts);
    assert_int_equal(vents->count, 1);
    assert_true(vents->vent[0].at_mm[0] > 20);
    assert_true(vents->left_mm3 < 500);
    ul_vents_free(vents);
  }
  bed_clear(&b, NULL);
}

/* Under a core no hole can be made: that is said, and its air is counted as left. */
static void air_that_no_hole_reaches_is_left(void **state) {
  (void)state;
  const double x[6] = {0, 20, 30, 70, 80, 100}, y[6] = {0, 20, 30, 70, 80, 100},
               z[5] = {0, 40, 50, 70, 100};
  unsigned char solid[4][5][5]; /* a cup hung upside down in the middle: air stays under it */
  memset(solid, 1, sizeof solid);
  for (int j = 1; j < 4; j++)
    for (int i = 1; i < 4; i++) {
      solid[2][j][i] = 0;
      if (i != 2 || j != 2) solid[1][j][i] = 0;
    }
  bed b = lay(shape_cells(x, 5, y, 5, z, 4, &solid[0][0][0]), 2, 0.02, 0.01, 1);
  ul_vents_opts opts = ul_vents_opts_default();
  ul_vents *vents = bed_choose(&b, &opts);
  assert_int_equal(vents->count, 2);
  assert_good_hole(b.solid->mesh, &b.tool, &vents->vent[0]);
  assert_false(vents->vent[1].ok);
  assert_non_null(strstr(vents->vent[1].note, "meets a cavity again"));
  assert_rel(vents->left_mm3, 40 * 40 * 10, 0.12); /* 10 mm deep, less what a slope lets out */
  assert_rel(vents->vent[1].air_mm3, vents->left_mm3, 0.02);
  bed_clear(&b, vents);
}

/* Where shells overlap the mesh is not the wall and the columns must do: two boxes that cross, one
 * a chimney on the other. */
static void crossing_shells_are_vented_by_their_columns(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(60, 40, 20), *chimney = shape_box(10, 10, 50);
  shape_move(chimney, 10, 10, 5);
  shape_append(mesh, chimney);
  bed b = lay(mesh, 1, 0.05, 0.04, 1);
  assert_true(b.solid->overlapping);
  ul_vents_opts opts = ul_vents_opts_default();
  ul_vents *vents = bed_choose(&b, &opts);
  assert_int_equal(vents->count, 2);
  for (int i = 0; i < 2; i++) assert_true(vents->vent[i].ok);
  assert_int_equal(mouths_near(vents, 20 - mouth_in, 20 - mouth_in, 55, 1), 1);
  assert_int_equal(mouths_near(vents, 60 - mouth_in, 40 - mouth_in, 20, 1), 1);
  assert_true(vents->left_mm3 <= opts.void_ok_mm3);
  bed_clear(&b, vents);
}

static double throw(uint64_t * dice) {
  *dice = *dice * 6364136223846793005u + 1442695040888963407u;
  return (double)(*dice >> 11) * 0x1p-53;
}

/* Two methods: the skin's tree, exact, and the columns of ul_air_trapped_mm3(), for every set of
 * peaks of horn and dome in many attitudes. The columns leave out what is under two cubes.
 */
static void what_is_left_agrees_with_the_columns(void **state) {
  (void)state;
  uint64_t dice = 3;
  int compared = 0;
  for (int lie = 0; lie < 12; lie++) {
    double x = 0.6 * throw(&dice) - 0.3, y = 0.6 * throw(&dice) - 0.3;
    bed b = lay(shape_horn_and_dome(), 1, x, y, lie % 3 ? 1 : -1);
    ul_skin_tree *skin;
    ul_air *air;
    assert_ok(ul_skin_tree_new(b.heights->surface, b.peaks->up, &skin), NULL);
    assert_ok(ul_air_new(b.heights, &air, NULL), NULL);
    size_t n = b.peaks->count;
    assert_true(n <= 5);
    for (unsigned set = 0; set < 1u << n; set++) {
      double at[5][3], exact, largest, columns;
      ul_outlet outlet[5];
      size_t count = 0;
      for (size_t i = 0; i < n; i++) {
        if (!(set >> i & 1)) continue;
        assert_ok(ul_outlet_at(skin, b.peaks->peak[i].at_mm, &outlet[count]), NULL);
        ul_copy3(b.peaks->peak[i].at_mm, at[count++]);
      }
      assert_ok(ul_outlets_leave(skin, outlet, count, &exact, &largest), NULL);
      assert_ok(ul_air_trapped_mm3(air, b.peaks->up, (const double(*)[3])at, count, &columns),
                NULL);
      assert_near(columns, exact, 60 + 0.01 * exact);
      assert_true(largest <= exact && largest >= exact / 5);
      compared += exact > 500;
    }
    ul_air_free(air);
    ul_skin_tree_free(skin);
    bed_clear(&b, NULL);
  }
  assert_true(compared > 20);
}

/* Half way down a tooth: what is above the place is left, exactly; below the comb's back all of the
 * tooth and of the back above it. */
static void an_outlet_below_the_top_leaves_what_is_above_it(void **state) {
  (void)state;
  bed b = lay(shape_comb(2, 12, 8, 10, 30, 20), 1, 0, 0, 1);
  ul_skin_tree *skin;
  assert_ok(ul_skin_tree_new(b.heights->surface, b.peaks->up, &skin), NULL);
  ul_outlet half, low, other;
  double left, largest;
  assert_ok(ul_outlet_at(skin, (double[3]){0, 7, 25}, &half), NULL);
  assert_rel(half.above_mm3, 12 * 20 * 15, 1e-12);
  assert_ok(ul_outlet_at(skin, (double[3]){32, 7, 30}, &other), NULL);
  assert_ok(ul_outlets_leave(skin, (ul_outlet[2]){half, other}, 2, &left, &largest), NULL);
  assert_rel(left, 12 * 20 * (15 + 10), 1e-12);
  assert_rel(largest, 12 * 20 * 15, 1e-12);
  assert_ok(ul_outlets_leave(skin, &half, 1, &left, &largest), NULL);
  assert_rel(left, 12 * 20 * (15 + 30), 1e-12); /* and the whole of the other tooth */
  assert_ok(ul_outlet_at(skin, (double[3]){0, 7, 5}, &low), NULL);
  assert_rel(low.above_mm3, 32 * 20 * 5 + 2 * 12 * 20 * 30, 1e-12);
  assert_ok(ul_outlets_leave(skin, (ul_outlet[2]){low, half}, 2, &left, &largest), NULL);
  assert_rel(left, 12 * 20 * (15 + 30), 1e-12); /* the low one adds nothing */
  assert_rel(ul_outlet_leaves_at(skin, &half, &other), 12 * 20 * 30, 1e-12);
  assert_rel(ul_outlet_leaves_at(skin, &low, &other), low.above_mm3, 1e-12);
  assert_ok(ul_outlets_leave(skin, NULL, 0, &left, &largest), NULL);
  assert_rel(left, 32 * 20 * 10 + 2 * 12 * 20 * 30, 1e-12);
  ul_skin_tree_free(skin);
  bed_clear(&b, NULL);
}

/* Every hole of every demo cavity as drawn, upside down, on two sides and with a corner raised. */
static void every_hole_of_the_demo_cavities_is_a_good_one(void **state) {
  (void)state;
  const char *const names[] = {"bow-ball.3mf", "seat-pad.stl", "rigger-float.stl",
                               "dock-fender.stl", "rack-saddle.obj"};
  const double ups[][3] = {{0, 0, 1}, {0, 0, -1}, {1, 0, 0}, {0, 1, 0}, {0.26, 0.17, 0.95}};
  int good = 0;
  for (int n = 0; n < 5; n++)
    for (int lie = 0; lie < 5; lie++) {
      char path[500];
      snprintf(path, sizeof path, "%s/%s", MESHES, names[n]);
      ul_import_opts import = ul_import_opts_default();
      ul_import_info info;
      ul_mesh *mesh;
      ul_error err;
      assert_ok(ul_import(path, &import, NULL, &mesh, &info, &err), &err);
      bed b = lay(mesh, 5, ups[lie][0], ups[lie][1], ups[lie][2]);
      ul_vents_opts opts = ul_vents_opts_default();
      opts.at_most = 12;
      opts.draw[2] = 1;
      ul_vents *vents = bed_choose(&b, &opts);
      for (size_t i = 0; i < vents->count; i++, good++)
        assert_good_hole(b.solid->mesh, &b.tool, &vents->vent[i]);
      assert_true(vents->left_mm3 <= 2 * opts.void_ok_mm3);
      bed_clear(&b, vents);
    }
  assert_true(good >= 50);
}

static void options_that_make_no_sense_are_refused(void **state) {
  (void)state;
  bed b = lay(shape_box(20, 20, 20), 2, 0, 0, 1);
  ul_vents *vents;
  ul_error err;
  ul_vents_opts zero = {0}, opts = ul_vents_opts_default();
  assert_int_equal(ul_vents_choose(b.solid, b.heights, b.peaks, &b.tool, &zero, &vents, &err),
                   UL_E_USAGE);
  assert_null(vents);
  opts.diameter_mm = -3;
  assert_int_equal(ul_vents_choose(b.solid, b.heights, b.peaks, &b.tool, &opts, &vents, &err),
                   UL_E_USAGE);
  assert_non_null(strstr(err.text, "-3 mm"));
  opts = ul_vents_opts_default();
  opts.void_ok_mm3 = NAN;
  assert_int_equal(ul_vents_choose(b.solid, b.heights, b.peaks, &b.tool, &opts, &vents, &err),
                   UL_E_USAGE);
  opts = ul_vents_opts_default();
  opts.draw[0] = INFINITY;
  assert_int_equal(ul_vents_choose(b.solid, b.heights, b.peaks, &b.tool, &opts, &vents, &err),
                   UL_E_USAGE);
  bed_clear(&b, NULL);
}

static void every_allocation_may_fail(void **state) {
  (void)state;
  bed b = lay(shape_gable(100, 60, 20, 45), 4, 0.1, 0, 1);
  ul_vents_opts opts = ul_vents_opts_default();
  ul_status status = UL_E_MEMORY;
  long nth = 0;
  while (status != UL_OK) {
    ul_vents *vents;
    ul_error err = {.code = UL_OK};
    ul_memory_fail_at(++nth);
    status = ul_vents_choose(b.solid, b.heights, b.peaks, &b.tool, &opts, &vents, &err);
    ul_memory_fail_at(0);
    assert_true(status == UL_OK || (status == UL_E_MEMORY && !vents && err.code == UL_E_MEMORY));
    ul_vents_free(vents);
  }
  assert_true(nth > 12);
  bed_clear(&b, NULL);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_box_with_a_corner_raised_is_vented_there_alone),
      cmocka_unit_test(a_level_lid_is_vented_in_its_corners),
      cmocka_unit_test(a_level_edge_is_vented_at_its_ends),
      cmocka_unit_test(a_gable_is_vented_at_its_ridge_and_tilted_at_one_end),
      cmocka_unit_test(a_dome_is_vented_at_its_top),
      cmocka_unit_test(every_tooth_of_a_comb_gets_a_vent),
      cmocka_unit_test(an_upright_torus_is_vented_at_its_crown),
      cmocka_unit_test(both_legs_of_an_upright_u_are_vented),
      cmocka_unit_test(each_of_two_cavities_gets_its_own),
      cmocka_unit_test(one_vent_goes_to_the_dome_not_to_the_horn),
      cmocka_unit_test(at_most_leaves_the_least_air),
      cmocka_unit_test(every_cavity_comes_first_when_holes_are_few),
      cmocka_unit_test(what_is_there_already_lets_air_out),
      cmocka_unit_test(a_cavity_with_an_old_vent_waits_for_one_without),
      cmocka_unit_test(a_pour_hole_takes_no_vent_that_is_clear_of_it),
      cmocka_unit_test(a_pour_hole_is_a_way_out),
      cmocka_unit_test(air_that_no_hole_reaches_is_left),
      cmocka_unit_test(crossing_shells_are_vented_by_their_columns),
      cmocka_unit_test(what_is_left_agrees_with_the_columns),
      cmocka_unit_test(an_outlet_below_the_top_leaves_what_is_above_it),
      cmocka_unit_test(every_hole_of_the_demo_cavities_is_a_good_one),
      cmocka_unit_test(options_that_make_no_sense_are_refused),
      cmocka_unit_test(every_allocation_may_fail),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
