/* Holes: where they must be by arithmetic, and that they are good ones by brute force. */
#include "air/normal.h"
#include "air/place.h"
#include "air/walls_round.h"
#include "shapes/check.h"
#include "shapes/drill.h"
#include "shapes/shapes.h"

#include "base/vec.h"

#include <math.h>
#include <string.h>

static const double no_draw[3] = {0};
static const double spare = 0.05; /* what bore.h says the circle tried is larger by */

typedef struct {
  ul_mesh *mesh;
  ul_tool tool;
} bed;

/* The cavity in a tool with 25 mm of wall. */
static bed lay(ul_mesh *mesh) {
  bed b = {.mesh = mesh};
  ul_mesh_box_mm(mesh, b.tool.box_mm);
  for (int c = 0; c < 3; c++) {
    b.tool.box_mm[0][c] -= 25;
    b.tool.box_mm[1][c] += 25;
  }
  return b;
}

static ul_vent place(const bed *b, const double up[3], const double at[3], double diameter,
                     const double draw[3]) {
  ul_bore_site site = {.cavity = b->mesh, .tool = &b->tool, .radius_mm = diameter / 2};
  ul_copy3(at, site.at_mm);
  assert_ok(ul_up_normalise(up, site.up, NULL), NULL);
  ul_vent vent = {.id = 1};
  ul_error err;
  ul_surface *surface;
  ul_skin_tree *skin;
  assert_ok(ul_surface_new(b->mesh, &surface), NULL);
  assert_ok(ul_skin_tree_new(surface, site.up, &skin), NULL);
  ul_place_rules rules = {.skin = skin, .void_ok_mm3 = 50};
  ul_copy3(draw, rules.draw);
  assert_ok(ul_place_vent(&site, &rules, &vent, &err), &err);
  ul_skin_tree_free(skin);
  ul_surface_free(surface);
  if (vent.ok) assert_near(vent.moved_mm, ul_distance(vent.at_mm, at), 1e-12);
  return vent;
}

static void assert_axis(const ul_vent *vent, double x, double y, double z) {
  assert_near(vent->axis[0], x, 1e-12);
  assert_near(vent->axis[1], y, 1e-12);
  assert_near(vent->axis[2], z, 1e-12);
}

/* The three faces of a box's corner count alike, two triangles or one of each; so do the two of an
 * edge, and of a face's diagonal there is one: by area it was 0.93, 0.31, 0.21 at one corner. */
static void a_normal_does_not_hang_on_how_faces_are_cut(void **state) {
  (void)state;
  const double size[3] = {30, 20, 10};
  ul_mesh *box = shape_box(size[0], size[1], size[2]);
  for (int where = 0; where < 27; where++) { /* corners, middles of edges and of faces */
    double at[3], want[3], normal[3];
    int half[3] = {where % 3, where / 3 % 3, where / 9}, outer = 0;
    for (int c = 0; c < 3; c++) outer += half[c] != 1;
    if (!outer) continue;
    for (int c = 0; c < 3; c++) {
      at[c] = size[c] * half[c] / 2;
      want[c] = (half[c] - 1) / sqrt(outer);
    }
    assert_true(ul_surface_normal(box, at, true, normal));
    for (int c = 0; c < 3; c++) assert_near(normal[c], want[c], 1e-12);
  }
  ul_mesh_free(box);
}

/* From the middle of a rib's gap: its two faces, its end, its tip, then the far end and, through
 * its root, the body's far side. */
static void the_walls_round_a_rib_come_nearest_first(void **state) {
  (void)state;
  ul_mesh *comb = shape_comb(3, 6, 30, 40, 25, 50); /* ribs at x 0, 36, 72; z from 40 to 65 */
  const double at[3] = {42, 8, 55};                 /* on a face of the middle one */
  const double want[][3] = {{42, 8, 55}, {36, 8, 55},  {39, 0, 55},
                            {39, 8, 65}, {39, 50, 55}, {39, 8, 0}};
  double place[UL_WALLS_ROUND][3];
  size_t count;
  ul_error err;
  assert_ok(ul_walls_round(comb, at, INFINITY, place, &count, &err), &err);
  assert_int_equal(count, 6);
  for (size_t i = 0; i < count; i++) assert_near(ul_distance(place[i], want[i]), 0, 1e-9);
  ul_mesh_free(comb);
}

/* A corner of a level lid: in by the radius from either wall, straight up. */
static void in_a_corner_of_the_lid_it_moves_in_by_its_radius(void **state) {
  (void)state;
  const double up[3] = {0, 0, 1};
  for (double offset = 0; offset <= 5000; offset += 5000)
    for (double diameter = 1.5; diameter <= 6; diameter += 1.5) {
      bed b = lay(shape_box(60, 40, 20));
      shape_move(b.mesh, offset, offset, offset);
      b = lay(b.mesh);
      const double at[3] = {offset + 60, offset, offset + 20};
      ul_vent v = place(&b, up, at, diameter, no_draw);
      assert_good_hole(b.mesh, &b.tool, &v);
      assert_axis(&v, 0, 0, 1);
      double in = diameter / 2 + spare;
      assert_near(v.at_mm[0], offset + 60 - in, 0.003);
      assert_near(v.at_mm[1], offset + in, 0.003);
      assert_near(v.at_mm[2], offset + 20, 1e-9);
      assert_near(v.length_mm, 25, 1e-9);
      assert_near(v.through_mm[2], offset + 45, 1e-9);
      assert_near(v.back_mm, 1, 1e-9);
      assert_near(v.past_mm, 0, 1e-9);
      ul_mesh_free(b.mesh);
    }
}

/* Every corner of the box, highest in some attitude: the main axis nearest to up. */
static void at_every_raised_corner_it_leaves_along_the_axis_nearest_to_up(void **state) {
  (void)state;
  bed b = lay(shape_box(60, 40, 20));
  for (int corner = 0; corner < 8; corner++)
    for (int nearest = 0; nearest < 3; nearest++) {
      double up[3], at[3], axis[3] = {0};
      const double box[3] = {60, 40, 20};
      for (int c = 0; c < 3; c++) {
        int high = corner >> c & 1;
        up[c] = (high ? 1 : -1) * (c == nearest ? 0.9 : 0.1 * (c + 1));
        at[c] = high ? box[c] : 0;
      }
      axis[nearest] = up[nearest] > 0 ? 1 : -1;
      ul_vent v = place(&b, up, at, 3, no_draw);
      assert_good_hole(b.mesh, &b.tool, &v);
      assert_axis(&v, axis[0], axis[1], axis[2]);
      assert_near(v.moved_mm, (1.5 + spare) * sqrt(2), 0.005);
      assert_non_null(strstr(v.note, "nearest to up"));
    }
  ul_mesh_free(b.mesh);
}

/* On a ridge and on a point the circle straddles what it is to vent: not moved at all. */
static void on_a_ridge_or_an_apex_it_stays(void **state) {
  (void)state;
  const double up[3] = {0, 0, 1};
  bed b = lay(shape_gable(100, 60, 20, 45));
  ul_vent v = place(&b, up, (double[3]){50, 30, 45}, 3, no_draw);
  assert_good_hole(b.mesh, &b.tool, &v);
  assert_axis(&v, 0, 0, 1);
  assert_near(v.moved_mm, 0, 1e-9);
  double slope = 25.0 / 30;
  assert_near(v.back_mm, 1 + (1.5 + spare) * slope, 1e-9); /* down to the rim, and 1 mm more */
  v = place(&b, up, (double[3]){0, 30, 45}, 3, no_draw);   /* the ridge's end */
  assert_good_hole(b.mesh, &b.tool, &v);
  assert_near(v.at_mm[0], 1.5 + spare, 0.003);
  assert_near(v.at_mm[1], 30, 0.01);
  ul_mesh_free(b.mesh);
  b = lay(shape_cone(30, 50, 48));
  v = place(&b, up, (double[3]){0, 0, 50}, 3, no_draw);
  assert_good_hole(b.mesh, &b.tool, &v);
  assert_near(v.moved_mm, 0, 1e-9);
  ul_mesh_free(b.mesh);
  b = lay(shape_cap(50, 20, 48, 12));
  v = place(&b, up, (double[3]){0, 0, 20}, 4, no_draw);
  assert_good_hole(b.mesh, &b.tool, &v);
  assert_near(v.moved_mm, 0, 1e-9);
  ul_mesh_free(b.mesh);
}

/* A horn 5 mm wide takes a 3 mm hole in its middle from any of its corners, and no 6 mm one. */
static void a_horn_takes_a_hole_that_fits_it(void **state) {
  (void)state;
  const double up[3] = {0, 0, 1};
  bed b = lay(shape_horn_and_dome());
  for (double diameter = 1.5; diameter <= 4.5; diameter += 1.5) {
    ul_vent v = place(&b, up, (double[3]){10, 32.5, 50}, diameter, no_draw);
    assert_good_hole(b.mesh, &b.tool, &v);
    assert_near(v.at_mm[2], 50, 1e-9);
  }
  ul_vent v = place(&b, up, (double[3]){10, 32.5, 50}, 6, no_draw);
  assert_false(v.ok);
  assert_non_null(strstr(v.note, "6 mm finds no room"));
  assert_true(v.at_mm[0] == 10 && v.at_mm[1] == 32.5 && v.at_mm[2] == 50);
  ul_mesh_free(b.mesh);
}

/* A pad 12 mm thick on edge: the draw would put the mouth a radius below a level top edge, so the
 * hole goes straight up into it; in a raised corner the draw serves. */
static void the_draw_is_taken_unless_it_leaves_a_layer_of_air(void **state) {
  (void)state;
  const double draw[3] = {0, 0, -1};
  bed b = lay(shape_box(200, 100, 12));
  ul_vent v = place(&b, (double[3]){1, 0, 0}, (double[3]){200, 50, 6}, 3, draw);
  assert_good_hole(b.mesh, &b.tool, &v);
  assert_axis(&v, 1, 0, 0);
  assert_near(v.moved_mm, 0, 1e-9);
  v = place(&b, (double[3]){0.95, 0.2, 0.2}, (double[3]){200, 100, 12}, 3, draw);
  assert_good_hole(b.mesh, &b.tool, &v);
  assert_axis(&v, 0, 0, 1);
  assert_non_null(strstr(v.note, "draw"));
  assert_non_null(strstr(v.note, "below the peak"));
  ul_mesh_free(b.mesh);
}

/* The underside of a core: straight up is the core, then the cavity again. */
static void a_hole_does_not_go_through_a_core_into_the_cavity_again(void **state) {
  (void)state;
  bed b = lay(shape_box_in_box(100, 60));
  ul_vent v = place(&b, (double[3]){0, 0, 1}, (double[3]){0, 0, -30}, 3, no_draw);
  assert_false(v.ok);
  assert_non_null(strstr(v.note, "along +z it meets a cavity again after 60 mm"));
  ul_mesh_free(b.mesh);
}

/* Over 100 mm the way nearest to up gives way to the next one, unless that is as deep. */
static void a_deep_hole_is_made_only_where_no_other_leaves(void **state) {
  (void)state;
  const double up[3] = {0.5, 0.4, 0.77}, corner[3] = {60, 40, 20};
  bed b = lay(shape_box(60, 40, 20));
  b.tool.box_mm[1][2] += 60;
  ul_vent v = place(&b, up, corner, 3, no_draw);
  assert_axis(&v, 0, 0, 1);
  assert_near(v.length_mm, 85, 1e-9);
  b.tool.box_mm[1][2] += 90;
  v = place(&b, up, corner, 3, no_draw);
  assert_good_hole(b.mesh, &b.tool, &v);
  assert_axis(&v, 1, 0, 0);
  assert_near(v.length_mm, 25, 1e-9);
  assert_non_null(strstr(v.note, "as a hole nearer to up would be 175 mm deep"));
  b.tool.box_mm[1][0] += 150;
  b.tool.box_mm[1][1] += 150;
  v = place(&b, up, corner, 3, no_draw);
  assert_axis(&v, 0, 0, 1);
  assert_non_null(strstr(v.note, "over 100 mm deep"));
  ul_mesh_free(b.mesh);
}

/* A place that foam reaches last need not be the top, and the hole stays there: 2 mm below the edge
 * of a lid, where a level rise leaves 60 mm3 above it, more than may be left above a peak. */
static void a_hole_below_the_top_stays_where_it_is_wanted(void **state) {
  (void)state;
  const double up[3] = {0.8, 0, 0.6}, below[3] = {60, 20, 18};
  bed b = lay(shape_box(60, 40, 20));
  ul_vent v = place(&b, up, below, 1.5, no_draw);
  assert_good_hole(b.mesh, &b.tool, &v);
  assert_axis(&v, 1, 0, 0);
  assert_near(v.moved_mm, 0, 1e-9);
  assert_rel(v.stays_mm3, 0.5 * 2 * 1.5 * 40, 1e-6);
  assert_non_null(strstr(v.note, "; 0.06 cm3 of air stays above it in a level rise"));
  ul_mesh_free(b.mesh);
  const double deep[3] = {400, 100, 70}; /* three figures: it said 1268 */
  b = lay(shape_box(400, 200, 200));
  v = place(&b, up, deep, 1.5, no_draw);
  assert_rel(v.stays_mm3, 0.5 * 130 * 97.5 * 200, 1e-6);
  assert_non_null(strstr(v.note, "; 1270 cm3 of air stays above it in a level rise"));
  ul_mesh_free(b.mesh);
}

/* Under a shelf that reaches across half the cavity: up is shut, so the way out of a corner is
 * sideways, a radius down. A level edge would keep a layer of air above such a mouth: there the
 * normal, which slants up past the shelf, does better. */
static void where_up_is_shut_it_goes_sideways(void **state) {
  (void)state;
  const double x[3] = {0, 50, 100}, y[2] = {0, 40}, z[4] = {0, 20, 30, 50};
  const unsigned char solid[6] = {1, 1, 0, 1, 1, 1};
  const double corner_up[3] = {-0.3, -0.2, 0.9}, corner[3] = {0, 0, 20};
  const double up[3] = {-0.1, 0, 1}, at[3] = {0, 20, 20};
  bed b = lay(shape_cells(x, 2, y, 1, z, 3, solid));
  ul_vent v = place(&b, corner_up, corner, 3, no_draw);
  assert_good_hole(b.mesh, &b.tool, &v);
  assert_axis(&v, -1, 0, 0);
  assert_non_null(strstr(v.note, "below the peak"));
  assert_near(v.at_mm[2], 20 - 1.5 - spare, 0.003);
  v = place(&b, up, at, 3, no_draw);
  assert_good_hole(b.mesh, &b.tool, &v);
  assert_non_null(strstr(v.note, "normal"));
  assert_true(v.at_mm[2] > 20 - 1.5 / 2);
  ul_mesh_free(b.mesh);
}

/* A slope of 45 degrees either way and no main axis: a sheet 2 mm thick, steeper than any hole that
 * would not cut the wall opposite; the normal does. */
static void a_thin_slanting_sheet_is_left_along_its_normal(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(200, 200, 1);
  shape_move(mesh, -100, -100, 0);
  shape_rotate(mesh, 1, -45);
  shape_rotate(mesh, 2, 45);
  bed b = lay(mesh);
  double normal[3] = {sin(M_PI / 4) * cos(M_PI / 4), 0, cos(M_PI / 4)};
  normal[0] = -0.5, normal[1] = -0.5;
  double at[3];
  for (int c = 0; c < 3; c++) at[c] = normal[c];
  ul_vent v = place(&b, (double[3]){0, 0, 1}, at, 3, no_draw);
  assert_good_hole(b.mesh, &b.tool, &v);
  assert_axis(&v, normal[0], normal[1], normal[2]);
  assert_near(v.back_mm, 0.5, 1e-6); /* half of the 1 mm of air: the wall opposite is spared */
  assert_true(v.past_mm > 0);
  assert_non_null(strstr(v.note, "normal"));
  ul_mesh_free(b.mesh);
}

/* The tool as a mesh: its outside, with or without the cavity as a void in it. */
static void a_tools_mesh_is_drilled_to_its_outside(void **state) {
  (void)state;
  bed b = lay(shape_box(60, 40, 20));
  ul_mesh *outside = shape_box(100, 80, 50);
  shape_move(outside, -20, -20, -15);
  for (int with_void = 0; with_void < 2; with_void++) {
    if (with_void) {
      ul_mesh *hollow = shape_box(60, 40, 20);
      shape_reverse(hollow);
      shape_append(outside, hollow);
    }
    b.tool.mesh = outside;
    ul_mesh_box_mm(outside, b.tool.box_mm);
    ul_vent v = place(&b, (double[3]){0, 0, 1}, (double[3]){30, 20, 20}, 3, no_draw);
    assert_good_hole(b.mesh, &b.tool, &v);
    assert_near(v.length_mm, 15, 1e-9);
  }
  ul_mesh *elsewhere = shape_box(10, 10, 10);
  shape_move(elsewhere, 500, 0, 0);
  b.tool.mesh = elsewhere;
  ul_vent v = place(&b, (double[3]){0, 0, 1}, (double[3]){30, 20, 20}, 3, no_draw);
  assert_false(v.ok);
  assert_non_null(strstr(v.note, "does not close around"));
  ul_mesh_free(elsewhere);
  ul_mesh_free(outside);
  ul_mesh_free(b.mesh);
}

/* On a ball's flank a hole straight up met the wall 68 degrees off its normal, half as deep again
 * as one aside that leaves no more air. On its shoulder, at 45 degrees, up is as good as aside. */
static void a_slanting_wall_is_met_squarely_where_that_leaves_no_more(void **state) {
  (void)state;
  bed b = lay(shape_sphere(32, 96, 48));
  for (int flank = 0; flank < 2; flank++) {
    double a = (flank ? 67.5 : 45) * M_PI / 180; /* a corner of the mesh */
    ul_vent v =
        place(&b, (double[3]){0, 0, 1}, (double[3]){32 * sin(a), 0, 32 * cos(a)}, 2, no_draw);
    assert_good_hole(b.mesh, &b.tool, &v);
    if (flank) {
      assert_axis(&v, 1, 0, 0);
      assert_non_null(strstr(v.note, "off square"));
    } else {
      assert_axis(&v, 0, 0, 1);
    }
  }
  ul_mesh_free(b.mesh);
}

/* The level top of a ring round a drum, another ring above it: nothing leads up, and all ways aside
 * leave the same layer. At 70 degrees round, that along x met the rim 70 degrees off square, 65 mm
 * deep. */
static void of_ways_that_leave_the_same_the_squarer_one(void **state) {
  (void)state;
  const double rz[][2] = {{0, 0},   {40, 0},  {40, 30}, {60, 30}, {60, 36},  {40, 36},
                          {40, 70}, {60, 70}, {60, 74}, {40, 74}, {40, 110}, {0, 110}};
  bed b = lay(shape_revolve(rz, sizeof rz / sizeof *rz, false, 72));
  for (int turn = 20; turn < 360; turn += 50) {
    const double a = turn * M_PI / 180;
    ul_vent v =
        place(&b, (double[3]){0, 0, 1}, (double[3]){60 * cos(a), 60 * sin(a), 36}, 1.5, no_draw);
    assert_good_hole(b.mesh, &b.tool, &v);
    assert_near(v.at_mm[2], 36 - 0.75 - spare, 0.003);
    assert_true(v.axis[0] * cos(a) + v.axis[1] * sin(a) > 0.5); /* under 60 degrees off */
    if (turn == 20) assert_non_null(strstr(v.note, "up would meet a cavity again after 34 mm"));
  }
  ul_mesh_free(b.mesh);
}

/* The same shoulder in a tool whose roof slopes by 40 degrees: a drill finds no start there. */
static void a_sloped_outside_is_passed_over_for_a_square_one(void **state) {
  (void)state;
  bed b = lay(shape_sphere(32, 96, 48));
  for (int sloped = 0; sloped < 2; sloped++) {
    ul_mesh *tool = shape_box(114, 114, 114);
    shape_move(tool, -57, -57, -57);
    for (size_t i = 0; i < tool->vertex_count; i++)
      if (sloped && tool->vertex_mm[i][2] > 0)
        tool->vertex_mm[i][2] += (57 - tool->vertex_mm[i][0]) * tan(40 * M_PI / 180);
    b.tool.mesh = tool;
    ul_mesh_box_mm(tool, b.tool.box_mm);
    double at = 32 * sqrt(0.5);
    ul_vent v = place(&b, (double[3]){0.1, 0, 1}, (double[3]){at, 0, at}, 2, no_draw);
    assert_true(v.ok);
    assert_axis(&v, sloped, 0, !sloped);
    ul_mesh_free(tool);
  }
  ul_mesh_free(b.mesh);
}

/* Two cavities in one tool, the lower one's way up lies through the upper. */
static void a_hole_does_not_meet_another_cavity(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(60, 40, 20), *above = shape_box(100, 100, 20);
  shape_move(above, -20, -30, 40);
  shape_append(mesh, above);
  bed b = lay(mesh);
  ul_vent v = place(&b, (double[3]){0.3, 0, 0.95}, (double[3]){60, 20, 20}, 3, no_draw);
  assert_good_hole(b.mesh, &b.tool, &v);
  assert_axis(&v, 1, 0, 0);
  ul_mesh_free(b.mesh);
}

/* Brute force finds the holes that are not good: what the other tests lean on. */
static void brute_force_sees_bad_holes(void **state) {
  (void)state;
  bed b = lay(shape_horn_and_dome());
  ul_vent v = {.ok = true, .diameter_mm = 3, .axis = {0, 0, 1}, .length_mm = 25, .back_mm = 1};
  ul_copy3((double[3]){12.5, 30, 50}, v.at_mm);
  drilled good = drill_by_force(b.mesh, &b.tool, &v);
  assert_int_equal(good.not_in_air + good.not_out_once + good.not_outside + good.walls, 0);
  v.at_mm[0] = 14; /* over the horn's wall */
  drilled over = drill_by_force(b.mesh, &b.tool, &v);
  assert_true(over.not_in_air > 0 && over.walls > 0);
  v.back_mm = 45; /* from the slab below: now every line begins in air, but it cuts the wall */
  drilled step = drill_by_force(b.mesh, &b.tool, &v);
  assert_true(step.not_in_air == 0 && step.not_out_once == 0 && step.walls > 0);
  v.at_mm[0] = 12.5, v.back_mm = 1, v.length_mm = 10;
  assert_true(drill_by_force(b.mesh, &b.tool, &v).not_outside > 0);
  ul_mesh_free(b.mesh);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_normal_does_not_hang_on_how_faces_are_cut),
      cmocka_unit_test(the_walls_round_a_rib_come_nearest_first),
      cmocka_unit_test(in_a_corner_of_the_lid_it_moves_in_by_its_radius),
      cmocka_unit_test(at_every_raised_corner_it_leaves_along_the_axis_nearest_to_up),
      cmocka_unit_test(on_a_ridge_or_an_apex_it_stays),
      cmocka_unit_test(a_horn_takes_a_hole_that_fits_it),
      cmocka_unit_test(the_draw_is_taken_unless_it_leaves_a_layer_of_air),
      cmocka_unit_test(a_hole_does_not_go_through_a_core_into_the_cavity_again),
      cmocka_unit_test(a_deep_hole_is_made_only_where_no_other_leaves),
      cmocka_unit_test(a_hole_below_the_top_stays_where_it_is_wanted),
      cmocka_unit_test(where_up_is_shut_it_goes_sideways),
      cmocka_unit_test(a_thin_slanting_sheet_is_left_along_its_normal),
      cmocka_unit_test(a_tools_mesh_is_drilled_to_its_outside),
      cmocka_unit_test(a_slanting_wall_is_met_squarely_where_that_leaves_no_more),
      cmocka_unit_test(of_ways_that_leave_the_same_the_squarer_one),
      cmocka_unit_test(a_sloped_outside_is_passed_over_for_a_square_one),
      cmocka_unit_test(a_hole_does_not_meet_another_cavity),
      cmocka_unit_test(brute_force_sees_bad_holes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
