#include "air/skin_outlet.h"

#include "air/nearest.h"
#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdlib.h>

#define NONE UINT32_MAX

static uint32_t nearest_triangle(const ul_mesh *mesh, const double at[3]) {
  uint32_t best = 0;
  double least = INFINITY, point[3];
  for (uint32_t t = 0; t < mesh->triangle_count && least > 0; t++) {
    const uint32_t *v = mesh->triangle[t];
    ul_nearest_on_triangle(at, mesh->vertex_mm[v[0]], mesh->vertex_mm[v[1]], mesh->vertex_mm[v[2]],
                           point);
    double distance = ul_distance(at, point);
    if (distance >= least) continue;
    least = distance;
    best = t;
  }
  return best;
}

/* A triangle is one piece of skin: when the level has come down to a place on it, the place is in
 * the region of the triangle's highest corner, and that region is the arc that reaches this level.
 */
ul_status ul_outlet_at(const ul_skin_tree *tree, const double at[3], ul_outlet *out) {
  const ul_surface *surface = tree->view.surface;
  const ul_arc *arc = tree->tree->arc;
  uint32_t triangle = nearest_triangle(surface->mesh, at);
  out->level_mm = ul_skin_height(tree, at);
  out->arc = tree->tree->arc_of_item[ul_highest_corner(&tree->view, triangle)];
  while (arc[out->arc].bottom >= out->level_mm && arc[out->arc].parent != NONE)
    out->arc = arc[out->arc].parent;
  return ul_skin_volume_above(tree, out->arc, out->level_mm, &out->above_mm3);
}

typedef struct {
  bool lets_out;    /* an outlet hangs on the arc or above it */
  bool child_does;  /* on a child or above that */
  double above_mm3; /* at the highest outlet on the arc itself */
  double level_mm;
} state;

/* Arcs come children first, so an arc's state is final when it is met. */
static void settle(const ul_tree *tree, state *s) {
  for (size_t a = 0; a < tree->arc_count; a++) {
    if (!s[a].lets_out || tree->arc[a].parent == NONE) continue;
    s[tree->arc[a].parent].lets_out = s[tree->arc[a].parent].child_does = true;
  }
}

ul_status ul_outlets_cut(const ul_skin_tree *tree, const ul_outlet *outlet, size_t count,
                         ul_cut_region **list, size_t *regions) {
  const ul_tree *t = tree->tree;
  state *s = ul_new(t->arc_count, sizeof *s);
  *list = ul_new_raw(t->arc_count, sizeof **list);
  *regions = 0;
  if (!s || !*list) {
    free(s);
    free(*list);
    *list = NULL;
    return UL_E_MEMORY;
  }
  for (size_t i = 0; i < count; i++) {
    state *here = &s[outlet[i].arc];
    if (here->lets_out && here->level_mm >= outlet[i].level_mm) continue;
    *here = (state){true, false, outlet[i].above_mm3, outlet[i].level_mm};
  }
  settle(t, s);
  for (uint32_t a = 0; a < t->arc_count; a++) {
    uint32_t parent = t->arc[a].parent;
    if (s[a].lets_out && !s[a].child_does)
      (*list)[(*regions)++] = (ul_cut_region){a, s[a].level_mm, s[a].above_mm3, true};
    else if (!s[a].lets_out && (parent == NONE || s[parent].child_does))
      (*list)[(*regions)++] = (ul_cut_region){a, t->arc[a].bottom, tree->volume_mm3[a], false};
  }
  free(s);
  return UL_OK;
}

ul_status ul_outlets_leave(const ul_skin_tree *tree, const ul_outlet *outlet, size_t count,
                           double *left_mm3, double *largest_mm3) {
  ul_cut_region *list;
  size_t regions;
  ul_status status = ul_outlets_cut(tree, outlet, count, &list, &regions);
  *left_mm3 = *largest_mm3 = 0;
  for (size_t i = 0; i < regions; i++) {
    *left_mm3 += list[i].volume_mm3;
    *largest_mm3 = fmax(*largest_mm3, list[i].volume_mm3);
  }
  free(list);
  return status;
}

bool ul_arc_is_below(const ul_tree *tree, uint32_t arc, uint32_t above) {
  while (above != NONE && above < arc) above = tree->arc[above].parent;
  return above == arc;
}

double ul_outlet_leaves_at(const ul_skin_tree *tree, const ul_outlet *outlet,
                           const ul_outlet *peak) {
  if (ul_arc_is_below(tree->tree, outlet->arc, peak->arc)) return outlet->above_mm3;
  uint32_t arc = peak->arc, parent = tree->tree->arc[arc].parent;
  while (parent != NONE && !ul_arc_is_below(tree->tree, parent, outlet->arc)) {
    arc = parent;
    parent = tree->tree->arc[arc].parent;
  }
  return tree->volume_mm3[arc];
}
