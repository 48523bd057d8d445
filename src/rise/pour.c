#include "rise/pour.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "rise/floor.h"

/* ---- parts of the cubes that hang together ---- */

enum { UNSEEN, SEEN, TOO_SMALL };

typedef struct {
  uint8_t *mark;  /* a cube */
  uint32_t *part; /* that was marked last */
  size_t in_part;
} scratch;

/* Marks what hangs together with `from` and is unseen; returns its volume, mm3. */
static double mark_part(const ul_cubes *c, size_t from, scratch *s) {
  double volume = 0;
  s->part[0] = (uint32_t)from;
  s->in_part = 1;
  s->mark[from] = SEEN;
  for (size_t i = 0; i < s->in_part; i++) {
    volume += c->volume_mm3[s->part[i]];
    for (int side = 0; side < UL_SIDES; side++) {
      int32_t n = c->next[s->part[i]][side];
      if (n == UL_NO_CUBE || s->mark[n]) continue;
      s->mark[n] = SEEN;
      s->part[s->in_part++] = (uint32_t)n;
    }
  }
  return volume;
}

static ul_status scratch_new(const ul_cubes *c, scratch *s, ul_error *err) {
  s->mark = ul_new(c->count, 1);
  s->part = ul_new_raw(c->count, sizeof *s->part);
  return s->mark && s->part ? UL_OK : ul_fail_memory(err);
}

static void scratch_free(scratch *s) {
  free(s->mark);
  free(s->part);
}

ul_status ul_pour_unreached(const ul_cubes *c, const ul_pour *pour, double *mm3, size_t *cube,
                            ul_error *err) {
  scratch s = {0};
  ul_status status = scratch_new(c, &s, err);
  *mm3 = 0;
  for (size_t i = 0; i < pour->count && status == UL_OK; i++)
    if (!s.mark[pour->cube[i]]) mark_part(c, pour->cube[i], &s);
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
  for (size_t i = 0; i < c->count; i++) s->mark[i] = UNSEEN;
  mark_part(c, from, s);
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
    double volume = s.mark[i] ? 0 : mark_part(c, i, &s);
    if (volume > largest) largest = volume, from = i;
  }
  size_t lowest = status == UL_OK ? lowest_in(c, from, up, &s) : 0;
  scratch_free(&s);
  if (status == UL_OK) status = ul_floor_middle(c, up, lowest, &lowest, err);
  *cube = (uint32_t)lowest;
  return status;
}

/* ---- a part that has room for it ---- */

double ul_pour_kg(const ul_rise_opts *opts, size_t cavity, double volume_m3) {
  const double pack = opts->pack > 0 ? opts->pack : ul_mid(opts->foam.pack);
  const double more_kg = opts->more_g ? opts->more_g[cavity] / 1000 : 0;
  return pack * ul_mid(opts->foam.free_kg_m3) * volume_m3 + more_kg;
}

static double liquid_mm3(const ul_cubes *one, const ul_rise_opts *opts, size_t cavity) {
  return ul_pour_kg(opts, cavity, one->cavity_mm3[cavity] * 1e-9) /
         ul_mid(opts->foam.liquid_kg_m3) * 1e9;
}

/* True where a part has room for so much. */
static bool mark_parts(const ul_cubes *c, double mm3, scratch *s) {
  bool some = false;
  for (size_t i = 0; i < c->count; i++) {
    if (s->mark[i]) continue;
    const bool holds = mark_part(c, i, s) >= mm3;
    for (size_t k = 0; k < s->in_part && !holds; k++) s->mark[s->part[k]] = TOO_SMALL;
    some = some || holds;
  }
  return some;
}

static uint32_t nearest_with_room(const ul_cubes *c, const scratch *s, uint32_t from) {
  double at[3], centre[3], least = INFINITY;
  uint32_t best = from;
  ul_cube_centre_mm(c, from, at);
  for (size_t i = 0; i < c->count; i++) {
    ul_cube_centre_mm(c, i, centre);
    if (s->mark[i] == TOO_SMALL || ul_distance(at, centre) >= least) continue;
    least = ul_distance(at, centre);
    best = (uint32_t)i;
  }
  return best;
}

static ul_status move_to_room(const ul_cubes *c, double mm3, ul_pour *pour, ul_error *err) {
  scratch s;
  ul_status status = scratch_new(c, &s, err);
  if (status == UL_OK && mark_parts(c, mm3, &s))
    for (size_t i = 0; i < pour->count; i++)
      pour->cube[i] = nearest_with_room(c, &s, pour->cube[i]);
  scratch_free(&s);
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
  ul_status status = along_line(one, from, to && !isnan(to[0]) ? to : from, out, err);
  if (status != UL_OK || !opts->pour_moves) return status;
  return move_to_room(one, liquid_mm3(one, opts, cavity), out, err);
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
