/* repeats.h - many rises at once, and a shot repeated as a shop would: never twice the same. */
#ifndef ULLAGE_REPEATS_H
#define ULLAGE_REPEATS_H

#include "ullage/rise.h"

/* `count` rises in the same cubes, one a thread, each with its own options; rise[i] is yours, all
 * NULL unless UL_OK. Costly things that they share (mobility_mm2) are best made once. `stage` names
 * the work to the job's progress. Errors: of the lowest-numbered rise that fails. */
ul_status ul_rises_run(const ul_grid *grid, const ul_columns *columns, const ul_rise_opts *opts,
                       size_t count, const ul_job *job, const char *stage, ul_rise **rise,
                       ul_error *err);

typedef struct ul_repeats_opts {
  unsigned cookie;
  size_t tries;        /* 20 */
  unsigned long seed;  /* equal ones give equal tries */
  double off_deg;      /* propped up to so much off, in any direction: 2 */
  double charge_share; /* weighed and lost up to so much more or less: 0.05 */
  double pour_mm;      /* poured up to so far from where it should be: 10 */
  double void_ok_mm3;  /* a try is good that leaves no void, and nothing short, over this: 50 */
  size_t good_wanted;  /* ends as soon as fewer than this must be good: 0, all tries are made */
} ul_repeats_opts;
/* The amounts: what a careful shop keeps to, common practice, no source. */
ul_repeats_opts ul_repeats_opts_default(void);

typedef struct ul_repeat {
  double up[3], pack;
  double slow; /* its times: 0 the quickest of the card's spans, 1 the slowest */
  double pour_off_mm[3];
  double worst_mm3; /* largest void */
  double worst_at_mm[3];
  uint32_t worst_cavity;
  double short_mm3; /* the most that a cavity is short */
  double peak_kpa;
  bool good;
} ul_repeat;

/* A vent's pocket is the air that ends nearest to it. */
typedef struct ul_repeat_vent {
  size_t there;        /* tries in which no void over the limit is left nearest to this vent */
  double middle_mm[3]; /* of the tops of the voids left nearest to it; NAN: there is none */
  double else_mm[3];   /* the one of them nearest to their middle, which may lie in the tool */
  double wanders_mm;   /* how far the others are from that one at most */
} ul_repeat_vent;

typedef struct ul_repeats {
  size_t count, good; /* those made: fewer than asked for where `good_wanted` was out of reach */
  ul_repeat *list;
  size_t vent_count;
  ul_repeat_vent *vent; /* as in the options */
} ul_repeats;

/* Repeats `nominal` so: attitude, charge and pour evenly over what the options say, all times of
 * the card together evenly over its spans (a warm day is quick in all of them). A pour that moves
 * out of the cavity lands in the nearest cube of it. Every try has its own numbers from the seed,
 * so that more of them leave the first ones as they are. They are made four at a time, and after
 * each four it is asked whether `good_wanted` can still be reached. Errors: UL_E_USAGE for no tries
 * or a nominal pour that is not given for every cavity (pour_mm); else as ul_rise_run(). UL_OK:
 * *out is yours, ul_repeats_free(). */
ul_status ul_repeats_run(const ul_grid *grid, const ul_columns *columns,
                         const ul_rise_opts *nominal, const ul_repeats_opts *opts,
                         const ul_job *job, ul_repeats **out, ul_error *err);
void ul_repeats_free(ul_repeats *tries);

#endif
