#include "air/view.h"

#include "air/overhead.h"
#include "base/memory.h"
#include "base/vec.h"

#include <stdbool.h>
#include <stdlib.h>

void ul_view_look(ul_view *view, const double up[3]) {
  double x[3], y[3];
  ul_across(up, x, y);
  for (uint32_t n = 0; n < view->surface->node_count; n++) {
    const double *at = ul_surface_at(view->surface, n);
    view->plan[n][0] = ul_dot(x, at);
    view->plan[n][1] = ul_dot(y, at);
    view->height[n] = ul_dot(up, at);
  }
}

/* --- volume --- */

double ul_volume_under(double plan_area2, const double h[3], double level) {
  double area = 0.5 * plan_area2;
  if (level >= h[0]) return 0;
  if (level >= h[1]) {
    double a = (h[0] - level) / (h[0] - h[1]), b = (h[0] - level) / (h[0] - h[2]);
    return area * a * b * (h[0] - level) / 3;
  }
  double whole = area * ((h[0] + h[1] + h[2]) / 3 - level);
  if (level <= h[2]) return whole;
  double a = (level - h[2]) / (h[0] - h[2]), b = (level - h[2]) / (h[1] - h[2]);
  return whole + area * a * b * (level - h[2]) / 3;
}

void ul_falling_heights(const ul_view *view, uint32_t triangle, double origin, double h[3]) {
  for (int i = 0; i < 3; i++) h[i] = view->height[view->surface->node[triangle][i]] - origin;
  for (int i = 0; i < 2; i++)
    for (int j = 0; j < 2 - i; j++)
      if (h[j] < h[j + 1]) {
        double higher = h[j + 1];
        h[j + 1] = h[j];
        h[j] = higher;
      }
}

/* --- tops with air above them --- */

static bool is_top(const ul_view *v, uint32_t node) {
  const ul_surface *s = v->surface;
  for (uint32_t f = s->fan_first[node]; f < s->fan_first[node + 1]; f++) {
    uint32_t other = s->neighbour[f];
    double lead = v->height[other] - v->height[node];
    if (lead > 0 || (lead == 0 && other < node)) return false;
  }
  return true;
}

/* From a top the skin's fan goes nowhere but down, so it bounds a cone below it: of wall if the
 * outside is down there, of air otherwise. The cone's solid angle, summed over the triangles as
 * seen from the top with the vertical for a reference, has the sign that tells (Van Oosterom and
 * Strackee 1983, IEEE Trans. Biomed. Eng. 30). */
static bool air_is_above(const ul_view *v, uint32_t node) {
  const ul_surface *s = v->surface;
  double sum = 0;
  for (uint32_t f = s->fan_first[node]; f < s->fan_first[node + 1]; f++) {
    double d[2][3];
    for (uint32_t step = 1; step < 3; step++) {
      uint32_t other = s->node[s->fan[f] / 3][(s->fan[f] % 3 + step) % 3];
      double *to = d[step - 1];
      to[0] = v->plan[other][0] - v->plan[node][0];
      to[1] = v->plan[other][1] - v->plan[node][1];
      to[2] = v->height[other] - v->height[node];
      double length = ul_norm(to);
      for (int c = 0; c < 3; c++) to[c] /= length;
    }
    double turn = d[0][0] * d[1][1] - d[0][1] * d[1][0];
    sum += atan2(turn, 1 - d[0][2] - d[1][2] + ul_dot(d[0], d[1]));
  }
  return sum < 0;
}

ul_status ul_tie_core_tops(const ul_view *view, uint32_t (**pair)[2], size_t *room, size_t *count) {
  uint32_t *core = NULL, *above = NULL;
  size_t cores = 0, core_room = 0;
  ul_status status = UL_OK;
  for (uint32_t n = 0; status == UL_OK && n < view->surface->node_count; n++) {
    if (!is_top(view, n) || !air_is_above(view, n)) continue;
    if (!ul_grow((void **)&core, &core_room, cores + 1, sizeof *core))
      status = UL_E_MEMORY;
    else
      core[cores++] = n;
  }
  above = ul_new_raw(cores, sizeof *above);
  if (!above || !ul_grow((void **)pair, room, *count + cores, sizeof **pair)) status = UL_E_MEMORY;
  if (status == UL_OK && cores) status = ul_overhead(view, core, cores, above);
  for (size_t i = 0; status == UL_OK && i < cores; i++) {
    if (above[i] == UINT32_MAX) continue;
    (*pair)[*count][0] = core[i];
    (*pair)[(*count)++][1] = ul_highest_corner(view, above[i]);
  }
  free(core);
  free(above);
  return status;
}
