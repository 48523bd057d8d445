/* clock.c - the hands against the foam. */
#include "ullage/charge.h"

#include <math.h>

enum { HALVINGS = 60 };

ul_hands ul_hands_default(void) {
  return (ul_hands){.mix_s = 25, .pour_s = 10, .close_s = 10, .turn_s = 5};
}

/* When a charge that rises freely fills half the cavity; progress never falls, so bisection will
 * do. The set time when it never does. */
static double half_full(const ul_foam *f, double pack) {
  double x = ul_mid(f->free_kg_m3) / ul_mid(f->liquid_kg_m3);
  double lo = ul_mid(f->cream_s), hi = fmax(lo, ul_foam_set_s(f));
  for (int i = 0; i < HALVINGS; i++) {
    double mid = (lo + hi) / 2;
    *(pack * (x + (1 - x) * ul_foam_progress(f, mid)) < 0.5 ? &lo : &hi) = mid;
  }
  return hi;
}

ul_clock ul_clock_run(const ul_foam *f, double pack, const ul_hands *hands) {
  ul_clock c = {.cream_s = ul_mid(f->cream_s), .half_full_s = half_full(f, pack)};
  c.poured_s = hands->mix_s + hands->pour_s;
  c.shut_s = c.poured_s + hands->close_s;
  c.turned_s = c.shut_s + hands->turn_s;
  c.pour_margin_s = c.cream_s - c.poured_s;
  c.shut_margin_s = c.half_full_s - c.shut_s;
  c.turn_margin_s = c.half_full_s - c.turned_s;
  return c;
}
