/* clock.c - the hands against the foam. */
#include "ullage/charge.h"

#include <math.h>

enum { HALVINGS = 60 };

ul_hands ul_hands_default(void) {
  return (ul_hands){.mix_s = 25, .pour_s = 10, .close_s = 10, .turn_s = 5};
}

const char *ul_clock_limit_word(ul_clock_limit limit) {
#define AS_WORD(name, word) [name] = word,
  static const char *const words[] = {UL_CLOCK_LIMIT_LIST(AS_WORD)};
  return (unsigned)limit < UL_CLOCK_LIMIT_END ? words[limit] : "?";
}

/* When a charge that rises freely fills that share of the cavity; progress never falls, so
 * bisection will do. The set time when it never does. */
static double filled_at(const ul_foam *f, double pack, double share) {
  double x = ul_mid(f->free_kg_m3) / ul_mid(f->liquid_kg_m3);
  double lo = ul_mid(f->cream_s), hi = fmax(lo, ul_foam_set_s(f));
  for (int i = 0; i < HALVINGS; i++) {
    double mid = (lo + hi) / 2;
    *(pack * (x + (1 - x) * ul_foam_progress(f, mid)) < share ? &lo : &hi) = mid;
  }
  return hi;
}

static void limit_shutting(const ul_foam *f, double pack, const ul_clock_mould *m, ul_clock *c) {
  c->shut_by = UL_BY_HALF_FULL;
  c->shut_by_s = c->half_full_s;
  if (!m || m->opening == UL_OPENING_UNKNOWN) return;
  c->shut_by = m->opening == UL_OPENING_HOLE ? UL_BY_HOLE : UL_BY_RIM;
  c->shut_by_s = isnan(m->reached_s) ? filled_at(f, pack, m->share_below) : m->reached_s;
}

ul_clock ul_clock_run(const ul_foam *f, double pack, const ul_hands *hands,
                      const ul_clock_mould *mould) {
  ul_clock c = {.cream_s = ul_mid(f->cream_s), .half_full_s = filled_at(f, pack, 0.5)};
  c.poured_s = hands->mix_s + hands->pour_s;
  c.shut_s = c.poured_s + hands->close_s;
  c.turned_s = c.shut_s + hands->turn_s;
  limit_shutting(f, pack, mould, &c);
  bool liquid = mould && mould->turned_while_liquid;
  c.turn_by = liquid ? UL_BY_CREAM : UL_BY_HALF_FULL;
  c.turn_by_s = liquid ? c.cream_s : c.half_full_s;
  c.pour_margin_s = c.cream_s - c.poured_s;
  c.shut_margin_s = c.shut_by_s - c.shut_s;
  c.turn_margin_s = c.turn_by_s - c.turned_s;
  return c;
}
