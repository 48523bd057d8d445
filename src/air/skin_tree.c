#include "air/skin_tree.h"

#include "base/memory.h"
#include "base/vec.h"

#include <stdbool.h>
#include <stdlib.h>

#define NONE UINT32_MAX

/* --- the tree --- */

static ul_status grow_tree(const ul_view *v, ul_tree **out) {
  const ul_surface *s = v->surface;
  size_t count = s->edge_count, room = count;
  uint32_t(*edge)[2] = ul_new_raw(count, sizeof *edge);
  double *weight = ul_new(s->node_count, sizeof *weight), *level = NULL;
  ul_status status = edge && weight ? UL_OK : UL_E_MEMORY;
  for (size_t e = 0; status == UL_OK && e < count; e++) {
    edge[e][0] = s->edge[e][0];
    edge[e][1] = s->edge[e][1];
  }
  if (status == UL_OK) status = ul_tie_core_tops(v, &edge, &room, &count);
  if (status == UL_OK && !(level = ul_new_raw(count, sizeof *level))) status = UL_E_MEMORY;
  if (status == UL_OK) {
    for (size_t e = 0; e < count; e++)
      level[e] = fmin(v->height[edge[e][0]], v->height[edge[e][1]]);
    const ul_tree_input in = {s->node_count, v->height, weight, count, (const uint32_t(*)[2])edge,
                              level};
    status = ul_tree_build(&in, out, NULL);
  }
  free(edge);
  free(weight);
  free(level);
  return status;
}

/* --- volumes --- */

/* Volume of what lies wholly above a level: moment - level * area, and a sum over a subtree. */
typedef struct {
  double moment, area;
} stack;

/* A triangle counts for the arc of its highest corner and all arcs below it. The few that end
 * within its height are done one by one; from there on down it lies wholly above. */
static void add_triangle(const ul_skin_tree *t, uint32_t triangle, double origin, stack *stacks) {
  const ul_view *v = &t->view;
  double h[3], area2 = ul_plan_area2(v, triangle);
  ul_falling_heights(v, triangle, origin, h);
  uint32_t a = t->tree->arc_of_item[ul_highest_corner(v, triangle)];
  while (a != NONE && t->tree->arc[a].bottom - origin > h[2]) {
    t->volume_mm3[a] += ul_volume_under(area2, h, t->tree->arc[a].bottom - origin);
    a = t->tree->arc[a].parent;
  }
  if (a == NONE) return;
  stacks[a].moment += 0.5 * area2 * (h[0] + h[1] + h[2]) / 3;
  stacks[a].area += 0.5 * area2;
}

static ul_status measure(ul_skin_tree *t) {
  const ul_tree *tree = t->tree;
  t->volume_mm3 = ul_new(tree->arc_count, sizeof *t->volume_mm3);
  stack *stacks = ul_new(tree->arc_count, sizeof *stacks);
  if (t->volume_mm3 && stacks) {
    double origin = t->view.height[0]; /* near by: a part 5 m off keeps its digits */
    for (uint32_t i = 0; i < t->view.surface->mesh->triangle_count; i++)
      add_triangle(t, i, origin, stacks);
    for (size_t a = 0; a < tree->arc_count; a++) {
      double level = tree->arc[a].bottom - origin;
      t->volume_mm3[a] += stacks[a].moment - level * stacks[a].area;
      if (tree->arc[a].parent == NONE) continue;
      stacks[tree->arc[a].parent].moment += stacks[a].moment;
      stacks[tree->arc[a].parent].area += stacks[a].area;
    }
  }
  ul_status status = t->volume_mm3 && stacks ? UL_OK : UL_E_MEMORY;
  free(stacks);
  return status;
}

ul_status ul_skin_volume_above(const ul_skin_tree *t, uint32_t arc, double level,
                               double *volume_mm3) {
  const ul_view *v = &t->view;
  bool *in = ul_new(t->tree->arc_count, sizeof *in);
  if (!in) return UL_E_MEMORY;
  in[arc] = true;
  for (uint32_t a = arc; a-- > 0;) /* parents come after their children */
    in[a] = t->tree->arc[a].parent != NONE && in[t->tree->arc[a].parent];
  *volume_mm3 = 0;
  for (uint32_t i = 0; i < v->surface->mesh->triangle_count; i++) {
    uint32_t top = ul_highest_corner(v, i);
    double h[3];
    if (v->height[top] <= level || !in[t->tree->arc_of_item[top]]) continue;
    ul_falling_heights(v, i, level, h);
    *volume_mm3 += ul_volume_under(ul_plan_area2(v, i), h, 0);
  }
  free(in);
  return UL_OK;
}

ul_status ul_skin_tree_new(const ul_surface *surface, const double up[3], ul_skin_tree **out) {
  *out = NULL;
  ul_skin_tree *t = ul_new(1, sizeof *t);
  if (!t) return UL_E_MEMORY;
  ul_copy3(up, t->up);
  size_t nodes = surface->node_count;
  t->view = (ul_view){surface, ul_new_raw(nodes, sizeof *t->view.plan),
                      ul_new_raw(nodes, sizeof *t->view.height)};
  ul_status status = t->view.plan && t->view.height ? UL_OK : UL_E_MEMORY;
  if (status == UL_OK) ul_view_look(&t->view, up);
  if (status == UL_OK) status = grow_tree(&t->view, &t->tree);
  if (status == UL_OK) status = measure(t);
  if (status == UL_OK)
    *out = t;
  else
    ul_skin_tree_free(t);
  return status;
}

void ul_skin_tree_free(ul_skin_tree *t) {
  if (!t) return;
  free(t->view.plan);
  free(t->view.height);
  ul_tree_free(t->tree);
  free(t->volume_mm3);
  free(t);
}
