#include "ullage/shots.h"

#include <math.h>
#include <stdint.h>

#include "base/fail.h"
#include "shop/causes.h"
#include "shop/shots_loss.h"
#include "ullage/charge.h"
#include "ullage/packing.h"

enum { COOKIE = 0x73686f74 };

/* From which difference on a number points to a cause: common practice, no source. */
static const double cold_k = 3, cup_share = 0.05, single_share = 0.05, short_raise = 1.05;
/* A charge that differs by less is the same one: the program's own choice. */
static const double same_share = 0.01;

ul_shots_opts ul_shots_opts_default(void) {
  return (ul_shots_opts){.cookie = COOKIE};
}

double ul_shot_cup_kg_m3(const ul_shot *shot) {
  return shot->cup_g / shot->cup_ml * 1000;
}

double ul_shot_pack(const ul_shot *shot, const ul_shots_said *said, const ul_shots_opts *opts) {
  if (!(opts->litres > 0)) return NAN;
  double cup = ul_shot_cup_kg_m3(shot);
  return shot->part_g / opts->litres / (isnan(cup) ? said->free_kg_m3.value : cup);
}

/* ---- means ---- */

/* Student's t, two-sided 95 %, of 1, 2... degrees of freedom (any table of it). */
static double student_t(size_t freedom) {
  static const double t[] = {12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
                             2.201,  2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086};
  enum { LAST = sizeof t / sizeof *t };
  return freedom <= LAST ? t[freedom - 1] : 2.086;
}

typedef double (*value_fn)(const ul_shot *shot, const ul_shots_said *said,
                           const ul_shots_opts *opts);

/* Over the shots that have the value. */
static ul_mean mean_of(const ul_shots *shots, value_fn value, const ul_shots_said *said,
                       const ul_shots_opts *opts) {
  double sum = 0, squares = 0;
  size_t n = 0;
  for (size_t i = 0; i < shots->count; i++) {
    double v = value(&shots->shot[i], said, opts);
    if (!isnan(v)) sum += v, n++;
  }
  if (n == 0) return (ul_mean){0, NAN, NAN};
  double mean = sum / (double)n;
  if (n == 1) return (ul_mean){1, mean, single_share * fabs(mean)};
  for (size_t i = 0; i < shots->count; i++) {
    double off = value(&shots->shot[i], said, opts) - mean;
    if (!isnan(off)) squares += off * off;
  }
  double spread = sqrt(squares / (double)(n - 1) / (double)n);
  return (ul_mean){n, mean, student_t(n - 1) * spread};
}

static double cup_value(const ul_shot *shot, const ul_shots_said *said, const ul_shots_opts *opts) {
  (void)said, (void)opts;
  return ul_shot_cup_kg_m3(shot);
}

static double lost_value(const ul_shot *shot, const ul_shots_said *said,
                         const ul_shots_opts *opts) {
  (void)opts;
  return ul_shot_loss_is_doubted(shot, said) ? NAN : shot->charge_g - shot->part_g;
}

/* ---- the next charge ---- */

const char *ul_aim_word(ul_aim aim) {
#define AS_WORD(name, word) [name] = word,
  static const char *const words[] = {UL_AIM_LIST(AS_WORD)};
#undef AS_WORD
  return (unsigned)aim < UL_AIM_END ? words[aim] : "?";
}

static void find_density(const ul_shots *shots, const ul_shots_opts *o, ul_shots_said *s) {
  s->free_kg_m3 = mean_of(shots, cup_value, s, o);
  s->from_cups = s->free_kg_m3.count > 0;
  if (s->from_cups || !o->foam) return;
  s->free_kg_m3.value = ul_mid(o->foam->free_kg_m3);
  s->free_kg_m3.off = (o->foam->free_kg_m3.hi - o->foam->free_kg_m3.lo) / 2;
}

/* A part that stayed short at the pack aimed at wants more than that; the card's highest is the
 * limit, past which it is not the charge. */
static void aim(const ul_shots *shots, const ul_shots_opts *o, ul_shots_said *s) {
  ul_span span = {UL_PACK_TRADE_LO, UL_PACK_TRADE_HI};
  s->aim = UL_AIM_TRADE;
  if (o->foam && o->foam->pack.hi > 0) span = o->foam->pack, s->aim = UL_AIM_CARD;
  if (o->pack > 0 || o->want_kg_m3 > 0) s->aim = UL_AIM_GIVEN;
  s->target_pack = o->pack > 0 ? o->pack : ul_mid(span);
  if (o->want_kg_m3 > 0 && !isnan(s->free_kg_m3.value))
    s->target_pack = o->want_kg_m3 / s->free_kg_m3.value;
  const ul_shot *last = &shots->shot[shots->count - 1];
  double raised = ul_shot_pack(last, s, o) * short_raise;
  const double most = fmin(raised, span.hi);
  if (last->symptom == UL_SYMPTOM_SHORT && most > s->target_pack)
    s->target_pack = most, s->aim = UL_AIM_SHOT;
}

static ul_foam known_foam(const ul_shots_opts *o) {
  return o->foam ? *o->foam : ul_foam_middling();
}

/* As if nothing were lost but what a cup keeps by `charge`: the rest of it is what the table may be
 * wrong about. */
static void find_most_pressure(const ul_shots_opts *o, ul_shots_said *s) {
  ul_foam foam = known_foam(o);
  s->next_most_kpa = NAN;
  if (isnan(s->next_charge_g)) return;
  double free_kg_m3 = s->free_kg_m3.value;
  if (o->foam) free_kg_m3 = fmin(free_kg_m3, ul_mid(foam.free_kg_m3)); /* a cup may be wrong, too */
  foam.free_kg_m3 = (ul_span){free_kg_m3, free_kg_m3};
  const double cup_g = fmin(s->lost_g.value, ul_charge_opts_default().left_g);
  const double pack = (s->next_charge_g - cup_g) / o->litres / free_kg_m3;
  s->next_most_kpa = ul_pack_gauge_pa(&foam, pack) / 1000;
}

static void next_charge(const ul_shots_opts *o, ul_shots_said *s) {
  double part = s->target_pack * o->litres;
  s->next_charge_g = s->next_off_g = NAN;
  if (!(o->litres > 0) || isnan(s->free_kg_m3.value)) return;
  s->next_charge_g = part * s->free_kg_m3.value + s->lost_g.value;
  s->next_off_g = hypot(part * s->free_kg_m3.off, s->lost_g.off);
}

static void hold_at(double charge_g, const ul_shots_opts *o, ul_shots_said *s) {
  const double in_part = charge_g - s->lost_g.value;
  s->held_back_g = s->next_charge_g;
  s->next_charge_g = charge_g;
  s->aim = UL_AIM_SHOT;
  s->target_pack = in_part / o->litres / s->free_kg_m3.value;
  s->next_off_g = hypot(in_part / s->free_kg_m3.value * s->free_kg_m3.off, s->lost_g.off);
}

/* Until the cause is found. Foam got out, or the part burst: no more goes in than has gone well
 * since, or than that shot's. It fell short: no less. */
static void hold_back(const ul_shots *shots, const ul_shots_opts *o, ul_shots_said *s) {
  if (s->faulty == SIZE_MAX || o->pack > 0 || o->want_kg_m3 > 0) return;
  const ul_symptom symptom = shots->shot[s->faulty].symptom;
  double most = 0, least = INFINITY;
  for (size_t i = s->faulty; i < shots->count; i++) {
    const ul_shot *shot = &shots->shot[i];
    if (ul_shot_loss_is_doubted(shot, s)) continue;
    most = fmax(most, shot->charge_g), least = fmin(least, shot->charge_g);
  }
  const bool bursts = symptom == UL_SYMPTOM_SPLIT || symptom == UL_SYMPTOM_LEAK;
  if (bursts && s->next_charge_g > most && most > s->lost_g.value) hold_at(most, o, s);
  if (symptom == UL_SYMPTOM_SHORT && s->next_charge_g < least && isfinite(least))
    hold_at(least, o, s);
}

/* ---- causes ---- */

static void find_faulty(const ul_shots *shots, ul_shots_said *s) {
  s->faulty = SIZE_MAX;
  for (size_t i = 0; i < shots->count; i++)
    if (shots->shot[i].symptom != UL_SYMPTOM_NONE) s->faulty = i;
}

/* Above 0: the next charge is more than that of the shot; false of a NAN. */
static int next_way(const ul_shot *shot, const ul_shots_said *s) {
  double share = s->next_charge_g / shot->charge_g - 1;
  if (ul_shot_loss_is_doubted(shot, s)) return 0;
  return share > same_share ? 1 : share < -same_share ? -1 : 0;
}

static int temperature_shows(const ul_shot *shot, const ul_foam *f) {
  double liquid = shot->liquid_c - f->temperature_c, mould = shot->mould_c - f->temperature_c;
  int shows = 0;
  if (liquid < -cold_k || mould < -cold_k) shows |= UL_SHOWS_COLD; /* false of a NAN */
  if (liquid > cold_k) shows |= UL_SHOWS_WARM;
  return shows;
}

static int what_shows(const ul_shots *shots, const ul_shot *shot, const ul_shots_opts *o,
                      const ul_shots_said *s) {
  double pack = ul_shot_pack(shot, s, o), cup = ul_shot_cup_kg_m3(shot);
  int shows = 0;
  size_t showed = 0, silent = 0;
  for (size_t v = 0; v < shots->vent_count; v++) isnan(shot->vent_s[v]) ? silent++ : showed++;
  if (showed && silent) shows |= UL_SHOWS_SILENT_VENT;
  double least = s->target_pack, most = UL_PACK_TRADE_HI;
  if (o->foam && o->foam->pack.hi > 0) least = o->foam->pack.lo, most = o->foam->pack.hi;
  if (pack < least) shows |= UL_SHOWS_UNDER_PACKED;
  if (pack > most) shows |= UL_SHOWS_OVER_PACKED;
  if (!o->foam) return shows;
  if (cup > o->foam->free_kg_m3.hi * (1 + cup_share)) shows |= UL_SHOWS_HEAVY_CUP;
  if (cup < o->foam->free_kg_m3.lo * (1 - cup_share)) shows |= UL_SHOWS_LIGHT_CUP;
  return shows | temperature_shows(shot, o->foam);
}

static void find_causes(const ul_shots *shots, const ul_shots_opts *o, ul_shots_said *s) {
  if (s->faulty == SIZE_MAX) return;
  const ul_shot *shot = &shots->shot[s->faulty];
  s->cause_count = ul_causes_of(shot->symptom, what_shows(shots, shot, o, s), next_way(shot, s),
                                s->cause, &s->charge_wants);
  s->first = ul_causes_cheapest(s->cause, s->cause_count);
}

/* ---- what cannot be ---- */

/* Lighter than this share of a free rise, or than this, no part is, not even a short one: the
 * program's own choice. Litres that are really cm3 or m3 are a thousand times off. */
static const double least_pack = 0.1, least_kg_m3 = 2;

static ul_status check_cup(const ul_shot *shot, const ul_shots_opts *o, ul_error *err) {
  if (isnan(shot->cup_g) || isnan(shot->cup_ml)) return UL_OK;
  ul_error why = {0};
  ul_foam foam = known_foam(o);
  if (ul_foam_cup_test(&foam, shot->cup_g, shot->cup_ml, &why) == UL_OK) return UL_OK;
  return ul_fail(err, UL_E_READ, "line %zu: %s", shot->line, why.text);
}

static ul_status check_part(const ul_shot *shot, const ul_shots_opts *o, const ul_shots_said *s,
                            ul_error *err) {
  if (!(o->litres > 0)) return UL_OK;
  ul_foam foam = known_foam(o);
  double density = shot->part_g / o->litres, liquid = ul_mid(foam.liquid_kg_m3);
  double least =
      fmax(least_kg_m3, isnan(s->free_kg_m3.value) ? 0 : least_pack * s->free_kg_m3.value);
  if (density >= liquid)
    return ul_fail(err, UL_E_READ,
                   "line %zu: a part of %g g in %g litres is %.0f kg/m3, denser than the liquid "
                   "(%.0f): check --litres and part_g",
                   shot->line, shot->part_g, o->litres, density, liquid);
  if (density < least)
    return ul_fail(err, UL_E_READ,
                   "line %zu: a part of %g g in %g litres is %.3g kg/m3, lighter than any foam: "
                   "check --litres and part_g",
                   shot->line, shot->part_g, o->litres, density);
  return UL_OK;
}

static ul_status check_aim(const ul_shots_opts *o, const ul_shots_said *s, ul_error *err) {
  ul_foam foam = known_foam(o);
  double most = ul_mid(foam.liquid_kg_m3) / s->free_kg_m3.value;
  if (!(s->target_pack >= most)) return UL_OK;
  if (s->aim != UL_AIM_GIVEN)
    return ul_fail(
        err, s->from_cups ? UL_E_READ : UL_E_CARD,
        "a pack of %.3g times free rise, %.4g kg/m3 by %s, is more than the cavity holds "
        "as liquid (%.3g): check both",
        s->target_pack, s->free_kg_m3.value, s->from_cups ? "the cups" : "the foam card", most);
  return ul_fail(err, UL_E_USAGE,
                 "a charge of %.3g times free rise is more than the cavity holds as liquid (%.3g): "
                 "weigh less",
                 s->target_pack, most);
}

static bool is_good(const ul_shots *shots, const ul_shots_opts *o, const ul_shots_said *s) {
  if (!s->aim_fills || s->next_most_kpa > UL_MOULD_USUAL_MOST_KPA) return false;
  if (o->litres > 0 && s->lost_g.count == 0) return false;
  if (s->next_off_g >= s->next_charge_g) return false; /* it says nothing */
  return s->faulty == SIZE_MAX || !ul_shot_loss_is_doubted(&shots->shot[s->faulty], s);
}

ul_status ul_shots_judge(const ul_shots *shots, const ul_shots_opts *o, ul_shots_said *out,
                         ul_error *err) {
  if (o->cookie != COOKIE)
    return ul_fail(err, UL_E_USAGE, "shot options not made by ul_shots_opts_default()");
  if (shots->count == 0) return ul_fail(err, UL_E_USAGE, "no shots to judge");
  if (!(o->litres >= 0 && o->pack >= 0 && o->want_kg_m3 >= 0))
    return ul_fail(err, UL_E_USAGE, "a cavity of %g litres at pack %g: give values above 0",
                   o->litres, o->pack);
  if (o->pack > 0 && o->want_kg_m3 > 0)
    return ul_fail(err, UL_E_USAGE, "a pack of %g and a density of %g kg/m3: give one", o->pack,
                   o->want_kg_m3);
  ul_status status = UL_OK;
  for (size_t i = 0; i < shots->count && status == UL_OK; i++)
    status = check_cup(&shots->shot[i], o, err);
  if (status != UL_OK) return status;
  *out = (ul_shots_said){.held_back_g = NAN, .usual_loss_g = NAN};
  find_density(shots, o, out);
  for (size_t i = 0; i < shots->count && status == UL_OK; i++)
    status = check_part(&shots->shot[i], o, out, err);
  if (status == UL_OK) status = ul_shots_usual_loss(shots, &out->usual_loss_g, err);
  out->lost_g = mean_of(shots, lost_value, out, o);
  out->pack = mean_of(shots, ul_shot_pack, out, o);
  aim(shots, o, out);
  if (status == UL_OK) status = check_aim(o, out, err);
  if (status != UL_OK) return status;
  next_charge(o, out);
  find_faulty(shots, out);
  hold_back(shots, o, out);
  find_most_pressure(o, out);
  out->aim_fills = out->target_pack >= 1;
  find_causes(shots, o, out);
  out->good = is_good(shots, o, out);
  return UL_OK;
}
