/* card.c - the bench card's page: what to do in the order of the hands, then room to write. */
#include "ullage/card.h"

#include <cairo-pdf.h>
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "base/fail.h"
#include "report/atomic_file.h"
#include "report/card_sheet.h"
#include "report/datum_words.h"
#include "report/text.h"

enum { ROWS_MOST = 8, PLUGS_MOST = 16, AIR_MOST = 2, CAUTIONS_MOST = 32, SHOWED_MOST = 8 };
static const double BODY = 12.5, SMALL = 10.5;
static const double VIEWS_LEAST = 150, VIEWS_MOST = 330, CAUTIONS = 66, VENT_LINE = 17,
                    VENT_CLOSE = 13.5, VENT_LEAST = 7,
                    FIRST_CAUTION = 3 * 1.3 * SMALL; /* its lines are three */

typedef struct {
  const ul_card *card;
  ul_error *err;
  ul_status status;
} writing;

/* --- the top: what it is, and whether it fills --- */

static double put_head(const ul_sheet *s, const ul_card *card, double y) {
  double inside = s->width - 2 * s->margin;
  char words[UL_WORDS + 256];
  double label = ul_sheet_text_width(s, UL_SANS, BODY, "bench card");
  ul_sheet_colour_set(s, UL_INK);
  ul_sheet_fitted(s, s->margin, y, inside - label - 20, UL_SANS_BOLD, 22, card->name);
  ul_sheet_text(s, s->margin + inside - label, y, UL_SANS, BODY, "bench card");
  y += 9;
  ul_sheet_rule(s, s->margin, y, s->margin + inside, y, UL_RULE);
  y += 22;
  if (card->fills)
    snprintf(words, sizeof words, "%s in %ld of %ld tries, %s.",
             card->sound ? "Fills" : "Not good yet. Fills", card->good, card->tries,
             card->tries_how);
  else
    snprintf(words, sizeof words,
             "Not good yet: its rise leaves air; %ld of %ld tries, which see less, fill.",
             card->good, card->tries);
  ul_sheet_colour_set(s, card->sound ? UL_INK : UL_RUST);
  y = ul_sheet_paragraph(s, s->margin, y, inside, UL_SANS_BOLD, 13.5, words);
  snprintf(words, sizeof words, "%s", card->verdict);
  words[0] = (char)toupper((unsigned char)words[0]);
  return ul_sheet_paragraph(s, s->margin, y - 1, inside, UL_SERIF, SMALL, words);
}

/* --- the four things to do --- */

/* A step's name, large; what follows stands right of it. Returns where that begins. */
static double put_step(const ul_sheet *s, double y, const char *name) {
  ul_sheet_colour_set(s, UL_INK);
  ul_sheet_text(s, s->margin, y, UL_SANS_BOLD, 16, name);
  return s->margin + 74;
}

static double put_sentence(const ul_sheet *s, double x, double y, const char *text) {
  return ul_sheet_paragraph(s, x, y, s->width - s->margin - x, UL_SERIF, BODY, text);
}

static double put_prop(const ul_sheet *s, const ul_card *card, double y) {
  char tilt[UL_WORDS], blocks[UL_WORDS], words[3 * UL_WORDS];
  double x = put_step(s, y, "Prop");
  ul_words_tilt(card->up, card->side_name, tilt);
  ul_words_props_in(card->props, card->side_name, card->inch, blocks);
  snprintf(words, sizeof words, "Lay it %s: %s.", tilt, blocks);
  y = put_sentence(s, x, y, words);
  if (!card->tool->assumed || ul_props_flat(card->props)) return y;
  ul_sheet_colour_set(s, UL_RUST);
  snprintf(words, sizeof words,
           "Blocks are for a tool wall of %s, which nobody measured: go by the level.",
           ul_card_length(card, card->tool->wall_mm, tilt));
  return ul_sheet_paragraph(s, x, y, s->width - s->margin - x, UL_SERIF, SMALL, words);
}

/* What is put on the scale. */
static void weighed_words(const ul_card *card, ul_cup of, double scale_g, char *out, size_t room) {
  char a[UL_WORDS], b[UL_WORDS], pigment[UL_WORDS];
  int n = snprintf(out, room, "A %.40s, B %.40s", ul_card_mass(card, of.a_g, scale_g, a),
                   ul_card_mass(card, of.b_g, scale_g, b));
  if (of.pigment_g > 0)
    snprintf(out + n, room - (size_t)n, ", pigment into B %.40s",
             ul_card_mass(card, of.pigment_g, scale_g, pigment));
}

/* Of all cups together. */
static void together_words(const ul_card *card, const ul_charge *c, char *out, size_t room) {
  weighed_words(card, (ul_cup){c->total_g, c->a_g, c->b_g, c->pigment_g}, c->scale_g, out, room);
}

/* What goes into cavity `i`. */
static void charge_words(const ul_card *card, size_t i, char *out, size_t room) {
  char volume[UL_WORDS];
  if (card->charge)
    together_words(card, &card->charge[i], out, room);
  else
    snprintf(out, room, "%.60s", ul_card_volume(card, card->solid->cavity[i].volume_mm3, volume));
}

/* "2 cups, in each A 42.6 g, ..." */
static void cup_words(const ul_card *card, const ul_charge *c, char *out, size_t room) {
  int n = snprintf(out, room, "%zu cups, in each ", c->cups);
  weighed_words(card, c->each, c->scale_g, out + n, room - (size_t)n);
}

/* Whether an earlier cavity was told the same. */
static bool told_before(const ul_card *card, size_t i, const char *remark) {
  char other[UL_CHARGE_REMARKS][UL_CHARGE_REMARK];
  for (size_t k = 0; k < i; k++) {
    size_t count = ul_charge_remarks(card->foam, &card->charge[k], card->charge_opts, other);
    for (size_t r = 0; r < count; r++)
      if (strcmp(other[r], remark) == 0) return true;
  }
  return false;
}

/* What the weights should be told with, each once. */
static double put_charge_remarks(const ul_sheet *s, const ul_card *card, double x, double y) {
  char remark[UL_CHARGE_REMARKS][UL_CHARGE_REMARK], words[UL_WORDS];
  if (!card->charge || !card->foam || !card->charge_opts) return y;
  ul_sheet_colour_set(s, UL_RUST);
  for (size_t i = 0; i < card->solid->cavity_count; i++) {
    size_t count = ul_charge_remarks(card->foam, &card->charge[i], card->charge_opts, remark);
    for (size_t r = 0; r < count; r++) {
      if (told_before(card, i, remark[r])) continue;
      snprintf(words, sizeof words, "%c%s.", toupper((unsigned char)remark[r][0]), remark[r] + 1);
      y = ul_sheet_paragraph(s, x, y, s->width - s->margin - x, UL_SERIF, SMALL, words);
    }
  }
  ul_sheet_colour_set(s, UL_INK);
  return y;
}

/* One cavity: what stands on the scale is large. */
static double put_one_charge(const ul_sheet *s, const ul_card *card, double x, double y) {
  const ul_charge *c = &card->charge[0];
  const double inside = s->width - s->margin - x;
  char charge[UL_WORDS], words[2 * UL_WORDS];
  together_words(card, c, charge, sizeof charge);
  if (c->cups < 2) {
    snprintf(words, sizeof words, "%s.", charge);
    return ul_sheet_paragraph(s, x, y, inside, UL_SANS_BOLD, 15, words);
  }
  cup_words(card, c, words, sizeof words);
  strcat(words, ".");
  y = ul_sheet_paragraph(s, x, y, inside, UL_SANS_BOLD, 15, words);
  snprintf(words, sizeof words, "Together %s: mixed by %zu people and poured together.", charge,
           c->cups);
  return put_sentence(s, x, y, words);
}

static double put_weigh(const ul_sheet *s, const ul_card *card, double y) {
  char charge[UL_WORDS], words[2 * UL_WORDS];
  double x = put_step(s, y, "Weigh");
  if (card->charge && card->solid->cavity_count == 1)
    return put_charge_remarks(s, card, x, put_one_charge(s, card, x, y));
  charge_words(card, 0, charge, sizeof charge);
  if (card->solid->cavity_count > 1)
    snprintf(words, sizeof words, "%zu cavities, each its own charge: as listed below.",
             card->solid->cavity_count);
  else
    snprintf(words, sizeof words, "%s to fill.", charge);
  if (!card->charge) strcat(words, " No foam card was given: grams by the data sheet.");
  return put_charge_remarks(s, card, x, put_sentence(s, x, y, words));
}

/* A line each, with its charge where there are several. */
static double put_cavities(const ul_sheet *s, const ul_card *card, double x, double y) {
  size_t count = card->solid->cavity_count, shown = count > ROWS_MOST ? ROWS_MOST - 1 : count;
  char place[UL_WORDS], charge[UL_WORDS], words[3 * UL_WORDS];
  const double inside = s->width - s->margin - x;
  for (size_t i = 0; i < shown; i++, y += 14) {
    charge_words(card, i, charge, sizeof charge);
    snprintf(words, sizeof words, "cavity %zu: %s, at %s", i + 1, charge,
             ul_card_place(card, card->pour_mm[i], place));
    ul_sheet_fitted(s, x, y, inside, UL_SANS, SMALL, words);
    if (!card->charge || card->charge[i].cups < 2) continue;
    y += 14;
    cup_words(card, &card->charge[i], words, sizeof words);
    ul_sheet_fitted(s, x + 14, y, inside - 14, UL_SANS, SMALL, words);
  }
  if (shown == count) return y;
  snprintf(words, sizeof words, "and %zu more: see plan.json", count - shown);
  ul_sheet_text(s, x, y, UL_SANS, SMALL, words);
  return y + 14;
}

/* A margin of the clock. */
static const char *spare_words(double margin_s, char out[UL_WORDS]) {
  snprintf(out, UL_WORDS, margin_s < 0 ? "%.0f s too late" : "%.0f s to spare", fabs(margin_s));
  return out;
}

/* The holes that it is poured through. */
static double put_pour_holes(const ul_sheet *s, const ul_card *card, double x, double y) {
  char size[UL_WORDS], place[UL_WORDS], words[3 * UL_WORDS];
  for (size_t i = 0; i < card->hole_count; i++) {
    snprintf(words, sizeof words, "Pour through the hole of %s at %s%s.",
             ul_card_length(card, card->hole[i].diameter_mm, size),
             ul_card_place(card, card->hole[i].at_mm, place),
             card->hole_plug[i] ? "; plug it when foam shows"
                                : "; leave it open, for air leaves by it");
    y = put_sentence(s, x, y, words);
  }
  return y;
}

static double put_pour(const ul_sheet *s, const ul_card *card, double y) {
  char place[UL_WORDS], words[2 * UL_WORDS], spare[UL_WORDS];
  double x = put_step(s, y, "Pour");
  if (card->clock) {
    snprintf(words, sizeof words, "Poured by %.0f s from the start of mixing, %.60s.",
             card->clock->poured_s, spare_words(card->clock->pour_margin_s, spare));
    if (card->clock->pour_margin_s < 0) ul_sheet_colour_set(s, UL_RUST);
    y = put_sentence(s, x, y, words);
    ul_sheet_colour_set(s, UL_INK);
  }
  if (card->poured_up) {
    snprintf(words, sizeof words, "Pour and shut it lying so: %.120s; then turn it.",
             ul_words_tilt(card->poured_up, card->side_name, place));
    y = put_sentence(s, x, y, words);
  }
  y = put_pour_holes(s, card, x, y);
  if (card->solid->cavity_count > 1)
    return put_cavities(s, card, x, put_sentence(s, x, y, "Pour where the drops are."));
  if (!card->hole_count) {
    snprintf(words, sizeof words, "Pour at %s (the drop).",
             ul_card_place(card, card->pour_mm[0], place));
    y = put_sentence(s, x, y, words);
  }
  return y;
}

static double put_shut(const ul_sheet *s, const ul_card *card, double y) {
  char words[2 * UL_WORDS], force[UL_WORDS], spare[2][UL_WORDS];
  double x = put_step(s, y, "Shut");
  if (card->clock) {
    const ul_clock *c = card->clock;
    snprintf(words, sizeof words, "Shut by %.0f s, %.60s; in this position by %.0f s, %.60s.",
             c->shut_s, spare_words(c->shut_margin_s, spare[0]), c->turned_s,
             spare_words(c->turn_margin_s, spare[1]));
    if (fmin(c->shut_margin_s, c->turn_margin_s) < 0) ul_sheet_colour_set(s, UL_RUST);
  } else {
    snprintf(words, sizeof words, "Shut it and have it in this position before the foam creams.");
  }
  y = put_sentence(s, x, y, words);
  ul_sheet_colour_set(s, UL_INK);
  if (!card->hold) return y;
  double newton = card->hold->clamp_n;
  int n = snprintf(words, sizeof words, "Clamp with %.40s %s in all",
                   ul_words_figure(card->inch ? newton / 4.4482216 : newton, force),
                   card->inch ? "pounds" : "N");
  if (card->hold->bolts_m8 > 0)
    n += snprintf(words + n, sizeof words - (size_t)n, " (%zu bolts M6, or %zu M8)",
                  card->hold->bolts_m6, card->hold->bolts_m8);
  snprintf(
      words + n, sizeof words - (size_t)n, "; %.40s %s inside.",
      ul_words_figure(card->inch ? card->hold->peak_kpa / 6.894757 : card->hold->peak_kpa, force),
      card->inch ? "psi" : "kPa");
  return put_sentence(s, x, y, words);
}

/* --- the vents --- */

static bool foam_shows(const ul_card *card, size_t i) {
  return card->foam_shows_s && isfinite(card->foam_shows_s[i]);
}

/* Where it is, and what to do with it. Brief: the foam's showing, which the step's own sentence
 * tells of, goes without saying. */
static void vent_words(const ul_card *card, size_t i, bool brief, char *out, size_t room) {
  const ul_vent *v = &card->vents->vent[i];
  bool groove = v->kind == UL_VENT_GROOVE;
  char size[UL_WORDS], depth[UL_WORDS], place[UL_WORDS];
  ul_card_length(card, groove ? v->width_mm : v->diameter_mm, size);
  ul_card_place(card, v->at_mm, place);
  int n = snprintf(out, room, "%s %s at %s", size, ul_vent_kind_word(v->kind), place);
  if (v->ok)
    n += snprintf(out + n, room - (size_t)n, ", %s %s", ul_card_length(card, v->length_mm, depth),
                  groove ? "long" : "deep");
  else
    n += snprintf(out + n, room - (size_t)n, ": cannot be made, see vents.csv");
  if (v->closed) n += snprintf(out + n, room - (size_t)n, ", plugged for good");
  if (brief && v->plug && foam_shows(card, i)) {
    snprintf(out + n, room - (size_t)n, "; plug it at %.0f s", card->foam_shows_s[i]);
    return;
  }
  if (foam_shows(card, i))
    n += snprintf(out + n, room - (size_t)n, "; foam shows at %.0f s", card->foam_shows_s[i]);
  if (v->plug) snprintf(out + n, room - (size_t)n, ", plug it");
}

/* Its end says what to do: where a line is too long it is told briefly, then set smaller. `line` is
 * how far the lines are apart. */
static double put_vent(const ul_sheet *s, const ul_card *card, size_t i, double line, double y) {
  const ul_vent *v = &card->vents->vent[i];
  const double inside = s->width - 2 * s->margin - 26;
  double size = line < VENT_LINE ? SMALL : BODY - 1;
  char words[4 * UL_WORDS];
  ul_sheet_number(s, s->margin + 10, y - 4, line / 2 - 0.5, v->id);
  vent_words(card, i, false, words, sizeof words);
  if (ul_sheet_text_width(s, UL_SANS, size, words) > inside)
    vent_words(card, i, true, words, sizeof words);
  while (size > VENT_LEAST && ul_sheet_text_width(s, UL_SANS, size, words) > inside) size -= 0.5;
  ul_sheet_colour_set(s, v->ok ? UL_INK : UL_RUST);
  ul_sheet_fitted(s, s->margin + 26, y, inside, UL_SANS, size, words);
  return y + line;
}

/* Those to plug, in the order in which foam shows at them; where nobody knows, by number. */
static size_t list_plugs(const ul_card *card, size_t *order) {
  size_t count = 0;
  for (size_t i = 0; i < card->vents->count && count < PLUGS_MOST; i++) {
    if (!card->vents->vent[i].plug) continue;
    size_t k = count++;
    for (; k && foam_shows(card, i) &&
           (!foam_shows(card, order[k - 1]) ||
            card->foam_shows_s[order[k - 1]] > card->foam_shows_s[i]);
         k--)
      order[k] = order[k - 1];
    order[k] = i;
  }
  return count;
}

/* Those that are there and are plugged for good: " 2, 5", or nothing. */
static void list_closed(const ul_card *card, char out[UL_WORDS]) {
  size_t used = 0;
  *out = 0;
  for (size_t i = 0; i < card->vents->count && used < UL_WORDS - 16; i++)
    if (card->vents->vent[i].closed)
      used += (size_t)snprintf(out + used, UL_WORDS - used, "%s %u", used ? "," : "",
                               card->vents->vent[i].id);
}

/* "Plug when foam shows, in this order: 2 at 62 s, 1 at 71 s." */
static void vents_words(const ul_card *card, char *out, size_t room) {
  char closed[UL_WORDS];
  size_t order[PLUGS_MOST], count = list_plugs(card, order), used;
  list_closed(card, closed);
  if (*closed)
    used = (size_t)snprintf(out, room,
                            "Plugged for good:%s. Open and clean the others before "
                            "the pour.",
                            closed);
  else
    used = (size_t)snprintf(out, room, "Open and clean before the pour.");
  if (!count) {
    snprintf(out + used, room - used, " Then leave them: foam stops them.");
    return;
  }
  used += (size_t)snprintf(out + used, room - used,
                           " Plug when foam shows%s:", count > 1 ? ", in this order" : "");
  for (size_t i = 0; i < count && used < room; i++) {
    used += (size_t)snprintf(out + used, room - used, "%s %u", i ? "," : "",
                             card->vents->vent[order[i]].id);
    if (foam_shows(card, order[i]) && used < room)
      used += (size_t)snprintf(out + used, room - used, " at %.0f s", card->foam_shows_s[order[i]]);
  }
  if (used < room)
    snprintf(out + used, room - used, count < card->vents->count ? ". Leave the others." : ".");
}

/* As many as there is room for above `end`, closer together where they are many, and a line for the
 * rest. */
static double put_vents(const ul_sheet *s, const ul_card *card, double y, double end) {
  size_t count = card->vents->count;
  char words[2 * UL_WORDS];
  double x = put_step(s, y, "Vents");
  snprintf(words, sizeof words, "None is needed%s.", card->hole_count ? " but the pour hole" : "");
  if (count) vents_words(card, words, sizeof words);
  y = put_sentence(s, x, y, words);
  y += 4;
  const double line = VENT_LINE * (double)count <= end - y ? VENT_LINE : VENT_CLOSE;
  size_t shown = (size_t)fmin(fmax((end - y) / line, 0), (double)count);
  if (shown && shown < count) shown--;
  for (size_t i = 0; i < shown; i++) y = put_vent(s, card, i, line, y);
  if (shown == count) return y + VENT_LINE - line;
  snprintf(words, sizeof words, "and %zu more: see vents.csv", count - shown);
  ul_sheet_colour_set(s, UL_INK);
  ul_sheet_text(s, s->margin + 26, y, UL_SANS, SMALL, words);
  return y + VENT_LINE;
}

/* --- air that stays --- */

static const double AIR_LINE = 15, AIR_REST = 6;

static double air_height(const ul_card *card) {
  const size_t more = card->air_count > AIR_MOST;
  return card->air_count ? AIR_LINE * (double)(more ? AIR_MOST + 1 : card->air_count) + AIR_REST
                         : 0;
}

static double put_air(const ul_sheet *s, const ul_card *card, double y) {
  char volume[UL_WORDS], place[UL_WORDS], words[3 * UL_WORDS];
  if (!card->air_count) return y;
  double x = put_step(s, y, "Air"), inside = s->width - s->margin - x;
  ul_sheet_colour_set(s, UL_RUST);
  for (size_t i = 0; i < card->air_count && i < AIR_MOST; i++, y += AIR_LINE) {
    snprintf(words, sizeof words, "air %u: %.60s stay at %.100s", card->air[i].id,
             ul_card_volume(card, card->air[i].void_mm3, volume),
             ul_card_place(card, card->air[i].at_mm, place));
    ul_sheet_fitted(s, x, y, inside, UL_SANS, BODY - 1, words);
  }
  if (card->air_count > AIR_MOST) {
    snprintf(words, sizeof words, "and %zu smaller: see plan.json", card->air_count - AIR_MOST);
    ul_sheet_text(s, x, y, UL_SANS, BODY - 1, words);
    y += AIR_LINE;
  }
  ul_sheet_colour_set(s, UL_INK);
  return y + AIR_REST;
}

/* --- cautions, and lines to fill in --- */

/* At the bench: what was to be minded when the tool was drilled comes last. */
static size_t list_cautions(const ul_card *card, size_t *order) {
  size_t count = 0;
  for (int last = 0; last < 2; last++)
    for (size_t i = 0; i < card->caution_count && count < CAUTIONS_MOST; i++)
      if ((card->caution[i].when < UL_WHEN_WEIGH) == last) order[count++] = i;
  return count;
}

/* As many as there is room for above `end`, in the order of the work. */
static void put_cautions(const ul_sheet *s, const ul_sheet *trial, const ul_card *card, double y,
                         double end) {
  size_t order[CAUTIONS_MOST], count = list_cautions(card, order);
  double x = s->margin + 74, inside = s->width - s->margin - x;
  for (size_t i = 0; i < count; i++) {
    const char *text = card->caution[order[i]].text;
    if (ul_sheet_paragraph(trial, x, y, inside, UL_SERIF, SMALL, text) > end) break;
    if (i == 0) put_step(s, y, "Mind");
    y = ul_sheet_paragraph(s, x, y, inside, UL_SERIF, SMALL, text) + 2;
  }
}

static void put_blank(const ul_sheet *s, double x, double y, double width, const char *label) {
  ul_sheet_colour_set(s, UL_INK);
  double used = ul_sheet_text(s, x, y, UL_SANS, SMALL, label) + 6;
  ul_sheet_colour_set(s, UL_SOFT_INK);
  ul_sheet_rule(s, x + used, y + 2, x + width, y + 2, UL_RULE);
}

static const double BLANK_LINE = 21;
enum { BLANK_LINES = 4 };

/* When foam showed: a blank a vent. */
static void put_showed(const ul_sheet *s, const ul_card *card, double y) {
  size_t count = card->vents->count < SHOWED_MOST ? card->vents->count : SHOWED_MOST;
  if (!count) return;
  ul_sheet_colour_set(s, UL_INK);
  double x = s->margin + ul_sheet_text(s, s->margin, y, UL_SANS, SMALL, "foam showed, s") + 14;
  double each = (s->width - s->margin - x) / (double)count;
  for (size_t i = 0; i < count; i++, x += each) {
    ul_sheet_number(s, x + 8, y - 4, 8, card->vents->vent[i].id);
    ul_sheet_colour_set(s, UL_SOFT_INK);
    ul_sheet_rule(s, x + 20, y + 2, x + each - 12, y + 2, UL_RULE);
  }
}

/* Bottom of the page, from where a hand can write. */
static void put_blanks(const ul_sheet *s, const ul_card *card) {
  static const char *const label[BLANK_LINES][3] = {{"date", "shot no.", "by"},
                                                    {"lot A", "lot B", "opened on"},
                                                    {"liquids", "mould", "room"},
                                                    {"poured at", "shut at", "part weighs"}};
  const char *unit = card->inch ? " \u00b0F" : " \u00b0C";
  double third = (s->width - 2 * s->margin) / 3;
  double y = s->height - s->margin - 14 - BLANK_LINE * BLANK_LINES;
  for (int row = 0; row < BLANK_LINES; row++, y += BLANK_LINE)
    for (int c = 0; c < 3; c++) {
      char words[64];
      snprintf(words, sizeof words, "%s%s", label[row][c], row == 2 ? unit : "");
      put_blank(s, s->margin + c * third, y, third - 12, words);
    }
  put_showed(s, card, y);
}

static void put_foot(const ul_sheet *s, const ul_card *card) {
  char datum[UL_WORDS], words[2 * UL_WORDS];
  snprintf(words, sizeof words, "Places are measured from %s.",
           ul_datum_words(&card->datum, datum));
  ul_sheet_colour_set(s, UL_SOFT_INK);
  ul_sheet_fitted(s, s->margin, s->height - s->margin + 8, s->width - 2 * s->margin, UL_SANS, 8.5,
                  words);
}

/* What stands below the views. Holes give way to air that stays and to the first caution: the rest
 * of them stands in vents.csv. */
static double put_steps(const ul_sheet *s, const ul_card *card, double y, double end) {
  y = put_weigh(s, card, y) + 7;
  y = put_pour(s, card, y) + 7;
  y = put_shut(s, card, y) + 7;
  return put_air(s, card, put_vents(s, card, y, end - air_height(card) - 6 - FIRST_CAUTION) + 6);
}

/* The views take what the words leave, of which CAUTIONS is kept for those. `trial` is a sheet that
 * nobody sees, to find out how much that is. */
static ul_status put_page(const ul_sheet *s, const ul_sheet *trial, const ul_card *card,
                          ul_error *err) {
  double end = s->height - s->margin - 22 - (BLANK_LINES + 1) * BLANK_LINE;
  double y = put_prop(s, card, put_head(s, card, s->margin + 16) + 14);
  double room = end - put_steps(trial, card, y + 20, INFINITY) - CAUTIONS;
  double height = fmin(fmax(room, VIEWS_LEAST), VIEWS_MOST);
  ul_status status =
      ul_card_views(s, card, s->margin, y - 6, s->width - 2 * s->margin, &height, err);
  if (status != UL_OK) return status;
  y = put_steps(s, card, y - 6 + height + 24, end);
  put_cautions(s, trial, card, y, end);
  put_blanks(s, card);
  put_foot(s, card);
  return UL_OK;
}

/* --- the file --- */

static cairo_status_t to_file(void *file, const unsigned char *data, unsigned length) {
  return fwrite(data, 1, length, file) == length ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

static void describe(cairo_surface_t *surface, const ul_card *card) {
  char date[32], title[UL_WORDS];
  time_t made = (time_t)card->made_s;
  struct tm utc;
  gmtime_r(&made, &utc);
  strftime(date, sizeof date, "%Y-%m-%dT%H:%M:%SZ", &utc);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, date);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "ullage");
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE,
                                 ul_clean_text(card->name, title, sizeof title));
}

static ul_sheet open_sheet(cairo_surface_t *surface, ul_paper paper) {
  ul_sheet s = {.cr = cairo_create(surface), .margin = 40};
  s.width = paper == UL_PAPER_LETTER ? 612 : 595.276;
  s.height = paper == UL_PAPER_LETTER ? 792 : 841.89;
  cairo_font_options_t *options = cairo_font_options_create();
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_set_font_options(s.cr, options);
  cairo_font_options_destroy(options);
  return s;
}

static ul_status drawing_failed(cairo_status_t drawn, ul_error *err) {
  if (drawn == CAIRO_STATUS_NO_MEMORY) return ul_fail_memory(err);
  return ul_fail(err, UL_E_MACHINE, "the bench card cannot be drawn: %s",
                 cairo_status_to_string(drawn));
}

/* What goes wrong with the file itself is found afterwards, by whoever opened it. */
static bool draw(FILE *file, void *context) {
  writing *w = context;
  cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(to_file, file, 1, 1);
  cairo_surface_t *nowhere = cairo_recording_surface_create(CAIRO_CONTENT_COLOR, NULL);
  ul_sheet s = open_sheet(surface, w->card->paper), trial = open_sheet(nowhere, w->card->paper);
  cairo_pdf_surface_set_size(surface, s.width, s.height);
  describe(surface, w->card);
  w->status = put_page(&s, &trial, w->card, w->err);
  cairo_show_page(s.cr);
  cairo_status_t drawn = cairo_status(s.cr);
  cairo_destroy(s.cr);
  cairo_destroy(trial.cr);
  cairo_surface_finish(surface);
  if (drawn == CAIRO_STATUS_SUCCESS) drawn = cairo_surface_status(surface);
  cairo_surface_destroy(surface);
  cairo_surface_destroy(nowhere);
  if (w->status == UL_OK && drawn != CAIRO_STATUS_SUCCESS && drawn != CAIRO_STATUS_WRITE_ERROR)
    w->status = drawing_failed(drawn, w->err);
  return w->status == UL_OK;
}

ul_status ul_write_card(const ul_card *card, const char *path, ul_error *err) {
  writing w = {.card = card, .err = err};
  ul_error ours;
  ul_status status = ul_write_whole(path, draw, &w, &ours);
  if (w.status != UL_OK) return w.status;
  if (status != UL_OK && err) *err = ours;
  return status;
}
