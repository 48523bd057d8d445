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

/* The total is rounded up, so that rounding never leaves a mould short. */
static void weigh(const ul_foam *f, const ul_charge_opts *o, double need_g, ul_charge *c) {
  c->scale_g = o->scale_g > 0 ? o->scale_g : need_g < fine_scale_below_g ? 0.1 : 1;
  c->total_g = ceil(need_g / c->scale_g - 1e-9) * c->scale_g;
  c->pigment_g = to_step(c->total_g * o->pigment_percent / 100, fmin(c->scale_g, 0.1));
  double parts = ul_mid(f->a_parts), mix = c->total_g - c->pigment_g;
  c->a_g = to_step(mix * parts / (parts + 100), c->scale_g);
  c->b_g = to_step(mix - c->a_g, c->scale_g);
  c->total_g = c->a_g + c->b_g + c->pigment_g;
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
  if (o->cup_max_g > 0) out->cups = (size_t)fmax(1, ceil(goes_in / (o->cup_max_g - o->left_g)));
  out->cup_g = o->left_g * (double)out->cups;
  weigh(f, o, goes_in + out->cup_g, out);
  if (out->a_g > 0 && out->b_g > 0) return UL_OK;
  return ul_fail(err, UL_E_USAGE,
                 "a scale in steps of %g g cannot weigh A and B of %.3g g in all: use a finer one",
                 out->scale_g, goes_in + out->cup_g);
}

double ul_charge_ratio_off(const ul_foam *f, const ul_charge *c) {
  return c->b_g > 0 ? c->a_g / c->b_g / (ul_mid(f->a_parts) / 100) - 1 : INFINITY;
}

/* ---- remarks ---- */

static bool say_cups(const ul_foam *f, const ul_charge *c, const ul_charge_opts *o, char *text) {
  if (c->cups < 2) return false;
  const char *other = f->foam_class == UL_FOAM_RIGID
                          ? "lifts, each poured when the one below has risen and cooled, or a "
                            "slower foam"
                          : "a slower foam (not lifts: they show as layers)";
  snprintf(text, UL_CHARGE_REMARK,
           "more than a cup of %g g: %zu cups of %.4g g each, mixed by %zu people and poured "
           "together; else %s",
           o->cup_max_g, c->cups, c->total_g / (double)c->cups, c->cups, other);
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

size_t ul_charge_remarks(const ul_foam *f, const ul_charge *c, const ul_charge_opts *o,
                         char remark[UL_CHARGE_REMARKS][UL_CHARGE_REMARK]) {
  size_t count = 0;
  count += say_cups(f, c, o, remark[count]);
  count += say_pigment(o, remark[count]);
  count += say_scale(f, c, remark[count]);
  return count;
}
