#include "rise/meets.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

enum { FEWEST_CUBES = 3 }; /* of a place: less is the grain of the cubes */

/* Directions that make a smaller angle run together rather than meet. */
static const double LEAST_DEG = 60;

static bool reached(const ul_filling *f, int32_t cube) {
  return cube != UL_NO_CUBE && f->arrival_s[cube] < INFINITY;
}

/* Foam came there rising, not as it was poured. */
static bool rose_to(const ul_filling *f, int32_t cube) {
  return reached(f, cube) && (double)f->arrival_s[cube] > ul_mid(f->foam->cream_s);
}

/* The way foam went through the cube: up the gradient of arrival, seen from its neighbours other
 * than `except`. False where it arrived everywhere at once. */
static bool direction(const ul_filling *f, int32_t cube, int32_t except, double out[3]) {
  const int32_t *next = f->cubes->next[cube];
  for (int a = 0; a < 3; a++) {
    int32_t low = next[2 * a], high = next[2 * a + 1];
    if (low == except || !reached(f, low)) low = cube;
    if (high == except || !reached(f, high)) high = cube;
    double apart = (low != cube) + (high != cube);
    double rise = (double)f->arrival_s[high] - (double)f->arrival_s[low];
    out[a] = apart > 0 ? rise / apart : 0;
  }
  double length = ul_norm(out);
  for (int a = 0; a < 3 && length > 0; a++) out[a] /= length;
  return length > 0;
}

/* Largest angle between what came from the two sides of an axis, both before this cube; 0 if none.
 */
static double angle_at(const ul_filling *f, int32_t cube) {
  double largest = 0;
  if (!rose_to(f, cube)) return 0;
  for (int a = 0; a < 3; a++) {
    int32_t low = f->cubes->next[cube][2 * a], high = f->cubes->next[cube][2 * a + 1];
    double one[3], two[3];
    if (!rose_to(f, low) || !rose_to(f, high)) continue;
    if (f->arrival_s[low] > f->arrival_s[cube] || f->arrival_s[high] > f->arrival_s[cube]) continue;
    if (!direction(f, low, cube, one) || !direction(f, high, cube, two)) continue;
    double cosine = fmin(1, fmax(-1, ul_dot(one, two)));
    largest = fmax(largest, acos(cosine) * 180 / 3.14159265358979323846);
  }
  return largest >= LEAST_DEG ? largest : 0;
}

typedef struct {
  float *angle; /* per cube; 0 once it is counted */
  uint32_t *queue;
} scan;

/* The connected place around the cube: where and when it began, and the mean angle. */
static size_t gather(const ul_filling *f, scan *s, uint32_t from, ul_rise_meet *out) {
  size_t count = 0;
  uint32_t first = from;
  double sum = (double)s->angle[from];
  s->queue[count++] = from;
  s->angle[from] = 0;
  for (size_t i = 0; i < count; i++) {
    uint32_t cube = s->queue[i];
    if (f->arrival_s[cube] < f->arrival_s[first]) first = cube;
    for (int side = 0; side < UL_SIDES; side++) {
      int32_t n = f->cubes->next[cube][side];
      if (n == UL_NO_CUBE || s->angle[n] == 0) continue;
      sum += (double)s->angle[n];
      s->angle[n] = 0;
      s->queue[count++] = (uint32_t)n;
    }
  }
  out->s = (double)f->arrival_s[first];
  out->angle_deg = sum / (double)count;
  ul_cube_centre_mm(f->cubes, first, out->at_mm);
  return count;
}

static int by_time(const void *a, const void *b) {
  const ul_rise_meet *x = a, *y = b;
  if (x->s != y->s) return x->s < y->s ? -1 : 1;
  for (int c = 0; c < 3; c++)
    if (x->at_mm[c] != y->at_mm[c]) return x->at_mm[c] < y->at_mm[c] ? -1 : 1;
  return 0;
}

ul_status ul_meets_find(const ul_filling *f, uint32_t cavity, ul_rise_meet **meet, size_t *room,
                        size_t *count, ul_error *err) {
  scan s = {ul_new_raw(f->count, sizeof *s.angle), ul_new_raw(f->count, sizeof *s.queue)};
  ul_status status = s.angle && s.queue ? UL_OK : ul_fail_memory(err);
  size_t before = *count;
  for (size_t i = 0; status == UL_OK && i < f->count; i++)
    s.angle[i] = (float)angle_at(f, (int32_t)i);
  for (size_t i = 0; status == UL_OK && i < f->count; i++) {
    ul_rise_meet found = {.cavity = cavity};
    if (s.angle[i] == 0 || gather(f, &s, (uint32_t)i, &found) < FEWEST_CUBES) continue;
    if (ul_grow((void **)meet, room, *count + 1, sizeof **meet))
      (*meet)[(*count)++] = found;
    else
      status = ul_fail_memory(err);
  }
  if (*count > before) qsort(*meet + before, *count - before, sizeof **meet, by_time);
  free(s.angle);
  free(s.queue);
  return status;
}
