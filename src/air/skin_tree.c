#include "air/skin_tree.h"

#include "base/memory.h"
#include "base/vec.h"

#include <stdbool.h>
#include <stdlib.h>

#define NONE UINT32_MAX

/* --- the view from above --- */

static ul_status look_from_above(const ul_surface *surface, const double up[3], ul_view *view) {
  size_t nodes = surface->node_count;
  double x[3], y[3];
  ul_across(up, x, y);
  *view = (ul_view){surface, ul_new_raw(nodes, sizeof *view->plan),
                    ul_new_raw(nodes, sizeof *view->height)};
  if (!view->plan || !view->height) return UL_E_MEMORY;
  for (uint32_t n = 0; n < nodes; n++) {
    const double *at = ul_surface_at(surface, n);
    view->plan[n][0] = ul_dot(x, at);
    view->plan[n][1] = ul_dot(y, at);
    view->height[n] = ul_dot(up, at);
  }
  return UL_OK;
}

/* --- tops with air above them --- */

static bool is_top(const ul_view *v, uint32_t node) {
  const ul_surface *s = v->surface;
  for (uint32_t f = s->fan_first[node]; f < s->fan_first[node + 1]; f++)
    for (uint32_t step = 1; step < 3; step++) {
      uint32_t other = s->node[s->fan[f] / 3][(s->fan[f] % 3 + step) % 3];
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

uint32_t ul_highest_corner(const ul_view *v, uint32_t triangle) {
  const uint32_t *n = v->surface->node[triangle];
  uint32_t best = n[0];
  for (int i = 1; i < 3; i++)
    if (v->height[n[i]] > v->height[best]) best = n[i];
  return best;
}

/* Adds an edge from each core's top to the wall above it: *edge has room, *count grows. */
static ul_status tie_core_tops(const ul_view *v, uint32_t (**edge)[2], size_t *count) {
  uint32_t *core = NULL, *above = NULL;
  size_t cores = 0, room = 0, edge_room = *count;
  ul_status status = UL_OK;
  for (uint32_t n = 0; status == UL_OK && n < v->surface->node_count; n++) {
    if (!is_top(v, n) || !air_is_above(v, n)) continue;
    if (!ul_grow((void **)&core, &room, cores + 1, sizeof *core))
      status = UL_E_MEMORY;
    else
      core[cores++] = n;
  }
  above = ul_new_raw(cores, sizeof *above);
  if (!above || !ul_grow((void **)edge, &edge_room, *count + cores, sizeof **edge))
    status = UL_E_MEMORY;
  if (status == UL_OK) status = ul_overhead(v, core, cores, above);
  for (size_t i = 0; status == UL_OK && i < cores; i++) {
    if (above[i] == NONE) continue;
    (*edge)[*count][0] = core[i];
    (*edge)[(*count)++][1] = ul_highest_corner(v, above[i]);
  }
  free(core);
  free(above);
  return status;
}

/* --- the tree --- */

static ul_status grow_tree(const ul_view *v, ul_tree **out) {
  const ul_surface *s = v->surface;
  size_t count = s->edge_count;
  uint32_t(*edge)[2] = ul_new_raw(count, sizeof *edge);
  double *weight = ul_new(s->node_count, sizeof *weight), *level = NULL;
  ul_status status = edge && weight ? UL_OK : UL_E_MEMORY;
  for (size_t e = 0; status == UL_OK && e < count; e++) {
    edge[e][0] = s->edge[e][0];
    edge[e][1] = s->edge[e][1];
  }
  if (status == UL_OK) status = tie_core_tops(v, &edge, &count);
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

/* What a triangle adds to the volume above `level`: the integral of height over its plan, as far as
 * it is above (divergence theorem; the lid at the level itself adds nothing). h falls. */
static double volume_under(double area2, const double h[3], double level) {
  double area = 0.5 * area2;
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

/* Volume of what lies wholly above a level: moment - level * area, and a sum over a subtree. */
typedef struct {
  double moment, area;
} stack;

static void sort_falling(double h[3]) {
  for (int i = 0; i < 2; i++)
    for (int j = 0; j < 2 - i; j++)
      if (h[j] < h[j + 1]) {
        double higher = h[j + 1];
        h[j + 1] = h[j];
        h[j] = higher;
      }
}

/* A triangle counts for the arc of its highest corner and all arcs below it. The few that end
 * within its height are done one by one; from there on down it lies wholly above. */
static void add_triangle(const ul_skin_tree *t, uint32_t triangle, double origin, stack *stacks) {
  const ul_view *v = &t->view;
  const uint32_t *n = v->surface->node[triangle];
  double h[3], area2 = ul_plan_area2(v, triangle);
  for (int i = 0; i < 3; i++) h[i] = v->height[n[i]] - origin;
  sort_falling(h);
  uint32_t a = t->tree->arc_of_item[ul_highest_corner(v, triangle)];
  while (a != NONE && t->tree->arc[a].bottom - origin > h[2]) {
    t->volume_mm3[a] += volume_under(area2, h, t->tree->arc[a].bottom - origin);
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
    if (v->height[top] <= level || !in[t->tree->arc_of_item[top]]) continue;
    double h[3];
    for (int k = 0; k < 3; k++) h[k] = v->height[v->surface->node[i][k]] - level;
    sort_falling(h);
    *volume_mm3 += volume_under(ul_plan_area2(v, i), h, 0);
  }
  free(in);
  return UL_OK;
}

ul_status ul_skin_tree_new(const ul_surface *surface, const double up[3], ul_skin_tree **out) {
  *out = NULL;
  ul_skin_tree *t = ul_new(1, sizeof *t);
  if (!t) return UL_E_MEMORY;
  ul_copy3(up, t->up);
  ul_status status = look_from_above(surface, up, &t->view);
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
