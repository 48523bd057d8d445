/* tree.h - the air tree: how the air breaks up as a level rises past it.
 *
 * The merge tree of the superlevel sets of a scalar T on a graph of places: as the level falls from
 * above the highest T, every local maximum begins a region (a leaf), regions grow, and two of them
 * join where the level passes an edge between them. T = height along `up`: leaves are the peaks of
 * an attitude. T = arrival: leaves are the places that foam reaches last. */
#ifndef ULLAGE_TREE_H
#define ULLAGE_TREE_H

#include <stddef.h>
#include <stdint.h>

#include "ullage/status.h"

/* The graph. Ties are settled by id: of two equal values the lower id counts as higher. */
typedef struct ul_tree_input {
  size_t item_count;
  const double *value;  /* T of each item */
  const double *weight; /* volume of each item, >= 0; counted wholly at its value */
  size_t edge_count;
  const uint32_t (*edge)[2];
  const double *edge_value; /* level at which the edge joins; at most the lesser of its ends' T */
} ul_tree_input;

/* A stretch of the tree between two joins, or a leaf and a join. Arcs come children first, so one
 * forward pass meets every child before its parent. */
typedef struct ul_arc {
  uint32_t parent;       /* UINT32_MAX at a root (one a connected part) */
  uint32_t leaf;         /* the item with the highest T above here */
  double top;            /* T where the arc begins: a maximum, or the join of its children */
  double bottom;         /* T where it joins others; at a root the lowest T of the part */
  double weight;         /* volume of the items that belong to this arc alone */
  double subtree_weight; /* with everything above it: the region cut off at `bottom` */
  uint32_t child_count;
} ul_arc;

typedef struct ul_tree {
  size_t arc_count;
  ul_arc *arc;
  size_t leaf_count;     /* arcs without children */
  uint32_t *arc_of_item; /* per item */
} ul_tree;

/* Kruskal from the highest edge down with union-find. UL_OK: *out is yours, ul_tree_free(). */
ul_status ul_tree_build(const ul_tree_input *in, ul_tree **out, ul_error *err);
void ul_tree_free(ul_tree *tree);

/* Which k leaves let out the most air. Weight of an arc = volume of cavity in it; a vent at a leaf
 * lets out the arcs on its path to the root. len(arc) = weight + largest len of its children; every
 * child that is not the largest ends a branch. For every k, the k longest branches' leaves are the
 * best k (proof in docs/model.md). Writes at most `most` leaves' items into item[] and what each
 * adds into adds[], largest first; returns how many there are. */
size_t ul_tree_best_leaves(const ul_tree *tree, size_t most, uint32_t *item, double *adds,
                           ul_status *status);

#endif
