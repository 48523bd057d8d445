/* show_shop.c - the shop's numbers as sentences, in the order of the hands. */
#include <math.h>
#include <stdio.h>

#include "main/pours.h"
#include "main/shop_case.h"
#include "main/show.h"
#include "report/words.h"

static void show_litres(const shop_case *s) {
  char words[UL_WORDS];
  for (size_t i = 0; i < s->cavity_count; i++) {
    char label[32];
    snprintf(label, sizeof label, "cavity %zu", s->first_cavity + i + 1);
    show_line(label, "%s", ul_words_volume(s->cavity[i].volume_mm3, words));
  }
}

static void show_foam(const shop_case *s) {
  char density[UL_WORDS];
  show_line("foam", "%s, %s, free rise %s kg/m3, cream %.0f, gel %.0f, rise %.0f s", s->foam.name,
            ul_foam_class_word(s->foam.foam_class),
            ul_words_figure(ul_mid(s->foam.free_kg_m3), density), ul_mid(s->foam.cream_s),
            ul_mid(s->foam.gel_s), ul_mid(s->foam.rise_s));
  if (*s->foam.note) show_line("", "%s", s->foam.note);
}

static void show_charge(const shop_case *s, size_t i, const options *opts) {
  const ul_charge *c = &s->cavity[i].charge;
  char label[32], a[UL_WORDS], b[UL_WORDS], d[UL_WORDS];
  snprintf(label, sizeof label, "weigh %zu", s->first_cavity + i + 1);
  if (s->cavity_count == 1) label[5] = 0;
  const int decimals = ul_scale_decimals(c->scale_g);
  if (c->pigment_g > 0)
    show_line(label,
              "A %.*f g, B %.*f g, and %.*f g of pigment stirred into the B: together %.*f g",
              decimals, c->a_g, decimals, c->b_g, decimals, c->pigment_g, decimals, c->total_g);
  else
    show_line(label, "B %.*f g, A %.*f g: together %.*f g", decimals, c->b_g, decimals, c->a_g,
              decimals, c->total_g);
  show_line("", "%s g go in, %s g of them %s leave by the %s; %s g more stay in the cup%s",
            ul_words_figure(c->in_cavity_g + c->bleed_g, a), ul_words_grams(c->bleed_g, b),
            s->cavity[i].bleed_seen ? "seen to" : "reckoned to",
            opts->hole_count ? "vents and the pour hole" : "vents", ul_words_figure(c->cup_g, d),
            c->cups > 1 ? "s" : "");
  char cups[UL_CHARGE_REMARK], remark[UL_CHARGE_REMARKS][UL_CHARGE_REMARK];
  if (ul_charge_cups(&s->foam, c, &opts->charge, cups)) show_line("", "%s", cups);
  size_t count = ul_charge_remarks(&s->foam, c, &opts->charge, remark);
  for (size_t k = 0; k < count; k++) show_line("", "%s", remark[k]);
}

static void show_air(const shop_case *s) {
  for (size_t i = 0; i < s->cavity_count; i++) {
    const ul_vent_size *v = &s->cavity[i].air;
    char rate[UL_WORDS], least[UL_WORDS], most[UL_WORDS], back[UL_WORDS];
    show_line(i ? "" : "air", "%s litres/s leave at the fastest moment, %.0f s",
              ul_words_figure(v->air_mm3_s * 1e-6, rate), s->air_at_s);
    ul_words_figure(v->least_mm, least);
    ul_words_figure(v->back_pa * 1e-3, back);
    if (v->most_mm > v->least_mm)
      show_line("", "%zu hole%s of %s to %s mm would do for all of it: drill %s, %s kPa", v->holes,
                v->holes > 1 ? "s" : "", least, ul_words_figure(v->most_mm, most), v->drill.name,
                back);
    else
      show_line("", "the thinnest hole that stays open, %s, is ample: %s kPa", v->drill.name, back);
  }
}

static void show_hold(const shop_case *s, const options *opts) {
  const ul_hold *h = &s->hold;
  char a[UL_WORDS], b[UL_WORDS], c[UL_WORDS];
  ul_words_figure(h->packing_kpa, b);
  if (isnan(h->rise_kpa))
    show_line("hold", "%s kPa by the packing formula", b);
  else
    show_line("hold", "%s kPa in the rise, %s kPa by the packing formula",
              ul_words_figure(h->rise_kpa, a), b);
  show_line("", "on %s cm2 seen along %.3g,%.3g,%.3g%s: opens with %s N",
            ul_words_figure(s->projected_mm2 * 1e-2, a), s->along[0] + 0.0, s->along[1] + 0.0,
            s->along[2] + 0.0, s->along_assumed ? " (assumed: --draw)" : "",
            ul_words_figure(h->opening_n, c));
  char remark[UL_HOLD_REMARKS][UL_HOLD_REMARK];
  size_t count = ul_hold_remarks(h, &opts->hold, remark);
  for (size_t i = 0; i < count; i++) show_line("", "%s", remark[i]);
}

static void show_pack(const shop_case *s) {
  const pack_choice *p = &s->choice;
  show_line("pack", "%s", s->pack_words);
  if (p->searched && p->least.fills)
    show_line("", "the least that fills this cavity, lying so, is %.3g%s", p->least.pack,
              p->from == PACK_LEAST ? "; taken: that and a twentieth more" : "");
}

/* Those of the acts from..to; under `label`, or each under its own act when that is NULL. */
static void show_cautions(const shop_case *s, ul_when from, ul_when to, const char *label) {
  int before = -1;
  for (size_t i = 0; i < s->caution_count; i++) {
    const ul_caution *c = &s->caution[i];
    if (c->when < from || c->when > to) continue;
    bool again = label ? before >= 0 : before == (int)c->when;
    show_line(again ? "" : label ? label : ul_when_word(c->when), "%s", c->text);
    before = (int)c->when;
  }
}

void shop_show_unused(const options *opts) {
  if (!opts->foam && *opts->of_foam)
    show_line("note", "without a foam card (--foam) nothing is made of %s", opts->of_foam);
}

/* What to be careful of stands with the act. */
void shop_show(const shop_case *s, const options *opts) {
  show_litres(s);
  if (!s->has_foam) {
    shop_show_unused(opts);
    show_cautions(s, 0, UL_WHEN_ALWAYS, NULL);
    return;
  }
  show_foam(s);
  show_pack(s);
  show_air(s);
  show_cautions(s, UL_WHEN_DRILL, UL_WHEN_RELEASE, NULL);
  for (size_t i = 0; i < s->cavity_count; i++) show_charge(s, i, opts);
  show_cautions(s, UL_WHEN_WEIGH, UL_WHEN_WEIGH, "care");
  pours_show_clock(&s->clock, &s->foam, opts);
  show_cautions(s, UL_WHEN_POUR, UL_WHEN_SHUT, "care");
  show_hold(s, opts);
  show_cautions(s, UL_WHEN_HOLD, UL_WHEN_HOLD, "care");
  show_cautions(s, UL_WHEN_DEMOULD, UL_WHEN_ALWAYS, NULL);
}
