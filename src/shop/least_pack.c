#include "ullage/least_pack.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"

static const double pack_step = 0.01, short_ok = 0.005;

typedef struct {
  const ul_grid *grid;
  const ul_columns *columns;
  ul_rise_opts opts;
  const ul_job *job;
  const double *volume_mm3; /* of each cavity, as the cubes have it */
  ul_least_pack *out;
} search;

/* By the cubes' fractions, which are what the rise fills. */
static double *cavity_volumes(const ul_grid *g) {
  uint32_t count = 0;
  for (size_t i = 0; i < g->cube_count; i++)
    if (g->inside[i] && g->cavity[i] >= count) count = g->cavity[i] + 1;
  double *volume = ul_new(count, sizeof *volume), cube = pow(g->lattice.cube_mm, 3);
  for (size_t i = 0; volume && i < g->cube_count; i++)
    if (g->inside[i]) volume[g->cavity[i]] += (double)g->fill[i] * cube;
  return volume;
}

/* The largest share of a cavity that stays short at `pack`. */
static ul_status try_pack(search *s, double pack, double *short_volume, ul_error *err) {
  ul_rise *rise;
  s->opts.pack = pack;
  ul_status status = ul_rise_run(s->grid, s->columns, &s->opts, s->job, &rise, err);
  if (status != UL_OK) return status;
  *short_volume = 0;
  for (size_t i = 0; i < rise->cavity_count; i++)
    *short_volume = fmax(*short_volume, rise->cavity[i].short_mm3 / s->volume_mm3[i]);
  ul_rise_free(rise);
  s->out->rises++;
  return UL_OK;
}

static ul_status bisect(search *s, double most, ul_error *err) {
  double lo = 1, hi = most, left;
  ul_status status = try_pack(s, hi, &s->out->short_volume, err);
  s->out->pack = hi;
  s->out->fills = status == UL_OK && s->out->short_volume < short_ok;
  if (!s->out->fills) return status;
  while (hi - lo > pack_step) {
    double mid = (lo + hi) / 2;
    status = try_pack(s, mid, &left, err);
    if (status != UL_OK) return status;
    if (left < short_ok) {
      s->out->pack = hi = mid;
      s->out->short_volume = left;
    } else {
      lo = mid;
    }
  }
  return UL_OK;
}

ul_status ul_least_pack_find(const ul_grid *grid, const ul_columns *columns,
                             const ul_rise_opts *opts, double most, const ul_job *job,
                             ul_least_pack *out, ul_error *err) {
  if (!(most > 1))
    return ul_fail(err, UL_E_USAGE, "packs up to %g are no search: give a most above 1", most);
  *out = (ul_least_pack){0};
  double *volume = cavity_volumes(grid);
  if (!volume) return ul_fail_memory(err);
  search s = {grid, columns, *opts, job, volume, out};
  ul_status status = bisect(&s, most, err);
  free(volume);
  return status;
}
