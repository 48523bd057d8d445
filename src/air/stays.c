#include "air/stays.h"

#include "air/heights.h"
#include "air/skin_outlet.h"
#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* --- the regions --- */

typedef struct {
  const ul_heights *heights;
  double up[3];
  ul_skin_tree *tree;
  size_t count;
  ul_cut_region *region;
} stays;

static void stays_clear(stays *s) {
  ul_skin_tree_free(s->tree);
  free(s->region);
}

/* Where there is no hole, a pocket under two cubes is none, as in the list of peaks. */
static void leave_grains_out(stays *s) {
  const double cube_mm = s->heights->columns->lattice.cube_mm;
  size_t kept = 0;
  for (size_t i = 0; i < s->count; i++)
    if (s->region[i].over_outlet || s->region[i].volume_mm3 >= 2 * cube_mm * cube_mm * cube_mm)
      s->region[kept++] = s->region[i];
  s->count = kept;
}

static ul_status stays_find(const ul_heights *heights, const double up[3], const double (*at_mm)[3],
                            size_t count, stays *s) {
  *s = (stays){.heights = heights};
  if (!heights->skin_is_wall) return UL_OK;
  ul_outlet *outlet = ul_new_raw(count, sizeof *outlet);
  ul_status status = outlet ? ul_up_settle(up, s->up, NULL) : UL_E_MEMORY;
  if (status == UL_OK) status = ul_skin_tree_new(heights->surface, s->up, &s->tree);
  for (size_t i = 0; status == UL_OK && i < count; i++)
    status = ul_outlet_at(s->tree, at_mm[i], &outlet[i]);
  if (status == UL_OK) status = ul_outlets_cut(s->tree, outlet, count, &s->region, &s->count);
  free(outlet);
  if (status == UL_OK) leave_grains_out(s);
  return status;
}

ul_status ul_stays_most_mm3(const ul_heights *heights, const double up[3], const double (*at_mm)[3],
                            size_t count, double *most_mm3, double top_mm[3]) {
  stays s;
  ul_status status = stays_find(heights, up, at_mm, count, &s);
  *most_mm3 = 0;
  for (size_t i = 0; status == UL_OK && i < s.count; i++) {
    if (s.region[i].volume_mm3 <= *most_mm3) continue;
    *most_mm3 = s.region[i].volume_mm3;
    ul_copy3(ul_surface_at(heights->surface, s.tree->tree->arc[s.region[i].arc].leaf), top_mm);
  }
  stays_clear(&s);
  return status;
}

/* --- one region as a void --- */

static bool is_in(const stays *s, const ul_cut_region *r, uint32_t triangle) {
  const ul_view *v = &s->tree->view;
  const uint32_t top = ul_highest_corner(v, triangle);
  return v->height[top] > r->level_mm &&
         ul_arc_is_below(s->tree->tree, r->arc, s->tree->tree->arc_of_item[top]);
}

/* The place farthest from `from` of the region's skin: a corner, or where an edge passes the level.
 */
static double farthest(const stays *s, const ul_cut_region *r, const double from[3],
                       double out[3]) {
  const ul_surface *surface = s->heights->surface;
  double most = -1;
  for (uint32_t t = 0; t < surface->mesh->triangle_count; t++) {
    if (!is_in(s, r, t)) continue;
    for (int i = 0; i < 3; i++) {
      const uint32_t a = surface->node[t][i], b = surface->node[t][(i + 1) % 3];
      const double above = s->tree->view.height[a] - r->level_mm;
      const double other = s->tree->view.height[b] - r->level_mm;
      double at[3], along[3];
      if (above < 0 && other <= 0) continue;
      ul_copy3(ul_surface_at(surface, a), at);
      if (above < 0) {
        ul_sub(ul_surface_at(surface, b), at, along);
        ul_add_scaled(at, above / (above - other), along, at);
      }
      if (ul_distance(from, at) <= most) continue;
      most = ul_distance(from, at);
      ul_copy3(at, out);
    }
  }
  return fmax(most, 0);
}

static ul_void as_void(const stays *s, const ul_cut_region *r) {
  const ul_surface *surface = s->heights->surface;
  const ul_solid *solid = s->heights->solid;
  const uint32_t top = s->tree->tree->arc[r->arc].leaf;
  double end[3], other[3];
  ul_void out = {.cavity = solid->cavity_of[surface->fan[surface->fan_first[top]] / 3],
                 .air_mm3 = r->volume_mm3,
                 .void_mm3 = r->volume_mm3};
  ul_copy3(ul_surface_at(surface, top), out.at_mm);
  farthest(s, r, out.at_mm, end);
  out.across_mm = farthest(s, r, end, other);
  out.cut_off_fraction = ul_solid_below_mm3(solid, out.cavity, s->up, r->level_mm) /
                         solid->cavity[out.cavity].volume_mm3;
  return out;
}

/* --- told in the rise --- */

/* Whether a void's top lies in the region. */
static ul_status holds(const stays *s, const ul_cut_region *r, const ul_void *v, bool *yes) {
  ul_outlet top;
  ul_status status = ul_outlet_at(s->tree, v->at_mm, &top);
  *yes = status == UL_OK && top.level_mm > r->level_mm &&
         ul_arc_is_below(s->tree->tree, r->arc, top.arc);
  return status;
}

/* Whether the cube at the region's top is in a void already, and one as large: that void reaches
 * beyond the region, and its own top lies elsewhere. */
static bool is_in_a_larger(const ul_grid *grid, const ul_level *level, const ul_void *v) {
  const ul_lattice *l = &grid->lattice;
  size_t cube = 0;
  bool larger = false;
  for (size_t i = 0; i < level->void_count; i++)
    larger =
        larger || (level->voids[i].cavity == v->cavity && level->voids[i].void_mm3 >= v->void_mm3);
  for (int a = 2; a >= 0; a--) {
    const double place = floor((v->at_mm[a] - l->origin_mm[a]) / l->cube_mm);
    cube = cube * (size_t)l->n[a] + (size_t)fmin(fmax(place, 0), l->n[a] - 1);
  }
  return larger && level->arrival[cube] > 1;
}

static ul_status tell(const stays *s, const ul_grid *grid, const ul_cut_region *r,
                      ul_level *level) {
  ul_void now = as_void(s, r);
  size_t kept = 0, inside = 0;
  double sum = 0;
  ul_status status = UL_OK;
  bool *in = ul_new(level->void_count, sizeof *in);
  if (!in) return UL_E_MEMORY;
  for (size_t i = 0; status == UL_OK && i < level->void_count; i++) {
    if (level->voids[i].cavity == now.cavity) status = holds(s, r, &level->voids[i], &in[i]);
    if (!in[i]) continue;
    inside++;
    sum += level->voids[i].void_mm3;
    now.across_mm = fmax(now.across_mm, level->voids[i].across_mm);
  }
  if (status == UL_OK && sum < now.void_mm3 && (inside || !is_in_a_larger(grid, level, &now))) {
    size_t room = level->void_count;
    if (ul_grow((void **)&level->voids, &room, level->void_count + 1, sizeof *level->voids)) {
      for (size_t i = 0; i < level->void_count; i++)
        if (!in[i]) level->voids[kept++] = level->voids[i];
      level->voids[kept++] = now;
      level->void_count = kept;
      const double share = (now.void_mm3 - sum) / s->heights->solid->cavity[now.cavity].volume_mm3;
      level->filled[now.cavity] = fmax(level->filled[now.cavity] - share, 0);
    } else {
      status = UL_E_MEMORY;
    }
  }
  free(in);
  return status;
}

static int larger_first(const void *a, const void *b) {
  const ul_void *x = a, *y = b;
  if (x->air_mm3 != y->air_mm3) return x->air_mm3 < y->air_mm3 ? 1 : -1;
  return memcmp(x->at_mm, y->at_mm, sizeof x->at_mm);
}

ul_status ul_stays_tell(const ul_heights *heights, const ul_grid *grid, const double up[3],
                        const double (*at_mm)[3], size_t count, double least_mm3, ul_level *level) {
  stays s;
  ul_status status = stays_find(heights, up, at_mm, count, &s);
  for (size_t i = 0; status == UL_OK && i < s.count; i++)
    if (s.region[i].volume_mm3 > least_mm3) status = tell(&s, grid, &s.region[i], level);
  stays_clear(&s);
  if (level->void_count) qsort(level->voids, level->void_count, sizeof *level->voids, larger_first);
  for (size_t i = 0; i < level->void_count; i++) {
    ul_void *v = &level->voids[i];
    v->cut_off_fraction = fmin(v->cut_off_fraction, level->filled[v->cavity]);
  }
  return status;
}
