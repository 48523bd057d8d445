/* Air that is shut in: how much, and that neither cube nor step decides it. */
#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "rise/mask.h"
#include "rise/mask_mould.h"
#include "shapes/check.h"
#include "ullage/rise.h"

/* ---- the level box with one vent in the middle of its lid ---- */

/* A quarter of a box 300 x 200 x 50, cut through its middle: the same rise, as the liquid lies
 * level. The mobility is the whole box's; the vent has a quarter of the area of a 3 mm hole. */
typedef struct {
  double void_share;
  double arrival_s; /* 40 mm over the middle of the floor */
} centre_vent;

enum { TERMS = 60 };

/* lap K = -1 with K = 0 on the walls of a box 300 x 200 x 50, at the cubes' centres of a quarter of
 * it whose inner corner is the box's middle: a sine series along x and y, closed along z. */
static float *quarter_of_mobility(const ul_grid *quarter, double cube) {
  const double size[3] = {300, 200, 50};
  float *out = calloc(quarter->cube_count, sizeof *out);
  for (double z = cube / 2; z < 50; z += cube) {
    double weight[TERMS][TERMS];
    for (int l = 0; l < TERMS; l++)
      for (int m = 0; m < TERMS; m++) {
        const double p = (2 * l + 1) * M_PI, q = (2 * m + 1) * M_PI;
        const double wave = hypot(p / size[0], q / size[1]);
        const double far = exp(-wave * size[2]); /* cosh over cosh, without large numbers */
        const double hump = 1 - (exp(-wave * z) + exp(-wave * (size[2] - z))) / (1 + far);
        weight[l][m] = 16 / (p * q) * hump / (wave * wave) * ((l + m) % 2 ? -1 : 1);
      }
    for (double y = cube / 2; y < 100; y += cube) {
      double along_x[TERMS] = {0};
      for (int l = 0; l < TERMS; l++)
        for (int m = 0; m < TERMS; m++)
          along_x[l] += weight[l][m] * cos((2 * m + 1) * M_PI * y / size[1]);
      for (double x = cube / 2; x < 150; x += cube) {
        double sum = 0;
        for (int l = 0; l < TERMS; l++) sum += along_x[l] * cos((2 * l + 1) * M_PI * x / size[0]);
        out[mask_cube(quarter, x, y, z)] = (float)fmax(sum, 0.015 * 25 * 25);
      }
    }
  }
  return out;
}

/* At that height, between the centres of the cubes of the first column. */
static double arrival_at(const ul_rise *r, const ul_grid *g, double z) {
  const double h = g->lattice.cube_mm, low = (floor(z / h - 0.5) + 0.5) * h, along = (z - low) / h;
  const double before = (double)r->arrival_s[mask_cube(g, h / 2, h / 2, low)];
  return before + along * ((double)r->arrival_s[mask_cube(g, h / 2, h / 2, low + h)] - before);
}

/* `thicker`: how many times the middling foam's viscosity. */
static centre_vent rise_in_quarter(double cube, double step_factor, double thicker) {
  const double size[3] = {150, 100, 50}, pour[3] = {cube / 2, cube / 2, cube / 2};
  const ul_rise_vent vent = {{0, 0, 50}, 1.5, 25, false};
  ul_grid *g = mask_grid(size, cube, mask_everything, NULL);
  float *k = quarter_of_mobility(g, cube);
  ul_rise_opts o = ul_rise_opts_default();
  o.foam.viscosity_pa_s.lo *= thicker;
  o.foam.viscosity_pa_s.hi *= thicker;
  o.mobility_mm2 = k;
  o.pour_mm = &pour;
  o.vent = &vent;
  o.vent_count = 1;
  o.pack = 1.25;
  o.poured_s = -1000; /* time enough to lie level */
  o.step_factor = step_factor;
  ul_rise *r = rise(g, &o);
  const centre_vent out = {trapped(r) / (150 * 100 * 50), arrival_at(r, g, 40)};
  ul_rise_free(r);
  free(k);
  mask_free(g);
  return out;
}

static double moved(double a, double b) {
  return fabs(a - b);
}

/* Three cubes, and apart three steps, each half of the one before. Voids seen, %:
 *   10 mm    2.447  2.492  2.534     arrivals, s   66.694  66.685  66.700
 *    5 mm    2.419  2.456  2.473                   66.512  66.506  66.502
 *  2.5 mm    2.344  2.403  2.384                   66.489  66.466  66.481
 * In the cube, arrivals come to rest (0.198, then 0.020 s); voids do not: 0.061, then 0.089. The
 * foam's top sags by some 3 mm from the vent to the rim, which a cube of 5 mm or more holds within
 * itself, and foam in a cube that is not full does not flow aside. Only cubes under 3 mm resolve
 * that; 1.67 and 1.25 mm gave 2.34 and 2.32, 2.39 and 2.26 at the half step. The step scatters a
 * void by some 0.03: by 0.02 s of the moment at which the vent is covered. An earlier trial of the
 * same model on such a box gave 2 to 3.5 %. */
static void the_void_of_a_centre_vent_converges_with_cube_and_with_step(void **state) {
  (void)state;
  const double cube[3] = {10, 5, 2.5};
  centre_vent at[3][3];
  for (int c = 0; c < 3; c++)
    for (int s = 0; s < 3; s++) at[c][s] = rise_in_quarter(cube[c], pow(0.5, s), 1);
  for (int c = 0; c < 3; c++) {
    const centre_vent *v = at[c];
    const double void_1 = moved(v[0].void_share, v[1].void_share);
    const double void_2 = moved(v[1].void_share, v[2].void_share);
    const double late_1 = moved(v[0].arrival_s, v[1].arrival_s);
    const double late_2 = moved(v[1].arrival_s, v[2].arrival_s);
    print_message("# %g mm: order in the step %.1f by void, %.1f by arrival\n", cube[c],
                  log2(void_1 / void_2), log2(late_1 / late_2));
    assert_true(void_1 < 0.0006 && void_2 < 0.0006);
    assert_true(late_1 < 0.03 && late_2 < 0.03); /* of 66 s */
    if (c == 0) continue; /* 750 cubes: the moment at which a single one fills decides */
    assert_true(void_2 < void_1);
    assert_true(late_2 < late_1);
  }
  const double late_1 = moved(at[0][2].arrival_s, at[1][2].arrival_s);
  const double late_2 = moved(at[1][2].arrival_s, at[2][2].arrival_s);
  print_message("# order in the cube %.1f by arrival\n", log2(late_1 / late_2));
  assert_true(late_2 < 0.7 * late_1);
  const double first = at[0][2].void_share - at[1][2].void_share;
  const double second = at[1][2].void_share - at[2][2].void_share;
  assert_true(fabs(first) < 0.0012 && fabs(second) < 0.0012);
  assert_near(at[2][2].void_share - second, 0.023, 0.0015); /* first order taken for the limit */
}

/* Thicker foam sags by more cubes. Voids seen, %, at half the step in cubes of 10, 5 and 2.5 (and
 * once 1.25) mm; and at 5 mm in the whole step, a half and a quarter of it:
 *    5 times   4.000   4.521   4.726  ( 4.092)     4.442   4.521   4.510
 *   10 times  10.621  12.124  11.746  (11.247)    12.063  12.124  12.095
 *   30 times  21.254  21.715  21.406  (21.429)    21.594  21.715  21.774
 * Only the thickest comes to rest in the cube. While a vent just covered stayed open for a step
 * more, its steps gave 20.3, 21.1 and 21.4. */
static void the_void_of_thick_foam_moves_less_and_less_with_cube_and_step(void **state) {
  (void)state;
  const double thicker[] = {5, 10, 30};
  centre_vent at[3];
  for (int t = 0; t < 3; t++) {
    for (int i = 0; i < 3; i++) at[i] = rise_in_quarter(5, pow(0.5, i), thicker[t]);
    const double first = moved(at[0].void_share, at[1].void_share);
    const double second = moved(at[1].void_share, at[2].void_share);
    print_message("# %g times as thick: order %.1f in the step\n", thicker[t],
                  log2(first / second));
    assert_true(second < 0.75 * first);
    assert_true(first < 0.02 * at[2].void_share);
  }
  const double coarse = rise_in_quarter(10, 0.5, thicker[2]).void_share;
  const double fine = rise_in_quarter(2.5, 0.5, thicker[2]).void_share;
  const double first = moved(coarse, at[1].void_share), second = moved(at[1].void_share, fine);
  print_message("# order %.1f in the cube\n", log2(first / second));
  assert_true(second < 0.75 * first);
  assert_true(first < 0.03 * fine);
}

/* ---- air above a vent that is not at the top ---- */

enum { THREE = 3 };

/* A pad 300 x 100 x 40, one end 20 degrees up, three vents across the middle of its lid. */
static double void_of_raised_pad(double cube, double step_factor) {
  mould m;
  make_mould(&m, 300, 100, 40, cube, mask_everything, 20);
  m.opts.up[0] = sin(20 * M_PI / 180);
  m.opts.up[2] = cos(20 * M_PI / 180);
  m.pour[0] = cube / 2;
  for (int i = 0; i < THREE; i++) add_vent(&m, 150, 20 + 30 * i, 40, 3);
  m.opts.step_factor = step_factor;
  m.opts.poured_s = -1000; /* time enough to lie level */
  ul_rise *r = rise(m.grid, &m.opts);
  const double share = trapped(r) / (300 * 100 * 40);
  ul_rise_free(r);
  free_mould(&m);
  return share;
}

static bool in_a_u(const double at[3], const void *context) {
  (void)context;
  return at[2] < 60 || at[0] < 60 || at[0] > 120;
}

/* An upright U 180 x 40 x 200, all of it 60 wide, poured in its middle, a vent on one arm only. */
static double void_of_u(double cube, double step_factor) {
  mould m;
  make_mould(&m, 180, 40, 200, cube, in_a_u, 20);
  add_vent(&m, 30, 20, 200, 3);
  m.opts.step_factor = step_factor;
  m.opts.poured_s = -1000;
  ul_rise *r = rise(m.grid, &m.opts);
  const double share = trapped(r) / (180 * 40 * 200 - 60 * 40 * 140);
  ul_rise_free(r);
  free_mould(&m);
  return share;
}

static void demand_less_and_less(const char *of, const double at[THREE]) {
  const double first = moved(at[0], at[1]), second = moved(at[1], at[2]);
  print_message("# %s: %.3f, %.3f, %.3f %%: order %.1f\n", of, 100 * at[0], 100 * at[1],
                100 * at[2], log2(first / second));
  assert_true(second < 0.75 * first);
  assert_true(first < 0.02 * at[2]);
}

/* Voids that a place decides, and not the moment at which the last of a lid is covered: both
 * halvings move them by less and less. Seen, %: in cubes of 10, 5 and 2.5 mm at a quarter of the
 * step 26.883, 26.621, 26.438 (pad; order 0.5), 19.980, 19.699, 19.540 (U; 0.8); in the whole step,
 * a half and a quarter of it in cubes of 5 mm 26.603, 26.633, 26.621 (1.3), 19.537, 19.753, 19.699
 * (2.0). */
static void voids_under_a_raised_end_and_in_an_arm_converge(void **state) {
  (void)state;
  static const struct {
    double (*of)(double, double);
    const char *cubes, *steps;
  } kept[] = {{void_of_raised_pad, "pad, cubes halved", "pad, steps halved"},
              {void_of_u, "U, cubes halved", "U, steps halved"}};
  for (size_t i = 0; i < sizeof kept / sizeof *kept; i++) {
    double at[THREE];
    for (int k = 0; k < THREE; k++) at[k] = kept[i].of(10 * pow(0.5, k), 0.25);
    demand_less_and_less(kept[i].cubes, at);
    at[2] = at[1];
    for (int k = 0; k < 2; k++) at[k] = kept[i].of(5, pow(0.5, k));
    demand_less_and_less(kept[i].steps, at);
  }
}

/* ---- pockets ---- */

/* A tray 40 mm high with five blind holes in its lid, of several widths and heights. */
static bool with_blind_holes(const double at[3], const void *context) {
  (void)context;
  static const double hole[5][4] = {
      {10, 30, 10, 80}, {50, 60, 10, 60}, {80, 110, 10, 70}, {20, 35, 50, 65}, {80, 90, 60, 100}};
  if (at[2] < 40) return true;
  for (int i = 0; i < 5; i++) {
    const double wide = hole[i][1] - hole[i][0];
    if (at[0] > hole[i][0] && at[0] < hole[i][1] && at[1] > hole[i][2] &&
        at[1] < hole[i][2] + wide && at[2] < hole[i][3])
      return true;
  }
  return false;
}

/* Air that cannot leave stands at the pressure of the foam around it, but for the weight of what is
 * between, at most the whole height's. */
static void every_sealed_pocket_stands_at_the_pressure_of_the_foam(void **state) {
  (void)state;
  const double size[3] = {120, 80, 100}, pour[3] = {62.5, 42.5, 2.5};
  ul_rise_vent vent[4];
  for (int i = 0; i < 4; i++)
    vent[i] = (ul_rise_vent){{i % 2 ? 120 : 0, i / 2 ? 80 : 0, 40}, 3, 25, false};
  ul_grid *g = mask_grid(size, 5, with_blind_holes, NULL);
  float *k = mask_mobility(g, 15);
  ul_rise_opts o = ul_rise_opts_default();
  o.mobility_mm2 = k;
  o.pour_mm = &pour;
  o.vent = vent;
  o.vent_count = 4;
  o.pack = 1.3;
  o.poured_s = 10;
  ul_rise *r = rise(g, &o);
  const ul_rise_cavity *c = &r->cavity[0];
  assert_true(c->void_count >= 5);
  const double weight = c->density_mean * 9.80665 * 0.1 * 1e-3; /* kPa over the whole height */
  for (size_t i = 0; i < c->void_count; i++) {
    assert_near(c->voids[i].pressure_kpa, c->end_kpa, 0.01 * c->end_kpa + weight);
  }
  ul_rise_free(r);
  free(k);
  mask_free(g);
}

/* Gas is kept and liquid does not give: p/p0 = P (1 - x) e / (1 - P x), x = 64/1080, e = 0.98 at
 * set, P what is left in the cavity as a multiple of free rise. */
static void a_full_mould_stands_at_the_packing_pressure(void **state) {
  (void)state;
  const double size[3] = {60, 60, 30}, pour[3] = {32.5, 32.5, 2.5}, x = 64.0 / 1080;
  ul_rise_vent vent[4];
  for (int i = 0; i < 4; i++)
    vent[i] = (ul_rise_vent){{i % 2 ? 60 : 0, i / 2 ? 60 : 0, 30}, 2, 25, false};
  ul_grid *g = mask_grid(size, 5, mask_everything, NULL);
  float *k = mask_mobility(g, 15);
  for (double pack = 1.15; pack < 2.6; pack += 0.35) {
    ul_rise_opts o = ul_rise_opts_default();
    o.mobility_mm2 = k;
    o.pour_mm = &pour;
    o.vent = vent;
    o.vent_count = 4;
    o.pack = pack;
    ul_rise *r = rise(g, &o);
    const ul_rise_cavity *c = &r->cavity[0];
    assert_true(trapped(r) < 1e-3 * 60 * 60 * 30);
    const double left = pack * (1 - c->mass_out_g / c->mass_in_g);
    const double want = 101.325 * left * (1 - x) * 0.98 / (1 - left * x);
    assert_rel(101.325 + c->end_kpa, want, 0.01);
    ul_rise_free(r);
  }
  free(k);
  mask_free(g);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_void_of_a_centre_vent_converges_with_cube_and_with_step),
      cmocka_unit_test(the_void_of_thick_foam_moves_less_and_less_with_cube_and_step),
      cmocka_unit_test(voids_under_a_raised_end_and_in_an_arm_converge),
      cmocka_unit_test(every_sealed_pocket_stands_at_the_pressure_of_the_foam),
      cmocka_unit_test(a_full_mould_stands_at_the_packing_pressure),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
