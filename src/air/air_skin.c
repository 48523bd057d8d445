/* air_skin.c - the skin's own graph for the sweep of the air: exact, ribs and sheets of any
 * thinness and all. Its items are the surface's nodes; see skin_tree.h for why that is enough. */
#include "air/air.h"
#include "air/nearest.h"
#include "base/memory.h"
#include "base/vec.h"

#include <math.h>

/* Tops that a moulder could not tell apart. */
static const double same_top_mm = 0.25;

static ul_status look(ul_air *air) {
  const ul_surface *s = air->heights->surface;
  size_t pairs = 0;
  ul_status status = ul_air_make_room(air, s->node_count);
  if (status != UL_OK) return status;
  if (!air->view.plan) air->view.plan = ul_new_raw(s->node_count, sizeof *air->view.plan);
  if (!air->view.plan) return UL_E_MEMORY;
  air->view.surface = s;
  air->view.height = air->height;
  ul_view_look(&air->view, air->up);
  status = ul_tie_core_tops(&air->view, &air->join, &air->join_room, &pairs);
  if (status == UL_OK) status = ul_air_make_room(air, s->node_count + pairs);
  if (status != UL_OK) return status;
  air->view.height = air->height;
  air->item_count = s->node_count;
  air->join_count = pairs;
  air->first = s->fan_first;
  air->open = s->neighbour;
  for (size_t i = 0; i < pairs; i++)
    air->height[s->node_count + i] =
        fmin(air->height[air->join[i][0]], air->height[air->join[i][1]]);
  return UL_OK;
}

/* Triangle by triangle, each at its highest corner. */
static double above(const ul_air *air, uint32_t root, double level) {
  const ul_surface *s = air->heights->surface;
  double sum = 0;
  for (uint32_t n = root; n != UINT32_MAX; n = air->next[n])
    for (uint32_t f = s->fan_first[n]; f < s->fan_first[n + 1]; f++) {
      uint32_t t = s->fan[f] / 3;
      double h[3];
      if (ul_highest_corner(&air->view, t) != n) continue;
      ul_falling_heights(&air->view, t, level, h);
      sum += ul_volume_under(ul_plan_area2(&air->view, t), h, 0);
    }
  return sum;
}

static uint32_t cavity(const ul_air *air, uint32_t node) {
  const ul_surface *s = air->heights->surface;
  return air->heights->solid->cavity_of[s->fan[s->fan_first[node]] / 3];
}

static void point(const ul_air *air, uint32_t node, double out[3]) {
  ul_copy3(ul_surface_at(air->heights->surface, node), out);
}

static bool one_top(const ul_air *air, uint32_t a, uint32_t b, double depth) {
  return depth + fmax(0, air->height[b] - air->height[a]) <= same_top_mm;
}

/* Raises the vent to the highest place of the edge a-b within `reach` of `at`. */
static void raise_along(const ul_air *air, const double at[3], double reach, uint32_t a, uint32_t b,
                        ul_air_vent *vent) {
  const double *from = ul_surface_at(air->heights->surface, a);
  double along[3], off[3];
  ul_sub(ul_surface_at(air->heights->surface, b), from, along);
  ul_sub(from, at, off);
  double aa = ul_dot(along, along), ab = ul_dot(along, off),
         root = ab * ab - aa * (ul_dot(off, off) - reach * reach);
  if (!(aa > 0 && root >= 0)) return;
  double ends[2] = {fmax(0, (-ab - sqrt(root)) / aa), fmin(1, (-ab + sqrt(root)) / aa)};
  for (int i = 0; ends[0] <= ends[1] && i < 2; i++) {
    double level = air->height[a] + ends[i] * (air->height[b] - air->height[a]);
    if (level <= vent->level) continue;
    *vent = (ul_air_vent){air->height[b] > air->height[a] ? b : a, level};
  }
}

/* A mouth was moved in from an edge by its own radius, so it drains the skin round it: a vent hangs
 * at the highest place within a cube that can be reached on the skin. */
static ul_status hang(ul_air *air, const double at[3], ul_air_vent *vent) {
  const ul_surface *s = air->heights->surface;
  double cube = air->heights->columns->lattice.cube_mm, near[3];
  uint32_t first = ul_nearest_triangle(s, at, near);
  size_t count;
  if (ul_distance(near, at) > 4 * cube) return UL_E_OUTSIDE;
  if (!air->patch.seen && ul_patch_init(&air->patch, s) != UL_OK) return UL_E_MEMORY;
  ul_status status = ul_patch_gather(&air->patch, s, first, near, cube, &count);
  if (status != UL_OK) return status;
  *vent = (ul_air_vent){ul_highest_corner(&air->view, first), ul_dot(air->up, near)};
  for (size_t i = 0; i < count; i++) {
    const uint32_t *n = s->node[air->patch.queue[i]];
    for (int side = 0; side < 3; side++)
      raise_along(air, near, cube, n[side], n[(side + 1) % 3], vent);
  }
  vent->level = fmin(vent->level, air->height[vent->item]);
  return UL_OK;
}

const ul_air_kind ul_air_skin = {look, above, cavity, point, one_top, hang};
