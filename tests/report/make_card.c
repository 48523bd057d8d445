/* make_card PDF [eight|VERDICT] - the bench card of a made-up box with a foam, vents to plug and
 * air that stays, for test_card.py to read back; or with eight vents far off, each to be plugged
 * late; or with that verdict, in inches, a small charge and many holes. */
#include "shapes/shapes.h"
#include "ullage/card.h"
#include "ullage/foam_card.h"
#include "ullage/ullage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int main(int argc, char **argv) {
  ul_error err = {0};
  ul_solid_opts opts = ul_solid_opts_default();
  ul_mesh *mesh = shape_box(300, 200, 40);
  ul_audit *audit;
  ul_solid *solid;
  const bool eight = argc > 2 && strcmp(argv[2], "eight") == 0, other = argc > 2 && !eight;
  if (argc < 2 || ul_audit_mesh(mesh, &opts, NULL, &audit, &solid, &err) != UL_OK) return 2;
  const ul_foam *foam = ul_foam_generic(0);
  const ul_charge_opts weigh = ul_charge_opts_default();
  const ul_hold_opts hold_opts = ul_hold_opts_default();
  const ul_hands hands = ul_hands_default();
  const ul_caution care = {
      UL_WHEN_WEIGH, "The A side is isocyanate: it can make people asthmatic for life. "
                     "Ventilate, gloves, eye protection, a respirator as the data sheet asks; "
                     "nobody with asthma or sensitised works with it. Training before use is "
                     "law in many places."};
  ul_charge charge;
  ul_hold hold;
  ul_status status =
      ul_charge_make(foam, solid->cavity[0].volume_mm3 / (other ? 30 : 1), &weigh, &charge, &err);
  if (status == UL_OK) status = ul_hold_make(foam, charge.pack, 60000, &hold_opts, &hold, &err);
  if (status != UL_OK) return 2;
  const ul_clock clock = ul_clock_run(foam, charge.pack, &hands, NULL);
  const ul_tool tool = ul_tool_wall(solid, 20, false);
  ul_vent vent[14];
  const uint32_t holes = other ? 14 : 3;
  for (uint32_t i = 0; i < holes; i++)
    vent[i] = (ul_vent){.id = i + 1,
                        .at_mm = {298 - 40.0 * i, 100, 40},
                        .axis = {0, 0, 1},
                        .diameter_mm = 3,
                        .length_mm = 20,
                        .through_mm = {298 - 40.0 * i, 100, 60},
                        .plug = !other && i != 1,
                        .exists = other && i == 1,
                        .closed = other && i == 1,
                        .ok = true};
  for (uint32_t i = 0; eight && i < 8; i++) {
    vent[i] = vent[0];
    vent[i].id = i + 1;
    vent[i].at_mm[0] = -1298.4 - i;
    vent[i].at_mm[1] = -1100.2;
    vent[i].at_mm[2] = -1040.8;
    vent[i].diameter_mm = 2.38125;
    vent[i].length_mm = 118;
    vent[i].ok = i != 6;
  }
  const ul_vents vents = {.count = eight ? 8 : holes, .vent = vent};
  const double pour[1][3] = {{10, 100, 0}}, shows[14] = {62.4, 55.1, 41.2},
               late[8] = {148, 147, 146, 145, 144, 143, 142, 141};
  const ul_card_air air[3] = {
      {1, {250, 150, 39}, 1260}, {2, {50, 150, 39}, 800}, {3, {20, 20, 39}, 60}};
  ul_props props;
  ul_card card = {.name = "made up",
                  .solid = solid,
                  .tool = &tool,
                  .props = &props,
                  .vents = &vents,
                  .foam_shows_s = eight ? late : shows,
                  .air_count = eight || other ? 0 : 3,
                  .air = air,
                  .pour_mm = pour,
                  .datum = ul_datum_default(),
                  .tries = 20,
                  .good = 19,
                  .tries_how = "on heights alone",
                  .verdict = other ? argv[2] : "fills",
                  .caution_count = other ? 1 : 0,
                  .caution = &care,
                  .inch = other,
                  .sound = true,
                  .charge = &charge,
                  .clock = &clock,
                  .hold = &hold};
  ul_up_from_raise(15, 0, card.up, NULL);
  ul_props_for(&tool, card.up, &props);
  status = ul_write_card(&card, argv[1], &err);
  printf("%.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %zu %zu\n", charge.a_g, charge.b_g,
         charge.pigment_g, charge.scale_g, clock.poured_s, clock.shut_s, clock.turned_s,
         hold.clamp_n, hold.peak_kpa, hold.bolts_m6, hold.bolts_m8);
  ul_solid_free(solid);
  ul_audit_free(audit);
  ul_mesh_free(mesh);
  return status == UL_OK ? 0 : 1;
}
