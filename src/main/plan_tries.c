/* plan_tries.c - what terminal, page and card say of a plan in the same words. */
#include <stdio.h>

#include "main/plan.h"

const char *plan_tries_how(const plan *p) {
  return p->sure.repeats ? "with the foam, and with what a shop is off by" : "on heights alone";
}

/* A try in coarse cubes sees no smaller void than one of them, and a place may lie between them. */
const char *plan_tries_words(const plan *p, char out[UL_WORDS]) {
  const plan_sure *s = &p->sure;
  char volume[UL_WORDS], thin[UL_WORDS], misses[64] = "";
  if (s->misses_mm > 0)
    snprintf(misses, sizeof misses,
             p->fills ? " and places under %.20s mm may be missed"
                      : " and may miss places under %.20s mm",
             ul_words_figure(s->misses_mm, thin));
  if (s->repeats && !p->fills)
    snprintf(
        out, UL_WORDS,
        "%ld of %ld tries in coarse cubes %s not in the finer rise; coarse cubes see voids from "
        "%.40s on%s",
        s->good, s->tries, s->good ? "but" : "and", ul_words_volume(s->limit_mm3, volume), misses);
  else if (s->repeats)
    snprintf(out, UL_WORDS,
             "%ld of %ld tries with the foam, each propped up to 2 degrees off, with 5 %% more or "
             "less of it, as quick or slow as its card says, poured up to 10 mm off; voids are "
             "seen from %.40s on%s",
             s->good, s->tries, ul_words_volume(s->limit_mm3, volume), misses);
  else
    snprintf(out, UL_WORDS, "%ld of %ld tries, each propped up to 2 degrees off, %s", s->good,
             s->tries, plan_tries_how(p));
  return out;
}

/* Level, any lid will do; else it matters where the mould is open while it is poured. */
bool plan_opening_matters(const cavity_case *c, const plan *p) {
  const options *o = c->opts;
  return !o->has_parting && !o->hole_count && !o->has_poured_up &&
         ul_ease_of(p->up) != UL_EASE_FLAT;
}

const char plan_opening_words[] = "nobody has said where it is open then: --parting, or "
                                  "--pour-hole; or pour it flat and turn it, "
                                  "--poured-up";
