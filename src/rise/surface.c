#include "rise/surface.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

/* Less than this is lost in the cubes' own stairs. */
static const double OF_CUBE = 0.25;

ul_status ul_wets_new(const ul_filling *f, ul_wets *out, ul_error *err) {
  *out = (ul_wets){.wet = ul_new(f->mouth_count + 1, sizeof *out->wet)};
  return out->wet ? UL_OK : ul_fail_memory(err);
}

/* The level of a pool: between its highest full cube and the lowest one over that which is not, by
 * how full that is. Cubes fill in the order of their centres, so on a slant those two are close,
 * and along the axes a layer apart. */
static double level_of(const ul_filling *f, const uint32_t *member, size_t count) {
  const double density = ul_mid(f->foam->liquid_kg_m3);
  double lowest = INFINITY, full = -INFINITY, over = INFINITY, share = 0;
  for (size_t i = 0; i < count; i++) {
    lowest = fmin(lowest, f->height[member[i]]);
    if (f->full[member[i]]) full = fmax(full, f->height[member[i]]);
  }
  if (full < lowest) full = lowest - f->layer_m;
  for (size_t i = 0; i < count; i++) {
    const int32_t *next = f->cubes->next[member[i]];
    for (int s = -1; s < UL_SIDES; s++) {
      int32_t c = s < 0 ? (int32_t)member[i] : next[s];
      if (c == UL_NO_CUBE || f->full[c] || f->height[c] <= full || f->height[c] >= over) continue;
      over = f->height[c];
      share = f->mass[c] / (density * f->volume[c]);
    }
  }
  double gap = fmin(over - full, f->layer_m);
  return full + gap * (0.5 + share);
}

/* Per cube with liquid: how high the pool that it belongs to stands, m; NAN without. */
static void find_tops(const ul_filling *f, double *top, uint32_t *queue) {
  for (size_t i = 0; i < f->count; i++) top[i] = NAN;
  for (size_t from = 0; from < f->count; from++) {
    if (f->mass[from] <= 0 || !isnan(top[from])) continue;
    size_t count = 0;
    queue[count++] = (uint32_t)from;
    top[from] = 0;
    for (size_t i = 0; i < count; i++) {
      const int32_t *next = f->cubes->next[queue[i]];
      for (int s = 0; s < UL_SIDES; s++) {
        if (next[s] == UL_NO_CUBE || f->mass[next[s]] <= 0 || !isnan(top[next[s]])) continue;
        top[next[s]] = 0;
        queue[count++] = (uint32_t)next[s];
      }
    }
    double level = level_of(f, queue, count);
    for (size_t i = 0; i < count; i++) top[queue[i]] = level;
  }
}

/* Keeps the worst of each opening. */
static void note(ul_wets *w, ul_wet wet) {
  size_t i = 0;
  while (i < w->count && w->wet[i].vent != wet.vent) i++;
  if (i == w->count) w->wet[w->count++] = wet;
  if (wet.over_mm > w->wet[i].over_mm) w->wet[i] = wet;
}

static void look_at_vents(const ul_filling *f, const ul_rise_opts *opts, const double up[3],
                          double s, const double *top, ul_wets *w) {
  for (size_t m = 0; m < f->mouth_count; m++) {
    if (f->mouth[m].seam) continue; /* the rim */
    ul_wet wet = {.vent = (uint32_t)f->mouth[m].given, .s = s};
    ul_copy3(opts->vent[wet.vent].at_mm, wet.at_mm);
    for (size_t k = 0; k < f->mouth[m].count; k++) {
      double stands = top[f->mouth[m].cube[k]]; /* NAN: dry */
      wet.over_mm = fmax(wet.over_mm, stands * 1e3 - ul_dot(up, wet.at_mm));
    }
    if (wet.over_mm > OF_CUBE * f->cube_m * 1e3) note(w, wet);
  }
}

bool ul_on_rim(const ul_filling *f, const ul_rise_opts *opts, size_t i) {
  double centre[3], to[3];
  const double *n = opts->parting_normal;
  ul_cube_centre_mm(f->cubes, i, centre);
  ul_sub(opts->parting_mm, centre, to);
  const double off = ul_dot(to, n), side = off < 0 ? -1 : 1;
  const double towards[3] = {side * n[0], side * n[1], side * n[2]};
  if (!(fabs(off) <= ul_cube_reach_mm(f->cubes, i, towards) + 1e-6 * f->cube_m * 1e3)) return false;
  for (int s = 0; s < UL_SIDES; s++)
    if (f->cubes->next[i][s] == UL_NO_CUBE && fabs(n[s / 2]) < 0.7) return true;
  return false;
}

static void look_at_rim(const ul_filling *f, const ul_rise_opts *opts, const double up[3], double s,
                        const double *top, ul_wets *w) {
  const double *n = opts->parting_normal, down[3] = {-up[0], -up[1], -up[2]};
  for (size_t i = 0; i < f->count; i++) {
    if (isnan(top[i]) || !ul_on_rim(f, opts, i)) continue;
    ul_wet wet = {.vent = UINT32_MAX, .s = s};
    double lowest[3], to[3];
    ul_cube_extreme_mm(f->cubes, i, down, lowest);
    ul_sub(lowest, opts->parting_mm, to);
    ul_add_scaled(lowest, -ul_dot(to, n), n, wet.at_mm); /* on the plane */
    wet.over_mm = top[i] * 1e3 - ul_dot(up, wet.at_mm);
    if (wet.over_mm > OF_CUBE * f->cube_m * 1e3) note(w, wet);
  }
}

ul_status ul_wets_look(const ul_filling *f, const ul_rise_opts *opts, const double up[3], bool rim,
                       double s, ul_wets *w, ul_error *err) {
  double *top = ul_new_raw(f->count, sizeof *top);
  uint32_t *queue = ul_new_raw(f->count, sizeof *queue);
  ul_status status = top && queue ? UL_OK : ul_fail_memory(err);
  if (status == UL_OK) {
    find_tops(f, top, queue);
    look_at_vents(f, opts, up, s, top, w);
    if (rim && opts->has_parting) look_at_rim(f, opts, up, s, top, w);
  }
  free(top);
  free(queue);
  return status;
}
