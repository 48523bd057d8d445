#include "air/heights.h"

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "ullage/attitude.h"

#include <math.h>
#include <stdlib.h>

void ul_column_point(const ul_run_graph *g, const ul_lattice *l, uint32_t run, double along,
                     double out[3]) {
  int u = (g->axis + 1) % 3, v = (g->axis + 2) % 3;
  uint32_t row = (uint32_t)l->n[u], ray = g->column[run];
  out[g->axis] = along;
  out[u] = ul_centre(l, u, (int32_t)(ray % row));
  out[v] = ul_centre(l, v, (int32_t)(ray / row));
}

ul_status ul_up_settle(const double in[3], double up[3], ul_error *err) {
  ul_status status = ul_up_normalise(in, up, err);
  if (status != UL_OK) return status;
  for (int c = 0; c < 3; c++)
    if (fabs(up[c]) < 1e-7) up[c] = 0;
  return ul_up_normalise(up, up, err);
}

const ul_run_graph *ul_graph_for(const ul_heights *heights, const double up[3]) {
  int axis = 2;
  for (int c = 1; c >= 0; c--)
    if (fabs(up[c]) > fabs(up[axis])) axis = c;
  return &heights->graph[axis][up[axis] < 0];
}

static ul_status list_columns(ul_run_graph *g) {
  g->column = ul_new_raw(g->bundle->run_count, sizeof *g->column);
  if (!g->column) return UL_E_MEMORY;
  for (size_t ray = 0; ray < g->bundle->ray_count; ray++)
    for (uint32_t r = g->bundle->first[ray]; r < g->bundle->first[ray + 1]; r++)
      g->column[r] = (uint32_t)ray;
  return UL_OK;
}

static ul_status build_graph(void *context, size_t block, int worker) {
  (void)worker;
  ul_heights *heights = context;
  ul_run_graph *g = &heights->graph[block / 2][block % 2];
  g->axis = (int)(block / 2);
  g->sense = block % 2 ? -1 : 1;
  g->bundle = &heights->columns->bundle[g->axis];
  ul_status status = list_columns(g);
  if (status == UL_OK) status = ul_join_runs(heights, g);
  if (status == UL_OK) status = ul_mend_graph(heights, g);
  return status;
}

/* An insert's wall is not in the mesh: its runs end on no triangle. */
static bool every_run_ends_on_the_mesh(const ul_columns *columns) {
  for (int axis = 0; axis < 3; axis++) {
    const ul_bundle *b = &columns->bundle[axis];
    for (size_t r = 0; r < b->run_count; r++)
      if (b->lo_triangle[r] == UINT32_MAX || b->hi_triangle[r] == UINT32_MAX) return false;
  }
  return true;
}

ul_status ul_heights_new(const ul_solid *solid, const ul_columns *columns, const ul_job *job,
                         ul_heights **out, ul_error *err) {
  *out = NULL;
  if (columns->bundle[0].run_count + columns->bundle[1].run_count + columns->bundle[2].run_count ==
      0)
    return ul_fail(
        err, UL_E_THIN,
        "no ray through the centres of %.3g mm cubes meets the cavity: take smaller cubes",
        columns->lattice.cube_mm);
  ul_heights *heights = ul_new(1, sizeof *heights);
  if (!heights) return ul_fail_memory(err);
  heights->solid = solid;
  heights->columns = columns;
  heights->skin_is_wall = !solid->overlapping && every_run_ends_on_the_mesh(columns);
  ul_status status = ul_surface_new(solid->mesh, &heights->surface);
  if (status == UL_OK) status = ul_parallel(job, "looking across columns", 6, build_graph, heights);
  if (status == UL_OK) {
    *out = heights;
    return UL_OK;
  }
  ul_heights_free(heights);
  return status == UL_E_MEMORY ? ul_fail_memory(err)
                               : ul_fail(err, status, "%s", ul_status_text(status));
}

void ul_heights_free(ul_heights *heights) {
  if (!heights) return;
  for (int i = 0; i < 6; i++) {
    ul_run_graph *g = &heights->graph[i / 2][i % 2];
    free(g->open_first);
    free(g->open);
    free(g->low);
    free(g->column);
    free(g->cavity);
    free(g->coarse);
  }
  ul_surface_free(heights->surface);
  free(heights);
}
