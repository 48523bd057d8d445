#include "rise/vent_flow.h"

#include <math.h>

static const double gamma_air = 1.4;
static const double pi = 3.14159265358979323846;

ul_bore ul_bore_of(double diameter_m, double length_m) {
  return (ul_bore){diameter_m, length_m, length_m >= diameter_m ? 1 / sqrt(1.5) : 0.61};
}

ul_slot ul_slot_of(double gap_m, double length_m, double land_m) {
  return (ul_slot){gap_m, length_m, land_m, land_m >= gap_m ? 1 / sqrt(1.5) : 0.61};
}

/* A hole of any shape: its area times its discharge, and what it lets through of a liquid of unit
 * viscosity. */
typedef struct {
  double area, conducts;
} hole;

/* Isentropic, through the hole alone. */
static double orifice(const hole *h, double high, double low, double kelvin) {
  const double g = gamma_air;
  double choked = pow(2 / (g + 1), g / (g - 1)), r = fmax(low / high, choked);
  double flow = 2 * g / ((g - 1) * UL_AIR_J_KG_K * kelvin) * (pow(r, 2 / g) - pow(r, (g + 1) / g));
  return h->area * high * sqrt(fmax(0, flow));
}

/* The drop is a q + b q^2: the laminar part, and what alone would give the orifice's flow. */
static double in_series(const hole *h, double high, double low, double kelvin, double viscosity) {
  double drop = high - low, alone = orifice(h, high, low, kelvin);
  double density = (high + low) / 2 / (UL_AIR_J_KG_K * kelvin);
  double a = viscosity / (density * h->conducts), square = drop / (alone * alone);
  return 2 * drop / (a + sqrt(a * a + 4 * square * drop));
}

static double air_kg_s(const hole *h, double inside, double outside, double kelvin,
                       double viscosity) {
  double drop = inside - outside;
  if (drop < 0) return -air_kg_s(h, outside, inside, kelvin, viscosity);
  if (drop < 1) return drop * in_series(h, outside + 1, outside, kelvin, viscosity);
  return in_series(h, inside, outside, kelvin, viscosity);
}

double ul_bore_air_kg_s(const ul_bore *b, double inside, double outside, double kelvin,
                        double viscosity) {
  const hole h = {b->discharge * pi / 4 * b->diameter_m * b->diameter_m, ul_bore_conductance(b, 1)};
  return air_kg_s(&h, inside, outside, kelvin, viscosity);
}

double ul_slot_air_kg_s(const ul_slot *s, double inside, double outside, double kelvin,
                        double viscosity) {
  const hole h = {s->discharge * s->gap_m * s->length_m, ul_slot_conductance(s, 1)};
  return air_kg_s(&h, inside, outside, kelvin, viscosity);
}

double ul_bore_conductance(const ul_bore *b, double viscosity) {
  return b->length_m > 0 ? pi * pow(b->diameter_m, 4) / (128 * viscosity * b->length_m) : INFINITY;
}

double ul_slot_conductance(const ul_slot *s, double viscosity) {
  return s->land_m > 0 ? pow(s->gap_m, 3) * s->length_m / (12 * viscosity * s->land_m) : INFINITY;
}
