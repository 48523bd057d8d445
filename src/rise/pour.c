#include "rise/pour.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "rise/floor.h"

/* ---- parts of the cubes that hang together ---- */

/* Marks what hangs together with `from` and is not marked yet; returns its volume, mm3. */
static double mark_part(const ul_cubes *c, size_t from, uint8_t *mark, uint32_t *queue) {
  size_t count = 0;
  double volume = 0;
  queue[count++] = (uint32_t)from;
  mark[from] = 1;
  for (size_t i = 0; i < count; i++) {
    volume += c->volume_mm3[queue[i]];
    for (int s = 0; s < UL_SIDES; s++) {
      int32_t n = c->next[queue[i]][s];
      if (n == UL_NO_CUBE || mark[n]) continue;
      mark[n] = 1;
      queue[count++] = (uint32_t)n;
    }
  }
  return volume;
}

typedef struct {
  uint8_t *mark;
  uint32_t *queue;
} scratch;

static ul_status scratch_new(const ul_cubes *c, scratch *s, ul_error *err) {
  s->mark = ul_new(c->count, 1);
  s->queue = ul_new_raw(c->count, sizeof *s->queue);
  return s->mark && s->queue ? UL_OK : ul_fail_memory(err);
}

static void scratch_free(scratch *s) {
  free(s->mark);
  free(s->queue);
}

ul_status ul_pour_unreached(const ul_cubes *c, const ul_pour *pour, double *mm3, size_t *cube,
                            ul_error *err) {
  scratch s;
  ul_status status = scratch_new(c, &s, err);
  *mm3 = 0;
  for (size_t i = 0; i < pour->count && status == UL_OK; i++)
    if (!s.mark[pour->cube[i]]) mark_part(c, pour->cube[i], s.mark, s.queue);
  for (size_t i = 0; i < c->count && status == UL_OK; i++) {
    if (s.mark[i]) continue;
    if (*mm3 == 0) *cube = i;
    *mm3 += c->volume_mm3[i];
  }
  scratch_free(&s);
  return status;
}

/* ---- the lowest place ---- */

static size_t lowest_in(const ul_cubes *c, size_t from, const double up[3], scratch *s) {
  double lowest = INFINITY;
  size_t best = from;
  for (size_t i = 0; i < c->count; i++) s->mark[i] = 0;
  mark_part(c, from, s->mark, s->queue);
  for (size_t i = 0; i < c->count; i++) {
    double centre[3];
    ul_cube_centre_mm(c, i, centre);
    if (!s->mark[i] || ul_dot(centre, up) >= lowest) continue;
    lowest = ul_dot(centre, up);
    best = i;
  }
  return best;
}

static ul_status lowest_place(const ul_cubes *c, const double up[3], uint32_t *cube,
                              ul_error *err) {
  scratch s;
  ul_status status = scratch_new(c, &s, err);
  double largest = 0;
  size_t from = 0;
  for (size_t i = 0; i < c->count && status == UL_OK; i++) {
    double volume = s.mark[i] ? 0 : mark_part(c, i, s.mark, s.queue);
    if (volume > largest) largest = volume, from = i;
  }
  size_t lowest = status == UL_OK ? lowest_in(c, from, up, &s) : 0;
  scratch_free(&s);
  if (status == UL_OK) status = ul_floor_middle(c, up, lowest, &lowest, err);
  *cube = (uint32_t)lowest;
  return status;
}

/* ---- a point or a line ---- */

static ul_status along_line(const ul_cubes *c, const double from[3], const double to[3],
                            ul_pour *out, ul_error *err) {
  double way[3], length = ul_distance(from, to), cube = c->grid->lattice.cube_mm;
  ul_sub(to, from, way);
  out->count = (size_t)fmin(UL_POUR_PIECES, fmax(1, ceil(length / cube)));
  out->length_m = length * (1 - 1 / (double)out->count) * 1e-3;
  ul_status status = UL_OK;
  for (size_t i = 0; i < out->count && status == UL_OK; i++) {
    double at[3];
    size_t found = 0;
    ul_add_scaled(from, ((double)i + 0.5) / (double)out->count, way, at);
    status = ul_cubes_find(c, at, "pour", &found, err);
    out->cube[i] = (uint32_t)found;
  }
  return status;
}

ul_status ul_pour_find(const ul_cubes *one, const ul_rise_opts *opts, size_t cavity,
                       const double up[3], ul_pour *out, ul_error *err) {
  *out = (ul_pour){.count = 1};
  const double *from = opts->pour_mm ? opts->pour_mm[cavity] : NULL;
  const double *to = opts->pour_end_mm ? opts->pour_end_mm[cavity] : NULL;
  if (!from || isnan(from[0])) return lowest_place(one, up, out->cube, err);
  return along_line(one, from, to && !isnan(to[0]) ? to : from, out, err);
}

/* ---- what lies there already ---- */

static double outermost_m(const ul_cubes *c, const ul_pour *pour) {
  double most = 0;
  for (size_t i = 0; i < pour->count; i++)
    for (size_t k = 0; k < i; k++) {
      double a[3], b[3];
      ul_cube_centre_mm(c, pour->cube[i], a);
      ul_cube_centre_mm(c, pour->cube[k], b);
      most = fmax(most, ul_distance(a, b));
    }
  return most * 1e-3;
}

void ul_pour_again(const ul_filling *f, ul_pour *out) {
  double total = 0, sum = 0;
  for (size_t i = 0; i < f->count; i++) total += f->mass[i];
  *out = (ul_pour){0};
  for (size_t i = 0; i < f->count; i++) {
    sum += f->mass[i];
    while (out->count < UL_POUR_PIECES &&
           sum >= total * ((double)out->count + 0.5) / UL_POUR_PIECES)
      out->cube[out->count++] = (uint32_t)i;
  }
  out->length_m = outermost_m(f->cubes, out);
}
