#include "ullage/foam.h"

#include <math.h>
#include <string.h>

#include "base/fail.h"
#include "rise/foam_curve.h"

static const double gas_constant = 8.314462618; /* J/(mol K), exact by definition of the SI */
static const double zero_celsius_k = 273.15;
static const double free_least = 8; /* kg/m3; no foam rises to less */

const char *ul_foam_class_word(ul_foam_class foam_class) {
#define AS_WORD(name, word) [name] = word,
  static const char *const words[] = {UL_FOAM_CLASS_LIST(AS_WORD)};
  return (unsigned)foam_class < UL_FOAM_CLASS_END ? words[foam_class] : "?";
}

static ul_span about(double value) {
  return (ul_span){value, value};
}

ul_foam ul_foam_middling(void) {
  return (ul_foam){
      .name = "middling",
      .note = "no card: places and litres only",
      .foam_class = UL_FOAM_RIGID,
      .liquid_kg_m3 = about(1080),
      .free_kg_m3 = about(64),
      .viscosity_pa_s = about(1),
      .a_parts = about(100),
      .cream_s = about(25),
      .gel_s = about(80),
      .rise_s = about(110),
      .tack_free_s = about(140),
      .demould_s = about(1200),
      .pack = {1.15, 1.35},
      .temperature_c = 20,
      .rise_progress = 0.98,
      .rise_shape = 2,
      .cm_a = 1.5, /* Castro & Macosko 1982, the set with gel at 0.65 */
      .cm_b = 1,
      .cm_gel = 0.65,
      .gel_cap = 100,
      .gas_power = 1, /* round bubbles; between the models, which disagree */
      .gas_cap = 20,
      .cream_per_10k = 2,
      .gel_per_10k = 2,
      .viscosity_j_mol = 41300,
  };
}

/* ---- bounds ---- */

typedef struct {
  const char *name;
  ul_span span;
  double least, most;
  const char *unit;
} bound;

static ul_status check_bounds(const bound *b, size_t count, ul_error *err) {
  for (size_t i = 0; i < count; i++) {
    if (!(b[i].span.lo <= b[i].span.hi))
      return ul_fail(err, UL_E_CARD, "%s runs from %g down to %g %s: give the lower one first",
                     b[i].name, b[i].span.lo, b[i].span.hi, b[i].unit);
    if (b[i].span.lo >= b[i].least && b[i].span.hi <= b[i].most) continue;
    double wrong = b[i].span.lo >= b[i].least ? b[i].span.hi : b[i].span.lo;
    return ul_fail(err, UL_E_CARD,
                   "%s is %g %s, which no foam has (%g to %g): check the number and its unit",
                   b[i].name, wrong, b[i].unit, b[i].least, b[i].most);
  }
  return UL_OK;
}

/* Two times that must come in this order. */
static ul_status check_order(const char *first, ul_span a, const char *then, ul_span b,
                             ul_error *err) {
  if (ul_mid(a) < ul_mid(b)) return UL_OK;
  return ul_fail(err, UL_E_CARD, "%s at %g s does not come before %s at %g s: check both times",
                 first, ul_mid(a), then, ul_mid(b));
}

static ul_status check_curve(const ul_foam *f, ul_error *err) {
  for (size_t i = 0; i < f->curve_count; i++) {
    double e = f->curve_progress[i];
    bool rising = i == 0 || (f->curve_s[i] > f->curve_s[i - 1] && e >= f->curve_progress[i - 1]);
    if (!rising || !(e >= 0 && e <= 1))
      return ul_fail(
          err, UL_E_CARD,
          "rise curve, point %zu (%g s, %g): times and progress must rise, progress from 0 to 1",
          i + 1, f->curve_s[i], e);
  }
  return UL_OK;
}

ul_status ul_foam_check(const ul_foam *f, ul_error *err) {
  const bound bounds[] = {
      {"liquid density", f->liquid_kg_m3, 700, 2500, "kg/m3"},
      {"free-rise density", f->free_kg_m3, free_least, 1200, "kg/m3"},
      {"viscosity", f->viscosity_pa_s, 0.005, 100, "Pa s"},
      {"a to b", f->a_parts, 5, 2000, "parts of A to 100 of B"},
      {"cream", f->cream_s, 0.5, 1800, "s"},
      {"gel", f->gel_s, 1, 7200, "s"},
      {"rise", f->rise_s, 1, 7200, "s"},
      {"tack-free", f->tack_free_s, 1, 86400, "s"},
      {"demould", f->demould_s, 5, 604800, "s"},
      {"crush", f->crush_s, 0, 86400, "s"},
      {"pack", f->pack, 1, 10, "times free rise"},
      {"temperature", about(f->temperature_c), -10, 90, "C"},
      {"rise progress", about(f->rise_progress), 0.5, 0.9999, ""},
      {"rise shape", about(f->rise_shape), 0.5, 10, ""},
      {"cure a", about(f->cm_a), 0, 10, ""},
      {"cure b", about(f->cm_b), -10, 10, ""},
      {"gel conversion", about(f->cm_gel), 0.1, 1, ""},
      {"gel cap", about(f->gel_cap), 1, 1e6, ""},
      {"gas power", about(f->gas_power), -3, 3, ""},
      {"gas cap", about(f->gas_cap), 1, 1e4, ""},
      {"cream per 10 K", about(f->cream_per_10k), 1, 5, ""},
      {"gel per 10 K", about(f->gel_per_10k), 1, 5, ""},
      {"viscosity energy", about(f->viscosity_j_mol), 0, 2e5, "J/mol"},
      {"set", about(ul_foam_set_s(f)), 1, 86400, "s"},
  };
  ul_status status = check_bounds(bounds, sizeof bounds / sizeof *bounds, err);
  if (status == UL_OK && ul_mid(f->free_kg_m3) >= 0.95 * ul_mid(f->liquid_kg_m3))
    status =
        ul_fail(err, UL_E_CARD,
                "free-rise density %g kg/m3 is that of the liquid (%g): this foam does not rise",
                ul_mid(f->free_kg_m3), ul_mid(f->liquid_kg_m3));
  if (status == UL_OK) status = check_order("cream", f->cream_s, "gel", f->gel_s, err);
  if (status == UL_OK) status = check_order("cream", f->cream_s, "rise", f->rise_s, err);
  if (status == UL_OK)
    status = check_order("cream", f->cream_s, "set", about(ul_foam_set_s(f)), err);
  return status == UL_OK ? check_curve(f, err) : status;
}

/* ---- today's shop ---- */

ul_status ul_foam_cup_test(ul_foam *f, double grams, double ml, ul_error *err) {
  if (!(grams > 0) || !(ml > 0) || !isfinite(grams) || !isfinite(ml))
    return ul_fail(err, UL_E_USAGE, "cup test of %g g in %g ml: give both, above 0", grams, ml);
  double density = grams / ml * 1000;
  if (density >= 0.95 * ul_mid(f->liquid_kg_m3))
    return ul_fail(
        err, UL_E_USAGE,
        "cup test of %g g in %g ml is %.0f kg/m3: that is liquid, give the volume it rose to",
        grams, ml, density);
  if (density < free_least)
    return ul_fail(
        err, UL_E_USAGE,
        "cup test of %g g in %g ml is %.2g kg/m3, which no foam has (%g at least): check "
        "both numbers",
        grams, ml, density, free_least);
  if (f->card_kg_m3.hi == 0) f->card_kg_m3 = f->free_kg_m3;
  f->free_kg_m3 = about(density);
  return UL_OK;
}

bool ul_foam_cup_is_far(ul_span card, double cup_kg_m3) {
  static const double far_share = 0.2;
  return cup_kg_m3 > card.hi * (1 + far_share) || cup_kg_m3 < card.lo * (1 - far_share);
}

static void scale(ul_span *span, double factor) {
  span->lo *= factor;
  span->hi *= factor;
}

ul_status ul_foam_at_temperature(ul_foam *f, double celsius, ul_error *err) {
  if (!(celsius >= -10 && celsius <= 90))
    return ul_fail(err, UL_E_USAGE, "liquids at %g C: give their temperature in degrees C",
                   celsius);
  double tens = (f->temperature_c - celsius) / 10;
  double cream = pow(f->cream_per_10k, tens), gel = pow(f->gel_per_10k, tens);
  scale(&f->cream_s, cream);
  f->set_s *= gel;
  for (size_t i = 0; i < f->curve_count; i++) f->curve_s[i] *= gel;
  ul_span *const after_gel[] = {&f->gel_s, &f->rise_s, &f->tack_free_s, &f->demould_s};
  for (size_t i = 0; i < sizeof after_gel / sizeof *after_gel; i++) scale(after_gel[i], gel);
  double inverse = 1 / (celsius + zero_celsius_k) - 1 / (f->temperature_c + zero_celsius_k);
  scale(&f->viscosity_pa_s, exp(f->viscosity_j_mol / gas_constant * inverse));
  f->temperature_c = celsius;
  return UL_OK;
}

/* ---- the model ---- */

double ul_foam_set_s(const ul_foam *f) {
  return f->set_s > 0 ? f->set_s : ul_mid(f->rise_s);
}

double ul_foam_curve_at(const ul_foam *f, double t) {
  size_t i = 0;
  while (i < f->curve_count && f->curve_s[i] <= t) i++;
  if (i == 0) return 0;
  if (i == f->curve_count) return f->curve_progress[i - 1];
  double along = (t - f->curve_s[i - 1]) / (f->curve_s[i] - f->curve_s[i - 1]);
  return f->curve_progress[i - 1] + along * (f->curve_progress[i] - f->curve_progress[i - 1]);
}

double ul_foam_progress(const ul_foam *f, double t_s) {
  double t = fmin(t_s, ul_foam_set_s(f));
  double cream = ul_mid(f->cream_s), rise = ul_mid(f->rise_s);
  if (t <= cream) return 0;
  if (f->curve_count) return ul_foam_curve_at(f, t);
  double s = (t - cream) / (rise - cream);
  return 1 - pow(1 - f->rise_progress, pow(s, f->rise_shape));
}

double ul_foam_volume_m3_kg(const ul_foam *f, double progress, double pressure_pa) {
  double liquid = ul_mid(f->liquid_kg_m3), ratio = liquid / ul_mid(f->free_kg_m3) - 1;
  return (1 + ratio * progress * UL_ATMOSPHERE_PA / pressure_pa) / liquid;
}

double ul_castro_macosko(double x, double x_gel, double a, double b) {
  return x < x_gel ? pow(x_gel / (x_gel - x), a + b * x) : INFINITY;
}

double ul_foam_liquid_viscosity(const ul_foam *f, double t_s) {
  double x = f->cm_gel * fmax(0, t_s) / ul_mid(f->gel_s);
  double grown = ul_castro_macosko(x, f->cm_gel, f->cm_a, f->cm_b);
  return ul_mid(f->viscosity_pa_s) * fmin(grown, f->gel_cap);
}

double ul_foam_gas_factor(const ul_foam *f, double volume_m3_kg) {
  double liquid_share = fmin(1, 1 / (ul_mid(f->liquid_kg_m3) * volume_m3_kg));
  return fmin(f->gas_cap, pow(liquid_share, -f->gas_power));
}
