/* aggregate.h - from one level of the multigrid hierarchy, which nodes become one on the next. */
#ifndef UL_RISE_AGGREGATE_H
#define UL_RISE_AGGREGATE_H

#include <stddef.h>
#include <stdint.h>

#include "ullage/status.h"

/* Nodes in cells of a lattice, and which are linked. Nodes are in Morton order of (y, z), then by
 * x; a cell may hold several, which are then not linked. */
typedef struct graph {
  size_t count, pair_count;
  int32_t (*cell)[3];
  uint32_t (*pair)[2]; /* lower node first; no pair twice */
} graph;

void ul_graph_clear(graph *g);

/* coarse[i] becomes the aggregate of node i: nodes of a 2 x 2 x 2 cell that are linked within it,
 * in the same order; -1 for a node without links. `next` becomes the graph of the aggregates, its
 * pairs in order; it needs ul_graph_clear(), also after a failure. */
ul_status ul_graph_aggregate(const graph *g, int32_t *coarse, graph *next, ul_error *err);

#endif
