/* Vents of a mould that opens: grooves in its parting face, and the holes beside it. Every one is
 * judged by brute force (shapes/drill.h). */
#include "air/bed.h"
#include "base/vec.h"
#include "shapes/check.h"
#include "shapes/drill.h"
#include "shapes/shapes.h"
#include "ullage/import.h"
#include "ullage/vents.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* A ball on its side: its top lies on the parting plane, and the groove goes straight up. */
static void a_peak_on_the_parting_plane_gets_a_groove(void **state) {
  (void)state;
  bed b = bed_lay(shape_sphere(40, 96, 48), NULL, 0, 2, (double[3]){1, 0, 0});
  bed_part(&b, 0);
  ul_vents_opts opts = bed_opts(&b);
  ul_vents *vents = bed_choose(&b, &opts);
  assert_int_equal(vents->count, 1);
  const ul_vent *v = &vents->vent[0];
  assert_good_groove(b.solid->mesh, &b.tool, &b.parting, v);
  assert_near(v->at_mm[0], 40, 0.02);
  assert_near(v->axis[0], 1, 1e-12);
  assert_near(v->length_mm, 25, 0.02); /* through the wall */
  assert_int_equal(v->half, 1);
  assert_true(v->width_mm * v->depth_mm >= M_PI * 1.5 * 1.5); /* no less than the hole's */
  assert_true(v->width_mm * v->depth_mm < M_PI * 1.5 * 1.5 + 0.5);
  assert_true(v->stays_mm3 <= opts.void_ok_mm3 && vents->left_mm3 <= opts.void_ok_mm3);
  bed_clear(&b, vents);
}

/* Parted elsewhere, or standing, the top is out of the plane's reach: a hole. */
static void a_peak_off_the_parting_plane_gets_a_hole_in_its_half(void **state) {
  (void)state;
  const double up[3] = {0, 0, 1};
  for (int lower = 0; lower < 2; lower++) {
    bed b = bed_lay(shape_sphere(40, 96, 48), NULL, 0, 2, lower ? (double[3]){0, 0, -1} : up);
    bed_part(&b, 0);
    ul_vents_opts opts = bed_opts(&b);
    ul_vents *vents = bed_choose(&b, &opts);
    assert_int_equal(vents->count, 1);
    assert_good_hole(b.solid->mesh, &b.tool, &vents->vent[0]);
    assert_int_equal(vents->vent[0].half, lower ? -1 : 1);
    assert_true(vent_says(&vents->vent[0], "along the draw"));
    bed_clear(&b, vents);
  }
}

/* The lid is the parting plane; the cavity is all in the lower half, and so are the grooves. */
static void a_flat_lid_is_vented_by_grooves_under_it(void **state) {
  (void)state;
  bed b = bed_lay(shape_box(100, 60, 30), NULL, 0, 2, (double[3]){0, 0, 1});
  bed_part(&b, 30);
  ul_vents_opts opts = bed_opts(&b);
  ul_vents *vents = bed_choose(&b, &opts);
  assert_int_equal(vents->count, 4); /* one at each corner, moved in by half its width */
  for (size_t i = 0; i < vents->count; i++) {
    const ul_vent *v = &vents->vent[i];
    assert_good_groove(b.solid->mesh, &b.tool, &b.parting, v);
    assert_int_equal(v->half, -1);
    assert_near(v->moved_mm, v->width_mm / 2, 0.5);
    assert_near(v->stays_mm3, 0, 1e-6);
  }
  assert_near(vents->left_mm3, 0, 1e-6);
  bed_clear(&b, vents);
}

/* A slab on its long side, its lid the joint; a level edge of 40 mm on top. From the edge's end, at
 * the joint, a groove leaves as little as a hole in its middle, but not 2 degrees off: 4 tries
 * fewer were good. Where that may be let be it is taken, and what it costs is said. */
static void a_groove_far_from_the_top_lets_out_as_much_as_a_hole(void **state) {
  (void)state;
  double up[3] = {sin(5 * M_PI / 180), sin(85 * M_PI / 180), 0};
  assert_ok(ul_up_normalise(up, up, NULL), NULL);
  for (int lax = 0; lax < 2; lax++) {
    bed b = bed_lay(shape_box(160, 100, 40), NULL, 0, 4, up);
    bed_part(&b, 40);
    ul_vents_opts opts = bed_opts(&b);
    if (lax) opts.void_ok_mm3 = 1000;
    ul_vents *vents = bed_choose(&b, &opts);
    assert_int_equal(vents->count, 1);
    const ul_vent *v = &vents->vent[0];
    assert_int_equal(v->kind == UL_VENT_GROOVE, lax);
    if (lax) assert_good_groove(b.solid->mesh, &b.tool, &b.parting, v);
    if (lax) assert_true(vent_says(v, "20.4 mm from the place that it is for"));
    if (!lax) assert_good_hole(b.solid->mesh, &b.tool, v);
    if (!lax) assert_near(v->at_mm[2], 20, 0.01);
    bed_clear(&b, vents);
  }
}

/* A level edge with the joint across its middle: one groove there, where all of it leaves 2 degrees
 * off, too, by hand 2 * tan(2 deg)^2 * (length / 2)^3 / 3 for faces at 15 and 75 degrees: 22 mm3 of
 * the shorter edge, 74 of the longer, which gets a hole at each end where it may have two. It got
 * one at one end besides, and the groove was said to be that of the other end. */
static void a_joint_across_a_level_edge_vents_all_of_it(void **state) {
  (void)state;
  double up[3];
  assert_ok(ul_up_normalise((double[3]){sin(M_PI / 12), 0, cos(M_PI / 12)}, up, NULL), NULL);
  for (int longer = 0; longer < 2; longer++)
    for (size_t most = 1; most <= 8; most += 7) {
      const double length = longer ? 90 : 60;
      bed b = bed_lay(shape_box(120, length, 14), NULL, 0, 2, up);
      bed_part_across(&b, (double[3]){0, 1, 0}, length / 2);
      ul_vents_opts opts = bed_opts(&b);
      opts.at_most = most;
      ul_vents *vents = bed_choose(&b, &opts);
      assert_int_equal(vents->count, longer && most > 1 ? 2 : 1);
      for (size_t i = 0; i < vents->count; i++) {
        const ul_vent *v = &vents->vent[i];
        assert_null(strstr(v->note, "1 of the 2 ends"));
        if (vents->count == 2) {
          assert_good_hole(b.solid->mesh, &b.tool, v);
          assert_true(fabs(v->at_mm[1] - length / 2) > 40);
          continue;
        }
        assert_good_groove(b.solid->mesh, &b.tool, &b.parting, v);
        assert_near(ul_distance(v->at_mm, (double[3]){120, length / 2, 14}), 0, 1e-9);
        assert_near(v->moved_mm, longer ? 45 : 0, 1e-9);
        assert_true(vent_says(v, longer ? "up to 0.0741 cm3 of air" : "of a level top"));
      }
      bed_clear(&b, vents);
    }
}

/* A hole along the parting face leaves half its width of the tool to it, and a millimetre, and so
 * does its relief. */
static void assert_keeps_a_web(const bed *b, const ul_vent *v) {
  if (fabs(ul_dot(v->axis, b->parting.normal)) >= 0.5) return;
  ul_vent part = *v;
  part.relief_mm = 0;
  assert_true(web_by_force(&b->parting, &part) >= fmax(v->diameter_mm / 2, 1) - 1e-6);
  if (!(v->relief_mm > 0)) return;
  ul_add_scaled(v->at_mm, v->land_mm, v->axis, part.at_mm);
  part.length_mm = v->length_mm - v->land_mm;
  part.diameter_mm = v->relief_mm;
  assert_true(web_by_force(&b->parting, &part) >= fmax(v->relief_mm / 2, 1) - 1e-6);
}

/* On end, the joint a little over the place where foam comes last: the hole lies lower, or its
 * relief is narrower or left out. It was bored open to the joint. */
static void a_hole_along_the_parting_face_keeps_a_web_to_it(void **state) {
  (void)state;
  static const struct {
    double under, want_under, want_relief;
  } cases[] = {{0.2, 1.8, 0}, {1.43, 1.8, 0}, {3.6, 3.6, 2.5}, {4.3, 4.3, 4}, {6, 6, 5}};
  bed b = bed_lay(shape_box(100, 60, 30), NULL, 0, 2, (double[3]){1, 0, 0});
  bed_part(&b, 28);
  ul_vents_opts opts = bed_opts(&b);
  opts.diameter_mm = 1.5;
  const double joints[2][2][3] = {{{0, 0, 27.9}, {130, 60, 28.1}}, {{0, 0, 4.9}, {130, 60, 5.1}}};
  opts.keep_box = joints; /* no groove */
  opts.keep_box_count = 2;
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
    for (int side = -1; side <= 1; side += 2) {
      if (side > 0) bed_part(&b, 5);
      const double joint = side > 0 ? 5 : 28;
      const ul_vent_wish wish = {.at_mm = {100, 30, joint + side * cases[i].under}};
      ul_vents *vents = bed_wished(&b, opts, &wish);
      const ul_vent *v = &vents->vent[0];
      assert_good_hole(b.solid->mesh, &b.tool, v);
      assert_keeps_a_web(&b, v);
      assert_near(v->axis[0], 1, 1e-12);
      assert_near(side * (v->at_mm[2] - joint), cases[i].want_under, 0.01);
      assert_near(v->relief_mm, cases[i].want_relief, 1e-12);
      assert_int_equal(v->half, side);
      ul_vents_free(vents);
      bed_part(&b, 28);
    }
  bed_clear(&b, NULL);
}

/* A bar 4 mm thick, parted in its middle, too narrow for a groove: across the joint where what a
 * hole across it leaves may be let be; else along it, which is said. */
static void a_hole_in_the_parting_face_is_said(void **state) {
  (void)state;
  for (int strict = 0; strict < 2; strict++) {
    bed b = bed_lay(shape_box(60, 6, 4), NULL, 0, 1, (double[3]){1, 0, 0});
    bed_part(&b, 2);
    ul_vents_opts opts = bed_opts(&b);
    opts.void_ok_mm3 = strict ? 1 : 50;
    ul_vents *vents = bed_choose(&b, &opts);
    assert_int_equal(vents->count, 1);
    const ul_vent *v = &vents->vent[0];
    assert_good_hole(b.solid->mesh, &b.tool, v);
    assert_int_equal(v->axis[0] == 1, strict);
    assert_int_equal(strstr(v->note, "crosses the parting face") != NULL, strict);
    assert_int_equal(v->relief_mm == 0, strict);
    bed_clear(&b, vents);
  }
}

/* Every demo cavity, parted through its middle across each axis, lying on its joint and turned up
 * on it: whatever is proposed can be made. */
static void every_vent_of_the_parted_demo_cavities_can_be_made(void **state) {
  (void)state;
  const char *const names[] = {"bow-ball.3mf", "seat-pad.stl", "rigger-float.stl",
                               "dock-fender.stl", "rack-saddle.obj"};
  int holes = 0, grooves = 0;
  for (int n = 0; n < 5; n++)
    for (int lie = 0; lie < 6; lie++) {
      char path[500];
      snprintf(path, sizeof path, "%s/%s", MESHES, names[n]);
      ul_import_opts import = ul_import_opts_default();
      ul_import_info info;
      ul_mesh *mesh;
      ul_error err = {0};
      assert_ok(ul_import(path, &import, NULL, &mesh, &info, &err), &err);
      double box[2][3], at[3], normal[3] = {lie % 3 == 0, lie % 3 == 1, lie % 3 == 2};
      double up[3] = {lie < 3 && lie != 0 ? 1 : 0.1, lie < 3 && lie == 0 ? 1 : 0.05,
                      lie < 3 ? 0.1 : 1};
      ul_mesh_box_mm(mesh, box);
      for (int c = 0; c < 3; c++) at[c] = (box[0][c] + box[1][c]) / 2 + 0.13;
      bed b = bed_lay(mesh, NULL, 0, 5, up);
      assert_ok(ul_parting_make(b.solid, at, normal, NULL, &b.parting, &err), &err);
      ul_vents_opts opts = bed_opts(&b);
      opts.at_most = 12;
      ul_vents *vents = bed_choose(&b, &opts);
      for (size_t i = 0; i < vents->count; i++) {
        const ul_vent *v = &vents->vent[i];
        if (v->kind == UL_VENT_GROOVE)
          assert_good_groove(b.solid->mesh, &b.tool, &b.parting, v), grooves++;
        else
          assert_good_hole(b.solid->mesh, &b.tool, v), assert_keeps_a_web(&b, v), holes++;
      }
      bed_clear(&b, vents);
    }
  print_message("# %d holes and %d grooves\n", holes, grooves);
  assert_true(holes >= 20 && grooves >= 3);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_peak_on_the_parting_plane_gets_a_groove),
      cmocka_unit_test(a_peak_off_the_parting_plane_gets_a_hole_in_its_half),
      cmocka_unit_test(a_flat_lid_is_vented_by_grooves_under_it),
      cmocka_unit_test(a_groove_far_from_the_top_lets_out_as_much_as_a_hole),
      cmocka_unit_test(a_joint_across_a_level_edge_vents_all_of_it),
      cmocka_unit_test(a_hole_along_the_parting_face_keeps_a_web_to_it),
      cmocka_unit_test(a_hole_in_the_parting_face_is_said),
      cmocka_unit_test(every_vent_of_the_parted_demo_cavities_can_be_made),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
