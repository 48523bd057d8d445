/* plan_tries.c - the tries in words: one wording for terminal, page and card. */
#include <stdio.h>

#include "main/plan.h"

const char *plan_tries_how(const plan *p) {
  return p->foam.rise ? "on heights alone, no foam in these" : "on heights alone";
}

const char *plan_tries_words(const plan *p, char out[UL_WORDS]) {
  snprintf(out, UL_WORDS, "%ld of %ld tries, each propped up to 2 degrees off, %s", p->good,
           p->tries, plan_tries_how(p));
  return out;
}
