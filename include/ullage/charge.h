/* charge.h - what to weigh for a cavity, and whether the hands are quick enough. */
#ifndef ULLAGE_CHARGE_H
#define ULLAGE_CHARGE_H

#include <stdbool.h>
#include <stddef.h>

#include "ullage/foam.h"

typedef struct ul_charge_opts {
  unsigned cookie;
  double pack;            /* times free rise; 0: what the card advises, ul_pack_usual() */
  double want_kg_m3;      /* overall density wanted of the part, in place of a pack; 0: none */
  double bleed_g;         /* that leaves by the vents, as a rise found; NAN: bleed_share */
  double bleed_share;     /* of what is in the cavity, while nobody has found it: 0.002 */
  double left_g;          /* that stays in each cup: 5 */
  double pigment_percent; /* of the total: 1.5; 0: none; over 2 is said */
  double cup_max_g;       /* most that one person mixes in time; 0: no limit */
  double scale_g;         /* the scale's step; 0: 1 g from a cup of 200 g on, 0.1 g below */
} ul_charge_opts;
ul_charge_opts ul_charge_opts_default(void);

/* total = a + b + pigment, as the scale shows them: steps of it, also the pigment. */
typedef struct ul_cup {
  double total_g, a_g, b_g, pigment_g;
} ul_cup;

/* Of all cups together: what is in each, so many times. */
typedef struct ul_charge {
  double litres; /* the cavity's */
  double pack;
  double in_cavity_g, bleed_g, cup_g; /* not rounded; cup_g stays in the cups */
  double total_g, a_g, b_g, pigment_g;
  double scale_g;
  size_t cups;
  ul_cup each;
  double part_kg_m3; /* overall density of the part, as intended */
} ul_charge;

/* volume x free-rise density x pack + bleed + what stays in the cups; the pigment is part of the
 * total and goes into the B side; A and B as the card's ratio has it. Every cup is weighed alike,
 * its total rounded up to the scale. UL_E_USAGE for options that make no sense or a charge that is
 * more than the cavity holds as a liquid. A pack under 1 is made all the same: ask ul_pack_judge().
 */
ul_status ul_charge_make(const ul_foam *foam, double volume_mm3, const ul_charge_opts *opts,
                         ul_charge *out, ul_error *err);

/* By how much the A to B that the scale shows is over (below 0: under) the card's, as a share: 0.82
 * of 10 g to 5 g where it is 110:100. Beyond UL_RATIO_OFF_MOST, either way, it is another foam and
 * no good charge: the program's own choice, no source. */
#define UL_RATIO_OFF_MOST 0.05
double ul_charge_ratio_off(const ul_foam *foam, const ul_charge *charge);

/* A size that no hands pour, mostly a wrong unit's. Too small: ten times what goes in stays in the
 * cups, so what stays, a guess, decides the part. Too large: over UL_BY_HAND_MOST_G. Both are the
 * program's own choice, no source. */
#define UL_BY_HAND_MOST_G 100e3
typedef enum { UL_SIZE_BY_HAND, UL_SIZE_TOO_SMALL, UL_SIZE_TOO_LARGE } ul_size_for_hands;
ul_size_for_hands ul_charge_size(const ul_charge *charge);

/* The decimals that grams in steps of the scale are written with: 0 for 1, 1 for 0.1 or 2.5. */
int ul_scale_decimals(double step_g);

/* What a charge should be told with: one sentence each. Several cups, and what goes into each. */
enum { UL_CHARGE_REMARKS = 3, UL_CHARGE_REMARK = 240 };
bool ul_charge_cups(const ul_foam *foam, const ul_charge *charge, const ul_charge_opts *opts,
                    char remark[UL_CHARGE_REMARK]);
/* Pigment over 2 % or under 1 %, a scale too coarse for the ratio or for the pigment. Returns how
 * many there are. */
size_t ul_charge_remarks(const ul_foam *foam, const ul_charge *charge, const ul_charge_opts *opts,
                         char remark[UL_CHARGE_REMARKS][UL_CHARGE_REMARK]);

/* What the hands take, one after the other, from the start of mixing. */
typedef struct ul_hands {
  double mix_s, pour_s, close_s, turn_s;
} ul_hands;
ul_hands ul_hands_default(void); /* 25, 10, 10, 5 s */

/* X(name, what it is done before) */
#define UL_CLOCK_LIMIT_LIST(X)                                                                     \
  X(UL_BY_HALF_FULL, "it is half full")                                                            \
  X(UL_BY_RIM, "foam is at the rim")                                                               \
  X(UL_BY_HOLE, "foam is at the pour hole")                                                        \
  X(UL_BY_CREAM, "it creams")
#define UL_CLOCK_LIMIT_AS_ENUM(name, word) name,
typedef enum { UL_CLOCK_LIMIT_LIST(UL_CLOCK_LIMIT_AS_ENUM) UL_CLOCK_LIMIT_END } ul_clock_limit;
const char *ul_clock_limit_word(ul_clock_limit limit);

typedef enum { UL_OPENING_UNKNOWN, UL_OPENING_RIM, UL_OPENING_HOLE } ul_opening;

/* Where one cavity is open while it is poured. */
typedef struct ul_clock_cavity {
  ul_opening opening; /* that is poured into */
  double share_below; /* of the cavity, below its lowest place as it lies then */
  double reached_s;   /* when a rise found foam there; NAN: none did */
} ul_clock_cavity;

/* What the hands have to be done before. */
typedef struct ul_clock_mould {
  size_t cavity_count;
  const ul_clock_cavity *cavity;
  bool turned_while_liquid; /* poured in another attitude: it must lie in its tilt by cream */
} ul_clock_mould;

/* Moments from the start of mixing; margins below 0 are missed. The charge must be poured by cream.
 * The mould must be shut (a pour hole: plugged) before foam is at the opening of the first cavity,
 * each on its own charge, as a rise found it or else as a level foam that rises freely would be.
 * Where no opening is known, and for a mould that lies in its tilt from the start, the limit is the
 * moment at which such foam fills half of it, from where on it domes against the lid: half is the
 * program's own choice, no source. */
typedef struct ul_clock {
  double cream_s, half_full_s;
  double poured_s, shut_s, turned_s;
  ul_clock_limit shut_by, turn_by;
  size_t shut_cavity; /* of several that are not open alike: the number, from 1, of the one that
                         shut_by is about; else 0 */
  double shut_by_s, turn_by_s;
  double pour_margin_s, shut_margin_s, turn_margin_s;
} ul_clock;
/* `mould` NULL: nothing is known of it. */
ul_clock ul_clock_run(const ul_foam *foam, double pack, const ul_hands *hands,
                      const ul_clock_mould *mould);

/* What it must be shut before, with the cavity where that matters: "foam is at the rim of cavity
 * 2". Returns `out`. */
enum { UL_CLOCK_WORDS = 80 };
const char *ul_clock_shut_words(const ul_clock *clock, char out[UL_CLOCK_WORDS]);

#endif
