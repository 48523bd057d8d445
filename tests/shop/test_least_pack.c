/* The least charge that fills, on grids of whole cubes, with the reference foam: 1080 and 64 kg/m3,
 * progress 0.98 at set. */
#include "rise/mask.h"
#include "shapes/check.h"
#include "ullage/least_pack.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const ul_job one_thread = {.threads = 1};

/* Of a box poured in the middle of its floor, air leaving everywhere. */
static ul_least_pack least_of_box(double x, double y, double z, double cube, double most) {
  ul_grid *grid = mask_grid((double[3]){x, y, z}, cube, mask_everything, NULL);
  float *mobility = mask_mobility(grid, fmin(x, fmin(y, z)) / 2);
  const double pour[1][3] = {{x / 2, y / 2, cube / 2}};
  ul_rise_opts opts = ul_rise_opts_default();
  opts.mobility_mm2 = mobility;
  opts.pour_mm = pour;
  opts.poured_s = 10;
  opts.open = true;
  ul_least_pack found;
  ul_error err = {0};
  assert_ok(ul_least_pack_find(grid, NULL, &opts, most, &one_thread, &found, &err), &err);
  free(mobility);
  mask_free(grid);
  return found;
}

/* Stout: only the volume counts. P (x + (1 - x) 0.98) = 0.995, found to 0.01. */
static void a_stout_box_wants_what_its_volume_wants(void **state) {
  (void)state;
  double x = 64.0 / 1080, want = 0.995 / (x + (1 - x) * 0.98);
  ul_least_pack found = least_of_box(130, 90, 40, 10, 1.6);
  assert_true(found.fills && found.short_volume < 0.005);
  assert_true(found.pack >= want - 1e-3 && found.pack <= want + 0.01);
  assert_int_equal(found.rises, 7); /* one at the most, then 0.6 halved to 0.01 */
}

/* A slender upright cavity needs more: common practice, no source. */
static void a_slender_upright_wants_more_the_longer_it_is(void **state) {
  (void)state;
  ul_least_pack stout = least_of_box(40, 40, 40, 10, 1.6);
  ul_least_pack slender = least_of_box(20, 20, 300, 5, 1.6);
  ul_least_pack longer = least_of_box(20, 20, 450, 5, 1.6);
  assert_true(stout.fills && slender.fills && longer.fills);
  assert_true(slender.pack > stout.pack + 0.05);
  assert_true(longer.pack > slender.pack + 0.05);
}

/* F3, both ends (common practice, no source): a lidded mould needs 1.15 to 1.30 of the open mould's
 * charge. So does a thin pad, with what a careless twentieth takes off (repeats.h); it is not full
 * at 1.1. A stout box has nothing to lose, so its own least is far under the trade's: what skins
 * keep is not in the model. */
static void a_thin_lidded_pad_needs_what_the_trade_gives_it(void **state) {
  (void)state;
  const double careless = 0.95;
  ul_least_pack pad = least_of_box(400, 300, 10, 5, 1.6);
  assert_true(pad.fills && pad.pack > 1.1);
  assert_true(pad.pack / careless >= 1.15 && pad.pack / careless <= 1.3);
}

static void what_no_charge_fills_is_said(void **state) {
  (void)state;
  ul_least_pack found = least_of_box(20, 20, 450, 5, 1.05);
  assert_false(found.fills);
  assert_true(found.pack == 1.05 && found.short_volume > 0.005 && found.rises == 1);
}

static void a_search_up_to_nothing_is_refused(void **state) {
  (void)state;
  ul_rise_opts opts = ul_rise_opts_default();
  ul_grid *grid = mask_grid((double[3]){20, 20, 20}, 10, mask_everything, NULL);
  ul_least_pack found;
  ul_error err;
  assert_int_equal(ul_least_pack_find(grid, NULL, &opts, 1, &one_thread, &found, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "above 1"));
  mask_free(grid);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_stout_box_wants_what_its_volume_wants),
      cmocka_unit_test(a_slender_upright_wants_more_the_longer_it_is),
      cmocka_unit_test(a_thin_lidded_pad_needs_what_the_trade_gives_it),
      cmocka_unit_test(what_no_charge_fills_is_said),
      cmocka_unit_test(a_search_up_to_nothing_is_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
