/* plate.c - rectangular plates under even pressure. */
#include "ullage/hold.h"

#include <math.h>

typedef struct {
  double short_over_long, beta, alpha;
} row;

/* Levy's series, summed; agrees with Roark's Formulas for Stress and Strain, table 11.4 case 1a, to
 * 0.6 %. The long plate's row is that of a beam strip: beta 3/4, alpha 5 (1 - nu^2)/32. */
static const row supported[] = {
    {0, 0.75, 0.142188},
    {1 / 5.0, 0.747745, 0.141641},
    {1 / 4.0, 0.74075, 0.13998},
    {1 / 3.0, 0.713161, 0.133582},
    {1 / 2.0, 0.610097, 0.110605},
    {1 / 1.8, 0.569081, 0.10173},
    {1 / 1.6, 0.51737, 0.0907246},
    {1 / 1.5, 0.486959, 0.0843463},
    {1 / 1.4, 0.453293, 0.0773673},
    {1 / 1.2, 0.376089, 0.0617038},
    {1, 0.287316, 0.0443609},
};

/* Levy's series with moments along the edges; the stress is at the middle of the long edge. Long
 * plate: beta 1/2, alpha (1 - nu^2)/32. */
static const row clamped[] = {
    {0, 0.5, 0.0284375},
    {1 / 3.0, 0.502659, 0.0285801},
    {1 / 2.0, 0.497196, 0.0276599},
    {1 / 1.8, 0.487115, 0.0267121},
    {1 / 1.6, 0.468203, 0.0251156},
    {1 / 1.5, 0.453952, 0.023986},
    {1 / 1.4, 0.435551, 0.0225841},
    {1 / 1.2, 0.383387, 0.0188356},
    {1, 0.308003, 0.0138173},
};

/* Lagrange's cubic through the four rows around s: a straight line would be 1 % off. */
static row between(const row *table, size_t count, double s) {
  size_t first = 0;
  while (first + 4 < count && table[first + 2].short_over_long < s) first++;
  row sum = {.short_over_long = s};
  for (size_t i = first; i < first + 4; i++) {
    double weight = 1, at = table[i].short_over_long;
    for (size_t k = first; k < first + 4; k++)
      if (k != i) weight *= (s - table[k].short_over_long) / (at - table[k].short_over_long);
    sum.beta += weight * table[i].beta;
    sum.alpha += weight * table[i].alpha;
  }
  return sum;
}

ul_plate_state ul_plate_bend(double long_m, double short_m, double t, double q, double modulus_pa,
                             ul_edge edge) {
  double a = fmax(long_m, short_m), b = fmin(long_m, short_m);
  row r = edge == UL_EDGE_CLAMPED ? between(clamped, sizeof clamped / sizeof *clamped, b / a)
                                  : between(supported, sizeof supported / sizeof *supported, b / a);
  return (ul_plate_state){.stress_pa = r.beta * q * b * b / (t * t),
                          .deflection_m = r.alpha * q * pow(b, 4) / (modulus_pa * t * t * t)};
}
