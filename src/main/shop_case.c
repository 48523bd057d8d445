#include "main/shop_case.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "main/pours.h"
#include "main/rise_verdict.h"
#include "report/json.h"
#include "report/json_shop.h"
#include "report/words.h"

/* What the rise saw leave by the vents of that cavity; NAN without one. */
static double bled_g(const foam_proof *proof, size_t cavity) {
  return proof && proof->rise ? rise_lost_g(proof->rise, cavity) : NAN;
}

static ul_status weigh(const cavity_case *c, const foam_proof *proof, shop_case *s, ul_error *err) {
  double rate = ul_vent_air_rate(&s->foam, s->pack, &s->air_at_s);
  ul_charge_opts opts = c->opts->charge;
  opts.pack = s->pack;
  ul_status status = UL_OK;
  for (size_t i = 0; i < s->cavity_count && status == UL_OK; i++) {
    shop_cavity *v = &s->cavity[i];
    opts.bleed_g = bled_g(proof, i);
    v->bleed_seen = isfinite(opts.bleed_g);
    status = ul_charge_make(&s->foam, v->volume_mm3, &opts, &v->charge, err);
    if (status != UL_OK) break;
    status = ul_vent_size_for(s->foam.foam_class, rate * v->volume_mm3, c->opts->wall_mm,
                              c->opts->drills, &v->air, err);
  }
  return status;
}

/* The least pack is found to this. */
static const double LEAST_STEP = 0.01;

/* What may break, and hurt, comes before all else. */
static bool will_not_hold(const options *opts, shop_case *s) {
  enum { ROOM = sizeof s->verdict };
  if (!s->hold.material_holds)
    snprintf(s->verdict, ROOM, "the mould does not hold: %.3g kPa in %s, which may carry %g kPa",
             s->hold.peak_kpa, opts->hold.material->name, opts->hold.material->allowed_kpa);
  else if (s->hold.has_lid && !(s->hold.lid.strong && s->hold.lid.stiff))
    snprintf(s->verdict, ROOM, "the lid %s under %.3g kPa: make it thicker or rib it",
             s->hold.lid.strong ? "bulges and leaks" : "may break", s->hold.peak_kpa);
  else
    return rise_is_dangerous(s->hold.peak_kpa, "", s->verdict, ROOM) ||
           rise_is_dangerous_by_card(&s->foam, s->pack, s->verdict, ROOM);
  return true;
}

/* Less is not seen in a mould. */
static const double DROWNED_MM = 0.1;

/* By geometry: the charge as a liquid, level in each cavity as it lies while it is poured. */
static ul_status find_drowned(const cavity_case *c, const double up[3], shop_case *s,
                              ul_error *err) {
  const double *poured_up = c->opts->has_poured_up ? c->opts->poured_up : up;
  const double liquid_share = s->pack * ul_mid(s->foam.free_kg_m3) / ul_mid(s->foam.liquid_kg_m3);
  mouth *m;
  ul_status status = mouths_find(c, poured_up, &m, err);
  for (size_t i = 0; status == UL_OK && i < s->cavity_count; i++) {
    double over = mouth_liquid_over_mm(c, i, poured_up, &m[i], liquid_share);
    if (over < DROWNED_MM || over <= s->drowned_over_mm) continue;
    s->drowned = m[i];
    s->drowned_over_mm = over;
  }
  free(m);
  return status;
}

static bool runs_out(const options *opts, shop_case *s) {
  char name[40];
  if (!(s->drowned_over_mm > 0)) return false;
  if (s->drowned.opening == UL_OPENING_RIM)
    rise_say_over_rim(s->drowned_over_mm, s->drowned.at_mm, s->verdict, sizeof s->verdict);
  else
    rise_say_over_opening(s->drowned_over_mm, rise_vent_name(opts, s->drowned.hole, 0, name),
                          s->drowned.at_mm, s->verdict, sizeof s->verdict);
  return true;
}

/* What the scale makes of the ratio, in the cavity where that is furthest off. */
static bool weighs_wrong(shop_case *s) {
  size_t worst = 0;
  double most = 0;
  for (size_t i = 0; i < s->cavity_count; i++) {
    const double off = fabs(ul_charge_ratio_off(&s->foam, &s->cavity[i].charge));
    if (off > most) most = off, worst = i;
  }
  if (most <= UL_RATIO_OFF_MOST) return false;
  const ul_charge *c = &s->cavity[worst].charge;
  char whose[40] = "";
  if (s->cavity_count > 1)
    snprintf(whose, sizeof whose, " for cavity %zu", s->first_cavity + worst + 1);
  snprintf(s->verdict, sizeof s->verdict,
           "the scale is too coarse: in steps of %g g it makes A to B %.4g to %.4g g%s, %.3g %% %s "
           "the card's ratio; use a finer scale (--scale-g), or mix a larger batch and throw the "
           "rest away",
           c->scale_g, c->a_g, c->b_g, whose, 100 * most,
           ul_charge_ratio_off(&s->foam, c) > 0 ? "over" : "under");
  return true;
}

/* The first cavity of a size that no hands pour, with the unit to try. */
static bool is_odd_size(const cavity_case *c, shop_case *s) {
  size_t i = 0;
  while (i < s->cavity_count && ul_charge_size(&s->cavity[i].charge) == UL_SIZE_BY_HAND) i++;
  if (i == s->cavity_count) return false;
  const ul_charge *g = &s->cavity[i].charge;
  const bool small = ul_charge_size(g) == UL_SIZE_TOO_SMALL;
  char whose[40] = "", in[UL_WORDS], cup[UL_WORDS];
  if (s->cavity_count > 1) snprintf(whose, sizeof whose, "cavity %zu is ", s->first_cavity + i + 1);
  int used =
      small ? snprintf(s->verdict, sizeof s->verdict,
                       "%stoo small to pour by hand: %.20s g go in and %.20s g stay in the cup, so "
                       "that what stays decides the part (--left-in-cup)",
                       whose, ul_words_grams(g->in_cavity_g + g->bleed_g, in),
                       ul_words_figure(g->cup_g, cup))
            : snprintf(s->verdict, sizeof s->verdict, "%stoo large to pour by hand: %.20s kg",
                       whose, ul_words_figure(g->total_g / 1000, in));
  snprintf(s->verdict + used, sizeof s->verdict - (size_t)used,
           "; is the unit right? It was taken as %s: %s", c->info.unit_word,
           ul_unit_remedy(&c->info, small));
  return true;
}

/* Else the first thing that will not do, in the order of the work. */
static void judge(const cavity_case *c, shop_case *s) {
  const options *opts = c->opts;
  const ul_least_pack *least = &s->choice.least;
  enum { ROOM = sizeof s->verdict };
  s->good = false;
  s->dangerous = will_not_hold(opts, s);
  if (s->dangerous) return;
  s->odd_size = is_odd_size(c, s);
  if (s->odd_size) return;
  if (s->pack_verdict == UL_PACK_SHORT)
    snprintf(s->verdict, ROOM, "does not fill: pack %.200s", s->pack_words);
  else if (least->rises && !least->fills)
    snprintf(s->verdict, ROOM,
             "does not fill: even at a pack of %.3g the foam sets with %.2g %% of a cavity empty; "
             "pour nearer to its end, take a slower foam, or lay it flatter",
             least->pack, 100 * least->short_volume);
  else if (least->rises && s->pack < least->pack - LEAST_STEP && opts->want_density_kg_m3 > 0)
    snprintf(s->verdict, ROOM,
             "does not fill: a pack of %.3g is under the %.3g that this cavity needs; ask for %.0f "
             "kg/m3 or more (--want-density)",
             s->pack, least->pack, ceil(least->pack * ul_mid(s->foam.free_kg_m3) - 1e-9));
  else if (least->rises && s->pack < least->pack - LEAST_STEP)
    snprintf(s->verdict, ROOM,
             "does not fill: a pack of %.3g is under the %.3g that this cavity needs; raise --pack",
             s->pack, least->pack);
  else if (weighs_wrong(s) || runs_out(opts, s) || clock_missed(&s->clock, s->verdict, ROOM))
    return;
  else {
    s->good = true;
    snprintf(s->verdict, ROOM, "can be weighed, poured in time and held");
  }
}

static ul_status measure(const cavity_case *c, shop_case *s, ul_error *err) {
  s->cavity_count = c->solid->cavity_count;
  s->first_cavity = c->first_cavity;
  s->cavity = ul_new(s->cavity_count, sizeof *s->cavity);
  if (!s->cavity) return ul_fail_memory(err);
  for (size_t i = 0; i < s->cavity_count; i++)
    s->cavity[i].volume_mm3 = c->solid->cavity[i].volume_mm3;
  ul_copy3(c->parting.draw, s->along);
  s->along_assumed = ul_norm(s->along) == 0;
  if (s->along_assumed) s->along[2] = 1;
  return ul_shadow_mm2(c->bare->mesh, s->along, &s->projected_mm2, err);
}

static void caution(const cavity_case *c, shop_case *s) {
  ul_caution_job job = {.foam = s->has_foam ? &s->foam : NULL,
                        .material = c->opts->hold.material,
                        .half_gap_mm = c->grid ? c->grid->half_gap_p95_mm : 0,
                        .drilled = true};
  s->caution_count = ul_cautions(&job, s->caution, CAUTIONS_MOST);
}

ul_status shop_make(const cavity_case *c, const pack_choice *choice, const double up[3],
                    const foam_proof *proof, shop_case *s, ul_error *err) {
  memset(s, 0, sizeof *s);
  s->choice = *choice;
  s->foam = choice->foam;
  s->pack = choice->pack;
  s->has_foam = c->opts->foam != NULL;
  ul_status status = measure(c, s, err);
  if (status != UL_OK) return status;
  caution(c, s);
  s->good = true;
  snprintf(s->verdict, sizeof s->verdict,
           "no foam card: litres only; --foam CARD gives grams, clock and pressure");
  if (!s->has_foam) return UL_OK;
  status = weigh(c, proof, s, err);
  if (status != UL_OK) return status;
  s->pack_verdict = ul_pack_judge(&s->foam, s->pack, s->pack_words);
  const options *o = c->opts;
  const ul_rise *rise = proof ? proof->rise : NULL;
  status =
      pours_clock(c, &s->foam, s->pack, up, rise, proof ? proof->first_hole : 0, &s->clock, err);
  if (status == UL_OK && !rise) status = find_drowned(c, up, s, err);
  if (status != UL_OK) return status;
  ul_hold_opts holding = o->hold;
  holding.rise_kpa = rise ? proof->peak_kpa : NAN;
  status = ul_hold_make(&s->foam, s->pack, s->projected_mm2, &holding, &s->hold, err);
  if (status == UL_OK) judge(c, s);
  return status;
}

void shop_free(shop_case *s) {
  free(s->cavity);
}

static json_t *pack_json(const pack_choice *p) {
  const ul_least_pack *least = &p->least;
  return json_pack("{s:o,s:s,s:[o,o],s:o,s:o}", "taken", ul_json_number(p->pack), "from",
                   pack_from_word(p->from), "card", ul_json_number(p->foam.pack.lo),
                   ul_json_number(p->foam.pack.hi), "least",
                   p->searched && least->fills ? ul_json_number(least->pack) : json_null(), "fills",
                   p->searched ? json_boolean(least->fills) : json_null());
}

json_t *shop_json(const shop_case *s) {
  json_t *root = json_object(), *charge = json_array(), *air = json_array();
  for (size_t i = 0; i < s->cavity_count; i++) {
    const shop_cavity *v = &s->cavity[i];
    size_t number = s->first_cavity + i + 1;
    json_t *weighed =
        s->has_foam ? ul_json_charge(number, &v->charge) : ul_json_litres(number, v->volume_mm3);
    ul_json_put(weighed, "bleed_from",
                s->has_foam ? json_string(v->bleed_seen ? "rise" : "reckoned") : json_null());
    json_array_append_new(charge, weighed);
    if (s->has_foam) json_array_append_new(air, ul_json_air(number, &v->air, s->air_at_s));
  }
  ul_json_put(root, "foam", s->has_foam ? ul_json_foam(&s->foam) : json_null());
  ul_json_put(root, "charge", charge);
  ul_json_put(root, "pack", s->has_foam ? pack_json(&s->choice) : json_null());
  ul_json_put(root, "clock", s->has_foam ? ul_json_clock(&s->clock) : json_null());
  ul_json_put(root, "hold",
              ul_json_hold(s->has_foam ? &s->hold : NULL, s->projected_mm2, s->along));
  ul_json_put(root, "air", air);
  ul_json_put(root, "cautions", ul_json_cautions(s->caution, s->caution_count));
  return root;
}
