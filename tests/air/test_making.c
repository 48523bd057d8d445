/* Vents as a shop makes them: reliefs, places kept off, inserts in the way, edges of the tool.
 * Every one is judged by brute force (shapes/drill.h). */
#include "air/bed.h"
#include "base/memory.h"
#include "base/vec.h"
#include "shapes/check.h"
#include "shapes/drill.h"
#include "shapes/shapes.h"
#include "ullage/hold.h"
#include "ullage/import.h"
#include "ullage/insert.h"
#include "ullage/vents.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Land and relief of a hole through 25 mm: 5 at its own size, 6 mm in diameter from there. */
static void a_hole_is_opened_from_outside_but_for_its_land(void **state) {
  (void)state;
  bed b = bed_lay(shape_sphere(40, 96, 48), NULL, 0, 2, (double[3]){0, 0, 1});
  const struct {
    double land, diameter, want_land, want_relief;
  } cases[] = {{5, 3, 5, 6}, {5, 2, 5, 5}, {30, 3, 25, 0}, {24.5, 3, 25, 0}, {5, 6, 25, 0}};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    ul_vents_opts opts = ul_vents_opts_default();
    opts.land_mm = cases[i].land;
    opts.diameter_mm = cases[i].diameter;
    ul_vents *vents = bed_choose(&b, &opts);
    assert_int_equal(vents->count, 1);
    assert_good_hole(b.solid->mesh, &b.tool, &vents->vent[0]);
    assert_near(vents->vent[0].land_mm, cases[i].want_land, 0.05);
    assert_near(vents->vent[0].relief_mm, cases[i].want_relief, 1e-12);
    assert_int_equal(vents->vent[0].half, 0);
    ul_vents_free(vents);
  }
  bed_clear(&b, NULL);
}

/* A neighbour 2.2 mm from the hole's middle lets the hole by, but not its relief. */
static void a_relief_does_not_meet_the_next_cavity(void **state) {
  (void)state;
  ul_mesh *mesh = shape_cone(30, 60, 64), *next = shape_box(20, 40, 20);
  shape_move(next, 2.2, -20, 70);
  shape_append(mesh, next);
  bed b = bed_lay(mesh, NULL, 0, 2, (double[3]){0, 0, 1});
  ul_vents_opts opts = ul_vents_opts_default();
  ul_vents *vents = bed_choose(&b, &opts);
  int seen = 0;
  for (size_t i = 0; i < vents->count; i++) {
    const ul_vent *v = &vents->vent[i];
    if (v->cavity != 0) continue;
    seen++;
    assert_good_hole(b.solid->mesh, &b.tool, v);
    assert_true(v->relief_mm == 0 && v->land_mm == v->length_mm);
  }
  assert_int_equal(seen, 1);
  bed_clear(&b, vents);
}

static bool in_box(const double at[3], const double box[2][3]) {
  for (int c = 0; c < 3; c++)
    if (at[c] < box[0][c] || at[c] > box[1][c]) return false;
  return true;
}

/* A gable's ridge end raised: its sides show, or a box stands there, or its part is named. */
static void what_shows_or_is_kept_off_is_vented_beside(void **state) {
  (void)state;
  double up[3];
  assert_ok(ul_up_normalise((double[3]){0.1, 0, 1}, up, NULL), NULL);
  bed b = bed_lay(shape_gable(100, 60, 20, 45), NULL, 0, 2, up);
  ul_vents_opts opts = ul_vents_opts_default();
  ul_vents *plain = bed_choose(&b, &opts);
  assert_int_equal(plain->count, 1);
  opts.show_sides = 1u << 5; /* both roofs */
  ul_vents *shown = bed_choose(&b, &opts);
  assert_int_equal(shown->count, 1);
  assert_good_hole(b.solid->mesh, &b.tool, &shown->vent[0]);
  assert_near(shown->vent[0].at_mm[0], 100, 1e-9); /* in the gable end */
  opts.show_sides = 1u << 5 | 1u << 1;
  ul_vents *more = bed_choose(&b, &opts);
  assert_int_equal(more->count, 1);
  assert_good_hole(b.solid->mesh, &b.tool, &more->vent[0]);
  const ul_vent *v = &more->vent[0];
  assert_near(v->at_mm[0], 0, 1e-9); /* in the other gable end, 10 mm lower as it lies */
  assert_true(v->at_mm[2] > 35 && v->stays_mm3 > 1000);
  assert_true(vent_says(v, "next best place") && vent_says(v, "of air stays"));
  assert_null(strstr(v->note, "moved in")); /* not from the top: it is another place */
  assert_near(more->left_mm3, v->stays_mm3, 1e-6 * v->stays_mm3);
  opts.show_sides = 0;
  const double kept[1][2][3] = {{{80, 20, 30}, {150, 40, 80}}};
  opts.keep_box = kept;
  opts.keep_box_count = 1;
  ul_vents *boxed = bed_choose(&b, &opts);
  assert_int_equal(boxed->count, 1);
  v = &boxed->vent[0];
  assert_good_hole(b.solid->mesh, &b.tool, v);
  for (double t = 0; t <= v->length_mm; t += 0.1) {
    double at[3];
    ul_add_scaled(v->at_mm, t, v->axis, at);
    assert_false(in_box(at, kept[0]));
  }
  ul_vents_free(plain);
  ul_vents_free(shown);
  ul_vents_free(more);
  bed_clear(&b, boxed);
}

/* A bar's end kept off: beside the box, in line with the place wished for. Propped up, the highest
 * allowed are as high all across the bar, and it went to its other side. */
static void of_places_as_high_the_nearest_to_the_wish_is_taken(void **state) {
  (void)state;
  const double kept[1][2][3] = {{{125, -5, 20}, {150, 40, 80}}};
  for (int lie = 0; lie < 4; lie++) {
    const double tilt = lie % 2 ? sin(5 * M_PI / 180) : 0;
    bed b =
        bed_lay(shape_box(140, 30, 30), NULL, 0, 2, (double[3]){tilt, 0, sqrt(1 - tilt * tilt)});
    ul_vents_opts opts = ul_vents_opts_default();
    opts.diameter_mm = 1.5;
    opts.keep_box = kept;
    opts.keep_box_count = 1;
    const ul_vent_wish wish = {.at_mm = {138, lie < 2 ? 2 : 28, 30}, .air_mm3 = 1000};
    ul_vents *vents = bed_wished(&b, opts, &wish);
    const ul_vent *v = &vents->vent[0];
    assert_good_hole(b.solid->mesh, &b.tool, v);
    assert_true(125 - v->at_mm[0] >= 0.75 && 125 - v->at_mm[0] < 3);
    /* straight off, 13.85 mm; places are two radii apart */
    assert_true(ul_distance(v->at_mm, v->for_mm) < 13.85 + 2 * 0.75);
    bed_clear(&b, vents);
  }
}

/* The tops of a comb's teeth kept off one by one: no tooth's vent goes to its neighbour. */
static void a_vent_stays_on_its_own_pocket(void **state) {
  (void)state;
  bed b = bed_lay(shape_comb(2, 12, 8, 10, 30, 20), NULL, 0, 1, (double[3]){0, 0, 1});
  const double tooth[1][2][3] = {{{-5, -5, 10}, {15, 25, 60}}}; /* all of the first */
  ul_vents_opts opts = ul_vents_opts_default();
  opts.keep_box = tooth;
  opts.keep_box_count = 1;
  ul_vents *vents = bed_choose(&b, &opts);
  assert_int_equal(vents->count, 2);
  for (size_t i = 0; i < 2; i++) {
    const ul_vent *v = &vents->vent[i];
    assert_true(v->ok == (v->at_mm[0] > 15));
    if (!v->ok) assert_true(vent_says(v, "kept off everywhere"));
  }
  assert_rel(vents->left_mm3, 12 * 20 * 30, 1e-9);
  bed_clear(&b, vents);
}

static void all_sides_shown_leave_no_place(void **state) {
  (void)state;
  bed b = bed_lay(shape_box(60, 40, 20), NULL, 0, 2, (double[3]){0.3, 0.2, 0.9});
  ul_vents_opts opts = ul_vents_opts_default();
  opts.show_sides = 63;
  ul_vents *vents = bed_choose(&b, &opts);
  assert_int_equal(vents->count, 1);
  assert_false(vents->vent[0].ok);
  assert_true(vent_says(&vents->vent[0], "kept off everywhere"));
  const char *const none[1] = {"badge"};
  opts.keep_part = none;
  opts.keep_part_count = 1;
  ul_error err = {0};
  ul_vents *refused;
  assert_int_equal(ul_vents_choose(b.solid, b.heights, b.peaks, &b.tool, &opts, &refused, &err),
                   UL_E_USAGE);
  assert_non_null(strstr(err.text, "\"badge\""));
  bed_clear(&b, vents);
}

static void drills_follow_what_is_asked(void **state) {
  (void)state;
  double up[3];
  assert_ok(ul_up_normalise((double[3]){0.3, 0.1, 1}, up, NULL), NULL);
  bed b = bed_lay(shape_sphere(40, 96, 48), NULL, 0, 2, up);
  ul_vents_opts opts = ul_vents_opts_default();
  opts.along = UL_ALONG_NORMAL;
  ul_vents *vents = bed_choose(&b, &opts);
  assert_good_hole(b.solid->mesh, &b.tool, &vents->vent[0]);
  double out[3];
  for (int c = 0; c < 3; c++) out[c] = vents->vent[0].at_mm[c] / 40;
  assert_true(ul_dot(out, vents->vent[0].axis) > 0.995);
  assert_true(vent_says(&vents->vent[0], "cut a flat first")); /* 17 degrees off the tool's top */
  ul_vents_free(vents);
  opts.along = UL_ALONG_UP;
  opts.draw[0] = 1;
  vents = bed_choose(&b, &opts);
  assert_true(vents->vent[0].axis[2] == 1);
  bed_clear(&b, vents);
}

/* A slab hung in a box, 12 mm of air under it: nothing rises to there but what is shut in by a rim
 * round its underside. */
static ul_mesh *cup(void) {
  const double x[4] = {30, 36, 64, 70}, y[4] = {10, 16, 44, 50}, z[3] = {12, 20, 26};
  unsigned char solid[2 * 3 * 3];
  for (int k = 0; k < 2; k++)
    for (int j = 0; j < 3; j++)
      for (int i = 0; i < 3; i++) solid[(k * 3 + j) * 3 + i] = k || i != 1 || j != 1;
  return shape_cells(x, 3, y, 3, z, 2, solid);
}

/* Free in the cavity, raised to the lid, and there not cut out but left to the columns: the air
 * under it has no way out, and that is said. */
static void air_under_an_insert_is_not_drilled_through_it(void **state) {
  (void)state;
  for (int round = 0; round < 3; round++) {
    bool seated = round > 0, loose = round == 2;
    ul_mesh *raised = cup();
    if (seated) shape_move(raised, 0, 0, 14);
    ul_solid *insert = shape_solid(raised), *one;
    const ul_solid *const inserts[1] = {insert};
    ul_solid *box = shape_solid(shape_box(100, 60, 40));
    ul_error err = {0};
    assert_ok(ul_inserts_cut(box, inserts, 1, NULL, &one, &err), &err);
    assert_non_null(one);
    double displaced;
    assert_ok(ul_insert_displaces_mm3(box, insert, NULL, &displaced, &err), &err);
    assert_rel(displaced, 40 * 40 * 14 - 28 * 28 * 8, 1e-6);
    bed b = bed_lay(shape_box(100, 60, 40), inserts, loose ? 1 : 0, 1, (double[3]){0, 0, 1});
    if (!loose) {
      ul_mesh *mesh;
      assert_ok(ul_mesh_copy(one->mesh, &mesh, &err), &err);
      bed_clear(&b, NULL);
      b = bed_lay(mesh, NULL, 0, 1, (double[3]){0, 0, 1});
    }
    ul_vents_opts opts = ul_vents_opts_default();
    opts.insert = inserts;
    opts.insert_count = 1;
    opts.inserts_are_cut = !loose;
    ul_vents *vents = bed_choose(&b, &opts);
    int under = 0;
    double ceiling = seated ? 34 : 20;
    for (size_t i = 0; i < vents->count; i++) {
      const ul_vent *v = &vents->vent[i];
      if (v->ok || fabs(v->at_mm[2] - ceiling) > 1) continue;
      under += vent_says(v, "an insert is in the way");
    }
    assert_true(under > 0);
    assert_true(vents->left_mm3 >= 28 * 28 * 8 * 0.9);
    bed_clear(&b, vents);
    ul_solid_free(insert);
    ul_solid_free(box);
    ul_solid_free(one);
  }
}

/* Two boxes one above the other: looked at alone, the lower one is still not drilled up through the
 * upper one. */
static void a_cavity_left_out_is_not_drilled_through(void **state) {
  (void)state;
  ul_mesh *upper = shape_box(60, 60, 10);
  shape_move(upper, 0, 0, 30);
  ul_solid *other = shape_solid(upper);
  const ul_solid *const others[1] = {other};
  for (int known = 0; known < 2; known++) {
    bed b = bed_lay(shape_box(60, 60, 20), NULL, 0, 1, (double[3]){0.1, 0.1, 1});
    ul_vents_opts opts = bed_opts(&b);
    opts.other = others;
    opts.other_count = (size_t)known;
    ul_vents *vents = bed_choose(&b, &opts);
    assert_int_equal(vents->count, 1);
    const ul_vent *v = &vents->vent[0];
    assert_good_hole(b.solid->mesh, &b.tool, v);
    double up_mm = (30 - v->at_mm[2]) / v->axis[2], past[3]; /* where it is as high as the upper */
    ul_add_scaled(v->at_mm, up_mm, v->axis, past);
    bool beside = v->axis[2] < 0.2 || past[0] > 61.5 || past[1] > 61.5;
    assert_int_equal(beside, known);
    bed_clear(&b, vents);
  }
  ul_solid_free(other);
}

/* In a wall of 4 mm on one side a hole of 3 mm cannot come out 4.5 mm from the edge there: it moves
 * in, and its relief, which is wider, is left out. In a tool that is narrower all round there is no
 * place at all. */
static void a_hole_keeps_off_the_edges_of_the_tool(void **state) {
  (void)state;
  bed b = bed_lay(shape_box(60, 60, 20), NULL, 0, 1, (double[3]){0.1, 0.1, 1});
  ul_vents_opts opts = bed_opts(&b);
  ul_vents *vents = bed_choose(&b, &opts);
  const double at_x = vents->vent[0].through_mm[0];
  ul_vents_free(vents);
  b.tool.box_mm[1][0] = at_x + 4;
  vents = bed_choose(&b, &opts);
  const ul_vent *v = &vents->vent[0];
  assert_good_hole(b.solid->mesh, &b.tool, v);
  if (v->axis[2] > 0.5) assert_true(b.tool.box_mm[1][0] - v->through_mm[0] >= 4.5 - 1e-9);
  assert_true(v->axis[2] < 0.5 || v->relief_mm == 0);
  ul_vents_free(vents);
  for (int c = 0; c < 3; c++) b.tool.box_mm[0][c] = 57, b.tool.box_mm[1][c] = 62;
  b.tool.box_mm[0][2] = 19, b.tool.box_mm[1][2] = 22;
  vents = bed_choose(&b, &opts);
  v = &vents->vent[0];
  assert_false(v->ok);
  assert_true(vent_says(v, "1.5 diameters"));
  assert_near(ul_norm(v->axis), 1, 1e-12); /* the way it would have gone */
  bed_clear(&b, vents);
}

/* The same, where the tool is a mesh. */
static void a_hole_keeps_off_the_edges_of_a_tools_mesh(void **state) {
  (void)state;
  bed b = bed_lay(shape_box(60, 60, 20), NULL, 0, 1, (double[3]){0.1, 0.1, 1});
  ul_vents_opts opts = bed_opts(&b);
  for (int thin = 0; thin < 2; thin++) {
    double wall = thin ? 2 : 25;
    ul_mesh *block = shape_box(60 + 2 * wall, 60 + 2 * wall, 20 + 2 * wall);
    shape_move(block, -wall, -wall, -wall);
    b.tool.mesh = block;
    ul_mesh_box_mm(block, b.tool.box_mm);
    ul_vents *vents = bed_choose(&b, &opts);
    assert_int_equal(vents->vent[0].ok, !thin);
    if (thin) assert_true(vent_says(&vents->vent[0], "edge of the tool"));
    ul_vents_free(vents);
    ul_mesh_free(block);
  }
  bed_clear(&b, NULL);
}

/* Common practice, no source: rods are cast into plaster, rubber is punched, and what holds the
 * rubber has a wide hole in line. */
static void each_material_has_its_way_of_making_vents(void **state) {
  (void)state;
  bed b = bed_lay(shape_box(60, 60, 20), NULL, 0, 1, (double[3]){0.1, 0.1, 1});
  for (size_t m = 0; m < ul_material_count(); m++) {
    const ul_material *material = ul_material_get(m);
    ul_vents_opts opts = bed_opts(&b);
    opts.hole_made = material->hole;
    opts.groove_made = material->groove;
    opts.has_case = material->soft;
    ul_vents *vents = bed_choose(&b, &opts);
    const ul_vent *v = &vents->vent[0];
    assert_good_hole(b.solid->mesh, &b.tool, v);
    assert_int_equal(v->made, material->hole);
    assert_int_equal(v->case_mm >= v->diameter_mm + 3, material->soft);
    assert_int_equal(v->relief_mm > 0, !material->soft);
    if (!strcmp(material->name, "plaster"))
      assert_string_equal(ul_vent_made_word(v->made), "cast in");
    if (!strcmp(material->name, "silicone"))
      assert_true(vent_says(v, "punched") && vent_says(v, "case"));
    ul_vents_free(vents);
  }
  bed_clear(&b, NULL);
}

/* A bar on end with ribs 5 mm thick 30 mm apart. Air at the roof of one cannot leave upwards, where
 * the next rib is: it does through the tip, or the side, whichever is nearer. */
static void air_under_a_rib_leaves_through_another_wall(void **state) {
  (void)state;
  static const struct {
    double y, z, at[3];
  } air[] = {{25, 57, {37.5, 25, 65}}, {8, 52, {37.5, 0, 52}}, {41, 50, {37.5, 50, 50}}};
  bed b = bed_lay(shape_comb(3, 5, 30, 40, 25, 50), NULL, 0, 2, (double[3]){1, 0, 0});
  for (size_t i = 0; i < sizeof air / sizeof *air; i++) {
    const ul_vent_wish wish = {.at_mm = {40, air[i].y, air[i].z}, .air_mm3 = 1000};
    ul_vents *vents = bed_wished(&b, bed_opts(&b), &wish);
    assert_good_hole(b.solid->mesh, &b.tool, &vents->vent[0]);
    assert_near(ul_distance(vents->vent[0].at_mm, air[i].at), 0, 1e-9);
    assert_true(vent_says(&vents->vent[0], "at the top of the air"));
    ul_vents_free(vents);
  }
  bed_clear(&b, NULL);
}

/* The same with ribs 25 mm thick: from the middle of one, 12 mm of air would stay above the mouth.
 */
static void air_under_a_thick_rib_leaves_close_under_its_top(void **state) {
  (void)state;
  bed b = bed_lay(shape_comb(3, 25, 30, 40, 40, 50), NULL, 0, 2, (double[3]){1, 0, 0});
  ul_vents_opts opts = bed_opts(&b);
  const ul_vent_wish wish = {.at_mm = {80, 25, 62}, .air_mm3 = 1000};
  ul_vents *vents = bed_wished(&b, opts, &wish);
  assert_good_hole(b.solid->mesh, &b.tool, &vents->vent[0]);
  assert_near(ul_distance(vents->vent[0].at_mm, (double[3]){80 - opts.diameter_mm, 25, 80}), 0,
              1e-9);
  bed_clear(&b, vents);
}

/* The longest of notes is whole: it ended "gets a hole of 5 m". */
static void a_long_note_is_whole(void **state) {
  (void)state;
  bed b = bed_lay(shape_comb(3, 6, 40, 40, 160, 50), NULL, 0, 2, (double[3]){1, 0, 0});
  ul_vents_opts opts = bed_opts(&b);
  const ul_vent_wish wish = {.at_mm = {52, 25, 100}, .air_mm3 = 1000};
  opts.hole_made = UL_MADE_PRINTED;
  opts.has_case = true;
  opts.draw[2] = 1;
  ul_vents *vents = bed_wished(&b, opts, &wish);
  const char *note = vents->vent[0].note;
  assert_true(strlen(note) > 300);
  assert_string_equal(note + strlen(note) - 16, " in line with it");
  bed_clear(&b, vents);
}

static void every_allocation_may_fail(void **state) {
  (void)state;
  bed b = bed_lay(shape_gable(100, 60, 20, 45), NULL, 0, 4, (double[3]){0.1, 0, 1});
  bed_part(&b, 20);
  ul_solid *pin = shape_solid(shape_box(8, 8, 8));
  for (size_t v = 0; v < pin->mesh->vertex_count; v++)
    for (int c = 0; c < 3; c++) pin->mesh->vertex_mm[v][c] += 5;
  const ul_solid *const inserts[1] = {pin};
  ul_vents_opts opts = bed_opts(&b);
  opts.show_sides = 1u << 0;
  opts.insert = inserts;
  opts.insert_count = 1;
  const ul_vent_wish wish = {.at_mm = {50, 30, 0}, .air_mm3 = 1000}; /* not through the floor */
  opts.wish = &wish;
  opts.wish_count = 1;
  ul_status status = UL_E_MEMORY;
  long nth = 0;
  while (status != UL_OK) {
    ul_vents *vents = NULL;
    ul_solid *cored = NULL;
    double displaced;
    ul_error err = {.code = UL_OK};
    ul_memory_fail_at(++nth);
    status = ul_vents_choose(b.solid, b.heights, b.peaks, &b.tool, &opts, &vents, &err);
    if (status == UL_OK) status = ul_inserts_cut(b.solid, inserts, 1, NULL, &cored, &err);
    if (status == UL_OK) status = ul_insert_displaces_mm3(b.solid, pin, NULL, &displaced, &err);
    ul_memory_fail_at(0);
    assert_true(status == UL_OK || (status == UL_E_MEMORY && err.code == UL_E_MEMORY));
    ul_vents_free(vents);
    ul_solid_free(cored);
  }
  assert_true(nth > 30);
  ul_solid_free(pin);
  bed_clear(&b, NULL);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_hole_is_opened_from_outside_but_for_its_land),
      cmocka_unit_test(a_relief_does_not_meet_the_next_cavity),
      cmocka_unit_test(what_shows_or_is_kept_off_is_vented_beside),
      cmocka_unit_test(of_places_as_high_the_nearest_to_the_wish_is_taken),
      cmocka_unit_test(a_vent_stays_on_its_own_pocket),
      cmocka_unit_test(all_sides_shown_leave_no_place),
      cmocka_unit_test(drills_follow_what_is_asked),
      cmocka_unit_test(air_under_an_insert_is_not_drilled_through_it),
      cmocka_unit_test(a_cavity_left_out_is_not_drilled_through),
      cmocka_unit_test(a_hole_keeps_off_the_edges_of_the_tool),
      cmocka_unit_test(a_hole_keeps_off_the_edges_of_a_tools_mesh),
      cmocka_unit_test(each_material_has_its_way_of_making_vents),
      cmocka_unit_test(air_under_a_rib_leaves_through_another_wall),
      cmocka_unit_test(air_under_a_thick_rib_leaves_close_under_its_top),
      cmocka_unit_test(a_long_note_is_whole),
      cmocka_unit_test(every_allocation_may_fail),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
