#include "rise/reach.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "rise/cube_heap.h"
#include "rise/flood.h"

enum { AROUND = UL_SIDES + UL_CORNERS };

/* From cube to cube, across edges and corners too, a way is at most so many times as long as the
 * straight one where nothing is between: 1.13 on a lattice that lies as gravity does. */
static const double CROOKED = 1.2;

static int around(const ul_cubes *c, size_t cube, int32_t out[AROUND]) {
  int found = ul_cube_corners(c, cube, out);
  for (int s = 0; s < UL_SIDES; s++)
    if (c->next[cube][s] != UL_NO_CUBE) out[found++] = c->next[cube][s];
  return found;
}

/* m across `up` */
static double sideways(const ul_filling *f, const double up[3], size_t a, size_t b) {
  double p[3], q[3], way[3];
  ul_cube_centre_mm(f->cubes, a, p);
  ul_cube_centre_mm(f->cubes, b, q);
  ul_sub(q, p, way);
  ul_add_scaled(way, -ul_dot(way, up), up, way);
  return ul_norm(way) * 1e-3;
}

size_t ul_reach_level(const ul_filling *f, const double up[3], uint32_t from, double within_m,
                      uint32_t *list, uint8_t *seen) {
  size_t count = 0;
  list[count++] = from;
  seen[from] = 1;
  for (size_t i = 0; i < count; i++) {
    int32_t near[AROUND];
    const int found = around(f->cubes, list[i], near);
    for (int k = 0; k < found; k++) {
      const int32_t n = near[k];
      if (seen[n] || fabs(f->height[n] - f->height[from]) > f->cube_m ||
          sideways(f, up, from, (size_t)n) > within_m)
        continue;
      seen[n] = 1;
      list[count++] = (uint32_t)n;
    }
  }
  for (size_t i = 0; i < count; i++) seen[list[i]] = 0;
  return count;
}

/* ---- round walls ---- */

enum { WAITS = 1, SETTLED = 2 };

typedef struct {
  const ul_filling *filling;
  const double *up, *straight;
  double reach_m, most;
  double *needs;
  uint8_t *mark;     /* per cube */
  uint32_t *settled; /* at once, to look round from */
  uint32_t *waiting; /* for the heap, until those have been */
  size_t settled_count, waiting_count;
  ul_cube_heap heap;
} search;

/* No way is shorter than the straight one: a need of that is settled, as all are in open space. */
static void offer(search *s, size_t cube, double need) {
  if (s->mark[cube] == SETTLED || need >= s->needs[cube]) return;
  s->needs[cube] = need;
  if (need <= s->straight[cube]) {
    s->mark[cube] = SETTLED;
    s->settled[s->settled_count++] = (uint32_t)cube;
  } else if (s->mark[cube] != WAITS) {
    s->mark[cube] = WAITS;
    s->waiting[s->waiting_count++] = (uint32_t)cube;
  }
}

static void look_round(search *s, size_t cube) {
  int32_t near[AROUND];
  const int found = around(s->filling->cubes, cube, near);
  for (int k = 0; k < found; k++) {
    const size_t n = (size_t)near[k];
    if (s->mark[n] == SETTLED || s->straight[n] > s->most) continue;
    const double step = sideways(s->filling, s->up, cube, n) / (CROOKED * s->reach_m);
    offer(s, n, fmax(s->straight[n], s->needs[cube] + step));
  }
}

static bool queue_waiting(search *s) {
  while (s->waiting_count) {
    const uint32_t cube = s->waiting[--s->waiting_count];
    if (s->mark[cube] == SETTLED) continue;
    s->mark[cube] = 0;
    if (!ul_cube_heap_push(&s->heap, (ul_heap_cube){s->needs[cube], cube, 0})) return false;
  }
  return true;
}

static bool run(search *s, const uint32_t *from, size_t count) {
  for (size_t i = 0; i < s->filling->count; i++) s->needs[i] = INFINITY;
  for (size_t k = 0; k < count; k++) offer(s, from[k], s->straight[from[k]]);
  for (size_t next = 0;;) {
    while (next < s->settled_count) look_round(s, s->settled[next++]);
    if (!queue_waiting(s)) return false;
    if (!s->heap.count) return true;
    const ul_heap_cube e = ul_cube_heap_pop(&s->heap);
    if (s->mark[e.cube] == SETTLED) continue;
    if (e.height > s->most) return true;
    s->mark[e.cube] = SETTLED;
    look_round(s, e.cube);
  }
}

ul_status ul_reach_round_walls(const ul_filling *f, const double up[3], const uint32_t *from,
                               size_t count, double reach_m, double most, double *needs,
                               ul_error *err) {
  double *straight = ul_new_raw(f->count, sizeof *straight);
  search s = {.filling = f,
              .up = up,
              .straight = straight,
              .reach_m = reach_m,
              .most = most,
              .needs = needs};
  s.mark = ul_new(f->count, 1);
  s.settled = ul_new_raw(f->count, sizeof *s.settled);
  s.waiting = ul_new_raw(f->count, sizeof *s.waiting);
  bool done = straight && s.mark && s.settled && s.waiting;
  for (size_t i = 0; done && i < f->count; i++) straight[i] = needs[i];
  done = done && run(&s, from, count);
  free(straight);
  free(s.mark);
  free(s.settled);
  free(s.waiting);
  free(s.heap.item);
  return done ? UL_OK : ul_fail_memory(err);
}
