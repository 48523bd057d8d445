#include "rise/vent_flow.h"

#include <math.h>

static const double gamma_air = 1.4;
static const double pi = 3.14159265358979323846;

ul_bore ul_bore_of(double diameter_m, double length_m) {
  return (ul_bore){diameter_m, length_m, length_m >= diameter_m ? 1 / sqrt(1.5) : 0.61};
}

static double area(const ul_bore *b) {
  return pi / 4 * b->diameter_m * b->diameter_m;
}

/* Isentropic, through the hole alone. */
static double orifice(const ul_bore *b, double high, double low, double kelvin) {
  const double g = gamma_air;
  double choked = pow(2 / (g + 1), g / (g - 1)), r = fmax(low / high, choked);
  double flow = 2 * g / ((g - 1) * UL_AIR_J_KG_K * kelvin) * (pow(r, 2 / g) - pow(r, (g + 1) / g));
  return b->discharge * area(b) * high * sqrt(fmax(0, flow));
}

/* The drop is a q + b q^2: the bore's laminar part, and what alone would give the orifice's flow.
 */
static double in_series(const ul_bore *b, double high, double low, double kelvin,
                        double viscosity) {
  double drop = high - low, alone = orifice(b, high, low, kelvin);
  double density = (high + low) / 2 / (UL_AIR_J_KG_K * kelvin);
  double a = 1 / (density * ul_bore_conductance(b, viscosity)), square = drop / (alone * alone);
  return 2 * drop / (a + sqrt(a * a + 4 * square * drop));
}

double ul_bore_air_kg_s(const ul_bore *b, double inside, double outside, double kelvin,
                        double viscosity) {
  double drop = inside - outside;
  if (drop < 0) return -ul_bore_air_kg_s(b, outside, inside, kelvin, viscosity);
  if (drop < 1) return drop * in_series(b, outside + 1, outside, kelvin, viscosity);
  return in_series(b, inside, outside, kelvin, viscosity);
}

double ul_bore_conductance(const ul_bore *b, double viscosity) {
  return b->length_m > 0 ? pi * pow(b->diameter_m, 4) / (128 * viscosity * b->length_m) : INFINITY;
}
