/* joins.c - which neighbouring runs see each other, and from where.
 *
 * Two columns a cube apart see each other at a lattice height where one run of the ray across
 * covers both: the cross ray is unbroken. Without that test a rib thinner than the cube would
 * vanish between two columns, and a real pocket with it. */
#include "air/heights.h"
#include "air/patch.h"
#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdlib.h>

#define GRAZE 1e-6 /* cubes */

typedef struct {
  uint32_t a, b;
} pair;

typedef struct {
  const ul_heights *heights;
  const ul_lattice *lattice;
  ul_run_graph *graph;
  ul_patch patch;
  pair *open;
  size_t open_count, open_room, low_room;
} joiner;

/* A pair of neighbouring columns: cube (i) and the next one along `cross`. */
typedef struct {
  int32_t i[3]; /* the component along the columns is set as needed */
  int cross;
} gate;

static bool cross_ray_unbroken(const joiner *j, const gate *at, int32_t k) {
  const ul_bundle *bundle = &j->heights->columns->bundle[at->cross];
  int32_t i[3] = {at->i[0], at->i[1], at->i[2]};
  i[j->graph->axis] = k;
  size_t ray = ul_ray(j->lattice, at->cross, i[(at->cross + 1) % 3], i[(at->cross + 2) % 3]);
  double from = ul_centre(j->lattice, at->cross, i[at->cross]), to = from + j->lattice->cube_mm;
  for (uint32_t r = bundle->first[ray]; r < bundle->first[ray + 1]; r++)
    if (bundle->run[r].hi >= to) return bundle->run[r].lo <= from;
  return false;
}

static ul_status add_open(joiner *j, uint32_t a, uint32_t b) {
  if (!ul_grow((void **)&j->open, &j->open_room, j->open_count + 1, sizeof *j->open))
    return UL_E_MEMORY;
  j->open[j->open_count++] = (pair){a, b};
  return UL_OK;
}

static ul_status add_low(joiner *j, uint32_t a, uint32_t b, double at) {
  ul_run_graph *g = j->graph;
  if (!ul_grow((void **)&g->low, &j->low_room, g->low_count + 1, sizeof *g->low))
    return UL_E_MEMORY;
  g->low[g->low_count++] = (ul_low_join){a, b, at};
  return UL_OK;
}

/* Ends of two runs on one piece of skin, no larger than two cubes: the air just inside it connects
 * them. */
static ul_status ends_on_one_patch(joiner *j, const gate *at, double end_a, double end_b,
                                   uint32_t triangle_a, uint32_t triangle_b, bool *joined) {
  double h = j->lattice->cube_mm, centre[3];
  *joined = false;
  if (fabs(end_a - end_b) > 2 * h || triangle_a == UINT32_MAX || triangle_b == UINT32_MAX)
    return UL_OK;
  for (int c = 0; c < 3; c++) centre[c] = ul_centre(j->lattice, c, at->i[c]);
  centre[at->cross] += 0.5 * h;
  centre[j->graph->axis] = 0.5 * (end_a + end_b);
  double radius = 0.5 * h + fmax(h, 0.5 * fabs(end_a - end_b));
  return ul_patch_joins(&j->patch, j->heights->surface, triangle_a, triangle_b, centre, radius,
                        joined);
}

/* For runs too short or too far shifted to meet at a lattice height. */
static ul_status join_along_skin(joiner *j, const gate *at, uint32_t a, uint32_t b) {
  const ul_bundle *bundle = j->graph->bundle;
  bool joined;
  ul_status status = ends_on_one_patch(j, at, bundle->run[a].hi, bundle->run[b].hi,
                                       bundle->hi_triangle[a], bundle->hi_triangle[b], &joined);
  if (status == UL_OK && !joined)
    status = ends_on_one_patch(j, at, bundle->run[a].lo, bundle->run[b].lo, bundle->lo_triangle[a],
                               bundle->lo_triangle[b], &joined);
  return status == UL_OK && joined ? add_open(j, a, b) : status;
}

/* Looks from the top of the overlap downwards. Seen at once: open. Seen further down: between the
 * last blind height and the first clear one, taken as half way. */
static ul_status join_pair(joiner *j, const gate *at, uint32_t a, uint32_t b) {
  const ul_run_graph *g = j->graph;
  const ul_run *x = &g->bundle->run[a], *y = &g->bundle->run[b];
  double h = j->lattice->cube_mm, origin = j->lattice->origin_mm[g->axis];
  double low = fmax(x->lo, y->lo), high = fmin(x->hi, y->hi);
  /* A lattice height that grazes an end sees only the wall there. */
  int32_t bottom = (int32_t)ceil((low - origin) / h - 0.5 + GRAZE);
  int32_t top = (int32_t)floor((high - origin) / h - 0.5 - GRAZE);
  if (bottom > top) return join_along_skin(j, at, a, b);
  int32_t first = g->sense > 0 ? top : bottom;
  for (int32_t n = 0; n <= top - bottom; n++) {
    int32_t k = first - g->sense * n;
    if (!cross_ray_unbroken(j, at, k)) continue;
    if (n == 0) return add_open(j, a, b);
    return add_low(j, a, b, ul_centre(j->lattice, g->axis, k) + g->sense * 0.5 * h);
  }
  return UL_OK;
}

/* Every run of one column with those of the next that overlap it, or miss it by under two cubes. */
static ul_status join_columns(joiner *j, const gate *at) {
  const ul_run_graph *g = j->graph;
  const ul_bundle *bundle = g->bundle;
  int u = (g->axis + 1) % 3, v = (g->axis + 2) % 3;
  size_t here = ul_ray(j->lattice, g->axis, at->i[u], at->i[v]);
  size_t there = here + (at->cross == u ? 1 : (size_t)j->lattice->n[u]);
  double reach = 2 * j->lattice->cube_mm;
  uint32_t begin = bundle->first[there], end = bundle->first[there + 1];
  ul_status status = UL_OK;
  for (uint32_t a = bundle->first[here]; a < bundle->first[here + 1]; a++) {
    while (begin < end && bundle->run[begin].hi + reach < bundle->run[a].lo) begin++;
    for (uint32_t b = begin; b < end && bundle->run[b].lo - reach <= bundle->run[a].hi; b++) {
      status = join_pair(j, at, a, b);
      if (status != UL_OK) return status;
    }
  }
  return status;
}

static ul_status join_all(joiner *j) {
  int axis = j->graph->axis, u = (axis + 1) % 3, v = (axis + 2) % 3;
  ul_status status = UL_OK;
  gate at = {0};
  for (at.i[v] = 0; status == UL_OK && at.i[v] < j->lattice->n[v]; at.i[v]++)
    for (at.i[u] = 0; status == UL_OK && at.i[u] < j->lattice->n[u]; at.i[u]++) {
      at.cross = u;
      if (at.i[u] + 1 < j->lattice->n[u]) status = join_columns(j, &at);
      at.cross = v;
      if (status == UL_OK && at.i[v] + 1 < j->lattice->n[v]) status = join_columns(j, &at);
    }
  return status;
}

/* The list of pairs as neighbours of each run. */
static ul_status list_neighbours(joiner *j) {
  ul_run_graph *g = j->graph;
  size_t runs = g->bundle->run_count;
  uint32_t *first = g->open_first = ul_new(runs + 2, sizeof *first);
  g->open = ul_new_raw(2 * j->open_count, sizeof *g->open);
  if (!first || !g->open) return UL_E_MEMORY;
  for (size_t p = 0; p < j->open_count; p++) {
    first[j->open[p].a + 2]++;
    first[j->open[p].b + 2]++;
  }
  for (size_t r = 0; r < runs; r++) first[r + 2] += first[r + 1];
  for (size_t p = 0; p < j->open_count; p++) {
    g->open[first[j->open[p].a + 1]++] = j->open[p].b;
    g->open[first[j->open[p].b + 1]++] = j->open[p].a;
  }
  return UL_OK;
}

ul_status ul_join_runs(const ul_heights *heights, ul_run_graph *graph) {
  joiner j = {.heights = heights, .lattice = &heights->columns->lattice, .graph = graph};
  ul_status status = ul_patch_init(&j.patch, heights->surface);
  if (status == UL_OK) status = join_all(&j);
  if (status == UL_OK) status = list_neighbours(&j);
  ul_patch_clear(&j.patch);
  free(j.open);
  return status;
}
