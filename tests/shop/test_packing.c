/* Packing: the pressure of a full mould, and where a pack stands to the card. */
#include "shapes/check.h"
#include "ullage/foam_card.h"
#include "ullage/packing.h"

#include <math.h>
#include <string.h>

/* p/p0 = (V_free - V_liquid) / (V_cavity - V_liquid), worked out at high precision for a liquid of
 * 1100 kg/m3. */
static void a_full_mould_presses_as_the_mass_balance_says(void **state) {
  (void)state;
  static const double pack[6] = {1.05, 1.1, 1.2, 1.5, 2.0, 2.5};
  static const struct {
    double free, ratio[6];
  } rows[] = {{30, {1.0515, 1.1031, 1.2068, 1.5213, 2.0577, 2.6098}},
              {60, {1.0530, 1.1064, 1.2140, 1.5446, 2.1224, 2.7368}},
              {160, {1.0590, 1.1190, 1.2423, 1.6395, 2.4103, 3.3571}},
              {250, {1.0657, 1.1333, 1.2750, 1.7586, 2.8333, 4.4737}}};
  for (size_t r = 0; r < 4; r++)
    for (size_t k = 0; k < 6; k++)
      assert_near(ul_pack_ratio(pack[k], rows[r].free / 1100, 1), rows[r].ratio[k], 5.1e-5);
}

/* Second method: by volumes, of a litre. */
static void a_foam_presses_as_its_own_volume_law_says(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  for (double pack = 1.05; pack < 3; pack += 0.17) {
    double kg = 1e-3 * 64 * pack, gauge = ul_pack_gauge_pa(&f, pack);
    assert_rel(kg * ul_foam_volume_m3_kg(&f, 0.98, UL_ATMOSPHERE_PA + gauge), 1e-3, 1e-12);
  }
}

static void a_short_charge_makes_no_pressure_and_a_liquid_one_all(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  assert_true(ul_pack_gauge_pa(&f, 0.9) == 0);
  assert_true(isinf(ul_pack_gauge_pa(&f, 1080.0 / 64)));
}

static void judged(double pack, ul_pack_verdict want, const char *says) {
  ul_foam f = *ul_foam_generic(2); /* cushion-60: liquid 1070, pack 1.1 to 1.3 */
  char words[200];
  assert_int_equal(ul_pack_judge(&f, pack, words), want);
  assert_non_null(strstr(words, says));
}

static void a_pack_is_judged_against_the_card(void **state) {
  (void)state;
  judged(0.9, UL_PACK_SHORT, "under 1");
  judged(1.05, UL_PACK_UNDER, "under the card's 1.1 to 1.3");
  judged(1.1, UL_PACK_WITHIN, "within");
  judged(1.3, UL_PACK_WITHIN, "within");
  judged(1.31, UL_PACK_OVER, "over the card's 1.1 to 1.3");
  judged(17.9, UL_PACK_LIQUID, "liquid (17.8)");
}

static void a_card_without_a_pack_gets_the_trades(void **state) {
  (void)state;
  ul_foam f = ul_foam_middling();
  f.pack = (ul_span){0, 0};
  assert_rel(ul_pack_usual(&f), (1.15 + 1.30) / 2, 1e-15); /* common practice, no source */
  assert_rel(ul_pack_for_density(&f, 96), 1.5, 1e-15);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_full_mould_presses_as_the_mass_balance_says),
      cmocka_unit_test(a_foam_presses_as_its_own_volume_law_says),
      cmocka_unit_test(a_short_charge_makes_no_pressure_and_a_liquid_one_all),
      cmocka_unit_test(a_pack_is_judged_against_the_card),
      cmocka_unit_test(a_card_without_a_pack_gets_the_trades),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
