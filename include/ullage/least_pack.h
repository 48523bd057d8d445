/* least_pack.h - the least charge that fills, as the rise finds it. */
#ifndef ULLAGE_LEAST_PACK_H
#define ULLAGE_LEAST_PACK_H

#include "ullage/rise.h"

typedef struct ul_least_pack {
  double pack;         /* that fills every cavity, at most 0.01 above one that does not */
  bool fills;          /* false: not even the most tried, and that is `pack` */
  double short_volume; /* share of the worst cavity that stays short at `pack` */
  size_t rises;        /* made to find it */
} ul_least_pack;

/* Bisection between a pack of 1 and `most` in rises with `opts` (whose pack is not looked at).
 * Filled is a cavity of which less than 0.5 % stays short; trapped air does not count, for no
 * charge cures it: give vents that work, or opts->open. A slender cavity wants more than a stout
 * one, since its foam sets before it has pushed itself to the end. UL_E_USAGE for a `most` that is
 * not above 1; else as ul_rise_run(). */
ul_status ul_least_pack_find(const ul_grid *grid, const ul_columns *columns,
                             const ul_rise_opts *opts, double most, const ul_job *job,
                             ul_least_pack *out, ul_error *err);

#endif
