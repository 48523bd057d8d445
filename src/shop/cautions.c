#include "ullage/cautions.h"

#include <stdio.h>
#include <string.h>

/* When a caution applies; all of what is set must hold. */
enum {
  RIGID = 1,
  CUSHION = 2,
  SKINNING = 4,
  THICK = 8,
  DRILLED = 16,
  POROUS = 32,
  SOFT = 64,
  SAME_STUFF = 128,
  TACK_FIRST = 256,
  FAR_CUP = 512,
};

/* A core that keeps its heat for longer than this, well past the rise, is thick (from a half
 * thickness of 19 mm on): the program's own choice. */
static const double thick_hot_s = 120;

static const struct {
  ul_when when;
  int needs;
  const char *text;
} table[] = {
    {UL_WHEN_DRILL, DRILLED,
     "Drill into the cavity from outside with a stop on the drill, eye protection on, and deburr "
     "the mouth inside; foam and release dust is not for breathing."},
    {UL_WHEN_RELEASE, 0,
     "Use a release suited to this foam and this tool, thin and buffed; keep it out of the vents, "
     "and its vapours away from flames."},
    {UL_WHEN_RELEASE, POROUS,
     "The tool must be dry through and sealed: damp in it reacts with the A side, which blisters "
     "the skin and, with the mould shut, makes pressure."},
    {UL_WHEN_RELEASE, SAME_STUFF,
     "Foam bonds to urethane for good: barrier coat and release before every shot."},
    {UL_WHEN_WEIGH, FAR_CUP, ""}, /* its words hold figures */
    {UL_WHEN_WEIGH, 0,
     "The A side is isocyanate: it can make people asthmatic for life. Ventilate, gloves, eye "
     "protection, a respirator as the data sheet asks; nobody with asthma or sensitised works with "
     "it. Training before use is law in many places."},
    {UL_WHEN_WEIGH, 0,
     "A side hates moisture: dry cups and sticks, and reseal the can at once under dry gas. A can "
     "past its date, or with skin or crystals: a cup test first."},
    {UL_WHEN_WEIGH, 0,
     "Weigh, never measure by volume; pigment goes into the B side before the A side."},
    {UL_WHEN_POUR, 0, "Pour all of it before cream; what has creamed in the cup stays in the cup."},
    {UL_WHEN_POUR, RIGID | THICK,
     "Thick rigid foam keeps its heat: the core may char or smoke. Pour it in lifts, let each "
     "cool, "
     "and watch it afterwards; leftovers cool spread out in the open air, not in the bin."},
    {UL_WHEN_SHUT, 0,
     "Fasten every clamp before the foam reaches the lid; then hands and faces away from the seam "
     "and the vents."},
    {UL_WHEN_HOLD, 0,
     "The mould is under pressure until demould time: do not loosen a clamp to look."},
    {UL_WHEN_HOLD, SOFT, "A soft tool holds no pressure: its rigid case does, lid included."},
    {UL_WHEN_DEMOULD, 0,
     "Open after the demould time, clamps slowly and in turn, face away; gloves, for the surface "
     "may not be cured."},
    {UL_WHEN_DEMOULD, TACK_FIRST,
     "The foam card has the foam tack-free before it stops rising: look up both times again."},
    {UL_WHEN_DEMOULD, RIGID,
     "Too early a demould lets rigid foam swell or split: when in doubt, wait as long again."},
    {UL_WHEN_CRUSH, CUSHION,
     "Crush cushion foam all over soon after demoulding, within the hour: closed cells shrink as "
     "they cool (common practice)."},
    {UL_WHEN_STORE, 0,
     "Lay new parts apart for a day where air reaches them; never seal a container with A side "
     "that "
     "has seen water: it bursts."},
    {UL_WHEN_ALWAYS, 0, "Follow the data sheet and local rules; make a test shot first."},
};
enum { TABLE = sizeof table / sizeof *table };

const char *ul_when_word(ul_when when) {
#define AS_WORD(name, word) [name] = word,
  static const char *const words[] = {UL_WHEN_LIST(AS_WORD)};
  return (unsigned)when < UL_WHEN_END ? words[when] : "?";
}

double ul_core_hot_s(double half_gap_mm) {
  double h = half_gap_mm * 1e-3;
  return 0.0635 * h * h / 2e-7;
}

bool ul_caution_of_cup(const ul_foam *foam, ul_caution *out) {
  const double cup = ul_mid(foam->free_kg_m3);
  const ul_span card = foam->card_kg_m3;
  char span[48];
  if (!(card.hi > 0) || !ul_foam_cup_is_far(card, cup)) return false;
  if (card.lo < card.hi)
    snprintf(span, sizeof span, "%.3g to %.3g", card.lo, card.hi);
  else
    snprintf(span, sizeof span, "%.3g", card.lo);
  out->when = UL_WHEN_WEIGH;
  snprintf(out->text, sizeof out->text,
           "The cup test makes %.3g kg/m3, and the foam card says %s; cups of one foam differ by "
           "some percent. Weigh the cup again, and look at its volume, before this charge is "
           "poured.",
           cup, span);
  return true;
}

static int facts(const ul_caution_job *job) {
  static const int of_class[] = {
      [UL_FOAM_RIGID] = RIGID, [UL_FOAM_CUSHION] = CUSHION, [UL_FOAM_SELF_SKINNING] = SKINNING};
  const char *material = job->material ? job->material->name : "";
  /* without a card it may be any foam */
  int all = job->foam ? of_class[job->foam->foam_class] : RIGID | CUSHION | SKINNING;
  if (ul_core_hot_s(job->half_gap_mm) >= thick_hot_s) all |= THICK;
  ul_caution cup;
  if (job->foam && ul_caution_of_cup(job->foam, &cup)) all |= FAR_CUP;
  if (job->drilled) all |= DRILLED;
  if (job->foam && ul_mid(job->foam->tack_free_s) < ul_mid(job->foam->rise_s)) all |= TACK_FIRST;
  if (!strcmp(material, "plaster") || !strcmp(material, "wood")) all |= POROUS;
  if (!strcmp(material, "cast-urethane")) all |= SAME_STUFF;
  if (job->material && job->material->soft) all |= SOFT;
  return all;
}

size_t ul_cautions(const ul_caution_job *job, ul_caution *out, size_t room) {
  int given = facts(job);
  size_t count = 0;
  for (size_t i = 0; i < TABLE; i++) {
    if (table[i].needs & ~given) continue;
    if (count < room) {
      out[count].when = table[i].when;
      snprintf(out[count].text, UL_CAUTION_WORDS, "%s", table[i].text);
      if (table[i].needs & FAR_CUP) ul_caution_of_cup(job->foam, &out[count]);
    }
    count++;
  }
  return count;
}
