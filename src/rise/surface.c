#include "rise/surface.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

/* Less than this is not told from none. */
static const double OF_CUBE = 0.05;

ul_status ul_wets_new(const ul_filling *f, ul_wets *out, ul_error *err) {
  *out = (ul_wets){.wet = ul_new(f->mouth_count + 1, sizeof *out->wet)};
  return out->wet ? UL_OK : ul_fail_memory(err);
}

/* ---- the level of a pool ---- */

/* Of a cube with its corners at 0 and 1: the share on the near side of a plane whose normal has
 * those (positive) parts, along `axes` axes, as far along it from the corner at 0 as `far`. */
static double cut_cube(const double *n, int axes, double far) {
  double sum = 0, all = 1;
  for (int k = 0; k < axes; k++) all *= (k + 1) * n[k];
  for (int corner = 0; corner < 1 << axes; corner++) {
    double left = far;
    int sign = 1;
    for (int k = 0; k < axes; k++)
      if (corner >> k & 1) left -= n[k], sign = -sign;
    if (left > 0) sum += sign * pow(left, axes);
  }
  return sum / all;
}

/* What of a cube's box lies under a level, as a share of it. */
static double share_under(const ul_filling *f, size_t cube, double level_m) {
  const double over = level_m - f->height[cube];
  double low[3], high[3], n[3], lowest = 0, whole = 0;
  int axes = 0;
  if (fabs(over) > 2 * f->cube_m) return over > 0;
  ul_cube_box_mm(f->cubes, cube, low, high);
  for (int a = 0; a < 3; a++) {
    const double up = f->rise[2 * a + 1] / (f->cube_m * 1e3); /* m a mm */
    if (fabs(f->rise[2 * a]) < 1e-4 * f->layer_m) continue;   /* level along that axis */
    lowest += fmin(up * low[a], up * high[a]);
    n[axes] = fabs(up) * (high[a] - low[a]);
    whole += n[axes++];
  }
  const double far = over - lowest;
  return far <= 0 ? 0 : far >= whole ? 1 : fmin(1, fmax(0, cut_cube(n, axes, far)));
}

static double held_under(const ul_filling *f, const uint32_t *cube, size_t count, double level) {
  double held = 0;
  for (size_t i = 0; i < count; i++) held += f->volume[cube[i]] * share_under(f, cube[i], level);
  return held;
}

/* The level under which the cubes hold that volume: between two that are a fiftieth of a layer
 * apart by the straight line, which lying level it is. */
static double level_by_volume(const ul_filling *f, const uint32_t *cube, size_t count,
                              double volume_m3) {
  double low = INFINITY, high = -INFINITY;
  for (size_t i = 0; i < count; i++) {
    low = fmin(low, f->height[cube[i]] - f->layer_m);
    high = fmax(high, f->height[cube[i]] + f->layer_m);
  }
  while (high - low > 0.02 * f->layer_m) {
    const double middle = (low + high) / 2;
    *(held_under(f, cube, count, middle) < volume_m3 ? &low : &high) = middle;
  }
  const double less = held_under(f, cube, count, low), more = held_under(f, cube, count, high);
  return more > less ? low + (high - low) * (volume_m3 - less) / (more - less) : low;
}

/* Puts the cubes beside the pool's `count` that hold nothing behind these; returns how many all
 * are. `top` has 0 for what is in the list. */
static size_t add_shore(const ul_filling *f, uint32_t *cube, size_t count, double *top) {
  size_t all = count;
  for (size_t i = 0; i < count; i++)
    for (int s = 0; s < UL_SIDES; s++) {
      const int32_t n = f->cubes->next[cube[i]][s];
      if (n == UL_NO_CUBE || !isnan(top[n])) continue;
      top[n] = 0;
      cube[all++] = (uint32_t)n;
    }
  return all;
}

/* Of a heap, that has not come to a level: its highest full cube's top, or as far as the lowest one
 * over that is full. */
static double top_of_heap(const ul_filling *f, const uint32_t *cube, size_t count, double full) {
  const double density = ul_mid(f->foam->liquid_kg_m3);
  double over = INFINITY, share = 0;
  for (size_t i = 0; i < count; i++) {
    const uint32_t c = cube[i];
    if (f->full[c] || f->height[c] <= full || f->height[c] >= over) continue;
    over = f->height[c];
    share = f->mass[c] / (density * f->volume[c]);
  }
  return full + fmin(over - full, f->layer_m) * (0.5 + share);
}

/* Cubes fill in the order of their centres: what is full over one that is not is a heap. Else the
 * level may stand in cubes over the highest that holds liquid, too: those of the shore keep it.
 * Writes `top` of the pool's `count` cubes; behind these there is room for all others. */
static void find_level(const ul_filling *f, uint32_t *cube, size_t count, double *top) {
  const size_t all = add_shore(f, cube, count, top);
  double full = -INFINITY, lowest = INFINITY, dry = INFINITY, wet = -INFINITY, kg = 0;
  for (size_t i = 0; i < all; i++) {
    const uint32_t c = cube[i];
    kg += f->mass[c];
    lowest = fmin(lowest, f->height[c]);
    if (i < count) wet = fmax(wet, f->height[c]);
    if (f->full[c])
      full = fmax(full, f->height[c]);
    else
      dry = fmin(dry, f->height[c]);
  }
  if (full < lowest) full = lowest - f->layer_m;
  const double nearly = 0.01 * f->layer_m;
  const bool heap = full > dry + nearly;
  const double level = heap ? top_of_heap(f, cube, all, full)
                            : level_by_volume(f, cube, all, kg / ul_mid(f->foam->liquid_kg_m3));
  for (size_t i = 0; i < all; i++)
    top[cube[i]] = i < count || (!heap && f->height[cube[i]] > wet + nearly) ? level : NAN;
}

/* Per cube: how high the pool stands that is in it, m; NAN where none is. */
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
    find_level(f, queue, count, top);
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
    ul_cube_corner_mm(f->cubes, i, down, lowest);
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
