#include "rise/mouth.h"

#include "ullage/foam.h"

double ul_mouth_air_kg_s(const ul_mouth *m, double gauge) {
  const double inside = UL_ATMOSPHERE_PA + gauge, outside = UL_ATMOSPHERE_PA;
  return m->seam ? ul_slot_air_kg_s(&m->slot, inside, outside, UL_AIR_K, UL_AIR_VISCOSITY)
                 : ul_bore_air_kg_s(&m->bore, inside, outside, UL_AIR_K, UL_AIR_VISCOSITY);
}

double ul_mouth_conductance(const ul_mouth *m, double viscosity) {
  return m->seam ? ul_slot_conductance(&m->slot, viscosity)
                 : ul_bore_conductance(&m->bore, viscosity);
}

double ul_mouth_area_m2(const ul_mouth *m) {
  return m->seam ? m->slot.gap_m * m->slot.length_m
                 : 0.78539816339744831 * m->bore.diameter_m * m->bore.diameter_m; /* pi/4 */
}
