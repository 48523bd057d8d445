#include "shop/causes.h"

/* Common practice, no source: in each symptom's order the likelier come first. */
static const struct {
  ul_symptom symptom;
  int shown_by;
  ul_try kind;
  const char *cause, *remedy;
} table[] = {
    {UL_SYMPTOM_MISSING_CORNER, 0, UL_TRY_TURN, "air is shut in there",
     "raise that corner until a vent is its highest point; ullage peaks shows where"},
    {UL_SYMPTOM_MISSING_CORNER, UL_SHOWS_UNDER_PACKED, UL_TRY_CHARGE, "too little charge",
     "pour the next charge given above"},
    {UL_SYMPTOM_MISSING_CORNER, UL_SHOWS_SILENT_VENT, UL_TRY_PLUG,
     "its vent is clogged, or others let the foam out first",
     "clear every vent; plug those where foam shows early as soon as it shows"},
    {UL_SYMPTOM_MISSING_CORNER, UL_SHOWS_COLD, UL_TRY_TEMPERATURE, "it gels before it gets there",
     "warm the mould and the liquids to the card's temperature"},
    {UL_SYMPTOM_MISSING_CORNER, 0, UL_TRY_DRILL, "no vent serves that pocket",
     "one new vent, where ullage plan puts it"},

    {UL_SYMPTOM_BLISTER, 0, UL_TRY_TURN, "air is caught under the skin there",
     "lie the mould so that no level face is on top"},
    {UL_SYMPTOM_BLISTER, 0, UL_TRY_WAIT, "the tool or its release was damp",
     "dry and warm the tool, and let the release flash off"},
    {UL_SYMPTOM_BLISTER, 0, UL_TRY_HANDS, "air was stirred or poured in",
     "keep the stirrer under the surface; pour low, in one thin stream"},
    {UL_SYMPTOM_BLISTER, UL_SHOWS_WARM, UL_TRY_TEMPERATURE, "liquids or tool too warm",
     "bring both to the card's temperature"},
    {UL_SYMPTOM_BLISTER, 0, UL_TRY_DRILL, "the pocket has no vent",
     "one new vent, where ullage plan puts it"},

    {UL_SYMPTOM_SHORT, UL_SHOWS_UNDER_PACKED, UL_TRY_CHARGE, "too little charge",
     "pour the next charge given above"},
    {UL_SYMPTOM_SHORT, UL_SHOWS_HEAVY_CUP, UL_TRY_HANDS, "the foam rises less than its card says",
     "check the cans' dates, shake or stir them, weigh A to B again, and repeat the cup test"},
    {UL_SYMPTOM_SHORT, UL_SHOWS_COLD, UL_TRY_TEMPERATURE, "cold liquids or a cold mould",
     "warm both to the card's temperature"},
    {UL_SYMPTOM_SHORT, 0, UL_TRY_PLUG, "foam got away by seam or vents",
     "plug each vent as soon as foam shows; clamp harder"},

    {UL_SYMPTOM_COARSE, 0, UL_TRY_HANDS, "not mixed through",
     "scrape sides and bottom; mix for the card's time, shorter and harder if it creams"},
    {UL_SYMPTOM_COARSE, UL_SHOWS_COLD, UL_TRY_TEMPERATURE, "cold liquids or a cold mould",
     "warm both to the card's temperature"},
    {UL_SYMPTOM_COARSE, UL_SHOWS_UNDER_PACKED, UL_TRY_CHARGE, "too little pressure on it",
     "a little more charge"},
    {UL_SYMPTOM_COARSE, 0, UL_TRY_WAIT, "release still wet", "let it flash off, and buff it"},

    {UL_SYMPTOM_SUNKEN, UL_SHOWS_LIGHT_CUP, UL_TRY_CHARGE,
     "closed cells shrink as they cool, light foam most",
     "more charge; crush cushion foam within "
     "the hour"},
    {UL_SYMPTOM_SUNKEN, 0, UL_TRY_WAIT, "opened too early", "demould later"},
    {UL_SYMPTOM_SUNKEN, UL_SHOWS_UNDER_PACKED, UL_TRY_CHARGE, "packed too little",
     "pour the next charge given above"},
    {UL_SYMPTOM_SUNKEN, 0, UL_TRY_HANDS, "A to B off its ratio", "weigh again, scale checked"},

    {UL_SYMPTOM_SPLIT, 0, UL_TRY_WAIT, "opened while it still pressed", "demould later"},
    {UL_SYMPTOM_SPLIT, UL_SHOWS_OVER_PACKED, UL_TRY_CHARGE, "packed too hard",
     "pour the next charge given above"},
    {UL_SYMPTOM_SPLIT, UL_SHOWS_WARM, UL_TRY_TEMPERATURE, "too hot inside",
     "cooler liquids; thick rigid parts in lifts"},
    {UL_SYMPTOM_SPLIT, 0, UL_TRY_PLUG, "plugged before the air was out",
     "plug only when solid foam shows"},

    {UL_SYMPTOM_SOFT, 0, UL_TRY_HANDS, "A to B off its ratio, or streaks not mixed in",
     "weigh again, scale checked; scrape the cup's sides while mixing"},
    {UL_SYMPTOM_SOFT, UL_SHOWS_COLD, UL_TRY_TEMPERATURE, "cured too cold",
     "warm the mould to the card's temperature"},
    {UL_SYMPTOM_SOFT, 0, UL_TRY_WAIT, "opened too early", "demould later; a day to full strength"},
    {UL_SYMPTOM_SOFT, UL_SHOWS_LIGHT_CUP, UL_TRY_CHARGE, "lighter than meant",
     "pour the next charge given above"},

    {UL_SYMPTOM_LOOSE_SKIN, UL_SHOWS_COLD, UL_TRY_TEMPERATURE, "a cold mould",
     "warm it to the card's temperature, metal most of all"},
    {UL_SYMPTOM_LOOSE_SKIN, 0, UL_TRY_HANDS, "too much release, or poured after cream",
     "buff the release thin; pour sooner"},
    {UL_SYMPTOM_LOOSE_SKIN, UL_SHOWS_UNDER_PACKED, UL_TRY_CHARGE, "too little pressure on it",
     "a little more charge"},

    {UL_SYMPTOM_LEAK, 0, UL_TRY_TOOL, "clamped too little, or a seam that gapes",
     "more clamps, as ullage charge counts them; a bead of wax or tape along the seam"},
    {UL_SYMPTOM_LEAK, UL_SHOWS_OVER_PACKED, UL_TRY_CHARGE, "packed too hard",
     "pour the next charge given above"},
    {UL_SYMPTOM_LEAK, UL_SHOWS_SILENT_VENT, UL_TRY_PLUG,
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

size_t ul_causes_of(ul_symptom symptom, int shows, ul_cause out[UL_CAUSES_MOST]) {
  size_t count = 0;
  for (int wanted = 1; wanted >= 0; wanted--)
    for (size_t i = 0; i < TABLE && count < UL_CAUSES_MOST; i++) {
      bool shown = (table[i].shown_by & shows) != 0;
      if (table[i].symptom != symptom || shown != wanted) continue;
      out[count++] = (ul_cause){table[i].cause, table[i].remedy, table[i].kind, shown};
    }
  return count;
}

size_t ul_causes_cheapest(const ul_cause *cause, size_t count) {
  size_t best = 0;
  for (size_t i = 1; i < count; i++)
    if (cause[i].kind < cause[best].kind) best = i;
  return best;
}
