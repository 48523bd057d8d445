/* shots_remarks.c - what should be told with what the shots say. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "ullage/cautions.h"
#include "ullage/packing.h"
#include "ullage/shots.h"

typedef struct {
  const ul_shots *shots;
  const ul_shots_opts *opts;
  const ul_shots_said *said;
} told;

/* Three figures, never an exponent. */
enum { FIGURE = 32 };
static const char *figure(double value, char out[FIGURE]) {
  double step = value >= 1000 ? pow(10, floor(log10(value)) - 2) : 1;
  if (value >= 1000)
    snprintf(out, FIGURE, "%.0f", round(value / step) * step);
  else
    snprintf(out, FIGURE, "%.3g", value);
  return out;
}

/* Each writes its sentence and returns true when there is one. */
typedef bool (*remark_fn)(const told *t, char text[UL_SHOTS_REMARK]);

static ul_span usual_pack(const ul_shots_opts *o) {
  if (o->foam && o->foam->pack.hi > 0) return o->foam->pack;
  return (ul_span){UL_PACK_TRADE_LO, UL_PACK_TRADE_HI};
}

static bool is_asked_for(const ul_shots_opts *o) {
  return o->pack > 0 || o->want_kg_m3 > 0;
}

/* The user's own pack is why the next charge goes the other way: that clears the charge of
 * nothing. */
static bool say_asked_for(const told *t, char *text) {
  const ul_shots_said *s = t->said;
  const ul_shot *shot = &t->shots->shot[s->faulty];
  const ul_span usual = usual_pack(t->opts);
  const double pack = ul_shot_pack(shot, s, t->opts);
  const bool less = s->charge_wants < 0;
  char had[FIGURE], next[FIGURE];
  if (!is_asked_for(t->opts) || !(less ? pack > usual.hi : pack < usual.lo)) return false;
  snprintf(text, UL_SHOTS_REMARK,
           "It may be the charge: line %zu reached pack %.3g, %s the usual %.3g to %.3g, but what "
           "is asked for, %s g, is no %s than its %s g.",
           shot->line, pack, less ? "over" : "under", usual.lo, usual.hi,
           figure(s->next_charge_g, next), less ? "less" : "more", figure(shot->charge_g, had));
  return true;
}

/* What would be poured again: a slip of the pen in the table, or too much asked for. */
static bool say_danger(const told *t, char *text) {
  char grams[FIGURE], kpa[FIGURE];
  if (!(t->said->next_most_kpa > UL_MOULD_USUAL_MOST_KPA)) return false;
  if (isfinite(t->said->next_most_kpa))
    snprintf(kpa, sizeof kpa, "%.24s kPa", figure(t->said->next_most_kpa, grams));
  else
    snprintf(kpa, sizeof kpa, "liquid to the lid");
  snprintf(text, UL_SHOTS_REMARK,
           "Dangerous: %s g, but for what a cup keeps, make %s by the packing formula, where foam "
           "moulds usually see no more than %g kPa. Do not pour it: check charge_g, part_g, cups "
           "and --litres, or ask for less.",
           figure(t->said->next_charge_g, grams), kpa, UL_MOULD_USUAL_MOST_KPA);
  return true;
}

/* Lines, as many as there is room for. */
static bool say_doubted(const told *t, char *text) {
  enum { SHOWN = 4 };
  size_t used = 0, count = 0;
  for (size_t i = 0; i < t->shots->count; i++) {
    const ul_shot *shot = &t->shots->shot[i];
    char lost[FIGURE], charge[FIGURE];
    if (!ul_shot_loss_is_doubted(shot, t->said) || count++ >= SHOWN) continue;
    used += (size_t)snprintf(
        text + used, UL_SHOTS_REMARK - used, "%s%zu lost %s of %s g", used ? ", line " : "Line ",
        shot->line, figure(shot->charge_g - shot->part_g, lost), figure(shot->charge_g, charge));
  }
  if (!count) return false;
  if (count > SHOWN)
    used += (size_t)snprintf(text + used, UL_SHOTS_REMARK - used, ", and %zu more", count - SHOWN);
  snprintf(text + used, UL_SHOTS_REMARK - used,
           ": no cup, bleed and flash take that. Left out of the loss: check charge_g and part_g%s",
           t->said->lost_g.count ? "." : "; no line is left to reckon the next charge by.");
  return true;
}

/* The charge is no cause, or nobody can tell. */
static bool say_charge(const told *t, char *text) {
  const ul_shots_said *s = t->said;
  char had[FIGURE], next[FIGURE];
  if (!s->charge_wants || !isnan(s->held_back_g)) return false;
  if (say_asked_for(t, text)) return true;
  const ul_shot *shot = &t->shots->shot[s->faulty];
  if (!(t->opts->litres > 0))
    snprintf(text, UL_SHOTS_REMARK, "Whether it is the charge cannot be told without --litres L.");
  else if (ul_shot_loss_is_doubted(shot, s))
    snprintf(text, UL_SHOTS_REMARK,
             "Whether it is the charge cannot be told: that of line %zu is in doubt.", shot->line);
  else if (isnan(s->next_charge_g))
    snprintf(text, UL_SHOTS_REMARK,
             "Whether it is the charge cannot be told: note cup_g and cup_ml, or give --foam "
             "CARD.");
  else
    snprintf(
        text, UL_SHOTS_REMARK,
        "It is not the charge: line %zu had %s g (pack %.3g reached), and the next, %s g, is no "
        "%s.",
        shot->line, figure(shot->charge_g, had), ul_shot_pack(shot, s, t->opts),
        figure(s->next_charge_g, next), s->charge_wants < 0 ? "less" : "more");
  return true;
}

static bool bursts(const told *t) {
  if (t->said->faulty == SIZE_MAX) return false;
  ul_symptom symptom = t->shots->shot[t->said->faulty].symptom;
  return symptom == UL_SYMPTOM_SPLIT || symptom == UL_SYMPTOM_LEAK;
}

/* It fell short on more than the usual pack takes. */
static void say_held_up(const told *t, char *text) {
  const ul_shot *shot = &t->shots->shot[t->said->faulty];
  const double pack = ul_shot_pack(shot, t->said, t->opts);
  char usual[FIGURE], had[FIGURE], least[FIGURE];
  snprintf(
      text, UL_SHOTS_REMARK,
      "%she usual pack would take %s g, less than the %s g of line %zu, which fell short (pack "
      "%.3g reached). No less than %s g is advised until its cause is found.",
      pack > usual_pack(t->opts).hi ? "It is not the charge: t" : "T",
      figure(t->said->held_back_g, usual), figure(shot->charge_g, had), shot->line, pack,
      figure(t->said->next_charge_g, least));
}

static bool say_held_back(const told *t, char *text) {
  char usual[FIGURE], most[FIGURE], empty[80] = ".";
  if (isnan(t->said->held_back_g)) return false;
  if (t->shots->shot[t->said->faulty].symptom == UL_SYMPTOM_SHORT) {
    say_held_up(t, text);
    return true;
  }
  if (!t->said->aim_fills)
    snprintf(empty, sizeof empty, ", and that does not fill: pack %.3g is under 1.",
             t->said->target_pack);
  snprintf(text, UL_SHOTS_REMARK,
           "It is not the charge: the usual pack would take %s g. After a %s no more than %s g is "
           "advised until its cause is found%s",
           figure(t->said->held_back_g, usual),
           t->shots->shot[t->said->faulty].symptom == UL_SYMPTOM_SPLIT ? "split" : "leak",
           figure(t->said->next_charge_g, most), empty);
  return true;
}

/* Asked for all the same. */
static bool say_more_than_burst(const told *t, char *text) {
  char had[FIGURE];
  if (!bursts(t) || !is_asked_for(t->opts)) return false;
  const ul_shot *shot = &t->shots->shot[t->said->faulty];
  if (!(t->said->next_charge_g > shot->charge_g)) return false;
  snprintf(text, UL_SHOTS_REMARK,
           "Careful: the pack asked for wants more than the %s g of line %zu (%s); find that "
           "cause first.",
           figure(shot->charge_g, had), shot->line, ul_symptom_word(shot->symptom));
  return true;
}

/* ---- the table ---- */

/* Where no more was held back: say_held_back() tells of that. */
static bool say_aim(const told *t, char *text) {
  char words[200];
  ul_foam foam = t->opts->foam ? *t->opts->foam : ul_foam_middling();
  if (t->said->aim_fills || !isnan(t->said->held_back_g)) return false;
  foam.pack = usual_pack(t->opts);
  if (!isnan(t->said->free_kg_m3.value))
    foam.free_kg_m3 = (ul_span){t->said->free_kg_m3.value, t->said->free_kg_m3.value};
  ul_pack_judge(&foam, t->said->target_pack, words);
  snprintf(text, UL_SHOTS_REMARK, "Does not fill: pack %s.", words);
  return true;
}

/* A part that is whole has at least what a free rise fills it with. */
static bool say_light(const told *t, char *text) {
  for (size_t i = 0; i < t->shots->count; i++) {
    const ul_shot *shot = &t->shots->shot[i];
    double pack = ul_shot_pack(shot, t->said, t->opts);
    bool whole = shot->symptom != UL_SYMPTOM_SHORT && shot->symptom != UL_SYMPTOM_MISSING_CORNER;
    if (!(whole && pack < 1)) continue;
    snprintf(
        text, UL_SHOTS_REMARK,
        "Line %zu reached pack %.3g, and under 1 it cannot have filled: check --litres, part_g "
        "and the free-rise density.",
        shot->line, pack);
    return true;
  }
  return false;
}

/* Whole or short: by hand no part gets so much. */
static bool say_heavy(const told *t, char *text) {
  for (size_t i = 0; i < t->shots->count; i++) {
    const ul_shot *shot = &t->shots->shot[i];
    const double pack = ul_shot_pack(shot, t->said, t->opts);
    if (!(pack > UL_PACK_BY_HAND_MOST)) continue;
    snprintf(text, UL_SHOTS_REMARK,
             "Line %zu reached pack %.3g, and over %g no part is packed by hand: check --litres, "
             "part_g and the free-rise density.",
             shot->line, pack, UL_PACK_BY_HAND_MOST);
    return true;
  }
  return false;
}

/* The last one: it was weighed today. */
static bool say_far_cup(const told *t, char *text) {
  for (size_t i = t->opts->foam ? t->shots->count : 0; i-- > 0;) {
    const ul_shot *shot = &t->shots->shot[i];
    ul_foam foam = *t->opts->foam;
    ul_caution care;
    if (isnan(ul_shot_cup_kg_m3(shot)) ||
        ul_foam_cup_test(&foam, shot->cup_g, shot->cup_ml, NULL) != UL_OK ||
        !ul_caution_of_cup(&foam, &care))
      continue;
    snprintf(text, UL_SHOTS_REMARK, "Line %zu: %.240s", shot->line, care.text);
    return true;
  }
  return false;
}

static bool say_spread(const told *t, char *text) {
  const ul_shots_said *s = t->said;
  char next[FIGURE], off[FIGURE];
  if (!(s->next_off_g >= s->next_charge_g)) return false;
  snprintf(text, UL_SHOTS_REMARK,
           "The next charge is %s g, give or take %s: the lines differ too much to say anything. "
           "Weigh the cup again, and look at cup_g, cup_ml, charge_g and part_g of each.",
           figure(s->next_charge_g, next), figure(s->next_off_g, off));
  return true;
}

static bool say_half_cup(const told *t, char *text) {
  for (size_t i = 0; i < t->shots->count; i++) {
    const ul_shot *shot = &t->shots->shot[i];
    if (isnan(shot->cup_g) == isnan(shot->cup_ml)) continue;
    bool grams = !isnan(shot->cup_g);
    snprintf(text, UL_SHOTS_REMARK, "Line %zu has cup_%s without cup_%s: that cup does not count.",
             shot->line, grams ? "g" : "ml", grams ? "ml" : "g");
    return true;
  }
  return false;
}

/* Equal but for case, a folder and the ending of a file. */
static bool same_card(const char *a, const char *b) {
  const char *slash[2] = {strrchr(a, '/'), strrchr(b, '/')};
  if (slash[0]) a = slash[0] + 1;
  if (slash[1]) b = slash[1] + 1;
  size_t n[2] = {strlen(a), strlen(b)};
  for (int i = 0; i < 2; i++) {
    const char *name = i ? b : a;
    if (n[i] > 5 && strcasecmp(name + n[i] - 5, ".card") == 0) n[i] -= 5;
  }
  return n[0] == n[1] && strncasecmp(a, b, n[0]) == 0;
}

/* Shots of several foams have no mean. */
static bool say_mixed_cards(const told *t, char *text) {
  const ul_shot *first = NULL;
  for (size_t i = 0; i < t->shots->count; i++) {
    const ul_shot *shot = &t->shots->shot[i];
    if (!*shot->card) continue;
    if (!first) first = shot;
    if (same_card(first->card, shot->card)) continue;
    snprintf(text, UL_SHOTS_REMARK,
             "Line %zu is of %.40s and line %zu of %.40s, and all are taken as one foam: keep a "
             "table for each.",
             first->line, first->card, shot->line, shot->card);
    return true;
  }
  return false;
}

static bool say_other_card(const told *t, char *text) {
  const ul_shots_opts *o = t->opts;
  for (size_t i = t->shots->count; i-- > 0;) {
    const ul_shot *shot = &t->shots->shot[i];
    if (!*shot->card) continue;
    if (!o->foam)
      snprintf(text, UL_SHOTS_REMARK,
               "The card %.60s of line %zu is neither a file nor a generic card: give --foam CARD.",
               shot->card, shot->line);
    else if (o->card && !same_card(shot->card, o->card) && !same_card(shot->card, o->foam->name))
      snprintf(text, UL_SHOTS_REMARK,
               "The card of line %zu is %.60s; what is asked for, %.60s, is taken for all.",
               shot->line, shot->card, o->card);
    else
      return false;
    return true;
  }
  return false;
}

static bool say_unknown(const told *t, char *text) {
  if (!*t->shots->unknown) return false;
  snprintf(text, UL_SHOTS_REMARK, "Passed over, as no column has that name here: %s.",
           t->shots->unknown);
  return true;
}

size_t ul_shots_remarks(const ul_shots *shots, const ul_shots_opts *opts, const ul_shots_said *said,
                        char remark[UL_SHOTS_REMARKS][UL_SHOTS_REMARK]) {
  static const remark_fn all[] = {say_danger,          say_doubted, say_aim,      say_held_back,
                                  say_more_than_burst, say_charge,  say_spread,   say_light,
                                  say_heavy,           say_far_cup, say_half_cup, say_mixed_cards,
                                  say_other_card,      say_unknown};
  _Static_assert(sizeof all / sizeof *all == UL_SHOTS_REMARKS, "room for all of them");
  const told t = {shots, opts, said};
  size_t count = 0;
  for (size_t i = 0; i < UL_SHOTS_REMARKS; i++) count += all[i](&t, remark[count]);
  return count;
}
