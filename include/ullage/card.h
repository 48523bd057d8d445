/* card.h - the bench card: one page to pin up where the mould is poured. */
#ifndef ULLAGE_CARD_H
#define ULLAGE_CARD_H

#include "ullage/cautions.h"
#include "ullage/charge.h"
#include "ullage/datum.h"
#include "ullage/level.h"
#include "ullage/solid.h"
#include "ullage/vents.h"

typedef enum { UL_PAPER_A4, UL_PAPER_LETTER } ul_paper;

/* Air that stays shut in. */
typedef struct ul_card_air {
  uint32_t id; /* as in plan.json and on the page */
  double at_mm[3];
  double void_mm3;
} ul_card_air;

/* What the card says. Everything is borrowed; text is UTF-8 (other bytes are shown as U+FFFD). */
typedef struct ul_card {
  const char *name;         /* of the part: the file's */
  const char *side_name[6]; /* of -x +x -y +y -z +z; NULL: none given */
  const ul_solid *solid;    /* drawn, and its volumes */
  const ul_tool *tool;
  const ul_props *props;
  double up[3]; /* unit */
  const ul_vents *vents;
  const double *foam_shows_s; /* per vent, NAN: not known; NULL: no foam was risen */
  size_t air_count;           /* largest first */
  const ul_card_air *air;
  const double (*pour_mm)[3]; /* per cavity, in the file's axes */
  const double *poured_up;    /* poured and shut with this up, and then turned; NULL: in the tilt */
  size_t hole_count;          /* to pour through; in the file's axes */
  const ul_vent_at *hole;
  const bool *hole_plug; /* when foam shows */
  ul_datum datum;        /* what places on the card are measured from */
  long tries, good;      /* repeats, and those that fill */
  bool fills; /* the plan's own rise leaves no more than is let be; else tries tell less */
  const char *tries_how; /* what was tried: "on heights alone" */
  const char *verdict;
  bool sound;
  const ul_charge *charge; /* per cavity; NULL: no foam card was given */
  const ul_foam *foam;     /* and what it was made of, for its remarks; NULL: none are told */
  const ul_charge_opts *charge_opts;
  const ul_clock *clock; /* NULL likewise */
  const ul_hold *hold;   /* NULL likewise */
  size_t caution_count;
  const ul_caution *caution;
  bool inch; /* inches, ounces, psi and F */
  ul_paper paper;
  long long made_s; /* since 1970, as the file's date: same bytes for the same */
} ul_card;

/* The card as PDF, one page, its text as text. Written whole or not at all. UL_E_WRITE,
 * UL_E_MEMORY; UL_E_MACHINE when it cannot be drawn, with the reason. */
ul_status ul_write_card(const ul_card *card, const char *path, ul_error *err);

#endif
