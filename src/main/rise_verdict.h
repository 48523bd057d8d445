/* rise_verdict.h - whether a rise with a foam works, and if not, why. */
#ifndef UL_MAIN_RISE_VERDICT_H
#define UL_MAIN_RISE_VERDICT_H

#include "main/cavity_case.h"

enum { RISE_SENTENCE = 500 };

typedef struct rise_verdict {
  bool good;
  char text[3 * RISE_SENTENCE]; /* what is wrong, and what to do: a sentence, or up to three */
} rise_verdict;

/* The first thing that will not do, in the order in which it happens; and always a pressure that
 * may hurt, and a charge of which holes take more than is weighed to spare. `clock` NULL: no card,
 * so no clock. `first_hole`: of the rise's vents, where the pour holes begin. */
rise_verdict rise_judge(const cavity_case *c, const ul_rise *rise, const ul_rise_opts *opts,
                        const ul_clock *clock, size_t first_hole);

/* Whether liquid stands over the rim, or over an opening while it is open, and then what to say of
 * it. `vent` as the rise was given them; `id` by which people know them, NULL: counted from 1. */
bool rise_runs_out(const cavity_case *c, const ul_rise *rise, const ul_rise_vent *vent,
                   const uint32_t *id, size_t first_hole, char *out, size_t room);

/* The share of a charge that is weighed to spare. */
extern const double rise_lost_most;

/* Whether holes take more of a charge than is weighed to spare, and then what to do about them;
 * all as above. */
bool rise_loses_charge(const cavity_case *c, const ul_rise *rise, const ul_rise_vent *vent,
                       const uint32_t *id, size_t first_hole, char *out, size_t room);

/* That sentence, for the rim and for an opening called `name`. */
void rise_say_over_rim(double over_mm, const double at_mm[3], char *out, size_t room);
void rise_say_over_opening(double over_mm, const char *name, const double at_mm[3], char *out,
                           size_t room);

/* Whether the hands are too slow for the foam, and then what to say of it. */
bool clock_missed(const ul_clock *clock, char *out, size_t room);

/* Over what foam moulds usually see; and then what to say of it. `from`: how it is known, "". */
bool rise_is_dangerous(double kpa, const char *from, char *out, size_t room);
/* The same of that charge should the cup test be wrong and the card right. */
bool rise_is_dangerous_by_card(const ul_foam *foam, double pack, char *out, size_t room);

/* What leaves a cavity by its vents and pour holes; and that with what leaves by its seam. */
double rise_left_by_holes_g(const ul_rise *rise, size_t cavity);
double rise_lost_g(const ul_rise *rise, size_t cavity);

/* "vent 2", "the pour hole" or "pour hole 2", as the rise's vent number `vent` is called. */
const char *rise_vent_name(const options *opts, size_t vent, size_t first_hole, char out[40]);

#endif
