/* tilt_pours.h - whether a tilt holds the charge while the mould is poured in it. */
#ifndef UL_MAIN_TILT_POURS_H
#define UL_MAIN_TILT_POURS_H

#include "main/mouths.h"
#include "report/words.h"

/* What the charge of a foam is, before any rise: level liquid, and a twentieth more, as the tries
 * have it. */
typedef struct tilt_liquid {
  const cavity_case *c;
  double share; /* of each cavity; NAN: no card, so nobody knows how much goes in */
  bool turned;  /* it is poured and shut in another attitude: only what holes lose then counts */
} tilt_liquid;

typedef struct tilt_pour {
  ul_tilt_pours pours;
  mouth at;       /* unless it holds: the opening that is to blame, */
  double over_mm; /* and how high the liquid stands over it; 0: not known */
} tilt_pour;

/* As the options have it. */
ul_status tilt_liquid_find(const cavity_case *c, tilt_liquid *out, ul_error *err);

ul_status tilt_pour_look(const tilt_liquid *l, const double up[3], tilt_pour *out, ul_error *err);
/* As the search for a tilt asks it: `liquid` is a tilt_liquid. */
ul_status tilt_pours(const void *liquid, const double up[3], ul_tilt_pours *out);

/* The attitudes in which a shop lies a mould unless told better, the easiest first: level, with the
 * axis nearest to its draw up (z where nobody said) and down, and each with one side raised by 5
 * degrees. */
enum { TILTS_PLAIN = 10 };
void tilts_plain(const cavity_case *c, double up[TILTS_PLAIN][3]);
/* The first of these that is level and holds it. *found false: none does. */
ul_status tilt_level_that_holds(const tilt_liquid *l, double up[3], bool *found, ul_error *err);

/* How much of the cavity stands over its opening: "65 %", "all". */
const char *tilt_share_over(const tilt_pour *look, char out[UL_WORDS]);
/* "; but ...": what an answer whose charge does not stay in is worth. Empty where it holds. */
void tilt_pour_words(const options *opts, const tilt_pour *look, char *out, size_t room);

#endif
