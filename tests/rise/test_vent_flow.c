#include "rise/vent_flow.h"
#include "shapes/check.h"

#include <math.h>

/* Air of ISO 2533 at 25 C, viscosity by Sutherland's formula; flows computed elsewhere to six
 * digits from the isentropic formula with a discharge of 0.61, at 1 atm. */
static const double atm = 101325, warm = 298.15, viscosity = 1.83723e-5, density = 1.18391;

static void a_sharp_hole_passes_the_tabulated_flow(void **state) {
  (void)state;
  static const struct {
    double mm, gauge, l_min;
  } row[] = {{1, 1000, 1.18106}, {2, 1000, 4.72425},   {3, 1000, 10.62956},
             {3, 100, 3.36243},  {3, 10000, 33.50696}, {2, 50000, 32.84089}};
  for (int i = 0; i < 6; i++) {
    ul_bore hole = {row[i].mm / 1000, 0, 0.61};
    double kg_s = ul_bore_air_kg_s(&hole, atm + row[i].gauge, atm, warm, viscosity);
    assert_rel(kg_s / density * 60000, row[i].l_min, 2e-5);
  }
}

/* 1 mm, 10 mm long, with 1.5 velocity heads lost: 6.1309e-6 m3/s at 100 Pa, 2.38850e-5 at 1 kPa,
 * where Poiseuille's law alone would give twice and six times that. */
static void a_short_tube_loses_head_and_rubs(void **state) {
  (void)state;
  ul_bore bore = ul_bore_of(1e-3, 10e-3);
  assert_rel(ul_bore_air_kg_s(&bore, atm + 100, atm, warm, viscosity) / density, 6.1309e-6, 1e-3);
  assert_rel(ul_bore_air_kg_s(&bore, atm + 1000, atm, warm, viscosity) / density, 2.3885e-5, 5e-3);
  assert_rel(100 * ul_bore_conductance(&bore, viscosity), 1.3359e-5, 1e-4);
}

static void it_chokes_at_the_critical_ratio(void **state) {
  (void)state;
  ul_bore hole = {2e-3, 0, 1};
  double at_choking = ul_bore_air_kg_s(&hole, atm + 90476, atm, warm, viscosity);
  double area = 3.14159265358979 * 1e-6;
  assert_rel(at_choking, 0.684731 * area * (atm + 90476) / sqrt(UL_AIR_J_KG_K * warm), 1e-5);
  /* Above it the flow knows nothing of the pressure outside. */
  assert_rel(ul_bore_air_kg_s(&hole, 3 * atm, 0.2 * atm, warm, viscosity),
             ul_bore_air_kg_s(&hole, 3 * atm, atm, warm, viscosity), 1e-9);
}

static void flow_is_odd_and_has_a_slope_at_nothing(void **state) {
  (void)state;
  ul_bore bore = ul_bore_of(3e-3, 25e-3);
  for (double drop = 1e-3; drop < 1e5; drop *= 7) {
    double out = ul_bore_air_kg_s(&bore, atm + drop, atm, warm, viscosity);
    double in = ul_bore_air_kg_s(&bore, atm, atm + drop, warm, viscosity);
    assert_true(out > 0);
    assert_rel(in, -out, 1e-12);
    assert_true(ul_bore_air_kg_s(&bore, atm + 1.01 * drop, atm, warm, viscosity) > out);
  }
  double small = ul_bore_air_kg_s(&bore, atm + 1e-3, atm, warm, viscosity);
  assert_rel(ul_bore_air_kg_s(&bore, atm + 0.5, atm, warm, viscosity), 500 * small, 1e-6);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_sharp_hole_passes_the_tabulated_flow),
      cmocka_unit_test(a_short_tube_loses_head_and_rubs),
      cmocka_unit_test(it_chokes_at_the_critical_ratio),
      cmocka_unit_test(flow_is_odd_and_has_a_slope_at_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
