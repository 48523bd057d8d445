#include "ullage/vent_size.h"

#include <math.h>

#include "base/fail.h"
#include "rise/vent_flow.h"

enum { MOMENTS = 4096, HALVINGS = 60 };

ul_span ul_vent_back_pressure_pa(ul_foam_class foam_class) {
  static const ul_span range[] = {[UL_FOAM_RIGID] = {500, 2000},
                                  [UL_FOAM_CUSHION] = {200, 1000},
                                  [UL_FOAM_SELF_SKINNING] = {1000, 5000}};
  return range[foam_class];
}

double ul_vent_air_rate(const ul_foam *f, double pack, double *at_s) {
  double x = ul_mid(f->free_kg_m3) / ul_mid(f->liquid_kg_m3);
  double full = (1 / pack - x) / (1 - x); /* progress at which the cavity is full */
  double from = ul_mid(f->cream_s), step = (ul_foam_set_s(f) - from) / MOMENTS;
  double before = 0, fastest = 0;
  *at_s = 0;
  for (int i = 1; i <= MOMENTS && before < full; i++) {
    double e = ul_foam_progress(f, from + i * step), rate = (e - before) / step;
    before = e;
    if (rate <= fastest) continue;
    fastest = rate;
    *at_s = from + (i - 0.5) * step;
  }
  return fastest * pack * (1 - x);
}

/* Air, as volume at atmospheric pressure, that a hole lets out. */
static double through(double diameter_mm, double length_mm, double back_pa) {
  ul_bore bore = ul_bore_of(diameter_mm * 1e-3, length_mm * 1e-3);
  double kg_s = ul_bore_air_kg_s(&bore, UL_ATMOSPHERE_PA + back_pa, UL_ATMOSPHERE_PA, UL_AIR_K,
                                 UL_AIR_VISCOSITY);
  return kg_s * UL_AIR_J_KG_K * UL_AIR_K / UL_ATMOSPHERE_PA * 1e9;
}

/* Both grow with the diameter and the pressure, so bisection finds the one from the other. */
static double diameter_for(double air_mm3_s, double length_mm, double back_pa) {
  double lo = 0, hi = 1000;
  for (int i = 0; i < HALVINGS; i++) {
    double mid = (lo + hi) / 2;
    *(through(mid, length_mm, back_pa) < air_mm3_s ? &lo : &hi) = mid;
  }
  return hi;
}

static double pressure_for(double air_mm3_s, double length_mm, double diameter_mm) {
  double lo = 0, hi = UL_ATMOSPHERE_PA;
  for (int i = 0; i < HALVINGS; i++) {
    double mid = (lo + hi) / 2;
    *(through(diameter_mm, length_mm, mid) < air_mm3_s ? &lo : &hi) = mid;
  }
  return hi;
}

static ul_status check(double air_mm3_s, size_t holes, double length_mm, ul_error *err) {
  if (holes > 0 && air_mm3_s >= 0 && isfinite(air_mm3_s) && length_mm >= 0 && isfinite(length_mm))
    return UL_OK;
  return ul_fail(err, UL_E_USAGE,
                 "%zu vents for %g mm3/s of air through %g mm of tool: give all three, not below 0",
                 holes, air_mm3_s, length_mm);
}

static double thickest_of(ul_drill_set set) {
  return ul_drill_get(set, ul_drill_count(set) - 1).diameter_mm;
}

ul_status ul_vent_size_of(ul_foam_class foam_class, double air_mm3_s, size_t holes,
                          double length_mm, ul_drill_set set, ul_vent_size *out, ul_error *err) {
  ul_status status = check(air_mm3_s, holes, length_mm, err);
  if (status != UL_OK) return status;
  ul_span back = ul_vent_back_pressure_pa(foam_class);
  double each = air_mm3_s / (double)holes, thickest = thickest_of(set);
  *out = (ul_vent_size){.air_mm3_s = air_mm3_s, .holes = holes};
  out->least_mm = fmax(UL_VENT_LEAST_MM, diameter_for(each, length_mm, back.hi));
  out->most_mm = fmax(UL_VENT_LEAST_MM, diameter_for(each, length_mm, back.lo));
  out->enough = out->least_mm <= thickest * (1 + 1e-9);
  /* the last bit may ask for a hair more than the thickest drill */
  ul_drill_at_least(set, fmin(out->least_mm, thickest), &out->drill);
  double diameter = out->drill.diameter_mm;
  out->back_pa = pressure_for(each, length_mm, diameter);
  out->air_m_s = each / (M_PI / 4 * diameter * diameter) / 1000;
  return UL_OK;
}

ul_status ul_vent_size_for(ul_foam_class foam_class, double air_mm3_s, double length_mm,
                           ul_drill_set set, ul_vent_size *out, ul_error *err) {
  ul_status status = check(air_mm3_s, 1, length_mm, err);
  if (status != UL_OK) return status;
  double one = through(thickest_of(set), length_mm, ul_vent_back_pressure_pa(foam_class).hi);
  size_t holes = (size_t)fmax(1, ceil(air_mm3_s / one));
  return ul_vent_size_of(foam_class, air_mm3_s, holes, length_mm, set, out, err);
}
