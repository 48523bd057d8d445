#include "air/air.h"
#include "air/flood.h"
#include "air/lie.h"
#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double degree = M_PI / 180;

static ul_peaks *peaks_of(const lie *l, const double up[3]) {
  ul_peaks_opts opts = ul_peaks_opts_default();
  opts.void_ok_mm3 = 0;
  ul_peaks *peaks = NULL;
  ul_error err;
  assert_ok(ul_peaks_find(l->heights, up, &opts, &peaks, &err), &err);
  return peaks;
}

/* One expected peak: place, cut-off (NAN: none) and volume of air. */
typedef struct {
  double at[3], cut_off, pocket;
} known;

/* Exactly these, in any order; places, heights and cut-offs to 1e-9 mm, volumes to 1e-9. */
static void assert_peaks(const ul_peaks *peaks, const known *want, size_t count) {
  assert_int_equal(peaks->count, count);
  for (size_t w = 0; w < count; w++) {
    size_t best = 0;
    for (size_t i = 1; i < count; i++)
      if (ul_distance(peaks->peak[i].at_mm, want[w].at) <
          ul_distance(peaks->peak[best].at_mm, want[w].at))
        best = i;
    const ul_peak *p = &peaks->peak[best];
    assert_near(ul_distance(p->at_mm, want[w].at), 0, 1e-9);
    assert_near(p->height_mm, ul_dot(peaks->up, want[w].at), 1e-9);
    assert_true(isnan(p->cut_off_mm) == isnan(want[w].cut_off));
    if (!isnan(want[w].cut_off)) assert_near(p->cut_off_mm, want[w].cut_off, 1e-9);
    assert_rel(p->pocket_mm3, want[w].pocket, 1e-9);
  }
}

/* --- closed forms: every shape in six attitudes or more --- */

/* Teeth 8 x 20 over a bar, raised by A towards +x: each tooth ends in its +x edge, and is cut off
 * at the +x edge of its foot, so that a wedge of slope tan A stays below the cut. */
static void the_teeth_of_a_raised_comb(void **state) {
  (void)state;
  lie l = lie_make(shape_comb(4, 8, 6, 10, 20, 15), 50);
  for (int deg = 2; deg <= 65; deg += 9) {
    double a = deg * degree;
    const double up[3] = {sin(a), 0, cos(a)};
    known want[4];
    for (int tooth = 0; tooth < 4; tooth++) {
      double right = 14 * tooth + 8;
      want[tooth] = (known){
          {right, 7.5, 30}, right * sin(a) + 10 * cos(a), 15 * (8 * 20 - 0.5 * 8 * 8 * tan(a))};
    }
    want[3].cut_off = NAN;
    want[3].pocket = 4 * 2400 + 50 * 15 * 10;
    ul_peaks *peaks = peaks_of(&l, up);
    assert_peaks(peaks, want, 4);
    for (size_t i = 0; i < 4; i++) {
      assert_int_equal(peaks->peak[i].kind, UL_PEAK_EDGE);
      assert_near(peaks->peak[i].extent_mm, 15, 1e-9);
      assert_int_equal(peaks->peak[i].end_count, 2);
      assert_int_equal(peaks->peak[i].id, i + 1);
    }
    ul_peaks_free(peaks);
  }
  lie_free(&l);
}

/* A stair of four treads 15 deep and 8 high leant back until every tread falls away behind its
 * nose: each nose is a peak, cut off at the foot of its riser. */
static void the_noses_of_a_stair_leant_back(void **state) {
  (void)state;
  lie l = lie_make(shape_steps(4, 15, 8, 20), 50);
  for (int deg = 30; deg <= 80; deg += 10) {
    double a = deg * degree;
    const double up[3] = {-sin(a), 0, cos(a)};
    known want[4];
    for (int n = 0; n < 4; n++)
      want[n] = (known){
          {15 * n, 10, 8 * (n + 1)}, 8 * n * cos(a) - 15 * n * sin(a), 20 * 0.5 * 8 * 8 / tan(a)};
    want[0].cut_off = NAN;
    want[0].pocket = 20 * 15 * 8 * (1 + 2 + 3 + 4);
    ul_peaks *peaks = peaks_of(&l, up);
    assert_peaks(peaks, want, 4);
    ul_peaks_free(peaks);
  }
  lie_free(&l);
}

/* Legs 10 wide, 50 and 40 high, on a bar of 10. Raised by A towards the right, the right leg
 * overtakes the left one where 30 sin A = 10 cos A. Between them the bar's top rises to the right,
 * so either is cut off at the left leg's inner foot; the right one keeps a wedge of the bar. */
static void the_legs_of_an_upright_u(void **state) {
  (void)state;
  lie l = lie_make(shape_u(10, 20, 10, 50, 40, 12), 50);
  for (int deg = 5; deg <= 65; deg += 10) {
    double a = deg * degree, foot = 10 * sin(a) + 10 * cos(a);
    const double up[3] = {sin(a), 0, cos(a)};
    known want[2] = {{{10, 6, 50}, NAN, 13200}, {{40, 6, 40}, NAN, 13200}};
    if (10 * cos(a) > 30 * sin(a)) {
      want[1].cut_off = foot;
      want[1].pocket = 12 * (10 * 30 + 0.5 * 30 * 30 * tan(a));
    } else {
      want[0].cut_off = foot;
      want[0].pocket = 12 * (10 * 40 - 0.5 * 10 * 10 * tan(a));
    }
    ul_peaks *peaks = peaks_of(&l, up);
    assert_peaks(peaks, want, 2);
    ul_peaks_free(peaks);
  }
  lie_free(&l);
}

/* Area between the z axis and the facetted quarter circle, up to z = top. */
static double area_beside(double radius, int facets, double top) {
  double sum = 0;
  for (int i = 0; i < facets / 2; i++) {
    double x0 = radius * cos(M_PI * i / facets), z0 = radius * sin(M_PI * i / facets);
    double x1 = radius * cos(M_PI * (i + 1) / facets), z1 = radius * sin(M_PI * (i + 1) / facets);
    if (z0 >= top) break;
    if (z1 > top) {
      x1 = x0 + (x1 - x0) * (top - z0) / (z1 - z0);
      z1 = top;
    }
    sum += 0.5 * (x0 + x1) * (z1 - z0);
  }
  return sum;
}

/* On its head an arch has two feet up, cut off from each other by the crown of the opening. */
static void the_feet_of_an_arch_on_its_head(void **state) {
  (void)state;
  enum { FACETS = 16 };
  lie l = lie_make(shape_arch(20, 30, 15, FACETS), 50);
  for (int deg = -30; deg <= 30; deg += 10) {
    double a = deg * degree, side = deg < 0 ? -1 : 1, crown = INFINITY;
    const double up[3] = {sin(a), 0, -cos(a)};
    for (int i = 0; i <= FACETS; i++) {
      double turn = M_PI * i / FACETS;
      crown = fmin(crown, 20 * (up[0] * cos(turn) + up[2] * sin(turn)));
    }
    ul_peaks *peaks = peaks_of(&l, up);
    assert_int_equal(peaks->count, 2);
    const ul_peak *high = &peaks->peak[0], *low = &peaks->peak[1];
    assert_near(low->cut_off_mm, crown, 1e-9);
    assert_int_equal(high->kind, deg ? UL_PEAK_EDGE : UL_PEAK_FACE);
    assert_near(high->extent_mm, deg ? 15 : hypot(10, 15), 1e-9);
    assert_int_equal(high->end_count, deg ? 2 : 4);
    const double high_x = deg ? side * 30 : high->at_mm[0] > 0 ? 25 : -25;
    const double low_x = deg ? -side * 20 : -high_x;
    assert_near(ul_distance(high->at_mm, (double[3]){high_x, 7.5, 0}), 0, 1e-9);
    assert_near(ul_distance(low->at_mm, (double[3]){low_x, 7.5, 0}), 0, 1e-9);
    if (deg == 0)
      assert_rel(low->pocket_mm3, 15 * (area_beside(30, FACETS, 20) - area_beside(20, FACETS, 20)),
                 1e-9);
    ul_peaks_free(peaks);
  }
  lie_free(&l);
}

static double highest_vertex(const ul_mesh *mesh, const double up[3]) {
  double best = -INFINITY;
  for (size_t v = 0; v < mesh->vertex_count; v++) best = fmax(best, ul_dot(up, mesh->vertex_mm[v]));
  return best;
}

/* What has no dent has one peak in every attitude: its highest vertex. A ring has one too, and so
 * has a ball with a core, whose top has air above it. */
static void a_shape_without_dents_has_one_peak_at_its_highest_vertex(void **state) {
  (void)state;
  ul_mesh *meshes[] = {
      shape_gable(60, 40, 20, 35),         shape_sphere(30, 40, 20),  shape_icosphere(30, 3),
      shape_torus(30, 10, 48, 24),         shape_cap(40, 15, 48, 12), shape_cone(20, 50, 24),
      shape_box_in_sphere(30, 20, 24, 12), shape_box_in_box(40, 20),  shape_cylinder(20, 30, 36)};
  uint64_t dice = 21;
  for (size_t m = 0; m < sizeof meshes / sizeof *meshes; m++) {
    lie l = lie_make(meshes[m], 40);
    for (int tried = 0; tried < 40; tried++) {
      double up[3];
      lie_random_up(&dice, up);
      ul_peaks *peaks = peaks_of(&l, up);
      assert_int_equal(peaks->count, 1);
      const ul_peak *p = &peaks->peak[0];
      double below = p->extent_mm * sin(0.5 * degree); /* of a top that is nearly level */
      assert_near(p->height_mm, highest_vertex(l.solid->mesh, peaks->up), 1e-9 + below);
      assert_near(p->height_mm, ul_dot(peaks->up, p->at_mm), 1e-9);
      assert_rel(p->pocket_mm3, l.solid->cavity[0].volume_mm3, 1e-9);
      assert_true(isnan(p->cut_off_mm));
      ul_peaks_free(peaks);
    }
    lie_free(&l);
  }
}

static void a_gable_peaks_along_its_ridge_when_that_is_level(void **state) {
  (void)state;
  lie l = lie_make(shape_gable(60, 40, 20, 35), 60);
  for (int deg = -30; deg <= 30; deg += 10) {
    const double up[3] = {0, sin(deg * degree), cos(deg * degree)};
    ul_peaks *peaks = peaks_of(&l, up);
    const known want = {{30, 20, 35}, NAN, 60 * 40 * 20 + 0.5 * 60 * 40 * 15};
    assert_peaks(peaks, &want, 1);
    assert_int_equal(peaks->peak[0].kind, UL_PEAK_EDGE);
    assert_near(peaks->peak[0].extent_mm, 60, 1e-9);
    ul_peaks_free(peaks);
  }
  lie_free(&l);
}

/* --- kinds of tops --- */

static ul_peak only_peak(ul_mesh *mesh, const double up[3]) {
  lie l = lie_make(mesh, 50);
  ul_peaks *peaks = peaks_of(&l, up);
  assert_int_equal(peaks->count, 1);
  ul_peak peak = peaks->peak[0];
  ul_peaks_free(peaks);
  lie_free(&l);
  return peak;
}

static void a_dome_is_a_point_however_finely_it_is_cut(void **state) {
  (void)state;
  const double up[3] = {0, 0, 1};
  for (int stacks = 8; stacks <= 512; stacks *= 4) {
    ul_peak p = only_peak(shape_sphere(50, 24, stacks), up);
    assert_int_equal(p.kind, UL_PEAK_POINT);
    assert_true(p.extent_mm == 0 && p.end_count == 1);
    assert_near(ul_distance(p.at_mm, (double[3]){0, 0, 50}), 0, 1e-9);
  }
}

static void a_lid_is_a_face_to_be_vented_at_its_ends(void **state) {
  (void)state;
  const double up[3] = {0, 0, 1};
  ul_peak box = only_peak(shape_box(60, 40, 30), up);
  assert_int_equal(box.kind, UL_PEAK_FACE);
  assert_near(box.extent_mm, hypot(60, 40), 1e-9);
  assert_near(ul_distance(box.at_mm, (double[3]){30, 20, 30}), 0, 1e-9);
  assert_int_equal(box.end_count, 4);
  for (int corner = 0; corner < 4; corner++) {
    const double at[3] = {corner & 1 ? 60 : 0, corner & 2 ? 40 : 0, 30};
    double nearest = INFINITY;
    for (int e = 0; e < 4; e++) nearest = fmin(nearest, ul_distance(at, box.end_mm[e]));
    assert_true(nearest == 0);
  }
  ul_peak round = only_peak(shape_cylinder(20, 30, 64), up);
  assert_int_equal(round.kind, UL_PEAK_FACE);
  assert_near(round.extent_mm, 40, 1e-9);
  assert_int_equal(round.end_count, 8);
}

/* The ray through the place below an edge can miss the cavity by less than a cube, and did: of a
 * box 30 high the air at its raised edge was 120 or nothing, as the lattice fell. */
static void the_air_below_a_raised_edge_is_as_thick_as_the_box(void **state) {
  (void)state;
  for (int n = 0; n < 12; n++) {
    lie l = lie_make(shape_box(120, 80, 30), 100 + 7 * n);
    for (int deg = 2; deg <= 44; deg += 7)
      for (int side = 0; side < 4; side++) {
        double up[3] = {0, 0, cos(deg * degree)};
        up[side / 2] = (side % 2 ? -1 : 1) * sin(deg * degree);
        ul_peaks *peaks = peaks_of(&l, up);
        assert_int_equal(peaks->count, 1);
        assert_near(peaks->peak[0].half_gap_mm, 15, 1e-9);
        ul_peaks_free(peaks);
      }
    lie_free(&l);
  }
}

/* The middle of a ring is not on it. */
static void the_place_of_a_ring_shaped_top_is_on_the_ring(void **state) {
  (void)state;
  const double up[3] = {0, 0, 1};
  ul_peak tube = only_peak(shape_tube(20, 30, 25, 48), up);
  assert_int_equal(tube.kind, UL_PEAK_FACE);
  double radius = hypot(tube.at_mm[0], tube.at_mm[1]);
  assert_true(radius > 20 * cos(M_PI / 48) - 1e-9 && radius < 30 + 1e-9);
  assert_near(tube.at_mm[2], 25, 1e-9);
  ul_peak ring = only_peak(shape_torus(30, 10, 48, 24), up);
  assert_near(ring.at_mm[2], 10, 1e-9);
  assert_near(ring.extent_mm, 60, 1e-9);
}

static void a_lid_a_third_of_a_degree_off_is_still_a_face(void **state) {
  (void)state;
  const double up[3] = {sin(0.3 * degree), 0, cos(0.3 * degree)};
  ul_peak p = only_peak(shape_box(60, 40, 30), up);
  assert_int_equal(p.kind, UL_PEAK_FACE);
  assert_near(ul_distance(p.at_mm, (double[3]){60, 20, 30}), 0, 1e-9); /* and its top is exact */
}

/* --- thin things --- */

/* Corners in one line, not evenly apart, and each off it by a unit in the last place or none. */
static void a_level_edge_of_several_corners_has_its_whole_length(void **state) {
  (void)state;
  const double x[2] = {0, 40}, y[5] = {0, 0.3, 0.7, 13, 60}, z[2] = {0, 20};
  const unsigned char solid[4] = {1, 1, 1, 1};
  for (int off = 0; off < 243; off++) { /* five corners, three ways each */
    ul_mesh *mesh = shape_cells(x, 1, y, 4, z, 1, solid);
    for (size_t v = 0; v < mesh->vertex_count; v++) {
      double *p = mesh->vertex_mm[v];
      int corner = 0, way = off;
      while (y[corner] < p[1]) corner++;
      while (corner-- > 0) way /= 3;
      if (p[0] == 40) p[0] += (way % 3 - 1) * 7.2e-15;
    }
    lie l = lie_make(mesh, 20);
    ul_peaks *peaks = peaks_of(&l, (double[3]){1, 0, 1});
    assert_int_equal(peaks->count, 1);
    assert_near(peaks->peak[0].extent_mm, 60, 1e-9);
    assert_near(ul_distance(peaks->peak[0].at_mm, (double[3]){40, 30, 20}), 0, 1e-9);
    ul_peaks_free(peaks);
    lie_free(&l);
  }
}

/* A lid like a comb of three arms, the middle one the shorter: the hull does not know its tip. */
static void the_tips_of_a_lid_are_ends(void **state) {
  (void)state;
  const double x[4] = {0, 60, 250, 300}, y[6] = {0, 40, 130, 170, 260, 300}, z[2] = {0, 30};
  unsigned char solid[15];
  for (int j = 0; j < 5; j++)
    for (int i = 0; i < 3; i++) solid[3 * j + i] = i == 0 || j % 4 == 0 || (i == 1 && j == 2);
  lie l = lie_make(shape_cells(x, 3, y, 5, z, 1, solid), 40);
  ul_peaks *peaks = peaks_of(&l, (double[3]){0, 0, 1});
  assert_int_equal(peaks->count, 1);
  const double tip[6][2] = {{0, 0}, {300, 0}, {0, 300}, {300, 300}, {250, 130}, {250, 170}};
  int found = 0;
  for (int t = 0; t < 6; t++)
    for (size_t e = 0; e < peaks->peak[0].end_count; e++)
      found += ul_distance(peaks->peak[0].end_mm[e], (double[3]){tip[t][0], tip[t][1], 30}) < 1e-9;
  assert_int_equal(found, 5); /* of the middle arm one corner: the other is too near to it */
  assert_int_equal(peaks->peak[0].end_count, 5);
  ul_peaks_free(peaks);
  lie_free(&l);
}

/* A rib so low that half a degree over the lid's extent would level it: the halves are parted all
 * the same, and so they are with the lid a third of a degree off. */
static void a_low_rib_parts_a_wide_lid(void **state) {
  (void)state;
  const double x[4] = {0, 198, 202, 400}, y[2] = {0, 300}, z[3] = {0, 47, 50};
  const unsigned char solid[6] = {1, 1, 1, 1, 0, 1};
  lie l = lie_make(shape_cells(x, 3, y, 1, z, 2, solid), 100);
  const known want[2] = {{{99, 150, 50}, NAN, 400 * 300 * 50 - 4 * 300 * 3},
                         {{301, 150, 50}, 47, 198 * 300 * 3}};
  ul_peaks *peaks = peaks_of(&l, (double[3]){0, 0, 1});
  assert_peaks(peaks, want, 2);
  for (int i = 0; i < 2; i++) assert_int_equal(peaks->peak[i].kind, UL_PEAK_FACE);
  ul_peaks_free(peaks);
  peaks = peaks_of(&l, (double[3]){sin(degree / 3), 0, cos(degree / 3)});
  assert_int_equal(peaks->count, 2);
  assert_rel(peaks->peak[1].pocket_mm3, 300 * (198 * 3 - 0.5 * 198 * 198 * tan(degree / 3)), 1e-6);
  ul_peaks_free(peaks);
  lie_free(&l);
}

static void thin_ribs_part_two_peaks_at_their_foot(void **state) {
  (void)state;
  const double thick[] = {0.3, 0.5, 0.9}, lean[] = {0, 20, 45};
  for (int t = 0; t < 3; t++)
    for (int a = 0; a < 3; a++)
      for (int offset = 0; offset < 10; offset++) {
        double turn = lean[a] * degree, at = 30 + 0.1 * offset;
        const double up[3] = {sin(turn), 0, cos(turn)};
        ul_mesh *mesh = shape_rib_box(60, 16, 30, at, thick[t], 20);
        shape_rotate(mesh, 1, lean[a]); /* turned with `up`: the lid stays level */
        lie l = lie_make(mesh, a ? 75 : 60);
        ul_peaks *peaks = peaks_of(&l, up);
        assert_int_equal(peaks->count, 2);
        const ul_peak *cut = &peaks->peak[isnan(peaks->peak[0].cut_off_mm)];
        assert_near(cut->cut_off_mm, 10, 1e-9);
        double left = 16 * 20 * (at - thick[t] / 2), right = 16 * 20 * (60 - at - thick[t] / 2);
        double off = fmin(fabs(cut->pocket_mm3 / left - 1), fabs(cut->pocket_mm3 / right - 1));
        assert_true(off < 1e-9);
        ul_peaks_free(peaks);
        lie_free(&l);
      }
}

static void a_thin_sheet_is_one_peak_at_any_angle(void **state) {
  (void)state;
  const double up[3] = {0, 0, 1};
  for (double cubes = 0.5; cubes <= 3; cubes += 0.5)
    for (int deg = 0; deg <= 90; deg += 6) {
      lie l = lie_make(shape_sheet(60, 40, cubes, deg), 60); /* a cube is about 1 mm */
      ul_peaks *peaks = peaks_of(&l, up);
      assert_int_equal(peaks->count, 1);
      assert_rel(peaks->peak[0].pocket_mm3, 60 * 40 * cubes, 1e-9);
      if (cubes == 0.5) assert_true(peaks->note_count > 0); /* columns barely see it: said */
      ul_peaks_free(peaks);
      lie_free(&l);
    }
}

static void a_duct_between_two_chambers_carries_air_however_thin(void **state) {
  (void)state;
  const double up[3] = {0.1, 0, 1};
  lie l = lie_make(shape_chambers(20, 0.4, 15), 40);
  ul_peaks *peaks = peaks_of(&l, up);
  assert_int_equal(peaks->count, 2);
  assert_near(peaks->peak[1].cut_off_mm, ul_dot(peaks->up, (double[3]){20, 0, 10.2}), 1e-9);
  ul_peaks_free(peaks);
  lie_free(&l);
}

/* --- second methods --- */

/* Deeper than three cubes, the exact peaks are those of a flood cube by cube, and its are they. */
static void peaks_are_those_of_a_flood_cube_by_cube(void **state) {
  (void)state;
  uint64_t dice = 12;
  for (int n = 0; n < 10; n++) {
    lie l = lie_make(lie_shape(n), 40);
    double near = 1.5 * l.cube_mm;
    for (int tried = 0; tried < 10; tried++) {
      double up[3];
      flood_pocket cubes[1000];
      lie_random_up(&dice, up);
      ul_peaks *peaks = peaks_of(&l, up);
      size_t count = flood_deeper_than(l.columns, up, l.cube_mm, cubes);
      for (size_t i = 0; i < count; i++) {
        bool found = cubes[i].height - cubes[i].cut_off < 3 * l.cube_mm;
        for (size_t p = 0; p < peaks->count; p++)
          found |= fabs(peaks->peak[p].height_mm - cubes[i].height) < near &&
                   fabs(peaks->peak[p].cut_off_mm - cubes[i].cut_off) < near;
        assert_true(found);
      }
      for (size_t p = 0; p < peaks->count; p++) {
        bool found = !(peaks->peak[p].height_mm - peaks->peak[p].cut_off_mm > 3 * l.cube_mm);
        for (size_t i = 0; i < count; i++)
          found |= fabs(peaks->peak[p].height_mm - cubes[i].height) < near &&
                   fabs(peaks->peak[p].cut_off_mm - cubes[i].cut_off) < near;
        assert_true(found);
      }
      ul_peaks_free(peaks);
    }
    lie_free(&l);
  }
}

/* The columns' fast tree agrees with the exact one on how much air each pocket holds. */
static void the_fast_pockets_hold_what_the_exact_ones_hold(void **state) {
  (void)state;
  uint64_t dice = 13;
  for (int n = 0; n < 10; n++) {
    lie l = lie_make(lie_shape(n), 80);
    ul_air *air = NULL;
    assert_ok(ul_air_new_of(l.heights, &ul_air_columns, &air, NULL), NULL);
    double h = l.cube_mm, volume = l.solid->cavity[0].volume_mm3;
    for (int tried = 0; tried < 20; tried++) {
      double up[3];
      ul_pocket pocket[64];
      size_t count;
      lie_random_up(&dice, up);
      ul_peaks *peaks = peaks_of(&l, up);
      assert_ok(ul_air_pockets(air, up, 0, 64, pocket, &count), NULL);
      for (size_t p = 0; p < peaks->count; p++) {
        const ul_peak *exact = &peaks->peak[p];
        if (exact->pocket_mm3 < 200 * h * h * h) continue;
        double off = INFINITY;
        for (size_t i = 0; i < count; i++)
          if (fabs(pocket[i].height_mm - exact->height_mm) < 1.5 * h)
            off = fmin(off, fabs(pocket[i].pocket_mm3 - exact->pocket_mm3));
        assert_true(off < 0.02 * volume);
      }
      ul_peaks_free(peaks);
    }
    ul_air_free(air);
    lie_free(&l);
  }
}

/* On the skin the fast sweep is as exact as the tree. */
static void the_fast_pockets_of_the_skin_are_the_exact_ones(void **state) {
  (void)state;
  uint64_t dice = 14;
  for (int n = 0; n < 10; n++) {
    lie l = lie_make(lie_shape(n), 40);
    ul_air *air = NULL;
    assert_ok(ul_air_new_of(l.heights, &ul_air_skin, &air, NULL), NULL);
    for (int tried = 0; tried < 40; tried++) {
      double up[3], least = 2 * l.cube_mm * l.cube_mm * l.cube_mm;
      ul_pocket pocket[64];
      size_t count, p = 0;
      lie_random_up(&dice, up);
      ul_peaks *peaks = peaks_of(&l, up);
      assert_ok(ul_air_pockets(air, up, 0, 64, pocket, &count), NULL);
      for (size_t i = 0; i < peaks->count; i++) {
        const ul_peak *exact = &peaks->peak[i];
        if (exact->pocket_mm3 < least) continue;
        assert_true(p < count);
        assert_near(pocket[p].height_mm, exact->height_mm, 1e-9 + 0.005 * exact->extent_mm);
        assert_true(isnan(exact->cut_off_mm) ||
                    fabs(pocket[p].cut_off_mm - exact->cut_off_mm) < 1e-9);
        assert_rel(pocket[p].pocket_mm3, exact->pocket_mm3, 1e-9);
        p++;
      }
      assert_int_equal(p, count);
      ul_peaks_free(peaks);
    }
    ul_air_free(air);
    lie_free(&l);
  }
}

/* --- what must not matter --- */

static void assert_same(const ul_peaks *a, const ul_peaks *b, double mm) {
  assert_int_equal(a->count, b->count);
  for (size_t i = 0; i < a->count; i++) {
    assert_near(ul_distance(a->peak[i].at_mm, b->peak[i].at_mm), 0, mm);
    assert_int_equal(a->peak[i].kind, b->peak[i].kind);
    assert_int_equal(a->peak[i].end_count, b->peak[i].end_count);
    assert_rel(a->peak[i].pocket_mm3, b->peak[i].pocket_mm3, 1e-6);
  }
}

/* Also where an edge or a face is level without lying along an axis. */
static void a_rounding_error_in_the_attitude_changes_no_peak(void **state) {
  (void)state;
  const double ups[][3] = {{0, 0, 1}, {0, 0, -1},      {1, 0, 0},
                           {0, 1, 0}, {0.5, 0, 0.866}, {0, 0.6, 0.8}};
  for (int n = 0; n < 10; n++) {
    lie l = lie_make(lie_shape(n), 40);
    for (size_t u = 0; u < sizeof ups / sizeof *ups; u++)
      for (int c = 0; c < 3; c++) {
        double off[3];
        ul_copy3(ups[u], off);
        off[c] += 1e-9;
        ul_peaks *a = peaks_of(&l, ups[u]), *b = peaks_of(&l, off);
        assert_same(a, b, 1e-4);
        ul_peaks_free(a);
        ul_peaks_free(b);
      }
    lie_free(&l);
  }
}

static void five_metres_off_the_peaks_are_as_exact(void **state) {
  (void)state;
  const double up[3] = {0.3, 0.2, 0.9}, far[3] = {5000, -5000, 5000};
  for (int n = 0; n < 10; n++) {
    ul_mesh *moved = lie_shape(n);
    shape_move(moved, far[0], far[1], far[2]);
    lie near = lie_make(lie_shape(n), 40), off = lie_make(moved, 40);
    ul_peaks *a = peaks_of(&near, up), *b = peaks_of(&off, up);
    assert_int_equal(a->count, b->count);
    for (size_t i = 0; i < a->count; i++) {
      double back[3];
      ul_sub(b->peak[i].at_mm, far, back);
      assert_near(ul_distance(back, a->peak[i].at_mm), 0, 1e-8);
      assert_rel(b->peak[i].pocket_mm3, a->peak[i].pocket_mm3, 1e-9);
    }
    ul_peaks_free(a);
    ul_peaks_free(b);
    lie_free(&near);
    lie_free(&off);
  }
}

/* --- where the mesh is not the wall --- */

/* Two boxes that overlap in a third of each, one higher: the union has a step. */
static void overlapping_shells_are_judged_by_columns_and_that_is_said(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(30, 20, 20), *other = shape_box(30, 20, 30);
  shape_move(other, 20, 0, 0);
  shape_append(mesh, other);
  lie l = lie_make(mesh, 50);
  l.solid->overlapping = true;
  ul_heights_free(l.heights);
  assert_ok(ul_heights_new(l.solid, l.columns, NULL, &l.heights, NULL), NULL);
  const double up[3] = {-sin(20 * degree), 0, cos(20 * degree)};
  ul_peaks *peaks = peaks_of(&l, up);
  assert_int_equal(peaks->count, 2); /* the high box's edge, and the low one's outer edge */
  assert_near(peaks->peak[0].height_mm, ul_dot(up, (double[3]){20, 0, 30}), l.cube_mm);
  assert_near(peaks->peak[1].height_mm, ul_dot(up, (double[3]){0, 0, 20}), l.cube_mm);
  assert_near(peaks->peak[1].cut_off_mm, ul_dot(up, (double[3]){20, 0, 20}), 1.5 * l.cube_mm);
  assert_int_equal(peaks->note_count, 1);
  assert_non_null(strstr(peaks->note[0], "overlapping shells"));
  ul_peaks_free(peaks);
  lie_free(&l);
}

/* Two cubes that touch along an edge alone: no air passes there. */
static void air_does_not_pass_where_two_parts_only_touch(void **state) {
  (void)state;
  const double at[][3] = {{0, 0, 0},   {10, 0, 0},   {10, 10, 0},  {0, 10, 0},   {0, 0, 10},
                          {10, 0, 10}, {10, 10, 10}, {0, 10, 10},  {20, 10, 0},  {20, 20, 0},
                          {10, 20, 0}, {20, 10, 15}, {20, 20, 15}, {10, 20, 15}, {10, 10, 15}};
  enum { TOP_SHARED = 6, TALL = 14 };
  const uint32_t quad[12][4] = {{0, 3, 2, 1},   {4, 5, 6, 7},   {0, 1, 5, 4},    {1, 2, 6, 5},
                                {2, 3, 7, 6},   {3, 0, 4, 7},   {2, 10, 9, 8},   {14, 11, 12, 13},
                                {2, 8, 11, 14}, {8, 9, 12, 11}, {9, 10, 13, 12}, {10, 2, 14, 13}};
  ul_mesh *mesh = shape_new(15, 24);
  memcpy(mesh->vertex_mm, at, sizeof at);
  for (int q = 0; q < 12; q++)
    for (int half = 0; half < 2; half++)
      for (int c = 0; c < 3; c++) mesh->triangle[2 * q + half][c] = quad[q][c == 0 ? 0 : c + half];
  lie l = lie_make(mesh, 30);
  const double up[3] = {0, 0, 1};
  ul_peaks *peaks = peaks_of(&l, up);
  assert_int_equal(peaks->count, 2);
  for (int i = 0; i < 2; i++) assert_true(isnan(peaks->peak[i].cut_off_mm));
  assert_rel(peaks->peak[0].pocket_mm3, 1500, 1e-9);
  assert_rel(peaks->peak[1].pocket_mm3, 1000, 1e-9);
  ul_peaks_free(peaks);
  lie_free(&l);
}

/* --- the door --- */

static void small_voids_are_let_be_and_bad_wishes_refused(void **state) {
  (void)state;
  lie l = lie_make(shape_horn_and_dome(), 60);
  const double up[3] = {0.3, 0.2, 0.9}, none[3] = {0, 0, 0};
  ul_peaks_opts opts = ul_peaks_opts_default(), zeroed = {0};
  ul_peaks *peaks = NULL;
  ul_error err;
  assert_ok(ul_peaks_find(l.heights, up, &opts, &peaks, &err), &err);
  assert_int_equal(peaks->count, 3);
  ul_peaks_free(peaks);
  opts.void_ok_mm3 = 500;
  assert_ok(ul_peaks_find(l.heights, up, &opts, &peaks, &err), &err);
  assert_int_equal(peaks->count, 2);
  ul_peaks_free(peaks);
  assert_int_equal(ul_peaks_find(l.heights, none, NULL, &peaks, &err), UL_E_USAGE);
  assert_null(peaks);
  assert_int_equal(ul_peaks_find(l.heights, up, &zeroed, &peaks, &err), UL_E_USAGE);
  opts.void_ok_mm3 = -1;
  assert_int_equal(ul_peaks_find(l.heights, up, &opts, &peaks, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "-1 mm3"));
  lie_free(&l);
}

static void a_lattice_that_misses_the_cavity_is_refused(void **state) {
  (void)state;
  lie l = lie_make(shape_box(10, 10, 10), 10);
  ul_lattice lattice = {{100, 100, 100}, 1, {4, 4, 4}};
  ul_columns *columns = NULL;
  ul_heights *heights = NULL;
  ul_error err;
  assert_ok(ul_columns_build(l.solid, NULL, 0, &lattice, NULL, &columns, &err), &err);
  assert_int_equal(ul_heights_new(l.solid, columns, NULL, &heights, &err), UL_E_THIN);
  assert_null(heights);
  assert_non_null(strstr(err.text, "take smaller cubes"));
  ul_columns_free(columns);
  lie_free(&l);
}

static void any_failing_allocation_is_reported(void **state) {
  (void)state;
  for (int overlapping = 0; overlapping < 2; overlapping++) {
    lie l = lie_make(shape_box_in_box(40, 20), 12);
    l.solid->overlapping = overlapping;
    ul_heights_free(l.heights);
    assert_ok(ul_heights_new(l.solid, l.columns, NULL, &l.heights, NULL), NULL);
    const double up[3] = {0.3, 0.2, 0.9};
    ul_status status = UL_E_MEMORY;
    for (long nth = 1; status == UL_E_MEMORY; nth++) {
      ul_peaks *peaks = NULL;
      ul_memory_fail_at(nth);
      status = ul_peaks_find(l.heights, up, NULL, &peaks, NULL);
      ul_memory_fail_at(0);
      assert_true((status == UL_OK) == (peaks != NULL));
      ul_peaks_free(peaks);
      assert_true(nth < 1000);
    }
    assert_int_equal(status, UL_OK);
    lie_free(&l);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_teeth_of_a_raised_comb),
      cmocka_unit_test(the_noses_of_a_stair_leant_back),
      cmocka_unit_test(the_legs_of_an_upright_u),
      cmocka_unit_test(the_feet_of_an_arch_on_its_head),
      cmocka_unit_test(a_shape_without_dents_has_one_peak_at_its_highest_vertex),
      cmocka_unit_test(a_gable_peaks_along_its_ridge_when_that_is_level),
      cmocka_unit_test(a_dome_is_a_point_however_finely_it_is_cut),
      cmocka_unit_test(a_lid_is_a_face_to_be_vented_at_its_ends),
      cmocka_unit_test(the_air_below_a_raised_edge_is_as_thick_as_the_box),
      cmocka_unit_test(the_place_of_a_ring_shaped_top_is_on_the_ring),
      cmocka_unit_test(a_lid_a_third_of_a_degree_off_is_still_a_face),
      cmocka_unit_test(a_level_edge_of_several_corners_has_its_whole_length),
      cmocka_unit_test(the_tips_of_a_lid_are_ends),
      cmocka_unit_test(a_low_rib_parts_a_wide_lid),
      cmocka_unit_test(thin_ribs_part_two_peaks_at_their_foot),
      cmocka_unit_test(a_thin_sheet_is_one_peak_at_any_angle),
      cmocka_unit_test(a_duct_between_two_chambers_carries_air_however_thin),
      cmocka_unit_test(peaks_are_those_of_a_flood_cube_by_cube),
      cmocka_unit_test(the_fast_pockets_hold_what_the_exact_ones_hold),
      cmocka_unit_test(the_fast_pockets_of_the_skin_are_the_exact_ones),
      cmocka_unit_test(a_rounding_error_in_the_attitude_changes_no_peak),
      cmocka_unit_test(five_metres_off_the_peaks_are_as_exact),
      cmocka_unit_test(overlapping_shells_are_judged_by_columns_and_that_is_said),
      cmocka_unit_test(air_does_not_pass_where_two_parts_only_touch),
      cmocka_unit_test(small_voids_are_let_be_and_bad_wishes_refused),
      cmocka_unit_test(a_lattice_that_misses_the_cavity_is_refused),
      cmocka_unit_test(any_failing_allocation_is_reported),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
