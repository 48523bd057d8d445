/* Cavities made to fool a lattice: walls thinner than a cube, sheets that slip between the rays,
 * lids that lie level, a hair's breadth of tilt, and a small high horn beside a large low dome. */
#include "shapes/check.h"
#include "shapes/shapes.h"

#include <math.h>
#include <stdlib.h>

#include "base/vec.h"
#include "ullage/ullage.h"

/* A cavity with all that peaks are found in. */
typedef struct cavity {
  ul_solid *solid;
  ul_columns *columns;
  ul_heights *heights;
} cavity;

/* Frees the mesh. The lattice is moved by `offset` cubes along every axis, 0 to 1. */
static cavity cavity_of(ul_mesh *mesh, double cube_mm, double offset) {
  cavity c = {.solid = shape_solid(mesh)};
  double box_mm[2][3];
  ul_mesh_box_mm(c.solid->mesh, box_mm);
  ul_lattice lattice;
  ul_error err = {0};
  assert_ok(ul_lattice_for_box((const double(*)[3])box_mm, cube_mm, &lattice, &err), &err);
  for (int a = 0; a < 3; a++) {
    lattice.origin_mm[a] -= offset * cube_mm;
    lattice.n[a]++;
  }
  assert_ok(ul_columns_build(c.solid, NULL, 0, &lattice, NULL, &c.columns, &err), &err);
  assert_ok(ul_heights_new(c.solid, c.columns, NULL, &c.heights, &err), &err);
  return c;
}

static void cavity_free(cavity *c) {
  ul_heights_free(c->heights);
  ul_columns_free(c->columns);
  ul_solid_free(c->solid);
}

static ul_peaks *peaks_of(const cavity *c, const double up[3]) {
  ul_peaks_opts opts = ul_peaks_opts_default();
  opts.void_ok_mm3 = 0;
  ul_error err = {0};
  ul_peaks *peaks = NULL;
  assert_ok(ul_peaks_find(c->heights, up, &opts, &peaks, &err), &err);
  return peaks;
}

/* How far a cube reaches along up. */
static double reach(const double up[3], double cube_mm) {
  return cube_mm * (fabs(up[0]) + fabs(up[1]) + fabs(up[2]));
}

/* -- a rib that hangs from the lid: 60 x 30 x 40 mm, the rib at x = 25, 20 mm deep -- */

static const double rib_at = 25, rib_deep = 20, rib_box[3] = {60, 30, 40};

/* The highest way under the rib: along its lower edge to the higher end, then the lower of the two
 * sides it must pass. `up` in the frame of the box. */
static double rib_cut_off(const double up[3], double thick) {
  double side = fmin(up[0] * (rib_at - thick / 2), up[0] * (rib_at + thick / 2));
  return up[2] * (rib_box[2] - rib_deep) + fmax(0, up[1] * rib_box[1]) + side;
}

/* Top of the chamber from x = from to x = to. */
static double rib_top(const double up[3], double from, double to) {
  return up[2] * rib_box[2] + fmax(0, up[1] * rib_box[1]) + fmax(up[0] * from, up[0] * to);
}

static void check_rib(double thick, double cube_mm, double turn_deg, double offset,
                      const double up_of_box[3]) {
  ul_mesh *mesh = shape_rib_box(rib_box[0], rib_box[1], rib_box[2], rib_at, thick, rib_deep);
  shape_rotate(mesh, 2, turn_deg);
  cavity c = cavity_of(mesh, cube_mm, offset);
  double up[3] = {up_of_box[0], up_of_box[1], up_of_box[2]};
  shape_turn(up, 2, turn_deg);
  ul_peaks *peaks = peaks_of(&c, up);
  double left = rib_top(up_of_box, 0, rib_at - thick / 2),
         right = rib_top(up_of_box, rib_at + thick / 2, rib_box[0]);
  if (peaks->count != 2)
    print_error("rib %g mm at %g deg, cube %g mm, offset %g\n", thick, turn_deg, cube_mm, offset);
  assert_int_equal(peaks->count, 2);
  assert_near(peaks->peak[0].height_mm, fmax(left, right), 1e-9);
  assert_near(peaks->peak[1].height_mm, fmin(left, right), 1e-9);
  assert_true(isnan(peaks->peak[0].cut_off_mm));
  assert_near(peaks->peak[1].cut_off_mm, rib_cut_off(up_of_box, thick), reach(up, cube_mm));
  ul_peaks_free(peaks);
  cavity_free(&c);
}

static void a_rib_thinner_than_a_cube_always_parts_two_peaks(void **state) {
  (void)state;
  const double cube = 1.5, tilt[3] = {0.08, 0.06, sqrt(0.99)}, level[3] = {0, 0, 1};
  const double in_cubes[3] = {0.3, 0.5, 0.9}, turn[3] = {0, 20, 45};
  for (int t = 0; t < 3; t++)
    for (int a = 0; a < 3; a++)
      for (int offset = 0; offset < 10; offset++) {
        check_rib(in_cubes[t] * cube, cube, turn[a], offset / 10.0, tilt);
        check_rib(in_cubes[t] * cube, cube, turn[a], offset / 10.0, level);
      }
}

/* -- sheets -- */

/* A sheet is convex: one peak, in any attitude; or the note says that the cubes are too coarse. */
static void a_thin_sheet_has_one_peak_or_is_named(void **state) {
  (void)state;
  const double cube = 2, in_cubes[] = {0.5, 0.75, 1, 1.5, 2, 3};
  const double ups[][3] = {{0, 0, 1}, {0.6, 0, 0.8}, {0.48, 0.36, 0.8}, {-0.1, 0.2, 0.97}};
  for (size_t t = 0; t < 6; t++)
    for (int deg = 0; deg <= 90; deg += 15) {
      cavity c = cavity_of(shape_sheet(60, 40, in_cubes[t] * cube, deg), cube, 0.3);
      for (size_t u = 0; u < 4; u++) {
        ul_peaks *peaks = peaks_of(&c, ups[u]);
        bool one = peaks->count == 1, named = peaks->note_count > 0;
        if (!one && (!named || in_cubes[t] >= 2))
          print_error("sheet %g cubes, %d deg, up %zu: %zu peaks, %zu notes\n", in_cubes[t], deg, u,
                      peaks->count, peaks->note_count);
        assert_true(one || (named && in_cubes[t] < 2));
        if (one) assert_true(isnan(peaks->peak[0].cut_off_mm));
        ul_peaks_free(peaks);
      }
      cavity_free(&c);
    }
}

/* -- things that are said, not lost -- */

/* Two chambers and a square duct, narrower than a cube: the second chamber is cut off at the top of
 * the duct, or the places where the cubes are too coarse are named. */
static void a_narrow_duct_is_said_not_lost(void **state) {
  (void)state;
  const double side = 40, duct = 1, up[3] = {0.1, 0, sqrt(0.99)};
  for (int offset = 0; offset < 10; offset++) {
    cavity c = cavity_of(shape_chambers(side, duct, 30), 2.5, offset / 10.0);
    ul_peaks *peaks = peaks_of(&c, up);
    assert_int_equal(peaks->count, 2);
    double want = up[2] * (side + duct) / 2 + up[0] * side;
    double got = peaks->peak[1].cut_off_mm;
    if (!(fabs(got - want) <= reach(up, 2.5)) && peaks->note_count == 0)
      print_error("offset %d: cut off at %g, not %g, and no note\n", offset, got, want);
    assert_true(fabs(got - want) <= reach(up, 2.5) || peaks->note_count > 0);
    ul_peaks_free(peaks);
    cavity_free(&c);
  }
}

/* A fin of 0.6 mm stands up from a block's lid: it is a peak though no ray may pass through it, or
 * it is named. */
static void a_thin_fin_is_said_not_lost(void **state) {
  (void)state;
  const double x[4] = {0, 30.2, 30.8, 60}, y[2] = {0, 30}, z[3] = {0, 20, 32};
  const unsigned char solid[6] = {1, 1, 1, 0, 1, 0};
  const double up[3] = {0, 0, 1};
  for (int offset = 0; offset < 10; offset++) {
    cavity c = cavity_of(shape_cells(x, 3, y, 1, z, 2, solid), 2, offset / 10.0);
    ul_peaks *peaks = peaks_of(&c, up);
    bool seen = peaks->count > 0 && fabs(peaks->peak[0].height_mm - 32) < 1e-9;
    if (!seen && peaks->note_count == 0) print_error("offset %d: the fin is lost\n", offset);
    assert_true(seen || peaks->note_count > 0);
    ul_peaks_free(peaks);
    cavity_free(&c);
  }
}

/* -- a hair's breadth of tilt -- */

/* Level tops are the hard ones: ties must fall the same way on both sides of level. */
static void assert_same_peaks(const ul_peaks *a, const ul_peaks *b, double extent_mm) {
  assert_int_equal(a->count, b->count);
  for (size_t p = 0; p < a->count; p++) {
    const ul_peak *k = &a->peak[p], *l = &b->peak[p];
    assert_int_equal(k->kind, l->kind);
    assert_near(ul_distance(k->at_mm, l->at_mm), 0, 1e-6);
    assert_near(k->height_mm, l->height_mm, 1e-8 * extent_mm);
    assert_near(k->pocket_mm3, l->pocket_mm3, 1e-6 * k->pocket_mm3 + 1e-3);
    assert_near(k->extent_mm, l->extent_mm, 1e-6);
    assert_int_equal(isnan(k->cut_off_mm), isnan(l->cut_off_mm));
    if (!isnan(k->cut_off_mm)) assert_near(k->cut_off_mm, l->cut_off_mm, 1e-8 * extent_mm);
  }
}

static void a_nanoradian_changes_no_peak(void **state) {
  (void)state;
  ul_mesh *shape[] = {shape_box(60, 40, 30),           shape_gable(80, 40, 20, 35),
                      shape_comb(4, 6, 8, 10, 20, 30), shape_horn_and_dome(),
                      shape_torus(30, 10, 48, 24),     shape_steps(3, 20, 10, 30)};
  for (size_t s = 0; s < sizeof shape / sizeof *shape; s++) {
    cavity c = cavity_of(shape[s], 1.7, 0);
    for (int face = 0; face < 6; face++) {
      double up[3] = {0, 0, 0};
      up[face / 2] = face % 2 ? 1 : -1;
      ul_peaks *level = peaks_of(&c, up);
      for (int way = 0; way < 4; way++) {
        double hair[3] = {up[0], up[1], up[2]};
        hair[(face / 2 + 1) % 3] += way & 1 ? 1e-9 : -1e-9;
        hair[(face / 2 + 2) % 3] += way & 2 ? 1e-9 : -1e-9;
        ul_peaks *off = peaks_of(&c, hair);
        assert_same_peaks(level, off, 120);
        ul_peaks_free(off);
      }
      ul_peaks_free(level);
    }
    cavity_free(&c);
  }
}

static ul_level *level_of(const cavity *c, const ul_grid *grid, const double up[3]) {
  ul_level *level = NULL;
  ul_error err = {0};
  assert_ok(
      ul_level_rise(grid, c->columns, up, NULL, NULL, 0, UL_UNVENTED_OPEN, NULL, &level, &err),
      &err);
  return level;
}

/* On a level floor every cube is the lowest: the pour must not run across it. */
static void a_nanoradian_moves_no_pour(void **state) {
  (void)state;
  ul_mesh *shape[] = {shape_box(60, 40, 30), shape_cylinder(30, 25, 48), shape_horn_and_dome()};
  for (size_t s = 0; s < sizeof shape / sizeof *shape; s++) {
    cavity c = cavity_of(shape[s], 2.1, 0);
    ul_grid *grid = NULL;
    ul_error err = {0};
    assert_ok(ul_grid_build(c.solid, NULL, 0, c.columns, NULL, &grid, &err), &err);
    const double up[3] = {0, 0, 1}, hair[3] = {1e-9, -1e-9, 1};
    ul_level *level = level_of(&c, grid, up), *off = level_of(&c, grid, hair);
    assert_near(ul_distance(level->pour_mm[0], off->pour_mm[0]), 0, 1e-6);
    assert_near(ul_distance(level->last_mm[0], off->last_mm[0]), 0, 1e-6);
    ul_level_free(level);
    ul_level_free(off);
    ul_grid_free(grid);
    cavity_free(&c);
  }
}

/* -- horn and dome over one saddle, closed forms of shape_horn_and_dome() -- */

static const double horn_top[3] = {12.5, 30, 50}, dome_top[3] = {85, 30, 30};

static void horn_and_dome_are_cut_off_at_their_saddle(void **state) {
  (void)state;
  cavity c = cavity_of(shape_horn_and_dome(), 1, 0.25);
  const double up[3] = {0, 0, 1};
  ul_peaks *peaks = peaks_of(&c, up);
  assert_int_equal(peaks->count, 2);
  assert_near(ul_distance(peaks->peak[0].at_mm, horn_top), 0, 1e-9);
  assert_rel(peaks->peak[0].pocket_mm3, 123000, 0.02);
  assert_near(ul_distance(peaks->peak[1].at_mm, dome_top), 0, 1e-9);
  assert_near(peaks->peak[1].cut_off_mm, 10, 1);
  assert_rel(peaks->peak[1].pocket_mm3, 50000, 0.05);
  ul_peaks_free(peaks);
  cavity_free(&c);
}

/* One vent at the horn leaves the dome's 50 cm3; at the dome, the horn's 1 cm3; both, nothing. */
static void one_vent_belongs_on_the_dome(void **state) {
  (void)state;
  cavity c = cavity_of(shape_horn_and_dome(), 1, 0.25);
  const double up[3] = {0, 0, 1};
  const double horn[3] = {12.5, 30, 49.6}, dome[3] = {85, 30, 29.6};
  const double(*at[3])[3] = {&horn, &dome, (const double[2][3]){{12.5, 30, 49.6}, {85, 30, 29.6}}};
  const double want[3] = {50000, 1000, 0};
  ul_air *air = NULL;
  ul_error err = {0};
  assert_ok(ul_air_new(c.heights, &air, &err), &err);
  for (int v = 0; v < 3; v++) {
    double trapped = -1;
    assert_ok(ul_air_trapped_mm3(air, up, at[v], v < 2 ? 1 : 2, &trapped), &err);
    assert_near(trapped, want[v], 0.08 * want[v] + 300); /* the last cube under a top is not seen */
  }
  ul_air_free(air);
  cavity_free(&c);
}

static void the_only_vent_goes_to_the_dome(void **state) {
  (void)state;
  cavity c = cavity_of(shape_horn_and_dome(), 1, 0.25);
  const double up[3] = {0, 0, 1};
  ul_peaks *peaks = peaks_of(&c, up);
  ul_tool tool = ul_tool_wall(c.solid, 25, true);
  ul_vents_opts opts = ul_vents_opts_default();
  opts.at_most = 1;
  ul_vents *vents = NULL;
  ul_error err = {0};
  assert_ok(ul_vents_choose(c.solid, c.heights, peaks, &tool, &opts, &vents, &err), &err);
  assert_int_equal(vents->count, 1);
  const double *at = vents->vent[0].at_mm;
  assert_near(at[2], 30, 1e-9);
  assert_true(at[0] > 60 && at[0] < 110 && at[1] > 5 && at[1] < 55);
  assert_near(vents->left_mm3, 1000, 200);
  ul_vents_free(vents);
  ul_peaks_free(peaks);
  cavity_free(&c);
}

/* -- a level lid -- */

/* On heights alone a level lid looks perfect: one flat peak. Two degrees off, the vent in it is no
 * longer at the top; raised five degrees at a corner it still is. */
static void a_level_lid_never_beats_a_raised_corner(void **state) {
  (void)state;
  const double size[][3] = {{100, 80, 40}, {300, 200, 25}, {60, 60, 60}};
  for (int s = 0; s < 3; s++) {
    cavity c = cavity_of(shape_box(size[s][0], size[s][1], size[s][2]), size[s][0] / 40, 0);
    double ups[2][3] = {{0, 0, 1}};
    ul_error err = {0};
    assert_ok(ul_up_from_raise(5, 5, ups[1], &err), &err);
    ul_tilts_opts opts = ul_tilts_opts_default();
    opts.only = (const double(*)[3])ups;
    opts.only_count = 2;
    ul_tilts *tilts = NULL;
    assert_ok(ul_tilts_search(c.solid, c.heights, &opts, NULL, &tilts, &err), &err);
    assert_int_equal(tilts->count, 2);
    assert_true(tilts->tilt[0].trapped_2deg_mm3 > tilts->tilt[1].trapped_2deg_mm3);
    assert_near(tilts->tilt[1].trapped_2deg_mm3, 0, opts.void_ok_mm3);
    ul_tilts_free(tilts);
    cavity_free(&c);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_rib_thinner_than_a_cube_always_parts_two_peaks),
      cmocka_unit_test(a_thin_sheet_has_one_peak_or_is_named),
      cmocka_unit_test(a_narrow_duct_is_said_not_lost),
      cmocka_unit_test(a_thin_fin_is_said_not_lost),
      cmocka_unit_test(a_nanoradian_changes_no_peak),
      cmocka_unit_test(a_nanoradian_moves_no_pour),
      cmocka_unit_test(horn_and_dome_are_cut_off_at_their_saddle),
      cmocka_unit_test(one_vent_belongs_on_the_dome),
      cmocka_unit_test(the_only_vent_goes_to_the_dome),
      cmocka_unit_test(a_level_lid_never_beats_a_raised_corner),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
