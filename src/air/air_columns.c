/* air_columns.c - the run graph along the axis nearest to `up`, for the sweep of the air. */
#include "air/air.h"
#include "air/climb.h"
#include "base/memory.h"
#include "base/vec.h"

#include <math.h>

#define NONE UINT32_MAX

enum { FARTHEST = 4 }; /* cubes from the cavity; what is farther away is not of it */

static void measure_runs(ul_air *air) {
  const ul_run_graph *g = air->graph;
  const ul_lattice *l = &air->heights->columns->lattice;
  int u = (g->axis + 1) % 3, v = (g->axis + 2) % 3;
  size_t ray = 0;
  for (int32_t iv = 0; iv < l->n[v]; iv++) {
    double row = air->up[v] * ul_centre(l, v, iv);
    for (int32_t iu = 0; iu < l->n[u]; iu++, ray++) {
      double foot = row + air->up[u] * ul_centre(l, u, iu);
      for (uint32_t r = g->bundle->first[ray]; r < g->bundle->first[ray + 1]; r++)
        air->height[r] = foot + air->up[g->axis] * ul_upper_end(g, r);
    }
  }
}

/* A low join stands at the lower of the two columns' heights there. */
static void measure_low_joins(ul_air *air) {
  const ul_run_graph *g = air->graph;
  const ul_lattice *l = &air->heights->columns->lattice;
  for (size_t i = 0; i < g->low_count; i++) {
    double a[3], b[3];
    air->join[i][0] = g->low[i].a;
    air->join[i][1] = g->low[i].b;
    ul_column_point(g, l, g->low[i].a, g->low[i].at, a);
    ul_column_point(g, l, g->low[i].b, g->low[i].at, b);
    air->height[g->bundle->run_count + i] = fmin(ul_dot(air->up, a), ul_dot(air->up, b));
  }
}

static ul_status look(ul_air *air) {
  const ul_run_graph *g = air->graph = ul_graph_for(air->heights, air->up);
  if (!ul_grow((void **)&air->join, &air->join_room, g->low_count, sizeof *air->join))
    return UL_E_MEMORY;
  air->item_count = g->bundle->run_count;
  air->join_count = g->low_count;
  air->first = g->open_first;
  air->open = g->open;
  ul_status status = ul_air_make_room(air, air->item_count + air->join_count);
  if (status != UL_OK) return status;
  measure_runs(air);
  measure_low_joins(air);
  return UL_OK;
}

/* Each run from its upper end down, exactly. */
static double above(const ul_air *air, uint32_t root, double level) {
  const ul_run *run = air->graph->bundle->run;
  double slope = fabs(air->up[air->graph->axis]), h = air->heights->columns->lattice.cube_mm;
  double sum = 0;
  for (uint32_t r = root; r != NONE; r = air->next[r]) {
    double part = (air->height[r] - level) / slope, all = run[r].hi - run[r].lo;
    if (part > 0) sum += part < all ? part : all;
  }
  return sum * h * h;
}

static uint32_t cavity(const ul_air *air, uint32_t run) {
  return air->graph->cavity[run];
}

static void upper_point(const ul_air *air, uint32_t run, double out[3]) {
  ul_column_point(air->graph, &air->heights->columns->lattice, run, ul_upper_end(air->graph, run),
                  out);
}

/* Columns see a ridge that runs askew as a row of little tops. They are told from real ones by the
 * skin: from both, the ascent ends at one place. */
static bool one_top(const ul_air *air, uint32_t a, uint32_t b, double depth) {
  const ul_run_graph *g = air->graph;
  const uint32_t *triangle = g->sense > 0 ? g->bundle->hi_triangle : g->bundle->lo_triangle;
  const ul_surface *skin = air->heights->surface;
  return depth < 2 * air->heights->columns->lattice.cube_mm && air->heights->skin_is_wall &&
         ul_climb(skin, air->up, triangle[a]) == ul_climb(skin, air->up, triangle[b]);
}

static double distance_to_run(const ul_air *air, uint32_t run, const double at[3]) {
  const ul_run_graph *g = air->graph;
  const ul_run *r = &g->bundle->run[run];
  double point[3];
  ul_column_point(g, &air->heights->columns->lattice, run, fmin(fmax(at[g->axis], r->lo), r->hi),
                  point);
  return ul_distance(point, at);
}

/* The run nearest to a vent, of `only` that cavity or (NONE) of any, in columns up to `reach` cubes
 * away; NONE if there is none. */
static uint32_t nearest_run(const ul_air *air, const double at[3], uint32_t only, int32_t reach,
                            double *least) {
  const ul_run_graph *g = air->graph;
  const ul_lattice *l = &air->heights->columns->lattice;
  int axes[2] = {(g->axis + 1) % 3, (g->axis + 2) % 3};
  int32_t from[2], to[2];
  for (int c = 0; c < 2; c++) {
    double i = floor((at[axes[c]] - l->origin_mm[axes[c]]) / l->cube_mm);
    from[c] = (int32_t)fmin(fmax(i - reach, 0), l->n[axes[c]]);
    to[c] = (int32_t)fmin(fmax(i + reach + 1, 0), l->n[axes[c]]);
  }
  uint32_t best = NONE;
  *least = INFINITY;
  for (int32_t v = from[1]; v < to[1]; v++)
    for (int32_t u = from[0]; u < to[0]; u++) {
      size_t ray = ul_ray(l, g->axis, u, v);
      for (uint32_t r = g->bundle->first[ray]; r < g->bundle->first[ray + 1]; r++) {
        if (only != NONE && g->cavity[r] != only) continue;
        double d = distance_to_run(air, r, at);
        if (d >= *least) continue;
        *least = d;
        best = r;
      }
    }
  return best;
}

/* A place on the skin that no column comes near, as the top of a fin thinner than a cube: it hangs
 * where the columns last see that cavity. NONE if it is not on the skin. */
static uint32_t run_below_skin(const ul_air *air, const double at[3]) {
  const ul_lattice *l = &air->heights->columns->lattice;
  double near[3], far = INFINITY;
  if (!air->heights->skin_is_wall) return NONE;
  uint32_t triangle = ul_nearest_triangle(air->heights->surface, at, near);
  if (ul_distance(near, at) > FARTHEST * l->cube_mm) return NONE;
  const uint32_t own = air->heights->solid->cavity_of[triangle];
  const int32_t whole = l->n[0] + l->n[1] + l->n[2];
  uint32_t run = NONE;
  for (int32_t reach = 8; far > (reach - 1) * l->cube_mm && reach < 2 * whole; reach *= 2)
    run = nearest_run(air, at, own, reach, &far);
  return run;
}

/* A vent within a cube of its run's upper end is at the end: it lies on a top that the lattice does
 * not see closer. */
static ul_status hang(ul_air *air, const double at[3], ul_air_vent *vent) {
  /* A place on a wall may lie in the next column over, which can end far below: a run counts once
   * no column that was not looked at could be nearer. */
  uint32_t run = NONE;
  double cube = air->heights->columns->lattice.cube_mm, far = INFINITY;
  for (int32_t reach = 1; far > (reach - 1) * cube && reach <= FARTHEST + 1; reach++)
    run = nearest_run(air, at, NONE, reach, &far);
  if (far > FARTHEST * cube) run = run_below_skin(air, at);
  if (run == NONE) return UL_E_OUTSIDE;
  double end[3];
  upper_point(air, run, end);
  *vent = (ul_air_vent){run, ul_dot(air->up, at)};
  if (vent->level > ul_dot(air->up, end) - cube) vent->level = air->height[run];
  return UL_OK;
}

const ul_air_kind ul_air_columns = {look, above, cavity, upper_point, one_top, hang};
