#include "rise/puddle.h"

#include <math.h>

#include "rise/filling.h"

double ul_puddle_radius_m(double volume, double nu, double t) {
  return 0.894 * pow(UL_GRAVITY * pow(volume, 3) / (3 * nu) * t, 0.125);
}

double ul_puddle_side_m(double side, double nu, double t) {
  return 1.411 * pow(UL_GRAVITY * pow(side, 3) / (3 * nu) * t, 0.2);
}

double ul_puddle_downhill_m(double section, double sine, double nu, double t) {
  return cbrt(9 * section * section * UL_GRAVITY * sine / (4 * nu) * t);
}
