/* material.c - what moulds are made of. */
#include "ullage/hold.h"

#include <string.h>

/* Modulus and strength: aluminium 6061-T6 as published (68.9 GPa, yield 276 MPa); the others are
 * low ends of usual ranges, from memory. Allowed pressures: common practice, no source. */
static const ul_material materials[] = {
    {"aluminium", 1000, 68.9e9, 276e6, 2, false, UL_MADE_DRILLED, UL_MADE_SCRAPED,
     "wax it hot once, and warm it before the first shot: cold metal makes a coarse, dense skin"},
    {"cast-epoxy", 300, 5e9, 50e6, 3, false, UL_MADE_DRILLED, UL_MADE_SCRAPED,
     "back thin walls; it insulates, so let it cool between shots"},
    {"cast-urethane", 150, 1.5e9, 40e6, 3, false, UL_MADE_DRILLED, UL_MADE_SCRAPED,
     "seal and release it well: urethane foam bonds to urethane"},
    {"glass-laminate", 150, 6e9, 75e6, 3, false, UL_MADE_DRILLED, UL_MADE_SCRAPED,
     "flat panels bulge: stiffen them with ribs, and clamp along flanges"},
    {"plaster", 30, 2e9, 3e6, 4, false, UL_MADE_CAST_IN, UL_MADE_SCRAPED,
     "dry it through and seal it: water in it reacts with the A side; band or box it, it cracks "
     "without warning"},
    {"silicone", 5, 0.5e6, 1e6, 3, true, UL_MADE_PUNCHED, UL_MADE_CAST_IN,
     "a rigid case round it must carry the pressure; no release is needed for the first shots"},
    {"printed", 50, 2e9, 30e6, 4, false, UL_MADE_PRINTED, UL_MADE_PRINTED,
     "seal the layers and print walls solid; thick foam may warm it past softening"},
    {"wood", 50, 6e9, 25e6, 4, false, UL_MADE_DRILLED, UL_MADE_SCRAPED,
     "dry and sealed with varnish or resin: damp wood reacts with the A side"},
};

size_t ul_material_count(void) {
  return sizeof materials / sizeof *materials;
}

const ul_material *ul_material_get(size_t i) {
  return i < ul_material_count() ? &materials[i] : NULL;
}

const ul_material *ul_material_find(const char *name) {
  for (size_t i = 0; i < ul_material_count(); i++)
    if (strcmp(name, materials[i].name) == 0) return &materials[i];
  return NULL;
}
