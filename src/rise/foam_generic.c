#include <string.h>

#include "ullage/foam_card.h"

#define GENERIC "generic example, use your own data sheet"
#define ABOUT(value, spread)                                                                       \
  { (value) - (spread), (value) + (spread) }
/* The model's own constants as in ul_foam_middling(). */
#define MODEL                                                                                      \
  .temperature_c = 20, .rise_progress = 0.98, .rise_shape = 2, .cm_a = 1.5, .cm_b = 1,             \
  .cm_gel = 0.65, .gel_cap = 100, .gas_power = 1, .gas_cap = 20, .cream_per_10k = 2,               \
  .gel_per_10k = 2, .viscosity_j_mol = 41300, .note = GENERIC

/* The rigid ones are slow enough for a cup mixed and poured by hand in 35 s; the others want
 * quicker hands, as such foams do. */
static const ul_foam generic[] = {
    {.name = "rigid-40",
     MODEL,
     .foam_class = UL_FOAM_RIGID,
     .liquid_kg_m3 = ABOUT(1130, 20),
     .free_kg_m3 = ABOUT(40, 2),
     .viscosity_pa_s = {0.5, 0.7},
     .a_parts = ABOUT(110, 0),
     .cream_s = ABOUT(45, 4),
     .gel_s = ABOUT(170, 10),
     .rise_s = ABOUT(220, 15),
     .tack_free_s = ABOUT(260, 20),
     .demould_s = ABOUT(1800, 300),
     .pack = {1.15, 1.3}},
    {.name = "rigid-100",
     MODEL,
     .foam_class = UL_FOAM_RIGID,
     .liquid_kg_m3 = ABOUT(1120, 20),
     .free_kg_m3 = ABOUT(100, 4),
     .viscosity_pa_s = {0.7, 0.9},
     .a_parts = ABOUT(105, 0),
     .cream_s = ABOUT(50, 5),
     .gel_s = ABOUT(180, 10),
     .rise_s = ABOUT(230, 15),
     .tack_free_s = ABOUT(280, 20),
     .demould_s = ABOUT(1800, 300),
     .pack = {1.15, 1.4}},
    {.name = "cushion-60",
     MODEL,
     .foam_class = UL_FOAM_CUSHION,
     .liquid_kg_m3 = ABOUT(1070, 15),
     .free_kg_m3 = ABOUT(60, 3),
     .viscosity_pa_s = {0.8, 1.2},
     .a_parts = ABOUT(52, 0),
     .cream_s = ABOUT(18, 2),
     .gel_s = ABOUT(75, 6),
     .rise_s = ABOUT(105, 8),
     .tack_free_s = ABOUT(150, 15),
     .demould_s = ABOUT(600, 120),
     .crush_s = {30, 3600},
     .pack = {1.1, 1.3}},
    {.name = "cushion-120",
     MODEL,
     .foam_class = UL_FOAM_CUSHION,
     .liquid_kg_m3 = ABOUT(1060, 15),
     .free_kg_m3 = ABOUT(120, 5),
     .viscosity_pa_s = {1.0, 1.4},
     .a_parts = ABOUT(45, 0),
     .cream_s = ABOUT(22, 2),
     .gel_s = ABOUT(85, 6),
     .rise_s = ABOUT(115, 8),
     .tack_free_s = ABOUT(160, 15),
     .demould_s = ABOUT(720, 120),
     .crush_s = {30, 3600},
     .pack = {1.1, 1.35}},
    {.name = "self-skinning-250",
     MODEL,
     .foam_class = UL_FOAM_SELF_SKINNING,
     .liquid_kg_m3 = ABOUT(1080, 15),
     .free_kg_m3 = ABOUT(160, 8),
     .viscosity_pa_s = {0.9, 1.3},
     .a_parts = ABOUT(40, 0),
     .cream_s = ABOUT(20, 2),
     .gel_s = ABOUT(60, 5),
     .rise_s = ABOUT(85, 6),
     .tack_free_s = ABOUT(110, 10),
     .demould_s = ABOUT(480, 60),
     .pack = {1.4, 2.2}},
    {.name = "self-skinning-450",
     MODEL,
     .foam_class = UL_FOAM_SELF_SKINNING,
     .liquid_kg_m3 = ABOUT(1090, 15),
     .free_kg_m3 = ABOUT(250, 10),
     .viscosity_pa_s = {1.2, 1.6},
     .a_parts = ABOUT(48, 0),
     .cream_s = ABOUT(22, 2),
     .gel_s = ABOUT(65, 5),
     .rise_s = ABOUT(90, 6),
     .tack_free_s = ABOUT(120, 10),
     .demould_s = ABOUT(600, 60),
     .pack = {1.5, 2.5}},
};

size_t ul_foam_generic_count(void) {
  return sizeof generic / sizeof *generic;
}

const ul_foam *ul_foam_generic(size_t number) {
  return number < ul_foam_generic_count() ? &generic[number] : NULL;
}
