/* clock.c - the hands against the foam. */
#include "ullage/charge.h"

#include <math.h>
#include <stdio.h>

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

static double shut_by_s(const ul_foam *f, double pack, const ul_clock_cavity *v) {
  double share = v->opening == UL_OPENING_UNKNOWN ? 0.5 : v->share_below;
  return isnan(v->reached_s) ? filled_at(f, pack, share) : v->reached_s;
}

static void limit_shutting(const ul_foam *f, double pack, const ul_clock_mould *m, ul_clock *c) {
  static const ul_clock_limit limit[] = {[UL_OPENING_UNKNOWN] = UL_BY_HALF_FULL,
                                         [UL_OPENING_RIM] = UL_BY_RIM,
                                         [UL_OPENING_HOLE] = UL_BY_HOLE};
  bool known = false;
  c->shut_by = UL_BY_HALF_FULL;
  c->shut_by_s = c->half_full_s;
  for (size_t i = 0; m && i < m->cavity_count; i++) {
    const ul_clock_cavity *v = &m->cavity[i];
    double by_s = shut_by_s(f, pack, v);
    known = known || v->opening != UL_OPENING_UNKNOWN;
    if (i > 0 && by_s >= c->shut_by_s) continue;
    c->shut_by = limit[v->opening];
    c->shut_by_s = by_s;
    c->shut_cavity = i + 1;
  }
  if (!known || m->cavity_count < 2) c->shut_cavity = 0;
}

const char *ul_clock_shut_words(const ul_clock *c, char out[UL_CLOCK_WORDS]) {
  const char *what = ul_clock_limit_word(c->shut_by);
  if (!c->shut_cavity)
    snprintf(out, UL_CLOCK_WORDS, "%s", what);
  else if (c->shut_by == UL_BY_HALF_FULL)
    snprintf(out, UL_CLOCK_WORDS, "cavity %zu is half full", c->shut_cavity);
  else
    snprintf(out, UL_CLOCK_WORDS, "%s of cavity %zu", what, c->shut_cavity);
  return out;
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
