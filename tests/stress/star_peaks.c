#include "stress/star_peaks.h"

#include "base/vec.h"
#include "shapes/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Vertices, and the origin as one more. */
typedef struct {
  const ul_mesh *mesh;
  size_t count;
  double *height;
  uint32_t *order; /* highest first */
  uint32_t *group; /* union-find; the root is the group's highest vertex; UINT32_MAX: not reached */
} levels;

static void *need(size_t count, size_t size) {
  void *block = calloc(count, size);
  assert_non_null(block);
  return block;
}

static const double *sorted_by;

static int highest_first(const void *a, const void *b) {
  double x = sorted_by[*(const uint32_t *)a], y = sorted_by[*(const uint32_t *)b];
  return x > y ? -1 : x < y;
}

static uint32_t root_of(const levels *l, uint32_t v) {
  while (l->group[v] != v) v = l->group[v];
  return v;
}

/* Share of a tetrahedron that lies above a level, by its corners' heights h0 >= h1 >= h2 >= h3. */
static double share_above(double h[4], double level) {
  for (int i = 0; i < 3; i++)
    for (int k = 0; k < 3 - i; k++)
      if (h[k] < h[k + 1]) {
        double keep = h[k];
        h[k] = h[k + 1];
        h[k + 1] = keep;
      }
  if (level >= h[0]) return 0;
  if (level <= h[3]) return 1;
  if (level >= h[1]) /* a corner cut off */
    return pow(h[0] - level, 3) / ((h[0] - h[1]) * (h[0] - h[2]) * (h[0] - h[3]));
  if (level <= h[2]) /* all but a corner */
    return 1 - pow(level - h[3], 3) / ((h[0] - h[3]) * (h[1] - h[3]) * (h[2] - h[3]));
  /* Two above: the divided difference of the cubes at h0 and h1. */
  double at0 = pow(h[0] - level, 3) / ((h[0] - h[2]) * (h[0] - h[3]));
  double at1 = pow(h[1] - level, 3) / ((h[1] - h[2]) * (h[1] - h[3]));
  return (at0 - at1) / (h[0] - h[1]);
}

/* What hangs together with `root` above the level: each tetrahedron by any corner above it. */
static double volume_of(const levels *l, uint32_t root, double level) {
  double sum = 0;
  for (size_t t = 0; t < l->mesh->triangle_count; t++) {
    const uint32_t *c = l->mesh->triangle[t];
    const double *p[3] = {l->mesh->vertex_mm[c[0]], l->mesh->vertex_mm[c[1]],
                          l->mesh->vertex_mm[c[2]]};
    double bc[3], h[4] = {l->height[c[0]], l->height[c[1]], l->height[c[2]], 0};
    uint32_t corner[4] = {c[0], c[1], c[2], (uint32_t)l->mesh->vertex_count};
    for (int k = 0; k < 4; k++) {
      if (l->group[corner[k]] == UINT32_MAX || h[k] <= level || root_of(l, corner[k]) != root)
        continue;
      ul_cross(p[1], p[2], bc);
      sum += share_above(h, level) * ul_dot(p[0], bc) / 6;
      break;
    }
  }
  return sum;
}

static void end_peak(levels *l, uint32_t root, double cut_off, star_peak *list, size_t *count) {
  star_peak *p = &list[(*count)++];
  double at_origin[3] = {0};
  ul_copy3(root < l->mesh->vertex_count ? l->mesh->vertex_mm[root] : at_origin, p->at_mm);
  p->height_mm = l->height[root];
  p->cut_off_mm = cut_off;
  p->pocket_mm3 = volume_of(l, root, isnan(cut_off) ? -INFINITY : cut_off);
}

/* Notes the group of v's neighbour w, if the level has passed that. */
static void meet(const levels *l, uint32_t w, uint32_t *met, size_t *count) {
  if (l->group[w] == UINT32_MAX) return;
  uint32_t root = root_of(l, w);
  for (size_t i = 0; i < *count; i++)
    if (met[i] == root) return;
  met[(*count)++] = root;
}

/* The groups that v joins: all but the one with the highest top end there, each as it was just
 * above. */
static void reach(levels *l, uint32_t v, uint32_t *met, star_peak *list, size_t *count) {
  const ul_mesh *mesh = l->mesh;
  uint32_t origin = (uint32_t)mesh->vertex_count, highest = v;
  size_t groups = 0;
  if (v != origin) meet(l, origin, met, &groups);
  for (uint32_t w = 0; w < origin && v == origin; w++) meet(l, w, met, &groups);
  for (size_t t = 0; t < mesh->triangle_count && v != origin; t++)
    for (int k = 0; k < 3; k++) {
      if (mesh->triangle[t][k] != v) continue;
      meet(l, mesh->triangle[t][(k + 1) % 3], met, &groups);
      meet(l, mesh->triangle[t][(k + 2) % 3], met, &groups);
    }
  for (size_t i = 0; i < groups; i++)
    if (l->height[met[i]] > l->height[highest]) highest = met[i];
  for (size_t i = 0; i < groups; i++)
    if (met[i] != highest) end_peak(l, met[i], l->height[v], list, count);
  l->group[v] = highest;
  for (size_t i = 0; i < groups; i++) l->group[met[i]] = highest;
}

star_peak *star_peaks(const ul_mesh *mesh, const double up[3], size_t *count) {
  levels l = {.mesh = mesh, .count = mesh->vertex_count + 1};
  l.height = need(l.count, sizeof *l.height);
  l.order = need(l.count, sizeof *l.order);
  l.group = need(l.count, sizeof *l.group);
  uint32_t *met = need(l.count, sizeof *met);
  star_peak *list = need(l.count, sizeof *list);
  *count = 0;
  for (uint32_t v = 0; v < l.count; v++) {
    l.height[v] = v < mesh->vertex_count ? ul_dot(up, mesh->vertex_mm[v]) : 0;
    l.order[v] = v;
    l.group[v] = UINT32_MAX;
  }
  sorted_by = l.height;
  qsort(l.order, l.count, sizeof *l.order, highest_first);
  for (size_t i = 0; i < l.count; i++) reach(&l, l.order[i], met, list, count);
  end_peak(&l, root_of(&l, 0), NAN, list, count);
  free(met);
  free(l.height);
  free(l.order);
  free(l.group);
  return list;
}
