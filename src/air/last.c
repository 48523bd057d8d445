#include "ullage/last.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "rise/cubes.h"

/* The cubes as the tree wants them. */
typedef struct {
  ul_tree_input in;
  double *value;
  uint32_t (*edge)[2];
  double *edge_value;
} graph;

static void graph_free(graph *g) {
  free(g->value);
  free(g->edge);
  free(g->edge_value);
}

/* After everything that is reached. */
static double never(const ul_cubes *cubes, const float *arrival_s) {
  double last = 0;
  for (size_t i = 0; i < cubes->count; i++)
    if (isfinite(arrival_s[cubes->at[i]])) last = fmax(last, (double)arrival_s[cubes->at[i]]);
  return last + 1;
}

static ul_status make_graph(const ul_cubes *cubes, const float *arrival_s, graph *g) {
  double end = never(cubes, arrival_s);
  g->value = ul_new_raw(cubes->count, sizeof *g->value);
  g->edge = ul_new_raw(cubes->count * UL_SIDES / 2, sizeof *g->edge);
  g->edge_value = ul_new_raw(cubes->count * UL_SIDES / 2, sizeof *g->edge_value);
  if (!g->value || !g->edge || !g->edge_value) return UL_E_MEMORY;
  for (size_t i = 0; i < cubes->count; i++) {
    double s = (double)arrival_s[cubes->at[i]];
    g->value[i] = isfinite(s) ? s : end;
  }
  size_t edges = 0;
  for (size_t i = 0; i < cubes->count; i++)
    for (int side = 1; side < UL_SIDES; side += 2) {
      int32_t j = cubes->next[i][side];
      if (j == UL_NO_CUBE) continue;
      g->edge[edges][0] = (uint32_t)i;
      g->edge[edges][1] = (uint32_t)j;
      g->edge_value[edges++] = fmin(g->value[i], g->value[j]);
    }
  g->in = (ul_tree_input){.item_count = cubes->count,
                          .value = g->value,
                          .weight = cubes->volume_mm3,
                          .edge_count = edges,
                          .edge = (const uint32_t(*)[2])g->edge,
                          .edge_value = g->edge_value};
  return UL_OK;
}

static size_t keep(const ul_cubes *cubes, const graph *g, const double up[3], double least_mm3,
                   const uint32_t *item, const double *adds, size_t found, size_t most,
                   ul_last_place *out) {
  size_t count = 0;
  for (size_t i = 0; i < found && count < most; i++) {
    uint32_t cavity = ul_cube_cavity(cubes, item[i]);
    bool first = true;
    for (size_t k = 0; k < count; k++) first = first && out[k].cavity != cavity;
    if (adds[i] < least_mm3 && !first) continue;
    out[count] =
        (ul_last_place){.cavity = cavity, .arrival_s = g->value[item[i]], .adds_mm3 = adds[i]};
    ul_cube_extreme_mm(cubes, item[i], up, out[count++].at_mm);
  }
  return count;
}

static ul_status pick(const ul_cubes *cubes, const graph *g, const double up[3], double least_mm3,
                      size_t most, ul_last_place *out, size_t *count) {
  ul_tree *tree;
  ul_status status = ul_tree_build(&g->in, &tree, NULL);
  if (status != UL_OK) return status;
  uint32_t *item = ul_new_raw(tree->leaf_count, sizeof *item);
  double *adds = ul_new_raw(tree->leaf_count, sizeof *adds);
  if (item && adds) {
    size_t found = ul_tree_best_leaves(tree, tree->leaf_count, item, adds, &status);
    if (status == UL_OK) *count = keep(cubes, g, up, least_mm3, item, adds, found, most, out);
  } else {
    status = UL_E_MEMORY;
  }
  free(item);
  free(adds);
  ul_tree_free(tree);
  return status;
}

ul_status ul_last_places(const ul_grid *grid, const ul_columns *columns, const float *arrival_s,
                         const double up[3], double least_mm3, size_t most, ul_last_place *out,
                         size_t *count, ul_error *err) {
  *count = 0;
  ul_cubes *cubes;
  ul_status status = ul_cubes_new(grid, columns, &cubes, err);
  if (status != UL_OK) return status;
  graph g = {0};
  status = make_graph(cubes, arrival_s, &g);
  if (status == UL_OK) status = pick(cubes, &g, up, least_mm3, most, out, count);
  graph_free(&g);
  ul_cubes_free(cubes);
  return status == UL_E_MEMORY ? ul_fail_memory(err) : status;
}
