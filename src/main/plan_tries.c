/* plan_tries.c - the tries in words: one wording for terminal, page and card. */
#include <stdio.h>

#include "main/plan.h"

const char *plan_tries_how(const plan *p) {
  return p->sure.repeats ? "with the foam, and with what a shop is off by" : "on heights alone";
}

/* A try in coarse cubes sees no smaller void than one of them. */
const char *plan_tries_words(const plan *p, char out[UL_WORDS]) {
  const plan_sure *s = &p->sure;
  char volume[UL_WORDS];
  if (s->repeats && !p->fills)
    snprintf(out, UL_WORDS,
             "%ld of %ld tries in coarse cubes, where voids are seen from %.40s on; the finer rise "
             "does not fill it",
             s->good, s->tries, ul_words_volume(s->limit_mm3, volume));
  else if (s->repeats)
    snprintf(out, UL_WORDS,
             "%ld of %ld tries with the foam, each propped up to 2 degrees off, with 5 %% more or "
             "less of it, as quick or slow as its card says, poured up to 10 mm off; voids are "
             "seen from %.40s on",
             s->good, s->tries, ul_words_volume(s->limit_mm3, volume));
  else
    snprintf(out, UL_WORDS, "%ld of %ld tries, each propped up to 2 degrees off, %s", s->good,
             s->tries, plan_tries_how(p));
  return out;
}
