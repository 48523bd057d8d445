/* attitude.c - directions, what a level reads, and how a shop would hold a boxy tool. */
#include "ullage/attitude.h"

#include "base/fail.h"
#include "base/vec.h"

#include <math.h>

static const double degree = M_PI / 180;

/* A spirit level shows about half a degree: an edge nearer to level than that is level. */
static const double level_deg = 0.5;
/* Tilted further off its nearest face than this, a box slides off its blocks or rolls over. */
static const double cradle_deg = 45.0;

ul_status ul_up_from_raise(double x_deg, double y_deg, double up[3], ul_error *err) {
  if (!isfinite(x_deg) || !isfinite(y_deg))
    return ul_fail(err, UL_E_USAGE, "a raise that is not a number: give degrees from -90 to 90");
  /* 1 - sin^2 A - sin^2 B = cos(A+B) cos(A-B): negative when |A| + |B| passes 90, and exact in
   * degrees where squares of sines are not. */
  double sum = fabs(x_deg) + fabs(y_deg);
  if (sum > 90 + 1e-9)
    return ul_fail(err, UL_E_USAGE,
                   "no box lies so that a level reads %g degrees along x and %g along y (together "
                   "%g, over 90): give smaller angles, or the direction itself with --up x,y,z",
                   x_deg, y_deg, sum);
  double a = x_deg * degree, b = y_deg * degree;
  double direction[3] = {sin(a), sin(b), sum >= 90 ? 0 : sqrt(cos(a + b) * cos(a - b))};
  return ul_up_normalise(direction, up, err);
}

/* The angle an edge along `axis` climbs. atan2 keeps its digits near 90, where asin loses half. */
static double climb_deg(const double up[3], int axis) {
  double across = hypot(up[(axis + 1) % 3], up[(axis + 2) % 3]);
  return atan2(up[axis], across) / degree + 0.0; /* never -0 */
}

void ul_raise_from_up(const double up[3], double *x_deg, double *y_deg) {
  *x_deg = climb_deg(up, 0);
  *y_deg = climb_deg(up, 1);
}

ul_status ul_up_normalise(const double in[3], double up[3], ul_error *err) {
  double largest = 0;
  for (int c = 0; c < 3; c++) {
    if (!isfinite(in[c]))
      return ul_fail(err, UL_E_USAGE,
                     "the up direction %g,%g,%g is not a direction: give three finite numbers",
                     in[0], in[1], in[2]);
    largest = fmax(largest, fabs(in[c]));
  }
  if (largest == 0)
    return ul_fail(err, UL_E_USAGE,
                   "the up direction 0,0,0 has no length: give the direction against gravity, as "
                   "0,0,1");
  double scaled[3]; /* first by the largest, so that squares neither overflow nor vanish */
  for (int c = 0; c < 3; c++) scaled[c] = in[c] / largest;
  double length = ul_norm(scaled);
  for (int c = 0; c < 3; c++) up[c] = scaled[c] / length + 0.0;
  return UL_OK;
}

const char *ul_ease_word(ul_ease ease) {
  static const char *const word[] = {
#define AS_WORD(name, text) [name] = text,
      UL_EASE_LIST(AS_WORD)
#undef AS_WORD
  };
  return (unsigned)ease < UL_EASE_END ? word[ease] : "unknown";
}

ul_ease ul_ease_of(const double up[3]) {
  int climbing = 0;
  double upright = 0;
  for (int c = 0; c < 3; c++) {
    double climb = fabs(climb_deg(up, c));
    climbing += climb > level_deg;
    upright = fmax(upright, climb);
  }
  bool within = 90 - upright <= cradle_deg + 1e-9;
  if (climbing == 1) return fabs(climb_deg(up, 2)) > level_deg ? UL_EASE_FLAT : UL_EASE_SIDE;
  if (!within) return UL_EASE_OTHER;
  return climbing == 2 ? UL_EASE_ONE_SIDE : UL_EASE_ONE_CORNER;
}
