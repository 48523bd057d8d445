/* shots.h - what the first parts say: the density reached, the next charge, what to change. */
#ifndef ULLAGE_SHOTS_H
#define ULLAGE_SHOTS_H

#include <stdio.h>

#include "ullage/foam.h"

/* X(name, word in the table) */
#define UL_SYMPTOM_LIST(X)                                                                         \
  X(UL_SYMPTOM_NONE, "none")                                                                       \
  X(UL_SYMPTOM_MISSING_CORNER, "missing corner")                                                   \
  X(UL_SYMPTOM_BLISTER, "blister")                                                                 \
  X(UL_SYMPTOM_SHORT, "short")                                                                     \
  X(UL_SYMPTOM_COARSE, "coarse")                                                                   \
  X(UL_SYMPTOM_SUNKEN, "sunken later")                                                             \
  X(UL_SYMPTOM_SPLIT, "split")                                                                     \
  X(UL_SYMPTOM_SOFT, "soft")                                                                       \
  X(UL_SYMPTOM_LOOSE_SKIN, "loose skin")                                                           \
  X(UL_SYMPTOM_LEAK, "leak at seam")
#define UL_SYMPTOM_AS_ENUM(name, word) name,
typedef enum { UL_SYMPTOM_LIST(UL_SYMPTOM_AS_ENUM) UL_SYMPTOM_END } ul_symptom;
const char *ul_symptom_word(ul_symptom symptom);

enum { UL_SHOT_VENTS = 16 };

/* One part. NAN: the table does not say. */
typedef struct ul_shot {
  size_t line;
  char date[24], card[64];
  double charge_g, part_g; /* all that was weighed in; the part without flash */
  double liquid_c, mould_c;
  double cup_g, cup_ml;         /* of a cup poured at the same time */
  double vent_s[UL_SHOT_VENTS]; /* foam showed, from the start of mixing */
  char fault_at[80];
  ul_symptom symptom;
} ul_shot;

typedef struct ul_shots {
  size_t count, vent_count;
  ul_shot *shot;     /* in the order of the table */
  char unknown[160]; /* names of columns that mean nothing here, with commas between; "": none */
} ul_shots;

/* A CSV table (a comma, a semicolon or a tab between fields, a point or a comma in numbers) whose
 * first line names, in any order and writing, charge_g and part_g, and as many as the shop keeps of
 * date, card, liquid_c, mould_c, cup_g, cup_ml, fault_at and symptom, and vent_1_s, vent_2_s... as
 * there are vents. Cells may be empty but for charge_g and part_g. UL_E_READ with the line, the
 * column and the remedy, also for a column that stands there twice.
 * UL_OK: *out is yours, ul_shots_free(). */
ul_status ul_shots_read(FILE *stream, ul_shots **out, ul_error *err);
void ul_shots_free(ul_shots *shots);

/* A mean of `count` values; `off` is how far it may be off in 19 of 20 cases (Student's t, "t95");
 * of one value alone 5 % of it. NAN of none. */
typedef struct ul_mean {
  size_t count;
  double value, off;
} ul_mean;

/* Where the pack aimed at is from. X(name, word in JSON) */
#define UL_AIM_LIST(X)                                                                             \
  X(UL_AIM_GIVEN, "given")                                                                         \
  X(UL_AIM_CARD, "card")                                                                           \
  X(UL_AIM_TRADE, "common practice")                                                               \
  X(UL_AIM_SHOT, "shot")
#define UL_AIM_AS_ENUM(name, word) name,
typedef enum { UL_AIM_LIST(UL_AIM_AS_ENUM) UL_AIM_END } ul_aim;
const char *ul_aim_word(ul_aim aim);

/* What there is to try, cheapest first. X(name, word in JSON) */
#define UL_TRY_LIST(X)                                                                             \
  X(UL_TRY_TURN, "turn")                                                                           \
  X(UL_TRY_CHARGE, "charge")                                                                       \
  X(UL_TRY_TEMPERATURE, "temperature")                                                             \
  X(UL_TRY_PLUG, "plugging")                                                                       \
  X(UL_TRY_HANDS, "hands")                                                                         \
  X(UL_TRY_WAIT, "wait")                                                                           \
  X(UL_TRY_TOOL, "tool")                                                                           \
  X(UL_TRY_DRILL, "drill")
#define UL_TRY_AS_ENUM(name, word) name,
typedef enum { UL_TRY_LIST(UL_TRY_AS_ENUM) UL_TRY_END } ul_try;
const char *ul_try_word(ul_try what);

typedef struct ul_cause {
  const char *cause, *remedy; /* live for ever */
  ul_try kind;
  bool shown; /* the table's own numbers point to it */
} ul_cause;
enum { UL_CAUSES_MOST = 8 };

typedef struct ul_shots_opts {
  unsigned cookie;
  const ul_foam *foam; /* the card; NULL: none */
  const char *card;    /* how it was asked for; NULL: by the last shot's `card` */
  double litres;       /* of the cavity; 0: not known */
  double pack;         /* aimed at; 0: the card's, or the trade's */
  double want_kg_m3;   /* overall density wanted of the part, in place of a pack; 0: none */
} ul_shots_opts;
ul_shots_opts ul_shots_opts_default(void);

typedef struct ul_shots_said {
  ul_mean free_kg_m3; /* of the cups; of the card's span when there are none; NAN of neither */
  bool from_cups;
  ul_mean lost_g;      /* charge less part: cup, bleed, flash; of the shots whose loss can be */
  double usual_loss_g; /* the middle one of three or more such; NAN: there are fewer */
  ul_mean pack;        /* reached; NAN without litres or density */
  double target_pack;  /* raised over a short part's by a twentieth; or as next_charge_g is held */
  ul_aim aim; /* asked for; the middle of the card's span, or without one of the trade's; or as a
                 shot with a fault has it: raised over it, or held at its charge */
  bool aim_fills;       /* false: that is under 1 */
  double next_charge_g; /* NAN as above, and when no shot's loss can be. Without a pack asked for,
                           after a part that split or a seam that leaked: no more than that shot's
                           charge, or one's since; after one that fell short: no less */
  double next_off_g;
  double next_most_kpa; /* gauge, by the packing formula, should all of it stay in the cavity but
                             what a cup keeps: 5 g at most, as in a charge; by the cups' free rise
                             or the card's, the lighter one */
  double held_back_g;   /* what it would have been without that; NAN: the same */
  size_t faulty;        /* which shot the causes are for: the last with a fault; SIZE_MAX: none */
  size_t cause_count;   /* likeliest first: what the numbers show, then what is common */
  ul_cause cause[UL_CAUSES_MOST];
  size_t first;     /* the cheapest to try of those; drilling comes last */
  int charge_wants; /* a cause by the charge was left out, since the next charge is no more (1) or
                       no less (-1) than that shot's, or not known; 0: none was */
  bool good; /* false: the aim does not fill; the next charge may burst a mould, is not known for
                want of a loss that can be, or not to within itself; or the loss of the shot with
                the fault is doubted */
} ul_shots_said;

/* Whether more was lost than cup, bleed and flash take: over 10 g and a quarter of the charge, or
 * over the usual loss by 5 g and a tenth of the charge. All of that is the program's own choice, no
 * source; a pour hole that loses a quarter makes a light part. Such a shot is left out of the loss:
 * a missed decimal point in charge_g would be poured again. */
bool ul_shot_loss_is_doubted(const ul_shot *shot, const ul_shots_said *said);

/* Reads sense into the shots. UL_E_MEMORY, UL_E_USAGE for no shots or senseless options, such as a
 * pack that is more than the cavity holds as a liquid; UL_E_CARD or UL_E_READ where it is the
 * card's or the cups' density that makes it so. UL_E_READ, with the line, for a cup that no foam
 * rises to and for a part that is denser than the liquid, or lighter than a tenth of a free rise.
 */
ul_status ul_shots_judge(const ul_shots *shots, const ul_shots_opts *opts, ul_shots_said *out,
                         ul_error *err);
/* What should be told with that: sentences. */
enum { UL_SHOTS_REMARKS = 14, UL_SHOTS_REMARK = 280 };
size_t ul_shots_remarks(const ul_shots *shots, const ul_shots_opts *opts, const ul_shots_said *said,
                        char remark[UL_SHOTS_REMARKS][UL_SHOTS_REMARK]);
/* Density of one shot's cup, kg/m3, and the pack that its part reached; NAN when not known. */
double ul_shot_cup_kg_m3(const ul_shot *shot);
double ul_shot_pack(const ul_shot *shot, const ul_shots_said *said, const ul_shots_opts *opts);

#endif
