/* shop_case.h - what the shop does about a cavity: charge, clock, hold, air, cautions. */
#ifndef UL_MAIN_SHOP_CASE_H
#define UL_MAIN_SHOP_CASE_H

#include <jansson.h>

#include "main/foam_proof.h"
#include "main/mouths.h"

enum { CAUTIONS_MOST = 32 };

/* One cavity's share. */
typedef struct shop_cavity {
  double volume_mm3;
  ul_charge charge;
  bool bleed_seen;  /* its bleed is a rise's */
  ul_vent_size air; /* as if all its air left by holes of one size */
} shop_cavity;

typedef struct shop_case {
  bool has_foam; /* else only the litres, the area and the cautions below hold anything */
  ul_foam foam;  /* the card, with today's cup and temperature */
  size_t cavity_count;
  shop_cavity *cavity;
  size_t first_cavity; /* the number, 0-based, that the first has in the file */
  double pack;
  pack_choice choice; /* where it is from, and the least that fills */
  ul_pack_verdict pack_verdict;
  char pack_words[200];
  double air_at_s; /* the fastest moment of the rise */
  ul_clock clock;
  mouth drowned; /* where no rise was made: the opening that level liquid would stand over, */
  double drowned_over_mm; /* and how high; 0: none */
  double along[3];        /* direction of the projected area, and its area */
  bool along_assumed;
  double projected_mm2;
  ul_hold hold;
  size_t caution_count;
  ul_caution caution[CAUTIONS_MOST];
  bool dangerous; /* something may break: that is the verdict then */
  bool odd_size;  /* or else: a size that no hands pour */
  bool good;
  char verdict[400];
} shop_case;

/* All of it for an opened case with its cubes and parting, lying in the tilt `up`. `proof` is the
 * rise that was made; NULL, or without one: none. Release with shop_free() whatever came back. */
ul_status shop_make(const cavity_case *c, const pack_choice *choice, const double up[3],
                    const foam_proof *proof, shop_case *s, ul_error *err);
void shop_free(shop_case *s);

/* The keys foam, charge, clock, hold, air and cautions. */
json_t *shop_json(const shop_case *s);
/* The same as sentences, without the verdict. */
void shop_show(const shop_case *s, const options *opts);
/* Options that say nothing without a foam card, where there is none. */
void shop_show_unused(const options *opts);

#endif
