/* Where foam comes last, on grids of whole cubes with arrivals by formula and by a rise. */
#include "base/vec.h"
#include "rise/mask.h"
#include "shapes/check.h"
#include "ullage/last.h"
#include "ullage/rise.h"

#include <math.h>
#include <stdlib.h>

typedef double (*arrival_fn)(const double at[3]);

static float *arrivals(const ul_grid *g, arrival_fn arrival) {
  const ul_lattice *l = &g->lattice;
  float *s = calloc(g->cube_count, sizeof *s);
  size_t i = 0;
  for (int32_t z = 0; z < l->n[2]; z++)
    for (int32_t y = 0; y < l->n[1]; y++)
      for (int32_t x = 0; x < l->n[0]; x++, i++) {
        const int32_t cube[3] = {x, y, z};
        double at[3];
        for (int c = 0; c < 3; c++) at[c] = l->origin_mm[c] + (cube[c] + 0.5) * l->cube_mm;
        s[i] = g->inside[i] ? (float)arrival(at) : NAN;
      }
  return s;
}

/* Three teeth up from a bar: 10 wide, 20, 30 and 40 high, at x = 0, 20 and 40. */
static bool teeth(const double at[3], const void *context) {
  (void)context;
  int tooth = (int)(at[0] / 20);
  return at[2] < 10 || (at[0] - 20 * tooth < 10 && at[2] < 10 + 10 * (tooth + 2));
}

static double by_height(const double at[3]) {
  return at[2];
}

/* Equal tops in the tooth are told apart, or there would be ten peaks of it. */
static double by_height_and_x(const double at[3]) {
  return at[2] + 1e-3 * at[0] + 1e-4 * at[1];
}

static void the_longest_branch_is_first_and_adds_its_whole_way(void **state) {
  (void)state;
  ul_grid *g = mask_grid((double[3]){50, 10, 50}, 1, teeth, NULL);
  const double up[3] = {0, 0, 1};
  float *s = arrivals(g, by_height_and_x);
  ul_last_place place[8];
  size_t count;
  ul_error err = {0};
  assert_ok(ul_last_places(g, NULL, s, up, 0, 8, place, &count, &err), &err);
  assert_int_equal(count, 3);
  for (int i = 0; i < 3; i++) { /* from the bar's top upwards a tooth adds what is in it */
    int tooth = 2 - i;
    assert_true(place[i].at_mm[0] > 20 * tooth && place[i].at_mm[0] < 20 * tooth + 10);
    assert_near(place[i].at_mm[2], 10 + 10 * (tooth + 2), 1e-9);
    double volume = 100 * 10.0 * (tooth + 2) + (i == 0 ? 50 * 10 * 10 : 0);
    assert_near(place[i].adds_mm3, volume, 100 + 1e-6); /* the joins lie within a layer */
  }
  /* under the limit only the first is listed, and no more than asked for */
  assert_ok(ul_last_places(g, NULL, s, up, 1e6, 8, place, &count, &err), &err);
  assert_int_equal(count, 1);
  assert_ok(ul_last_places(g, NULL, s, up, 0, 2, place, &count, &err), &err);
  assert_int_equal(count, 2);
  free(s);
  mask_free(g);
}

static bool two_boxes(const double at[3], const void *context) {
  (void)context;
  return at[0] < 10 || at[0] > 20;
}

static void each_cavity_has_one_however_small(void **state) {
  (void)state;
  ul_grid *g = mask_grid((double[3]){60, 10, 10}, 1, two_boxes, NULL);
  float *s = arrivals(g, by_height);
  ul_last_place place[8];
  size_t count;
  ul_error err = {0};
  assert_ok(ul_last_places(g, NULL, s, (double[3]){0, 0, 1}, 1e9, 8, place, &count, &err), &err);
  assert_int_equal(count, 2);
  assert_true(place[0].cavity == 1 && place[1].cavity == 0); /* the larger first */
  assert_near(place[0].adds_mm3, 40 * 10 * 10, 1e-6);
  free(s);
  mask_free(g);
}

/* A level lidded box, its air free to leave everywhere: the corners of the lid come last (the
 * trade; common practice, no source), and they are the four best places. */
static void of_an_open_rise_in_a_level_box_it_is_the_corners(void **state) {
  (void)state;
  const double pour[1][3] = {{60, 40, 2}};
  ul_grid *g = mask_grid((double[3]){120, 80, 40}, 5, mask_everything, NULL);
  float *mobility = mask_mobility(g, 20);
  ul_rise_opts opts = ul_rise_opts_default();
  opts.mobility_mm2 = mobility;
  opts.pour_mm = pour;
  opts.poured_s = 10;
  opts.open = true;
  opts.pack = 1.25;
  ul_rise *rise;
  ul_error err = {0};
  assert_ok(ul_rise_run(g, NULL, &opts, NULL, &rise, &err), &err);
  assert_near(rise->cavity[0].mass_error, 0, 1e-9);
  assert_int_equal(rise->cavity[0].rough_steps, 0);
  ul_last_place place[4];
  size_t count;
  assert_ok(ul_last_places(g, NULL, rise->arrival_s, opts.up, 0, 4, place, &count, &err), &err);
  assert_int_equal(count, 4);
  int corners = 0;
  for (int i = 0; i < 4; i++) {
    const double *at = place[i].at_mm;
    int right = at[0] > 60, back = at[1] > 40;
    assert_true(fabs(at[0] - 120 * right) <= 5 && fabs(at[1] - 80 * back) <= 5 && at[2] > 35);
    corners |= 1 << (2 * back + right);
  }
  assert_int_equal(corners, 15);
  ul_rise_free(rise);
  free(mobility);
  mask_free(g);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_longest_branch_is_first_and_adds_its_whole_way),
      cmocka_unit_test(each_cavity_has_one_however_small),
      cmocka_unit_test(of_an_open_rise_in_a_level_box_it_is_the_corners),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
