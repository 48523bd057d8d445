#include "ullage/charge.h"

#include <math.h>
#include <stdio.h>

#include "base/fail.h"
#include "ullage/packing.h"

enum { COOKIE = 0x63686172 };
static const double fine_scale_below_g = 200;

ul_charge_opts ul_charge_opts_default(void) {
  return (ul_charge_opts){.cookie = COOKIE,
                          .bleed_g = NAN,
                          .bleed_share = 0.002, /* trial rises bled less */
                          .left_g = 5,
                          .pigment_percent = 1.5};
}

static ul_status check(const ul_charge_opts *o, double volume_mm3, ul_error *err) {
  if (o->cookie != COOKIE)
    return ul_fail(err, UL_E_USAGE, "charge options not made by ul_charge_opts_default()");
  if (!(volume_mm3 > 0 && isfinite(volume_mm3)))
    return ul_fail(err, UL_E_USAGE, "a cavity of %g mm3 takes no charge", volume_mm3);
  if (o->pack > 0 && o->want_kg_m3 > 0)
    return ul_fail(err, UL_E_USAGE, "a pack of %g and a density of %g kg/m3: give one", o->pack,
                   o->want_kg_m3);
  if (!(o->pack >= 0 && o->want_kg_m3 >= 0 && o->left_g >= 0 && o->cup_max_g >= 0 &&
        o->scale_g >= 0 && o->bleed_share >= 0) ||
      o->bleed_g < 0)
    return ul_fail(err, UL_E_USAGE, "a negative pack, density or mass: give values above 0");
  if (!(o->pigment_percent >= 0 && o->pigment_percent <= 20))
    return ul_fail(err, UL_E_USAGE, "pigment of %g %% of the total: 1 to 2 %% is common practice",
                   o->pigment_percent);
  if (o->cup_max_g > 0 && o->cup_max_g <= 2 * o->left_g)
    return ul_fail(err, UL_E_USAGE,
                   "a cup of %g g at most, of which %g g stay in it: give a larger cup",
                   o->cup_max_g, o->left_g);
  return UL_OK;
}

static double pack_of(const ul_foam *f, const ul_charge_opts *o) {
  if (o->want_kg_m3 > 0) return ul_pack_for_density(f, o->want_kg_m3);
  return o->pack > 0 ? o->pack : ul_pack_usual(f);
}

static double to_step(double grams, double step) {
  return round(grams / step) * step;
}

static double scale_for(const ul_charge_opts *o, double cup_g) {
  return o->scale_g > 0 ? o->scale_g : cup_g < fine_scale_below_g ? 0.1 : 1;
}

/* The total is rounded up, so that rounding never leaves a mould short. */
static ul_cup weigh(const ul_foam *f, const ul_charge_opts *o, double need_g, double scale_g) {
  ul_cup c = {.total_g = ceil(need_g / scale_g - 1e-9) * scale_g};
  c.pigment_g = to_step(c.total_g * o->pigment_percent / 100, scale_g);
  double parts = ul_mid(f->a_parts), mix = c.total_g - c.pigment_g;
  c.a_g = to_step(mix * parts / (parts + 100), scale_g);
  c.b_g = to_step(mix - c.a_g, scale_g);
  c.total_g = c.a_g + c.b_g + c.pigment_g;
  return c;
}

/* As few as hold it. A cup is filled to the last step of the scale that it holds. */
static ul_status count_cups(const ul_charge_opts *o, double goes_in_g, size_t *cups,
                            ul_error *err) {
  *cups = 1;
  if (!(o->cup_max_g > 0)) return UL_OK;
  double scale_g = scale_for(o, fmin(o->cup_max_g, goes_in_g + o->left_g));
  double holds_g = floor(o->cup_max_g / scale_g + 1e-9) * scale_g - o->left_g;
  if (!(holds_g > 0))
    return ul_fail(err, UL_E_USAGE,
                   "a cup of %g g at most, of which %g g stay in it, on a scale in steps of %g g: "
                   "give a larger cup or a finer scale",
                   o->cup_max_g, o->left_g, scale_g);
  *cups = (size_t)fmax(1, ceil(goes_in_g / holds_g - 1e-9));
  return UL_OK;
}

/* Each cup is weighed on its own, so it is a cup's grams that the scale rounds. */
static void share_out(const ul_foam *f, const ul_charge_opts *o, double goes_in_g, ul_charge *c) {
  const double cups = (double)c->cups, need_g = goes_in_g / cups + o->left_g;
  c->scale_g = scale_for(o, need_g);
  c->each = weigh(f, o, need_g, c->scale_g);
  c->cup_g = o->left_g * cups;
  c->a_g = cups * c->each.a_g;
  c->b_g = cups * c->each.b_g;
  c->pigment_g = cups * c->each.pigment_g;
  c->total_g = cups * c->each.total_g;
}

ul_status ul_charge_make(const ul_foam *f, double volume_mm3, const ul_charge_opts *o,
                         ul_charge *out, ul_error *err) {
  ul_status status = check(o, volume_mm3, err);
  if (status != UL_OK) return status;
  double pack = pack_of(f, o), density = pack * ul_mid(f->free_kg_m3);
  if (density >= ul_mid(f->liquid_kg_m3))
    return ul_fail(err, UL_E_USAGE,
                   "a part of %.0f kg/m3 (pack %.3g) is heavier than the liquid, %.0f kg/m3: ask "
                   "for less",
                   density, pack, ul_mid(f->liquid_kg_m3));
  *out = (ul_charge){.litres = volume_mm3 * 1e-6, .pack = pack, .part_kg_m3 = density, .cups = 1};
  out->in_cavity_g = volume_mm3 * 1e-6 * density;
  out->bleed_g = isnan(o->bleed_g) ? out->in_cavity_g * o->bleed_share : o->bleed_g;
  double goes_in = out->in_cavity_g + out->bleed_g;
  status = count_cups(o, goes_in, &out->cups, err);
  if (status != UL_OK) return status;
  share_out(f, o, goes_in, out);
  if (out->a_g > 0 && out->b_g > 0) return UL_OK;
  return ul_fail(
      err, UL_E_USAGE,
      "a scale in steps of %g g cannot weigh A and B of %.3g g in all%s: use a finer one",
      out->scale_g, goes_in / (double)out->cups + o->left_g, out->cups > 1 ? " in a cup" : "");
}

ul_size_for_hands ul_charge_size(const ul_charge *c) {
  static const double least_share = 0.1; /* of what stays in the cups */
  if (c->total_g > UL_BY_HAND_MOST_G) return UL_SIZE_TOO_LARGE;
  return c->in_cavity_g + c->bleed_g < least_share * c->cup_g ? UL_SIZE_TOO_SMALL : UL_SIZE_BY_HAND;
}

int ul_scale_decimals(double step_g) {
  int decimals = 0;
  for (double s = step_g; decimals < 3 && fabs(s - round(s)) > 1e-6 * s; s *= 10) decimals++;
  return decimals;
}

double ul_charge_ratio_off(const ul_foam *f, const ul_charge *c) {
  return c->b_g > 0 ? c->a_g / c->b_g / (ul_mid(f->a_parts) / 100) - 1 : INFINITY;
}

/* ---- remarks ---- */

bool ul_charge_cups(const ul_foam *f, const ul_charge *c, const ul_charge_opts *o,
                    char text[UL_CHARGE_REMARK]) {
  const int decimals = ul_scale_decimals(c->scale_g);
  char pigment[48] = "";
  if (c->cups < 2) return false;
  const char *other = f->foam_class == UL_FOAM_RIGID
                          ? "lifts, each poured when the one below has risen and cooled, or a "
                            "slower foam"
                          : "a slower foam (not lifts: they show as layers)";
  if (c->each.pigment_g > 0)
    snprintf(pigment, sizeof pigment, ", pigment %.*f", decimals, c->each.pigment_g);
  snprintf(text, UL_CHARGE_REMARK,
           "more than a cup of %g g: %zu cups of %.*f g each (A %.*f, B %.*f%s), mixed by %zu "
           "people and poured together; else %s",
           o->cup_max_g, c->cups, decimals, c->each.total_g, decimals, c->each.a_g, decimals,
           c->each.b_g, pigment, c->cups, other);
  return true;
}

static bool say_pigment(const ul_charge_opts *o, char *text) {
  double percent = o->pigment_percent;
  if (percent == 0 || (percent >= 1 && percent <= 2)) return false;
  snprintf(text, UL_CHARGE_REMARK,
           "pigment of %.3g %% of the total: 1 to 2 %% is common practice; %s", percent,
           percent > 2 ? "more weakens the foam and slows the cure: make a test cup first"
                       : "less may not cover");
  return true;
}

static bool say_scale(const ul_foam *f, const ul_charge *c, char *text) {
  const double off = ul_charge_ratio_off(f, c);
  if (fabs(off) <= 0.01) return false;
  snprintf(
      text, UL_CHARGE_REMARK,
      "steps of %g g put A to B %.3g %% %s the card's ratio: use a finer scale, or mix a larger "
      "batch and throw the rest away",
      c->scale_g, 100 * fabs(off), off > 0 ? "over" : "under");
  return true;
}

/* Rounded by over half of it, or away. */
static bool say_pigment_scale(const ul_charge *c, const ul_charge_opts *o, char *text) {
  const double want = c->each.total_g * o->pigment_percent / 100;
  if (fabs(c->each.pigment_g - want) <= want / 2) return false;
  snprintf(text, UL_CHARGE_REMARK,
           "steps of %g g make the pigment %g g where %.2g g are meant: weigh it on a finer scale",
           c->scale_g, c->each.pigment_g, want);
  return true;
}

size_t ul_charge_remarks(const ul_foam *f, const ul_charge *c, const ul_charge_opts *o,
                         char remark[UL_CHARGE_REMARKS][UL_CHARGE_REMARK]) {
  size_t count = 0;
  count += say_pigment(o, remark[count]);
  count += say_scale(f, c, remark[count]);
  count += say_pigment_scale(c, o, remark[count]);
  return count;
}
