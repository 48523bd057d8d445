#include "ullage/hold.h"

#include <math.h>
#include <stdio.h>

#include "base/fail.h"
#include "ullage/packing.h"

enum { COOKIE = 0x686f6c64 };
static const double flash_mm = 0.1; /* foam finds its way through this: common practice */

/* ISO 898-1, class 8.8 (from memory): proof stress, and stress areas in m2. */
static const double proof_pa = 580e6, m6_m2 = 20.1e-6, m8_m2 = 36.6e-6;
static const double bolt_share = 0.25; /* of proof load: threads in aluminium, hand tightened */

ul_hold_opts ul_hold_opts_default(void) {
  return (ul_hold_opts){.cookie = COOKIE, .rise_kpa = NAN};
}

static size_t bolts(double force_n, double area_m2) {
  return (size_t)fmax(2, ceil(force_n / (proof_pa * area_m2 * bolt_share)));
}

static ul_lid judge_lid(const ul_material *m, const double mm[3], double pressure_pa) {
  double a = mm[0] * 1e-3, b = mm[1] * 1e-3, t = mm[2] * 1e-3;
  ul_lid lid = {.allowed_pa = m->strength_pa / m->safety, .open_mm = flash_mm};
  lid.supported = ul_plate_bend(a, b, t, pressure_pa, m->modulus_pa, UL_EDGE_SUPPORTED);
  lid.clamped = ul_plate_bend(a, b, t, pressure_pa, m->modulus_pa, UL_EDGE_CLAMPED);
  lid.strong = lid.supported.stress_pa <= lid.allowed_pa;
  lid.stiff = lid.supported.deflection_m * 1e3 <= lid.open_mm;
  return lid;
}

static ul_status check(const ul_hold_opts *o, double projected_mm2, bool *lid, ul_error *err) {
  const double *mm = o->lid_mm;
  *lid = mm[0] != 0 || mm[1] != 0 || mm[2] != 0;
  if (o->cookie != COOKIE)
    return ul_fail(err, UL_E_USAGE, "hold options not made by ul_hold_opts_default()");
  if (!(projected_mm2 >= 0 && isfinite(projected_mm2)))
    return ul_fail(err, UL_E_USAGE, "a projected area of %g mm2 is none", projected_mm2);
  if (!*lid) return UL_OK;
  if (!(mm[0] > 0 && mm[1] > 0 && mm[2] > 0))
    return ul_fail(err, UL_E_USAGE, "a lid of %g x %g x %g mm: give sides and thickness above 0",
                   mm[0], mm[1], mm[2]);
  if (!o->material)
    return ul_fail(err, UL_E_USAGE, "a lid needs a material to be judged: give --mould as well");
  return UL_OK;
}

ul_status ul_hold_make(const ul_foam *f, double pack, double projected_mm2, const ul_hold_opts *o,
                       ul_hold *out, ul_error *err) {
  bool lid;
  ul_status status = check(o, projected_mm2, &lid, err);
  if (status != UL_OK) return status;
  double packing_kpa = ul_pack_gauge_pa(f, pack) / 1000;
  if (!isfinite(packing_kpa))
    return ul_fail(err, UL_E_USAGE, "pack %.3g fills the mould with liquid: nothing holds that",
                   pack);
  *out = (ul_hold){.packing_kpa = packing_kpa,
                   .rise_kpa = o->rise_kpa,
                   .peak_kpa = fmax(packing_kpa, o->rise_kpa), /* fmax passes over a NAN */
                   .projected_mm2 = projected_mm2,
                   .has_lid = lid};
  out->opening_n = out->peak_kpa * 1e3 * projected_mm2 * 1e-6;
  out->clamp_n = out->opening_n * UL_CLAMP_FACTOR;
  out->bolts_m6 = bolts(out->clamp_n, m6_m2);
  out->bolts_m8 = bolts(out->clamp_n, m8_m2);
  out->toggles_n = 2 * out->clamp_n;
  out->has_material = o->material != NULL;
  out->material_holds = !o->material || out->peak_kpa <= o->material->allowed_kpa;
  if (lid) out->lid = judge_lid(o->material, o->lid_mm, out->peak_kpa * 1e3);
  return UL_OK;
}

/* ---- remarks ---- */

/* To three figures: more would look like knowledge. */
static double three(double value) {
  double step = pow(10, floor(log10(fmax(value, 1e-9))) - 2);
  return round(value / step) * step;
}

static void say_material(const ul_hold *h, const ul_material *m, char *text) {
  if (h->material_holds)
    snprintf(text, UL_HOLD_REMARK, "%s: up to %g kPa (common practice); %s", m->name,
             m->allowed_kpa, m->advice);
  else if (m->soft)
    snprintf(text, UL_HOLD_REMARK,
             "%s alone does not hold %.3g kPa (it may carry %g): put it in a rigid case all round, "
             "lid included, that does",
             m->name, h->peak_kpa, m->allowed_kpa);
  else
    snprintf(
        text, UL_HOLD_REMARK,
        "%s does not hold %.3g kPa (it may carry %g, common practice): box it in a rigid case, "
        "lower the pack, or make the tool of something stronger",
        m->name, h->peak_kpa, m->allowed_kpa);
}

static void say_lid(const ul_hold *h, const ul_hold_opts *o, char *text) {
  const ul_lid *l = &h->lid;
  const char *verdict = !l->strong  ? "it may break: thicker, or ribs across the short side"
                        : !l->stiff ? "it bulges and leaks at its edge: thicker, ribs, or clamps "
                                      "nearer to each other"
                                    : "it holds";
  snprintf(text, UL_HOLD_REMARK,
           "lid %g x %g x %g mm, resting on its edge: %.3g MPa of %.3g allowed, bulges %.3g mm; "
           "held all round: %.3g MPa, %.3g mm: %s",
           o->lid_mm[0], o->lid_mm[1], o->lid_mm[2], l->supported.stress_pa * 1e-6,
           l->allowed_pa * 1e-6, l->supported.deflection_m * 1e3, l->clamped.stress_pa * 1e-6,
           l->clamped.deflection_m * 1e3, verdict);
}

size_t ul_hold_remarks(const ul_hold *h, const ul_hold_opts *o,
                       char remark[UL_HOLD_REMARKS][UL_HOLD_REMARK]) {
  size_t count = 0;
  snprintf(remark[count++], UL_HOLD_REMARK,
           "hold it shut with %.0f N, %g times what opens it: %zu bolts M6 or %zu M8 (class 8.8, a "
           "quarter of proof load), or toggle clamps rated %.0f N together",
           three(h->clamp_n), UL_CLAMP_FACTOR, h->bolts_m6, h->bolts_m8, three(h->toggles_n));
  if (o->material) say_material(h, o->material, remark[count++]);
  if (h->has_lid) say_lid(h, o, remark[count++]);
  return count;
}
