/* heights.h - what all attitudes of one cavity share, seen from inside the room.
 *
 * A level rises past the runs of one bundle as past a graph: height grows along a column, so a run
 * is a node whose height is that of its upper end, and neighbouring runs are joined where one can
 * look from one column into the other. Which end is the upper one depends on the sense of `up`, so
 * there are six graphs: three axes, two senses. */
#ifndef UL_AIR_HEIGHTS_H
#define UL_AIR_HEIGHTS_H

#include <stdbool.h>

#include "air/surface.h"
#include "ullage/peaks.h"

/* Two runs that see each other only from `at` (a coordinate along the axis) downwards: something
 * stands between their upper parts. */
typedef struct ul_low_join {
  uint32_t a, b;
  double at;
} ul_low_join;

/* A place at which the lattice is too coarse for the runs along this axis. */
typedef struct ul_coarse_place {
  double at_mm[3];
  double thick_mm; /* of the air there, along the axis */
} ul_coarse_place;

typedef struct ul_run_graph {
  int axis, sense; /* +1: a run's upper end is its hi */
  const ul_bundle *bundle;
  /* Joined right up to the lower of the two upper ends: open[open_first[r] .. open_first[r+1]) are
   * the neighbours of run r, each pair from both sides. */
  uint32_t *open_first;
  uint32_t *open;
  size_t low_count;
  ul_low_join *low;
  uint32_t *column; /* per run: its ray */
  uint32_t *cavity; /* per run */
  size_t coarse_count;
  ul_coarse_place *coarse; /* one a cavity at most: the worst */
} ul_run_graph;

struct ul_heights {
  const ul_solid *solid; /* borrowed, both */
  const ul_columns *columns;
  ul_surface *surface;
  bool
      skin_is_wall; /* the mesh is the cavity's wall: no inserts beside it, no overlapping shells */
  ul_run_graph graph[3][2]; /* [axis][sense < 0] */
};

static inline double ul_upper_end(const ul_run_graph *g, uint32_t run) {
  return g->sense > 0 ? g->bundle->run[run].hi : g->bundle->run[run].lo;
}

/* The point of a run's column at the coordinate `along`. */
void ul_column_point(const ul_run_graph *g, const ul_lattice *l, uint32_t run, double along,
                     double out[3]);

static inline double ul_centre(const ul_lattice *l, int axis, int32_t i) {
  return l->origin_mm[axis] + (i + 0.5) * l->cube_mm;
}

/* Fills the graph's joins; axis, sense, bundle and column are set. */
ul_status ul_join_runs(const ul_heights *heights, ul_run_graph *graph);
/* Fills cavity, and sees to it that a cavity does not fall apart where the lattice is too coarse:
 * what has come loose is hung on its nearest neighbour, and the place is kept in `coarse`. */
ul_status ul_mend_graph(const ul_heights *heights, ul_run_graph *graph);

/* The graph along the axis nearest to `up`; of equally near ones the last: z before y before x. */
const ul_run_graph *ul_graph_for(const ul_heights *heights, const double up[3]);

/* Unit length, and freed of what a level cannot show: components under 1e-7 are none, so that a
 * rounding error in an attitude does not turn a level lid into a slope. */
ul_status ul_up_settle(const double in[3], double up[3], ul_error *err);

#endif
