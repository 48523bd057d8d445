#include "main/level_verdict.h"

#include <stdio.h>

#include "report/words.h"

static bool has_opening(const cavity_case *c, const ul_vent_at *opening, size_t count,
                        uint32_t cavity) {
  for (size_t i = 0; i < count; i++)
    if (case_cavity_at(c, opening[i].at_mm) == cavity) return true;
  return false;
}

/* In the words of a foam's verdict: what is to be done is the same. */
rise_verdict level_judge(const cavity_case *c, const ul_level *level, const ul_vent_at *opening,
                         size_t count) {
  const double void_ok_mm3 = c->opts->void_ok_cm3 * 1000;
  rise_verdict v = {.good = !level->void_count || level->voids[0].void_mm3 <= void_ok_mm3};
  char volume[UL_WORDS], place[UL_WORDS], whose[40] = "";
  if (v.good) {
    snprintf(v.text, sizeof v.text, "fills");
    return v;
  }
  const ul_void *worst = &level->voids[0]; /* they come largest first */
  ul_words_volume(worst->void_mm3, volume);
  ul_words_place(worst->at_mm, place);
  if (c->solid->cavity_count > 1)
    snprintf(whose, sizeof whose, " in cavity %zu", case_cavity_number(c, worst->cavity));
  if (has_opening(c, opening, count, worst->cavity))
    snprintf(v.text, sizeof v.text,
             "does not fill: %.60s stay shut in at %.60s; vent it there (--vent), tilt it another "
             "way, or pour elsewhere (--pour)",
             volume, place);
  else
    snprintf(v.text, sizeof v.text,
             "does not fill: there is no vent%s, so no air can leave, and %.60s stay at %.60s; "
             "give it vents (--vent), or let them be found (ullage plan)",
             whose, volume, place);
  return v;
}
