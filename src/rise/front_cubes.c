#include "rise/front_cubes.h"

#include <math.h>
#include <string.h>

#include "base/parallel.h"
#include "base/wide.h"
#include "rise/front_renew.h"

/* ---- over all of them ---- */

void ul_cubes_for_all(ul_step *s, ul_block_fn block) {
  ul_parallel(s->f->job, NULL, (s->f->count + UL_CUBES_BLOCK - 1) / UL_CUBES_BLOCK, block, s);
}

/* The same for one that leaves a sum in s->sum. */
static double sum_over_cubes(ul_step *s, ul_block_fn block) {
  double sum = 0;
  ul_cubes_for_all(s, block);
  for (size_t b = 0; b * UL_CUBES_BLOCK < s->f->count; b++) sum += s->sum[b];
  return sum;
}

/* Density at pressure so far, and its slope: (1 + k p) P / (l P + g), P = p + atmosphere. */
static inline void make_density(ul_step *s, size_t i) {
  const double p = s->before[i] = s->value[i], absolute = UL_ATMOSPHERE_PA + p;
  const double stiff = 1 + ul_least_compressibility * p;
  const double per = 1 / (s->now.liquid * absolute + s->now.gas);
  s->density[i] = stiff * absolute * per;
  s->slope[i] = ul_least_compressibility * absolute * per + stiff * s->now.gas * per * per;
}

static ul_status density_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  (void)worker;
  for (size_t i = block * UL_CUBES_BLOCK; i < ul_cubes_end(s, block); i++)
    if (s->f->full[i]) make_density(s, i);
  return UL_OK;
}

/* What a link needs beside its two cubes. */
typedef struct {
  double thin, weight[3];
} link_law;

static link_law law_of_links(const ul_step *s) {
  const double heavy = s->now.density * UL_GRAVITY;
  const double *rise = s->f->rise;
  return (link_law){1 / s->now.viscosity, {heavy * rise[1], heavy * rise[3], heavy * rise[5]}};
}

/* kg/(s Pa) from a full cube to the one on its + side along an axis, if that is full: the donor's
 * density. */
static inline void make_link(ul_step *s, const link_law *law, size_t i, int axis) {
  const ul_filling *f = s->f;
  const int32_t n = f->cubes->next[i][2 * axis + 1];
  if (n == UL_NO_CUBE || !f->full[n]) return;
  const double donor =
      s->value[i] - s->value[n] > law->weight[axis] ? s->density[i] : s->density[n];
  s->link[axis][i] = donor * f->face[axis][i] * law->thin;
}

static ul_status link_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  const link_law law = law_of_links(s);
  (void)worker;
  for (size_t i = block * UL_CUBES_BLOCK; i < ul_cubes_end(s, block); i++)
    for (int a = 0; s->f->full[i] && a < 3; a++) make_link(s, &law, i, a);
  return UL_OK;
}

static inline void make_sum(ul_step *s, size_t i) {
  const ul_filling *f = s->f;
  const double weight = s->now.density * UL_GRAVITY, often = 1 / s->dt;
  const int32_t *next = f->cubes->next[i];
  double held = f->volume[i] * (s->density[i] - s->slope[i] * s->before[i]), lifted = 0;
  for (int a = 0; a < 3; a++) {
    const int32_t below = next[2 * a], above = next[2 * a + 1];
    if (above != UL_NO_CUBE && f->full[above]) lifted += s->link[a][i] * f->rise[2 * a + 1];
    if (below != UL_NO_CUBE && f->full[below]) lifted += s->link[a][below] * f->rise[2 * a];
  }
  s->hold[i] = f->volume[i] * s->slope[i] * often;
  s->source[i] = (f->mass[i] - held) * often + weight * lifted;
}

static ul_status sum_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  (void)worker;
  for (size_t i = block * UL_CUBES_BLOCK; i < ul_cubes_end(s, block); i++)
    if (s->f->full[i]) make_sum(s, i);
  return UL_OK;
}

/* ---- those of them that are made anew ---- */

enum { LISTED = 1024 };

/* Runs over the list; each task takes LISTED of it. */
static void for_renewed_cubes(ul_step *s, ul_block_fn block) {
  ul_parallel(s->f->job, NULL, (s->renewed_count + LISTED - 1) / LISTED, block, s);
}

static size_t listed_end(const ul_step *s, size_t block) {
  return (block + 1) * LISTED < s->renewed_count ? (block + 1) * LISTED : s->renewed_count;
}

static ul_status renew_density_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  (void)worker;
  for (size_t k = block * LISTED; k < listed_end(s, block); k++) {
    const uint32_t i = s->renewed[k];
    if (s->f->full[i] && s->renew[i] == UL_RENEW_LAW) make_density(s, i);
  }
  return UL_OK;
}

/* A link between two such cubes is made by the lower one. */
static ul_status renew_link_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  const link_law law = law_of_links(s);
  (void)worker;
  for (size_t k = block * LISTED; k < listed_end(s, block); k++) {
    const uint32_t i = s->renewed[k];
    const int32_t *next = s->f->cubes->next[i];
    for (int a = 0; s->f->full[i] && s->renew[i] == UL_RENEW_LAW && a < 3; a++) {
      make_link(s, &law, i, a);
      const int32_t below = next[2 * a];
      if (below != UL_NO_CUBE && s->f->full[below] && s->renew[below] != UL_RENEW_LAW)
        make_link(s, &law, (size_t)below, a);
    }
  }
  return UL_OK;
}

static ul_status renew_sum_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  (void)worker;
  for (size_t k = block * LISTED; k < listed_end(s, block); k++)
    if (s->f->full[s->renewed[k]]) make_sum(s, s->renewed[k]);
  return UL_OK;
}

void ul_cubes_law(ul_step *s) {
  if (!s->whole) {
    for_renewed_cubes(s, renew_density_block);
    for_renewed_cubes(s, renew_link_block);
    for_renewed_cubes(s, renew_sum_block);
    return;
  }
  ul_cubes_for_all(s, density_block);
  ul_cubes_for_all(s, link_block);
  ul_cubes_for_all(s, sum_block);
}

/* ---- after a solve ---- */

/* A pressure moves by at most a factor of two in one solve: far from the answer the gas law is too
 * bent for the straight line through the last one. */
static double limited(double gauge, double before) {
  double absolute = UL_ATMOSPHERE_PA + before;
  return fmin(fmax(gauge, before - absolute / 2), before + absolute);
}

enum { LIMITED = 256 };

/* Keeps `count` pressures within reason and puts into `missed` by what mass the straight law is
 * off. Of cubes that are not full nothing is changed. What was full when the step began is held to
 * a factor of two from then: held to that from one straight law to the next, a step that makes it
 * anew again and again ran away to a hundred atmospheres. A pressure held back misses all that
 * moves in the step: what flows by it is not what was solved for. One division and no branch: a
 * vector loop.
 */
UL_WIDE static void limit_some(const ul_step *s, size_t from, size_t count,
                               double missed[LIMITED]) {
  const double *before = s->before + from, *density = s->density + from, *slope = s->slope + from;
  const double *volume = s->f->volume + from, liquid = s->now.liquid, gas = s->now.gas;
  const double all = s->source_kg;
  const uint8_t *full = s->f->full + from, *was_full = s->was_full + from;
  const double *begun = s->f->pressure + from;
  double *value = s->value + from;
  for (size_t i = 0; i < count; i++) {
    const double gauge = value[i], base = was_full[i] ? begun[i] : before[i];
    const double absolute = UL_ATMOSPHERE_PA + base;
    const double least = base - absolute / 2, most = base + absolute;
    const double raised = gauge > least ? gauge : least, kept = raised < most ? raised : most;
    const double law = (1 + ul_least_compressibility * kept) * (UL_ATMOSPHERE_PA + kept) /
                       (liquid * (UL_ATMOSPHERE_PA + kept) + gas);
    const double line = density[i] + slope[i] * (gauge - before[i]);
    const double held_back = kept != gauge ? all : 0;
    missed[i] = full[i] ? volume[i] * fabs(law - line) + held_back : 0;
    value[i] = full[i] ? kept : gauge;
  }
}

static ul_status limit_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  double missed[LIMITED], sum[8] = {0};
  (void)worker;
  for (size_t i = block * UL_CUBES_BLOCK; i < ul_cubes_end(s, block); i += LIMITED) {
    const size_t count =
        ul_cubes_end(s, block) - i < LIMITED ? ul_cubes_end(s, block) - i : LIMITED;
    if (!memchr(s->f->full + i, 1, count)) continue;
    limit_some(s, i, count, missed);
    for (size_t k = 0; k < count; k++) sum[k % 8] += missed[k];
  }
  s->sum[block] = ((sum[0] + sum[1]) + (sum[2] + sum[3])) + ((sum[4] + sum[5]) + (sum[6] + sum[7]));
  return UL_OK;
}

double ul_cubes_limit(ul_step *s) {
  const ul_filling *f = s->f;
  for (size_t a = f->count; a < f->count + f->part_count; a++)
    s->value[a] = limited(s->value[a], s->before[a]);
  return sum_over_cubes(s, limit_block);
}
