#include "shop/causes.h"

/* Where the next charge has to go for a cause to be offered: a remedy that sends to it must not
 * send the other way. */
typedef enum { ANYHOW, NEXT_MORE, NEXT_LESS, NEXT_NOT_LESS } charge_need;

/* Common practice, no source: in each symptom's order the likelier come first. */
static const struct {
  ul_symptom symptom;
  int shown_by;
  ul_try kind;
  charge_need need;
  const char *cause, *remedy;
} table[] = {
    {UL_SYMPTOM_MISSING_CORNER, 0, UL_TRY_TURN, ANYHOW, "air is shut in there",
     "raise that corner until a vent is its highest point; ullage peaks shows where"},
    {UL_SYMPTOM_MISSING_CORNER, UL_SHOWS_UNDER_PACKED, UL_TRY_CHARGE, NEXT_MORE,
     "too little charge", "pour the next charge given above"},
    {UL_SYMPTOM_MISSING_CORNER, UL_SHOWS_SILENT_VENT, UL_TRY_PLUG, ANYHOW,
     "its vent is clogged, or others let the foam out first",
     "clear every vent; plug those where foam shows early as soon as it shows"},
    {UL_SYMPTOM_MISSING_CORNER, UL_SHOWS_COLD, UL_TRY_TEMPERATURE, ANYHOW,
     "it gels before it gets there", "warm the mould and the liquids to the card's temperature"},
    {UL_SYMPTOM_MISSING_CORNER, 0, UL_TRY_DRILL, ANYHOW, "no vent serves that pocket",
     "one new vent, where ullage plan puts it"},

    {UL_SYMPTOM_BLISTER, 0, UL_TRY_TURN, ANYHOW, "air is caught under the skin there",
     "lie the mould so that no level face is on top"},
    {UL_SYMPTOM_BLISTER, 0, UL_TRY_WAIT, ANYHOW, "the tool or its release was damp",
     "dry and warm the tool, and let the release flash off"},
    {UL_SYMPTOM_BLISTER, 0, UL_TRY_HANDS, ANYHOW, "air was stirred or poured in",
     "keep the stirrer under the surface; pour low, in one thin stream"},
    {UL_SYMPTOM_BLISTER, UL_SHOWS_WARM, UL_TRY_TEMPERATURE, ANYHOW, "liquids or tool too warm",
     "bring both to the card's temperature"},
    {UL_SYMPTOM_BLISTER, 0, UL_TRY_DRILL, ANYHOW, "the pocket has no vent",
     "one new vent, where ullage plan puts it"},

    {UL_SYMPTOM_SHORT, UL_SHOWS_UNDER_PACKED, UL_TRY_CHARGE, NEXT_MORE, "too little charge",
     "pour the next charge given above"},
    {UL_SYMPTOM_SHORT, UL_SHOWS_HEAVY_CUP, UL_TRY_HANDS, ANYHOW,
     "the foam rises less than its card says",
     "check the cans' dates, shake or stir them, weigh A to B again, and repeat the cup test"},
    {UL_SYMPTOM_SHORT, UL_SHOWS_COLD, UL_TRY_TEMPERATURE, ANYHOW, "cold liquids or a cold mould",
     "warm both to the card's temperature"},
    {UL_SYMPTOM_SHORT, 0, UL_TRY_PLUG, ANYHOW, "foam got away by seam or vents",
     "plug each vent as soon as foam shows; clamp harder"},

    {UL_SYMPTOM_COARSE, 0, UL_TRY_HANDS, ANYHOW, "not mixed through",
     "scrape sides and bottom; mix for the card's time, shorter and harder if it creams"},
    {UL_SYMPTOM_COARSE, UL_SHOWS_COLD, UL_TRY_TEMPERATURE, ANYHOW, "cold liquids or a cold mould",
     "warm both to the card's temperature"},
    {UL_SYMPTOM_COARSE, UL_SHOWS_UNDER_PACKED, UL_TRY_CHARGE, NEXT_NOT_LESS,
     "too little pressure on it", "a little more charge"},
    {UL_SYMPTOM_COARSE, 0, UL_TRY_WAIT, ANYHOW, "release still wet",
     "let it flash off, and buff it"},

    {UL_SYMPTOM_SUNKEN, UL_SHOWS_LIGHT_CUP, UL_TRY_CHARGE, NEXT_NOT_LESS,
     "closed cells shrink as they cool, light foam most",
     "more charge; crush cushion foam within "
     "the hour"},
    {UL_SYMPTOM_SUNKEN, 0, UL_TRY_WAIT, ANYHOW, "opened too early", "demould later"},
    {UL_SYMPTOM_SUNKEN, UL_SHOWS_UNDER_PACKED, UL_TRY_CHARGE, NEXT_MORE, "packed too little",
     "pour the next charge given above"},
    {UL_SYMPTOM_SUNKEN, 0, UL_TRY_HANDS, ANYHOW, "A to B off its ratio",
     "weigh again, scale checked"},

    {UL_SYMPTOM_SPLIT, 0, UL_TRY_WAIT, ANYHOW, "opened while it still pressed", "demould later"},
    {UL_SYMPTOM_SPLIT, UL_SHOWS_OVER_PACKED, UL_TRY_CHARGE, NEXT_LESS, "packed too hard",
     "pour the next charge given above"},
    {UL_SYMPTOM_SPLIT, UL_SHOWS_WARM, UL_TRY_TEMPERATURE, ANYHOW, "too hot inside",
     "cooler liquids; thick rigid parts in lifts"},
    {UL_SYMPTOM_SPLIT, 0, UL_TRY_PLUG, ANYHOW, "plugged before the air was out",
     "plug only when solid foam shows"},

    {UL_SYMPTOM_SOFT, 0, UL_TRY_HANDS, ANYHOW, "A to B off its ratio, or streaks not mixed in",
     "weigh again, scale checked; scrape the cup's sides while mixing"},
    {UL_SYMPTOM_SOFT, UL_SHOWS_COLD, UL_TRY_TEMPERATURE, ANYHOW, "cured too cold",
     "warm the mould to the card's temperature"},
    {UL_SYMPTOM_SOFT, 0, UL_TRY_WAIT, ANYHOW, "opened too early",
     "demould later; a day to full strength"},
    {UL_SYMPTOM_SOFT, UL_SHOWS_LIGHT_CUP, UL_TRY_CHARGE, NEXT_MORE, "lighter than meant",
     "pour the next charge given above"},

    {UL_SYMPTOM_LOOSE_SKIN, UL_SHOWS_COLD, UL_TRY_TEMPERATURE, ANYHOW, "a cold mould",
     "warm it to the card's temperature, metal most of all"},
    {UL_SYMPTOM_LOOSE_SKIN, 0, UL_TRY_HANDS, ANYHOW, "too much release, or poured after cream",
     "buff the release thin; pour sooner"},
    {UL_SYMPTOM_LOOSE_SKIN, UL_SHOWS_UNDER_PACKED, UL_TRY_CHARGE, NEXT_NOT_LESS,
     "too little pressure on it", "a little more charge"},

    {UL_SYMPTOM_LEAK, 0, UL_TRY_TOOL, ANYHOW, "clamped too little, or a seam that gapes",
     "more clamps, as ullage charge counts them; a bead of wax or tape along the seam"},
    {UL_SYMPTOM_LEAK, 0, UL_TRY_HANDS, ANYHOW, "old flash or wax holds the halves apart",
     "scrape the parting faces clean, and close them once without foam"},
    {UL_SYMPTOM_LEAK, UL_SHOWS_OVER_PACKED, UL_TRY_CHARGE, NEXT_LESS, "packed too hard",
     "pour the next charge given above"},
    {UL_SYMPTOM_LEAK, UL_SHOWS_SILENT_VENT, UL_TRY_PLUG, ANYHOW,
     "a clogged vent, so that air went by the "
     "seam",
     "clear every vent"},
};
enum { TABLE = sizeof table / sizeof *table };

const char *ul_symptom_word(ul_symptom symptom) {
#define AS_WORD(name, word) [name] = word,
  static const char *const words[] = {UL_SYMPTOM_LIST(AS_WORD)};
  return (unsigned)symptom < UL_SYMPTOM_END ? words[symptom] : "?";
}

const char *ul_try_word(ul_try what) {
  static const char *const words[] = {UL_TRY_LIST(AS_WORD)};
#undef AS_WORD
  return (unsigned)what < UL_TRY_END ? words[what] : "?";
}

static bool allowed(charge_need need, int next_way) {
  switch (need) {
  case NEXT_MORE:
    return next_way > 0;
  case NEXT_LESS:
    return next_way < 0;
  case NEXT_NOT_LESS:
    return next_way >= 0;
  default:
    return true;
  }
}

size_t ul_causes_of(ul_symptom symptom, int shows, int next_way, ul_cause out[UL_CAUSES_MOST],
                    int *charge_wants) {
  size_t count = 0;
  *charge_wants = 0;
  for (int wanted = 1; wanted >= 0; wanted--)
    for (size_t i = 0; i < TABLE && count < UL_CAUSES_MOST; i++) {
      bool shown = (table[i].shown_by & shows) != 0;
      if (table[i].symptom != symptom || shown != wanted) continue;
      if (allowed(table[i].need, next_way))
        out[count++] = (ul_cause){table[i].cause, table[i].remedy, table[i].kind, shown};
      else
        *charge_wants = table[i].need == NEXT_LESS ? -1 : 1;
    }
  return count;
}

size_t ul_causes_cheapest(const ul_cause *cause, size_t count) {
  size_t best = 0;
  for (size_t i = 1; i < count; i++)
    if (cause[i].kind < cause[best].kind) best = i;
  return best;
}
