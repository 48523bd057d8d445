#include "air/overhead.h"

#include "base/memory.h"
#include "base/order.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* A ray through an edge shall meet one of its triangles at least: both are a hair larger here. */
#define HAIR 1e-9

typedef struct {
  const ul_view *view;
  uint32_t *order; /* the places, by falling first coordinate */
  double *across;  /* that coordinate, in that order */
  double *best;    /* per place: the lowest wall above it so far */
  const uint32_t *node;
  uint32_t *triangle;
} search;

static bool touches(const ul_surface *s, uint32_t triangle, uint32_t node) {
  const uint32_t *n = s->node[triangle];
  return n[0] == node || n[1] == node || n[2] == node;
}

/* The height of the triangle's plane over `at`; false if `at` is not under the triangle. */
static bool height_over(const ul_view *v, uint32_t t, double area2, const double at[2],
                        double *height) {
  const uint32_t *n = v->surface->node[t];
  double sum = 0;
  for (int i = 0; i < 3; i++) {
    const double *b = v->plan[n[(i + 1) % 3]], *c = v->plan[n[(i + 2) % 3]];
    double share = ((b[0] - at[0]) * (c[1] - at[1]) - (b[1] - at[1]) * (c[0] - at[0])) / area2;
    if (share < -HAIR) return false;
    sum += share * v->height[n[i]];
  }
  *height = sum;
  return true;
}

/* The first place in order whose coordinate is not above `limit`. */
static size_t first_not_above(const search *s, size_t count, double limit) {
  size_t low = 0, high = count;
  while (low < high) {
    size_t middle = (low + high) / 2;
    if (s->across[middle] > limit)
      low = middle + 1;
    else
      high = middle;
  }
  return low;
}

static void look_up_to(search *s, size_t count, uint32_t t) {
  const ul_view *v = s->view;
  double area2 = ul_plan_area2(v, t);
  if (!(area2 > 0)) return; /* a floor: half of all, so out with it first */
  const uint32_t *n = v->surface->node[t];
  double low = v->plan[n[0]][0], high = low;
  for (int i = 1; i < 3; i++) {
    double x =
        v->plan[n[i]][0]; /* fmin() and fmax() are calls, and this is done millions of times */
    if (x < low) low = x;
    if (x > high) high = x;
  }
  double hair = HAIR * (high - low);
  if (!(area2 > HAIR * hair * hair)) return;
  for (size_t i = first_not_above(s, count, high + hair); i < count; i++) {
    uint32_t place = s->order[i], from = s->node[place];
    double height;
    if (s->across[i] < low - hair) break;
    if (touches(v->surface, t, from) || !height_over(v, t, area2, v->plan[from], &height)) continue;
    if (height <= v->height[from] || height >= s->best[place]) continue;
    s->best[place] = height;
    s->triangle[place] = t;
  }
}

ul_status ul_overhead(const ul_view *view, const uint32_t *node, size_t count, uint32_t *triangle) {
  search s = {view,
              ul_new_raw(count, sizeof *s.order),
              ul_new_raw(count, sizeof *s.across),
              ul_new_raw(count, sizeof *s.best),
              node,
              triangle};
  ul_status status = s.order && s.across && s.best ? UL_OK : UL_E_MEMORY;
  if (status == UL_OK) {
    for (size_t i = 0; i < count; i++) {
      s.best[i] = view->plan[node[i]][0];
      triangle[i] = UINT32_MAX;
    }
    status = ul_order_descending(s.best, count, s.order);
  }
  if (status == UL_OK) {
    for (size_t i = 0; i < count; i++) s.across[i] = view->plan[node[s.order[i]]][0];
    for (size_t i = 0; i < count; i++) s.best[i] = INFINITY;
    for (uint32_t t = 0; count && t < view->surface->mesh->triangle_count; t++)
      look_up_to(&s, count, t);
  }
  free(s.order);
  free(s.across);
  free(s.best);
  return status;
}
