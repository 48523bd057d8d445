#include "air/climb.h"

#include <stdbool.h>

#include "base/vec.h"

static double height_of(const ul_surface *s, const double up[3], uint32_t node) {
  return ul_dot(up, ul_surface_at(s, node));
}

/* Heights nearer than rounding can tell apart are equal, or a level face would have slopes. */
static bool is_above(const ul_surface *s, const double up[3], uint32_t a, uint32_t b) {
  double x = height_of(s, up, a), y = height_of(s, up, b), tie = 1e-12 * (fabs(x) + fabs(y));
  if (fabs(x - y) > tie) return x > y;
  return s->vertex[a] < s->vertex[b];
}

static uint32_t highest_neighbour(const ul_surface *s, const double up[3], uint32_t node) {
  uint32_t best = node;
  for (uint32_t f = s->fan_first[node]; f < s->fan_first[node + 1]; f++)
    if (is_above(s, up, s->neighbour[f], best)) best = s->neighbour[f];
  return best;
}

uint32_t ul_climb(const ul_surface *s, const double up[3], uint32_t triangle) {
  uint32_t at = s->node[triangle][0];
  for (size_t steps = 0; steps < s->node_count; steps++) {
    uint32_t next = highest_neighbour(s, up, at);
    if (next == at) break;
    at = next;
  }
  return at;
}
