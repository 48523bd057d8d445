/* best_leaves.c - which k leaves of an air tree let out the most air.
 *
 * A greedy choice that is optimal: among the paths from the leaves to the root, weighted by volume,
 * split off the heaviest, then the heaviest of what is left, and so on. Some best set of k leaves
 * holds the leaf g with the heaviest path (exchange g for the member whose common ancestor with g
 * is deepest: no air is lost); once g is in, its path weighs nothing, and the rest follows by
 * induction. */
#include "ullage/tree.h"

#include "base/memory.h"

#include <stdlib.h>

/* A path from a leaf down to where a heavier one takes over. */
typedef struct {
  double length;
  uint32_t leaf;
} branch;

static int longer_first(const void *a, const void *b) {
  const branch *x = a, *y = b;
  if (x->length != y->length) return x->length > y->length ? -1 : 1;
  return (x->leaf > y->leaf) - (x->leaf < y->leaf);
}

/* Arcs come children first, so heaviest[a] is final when arc a is met. Returns the branches. */
static size_t split_into_branches(const ul_tree *tree, branch *heaviest, branch *ended) {
  size_t count = 0;
  for (size_t a = 0; a < tree->arc_count; a++) {
    const ul_arc *arc = &tree->arc[a];
    branch path = heaviest[a];
    if (arc->child_count == 0) path.leaf = arc->leaf;
    path.length += arc->weight;
    if (arc->parent == UINT32_MAX) {
      ended[count++] = path;
      continue;
    }
    branch *other = &heaviest[arc->parent];
    if (other->leaf == UINT32_MAX) {
      *other = path;
    } else if (longer_first(&path, other) < 0) {
      ended[count++] = *other;
      *other = path;
    } else {
      ended[count++] = path;
    }
  }
  return count;
}

size_t ul_tree_best_leaves(const ul_tree *tree, size_t most, uint32_t *item, double *adds,
                           ul_status *status) {
  branch *heaviest = ul_new_raw(tree->arc_count, sizeof *heaviest);
  branch *ended = ul_new_raw(tree->leaf_count, sizeof *ended);
  *status = heaviest && ended ? UL_OK : UL_E_MEMORY;
  size_t count = 0;
  if (*status == UL_OK) {
    for (size_t a = 0; a < tree->arc_count; a++) heaviest[a] = (branch){0, UINT32_MAX};
    count = split_into_branches(tree, heaviest, ended);
    qsort(ended, count, sizeof *ended, longer_first);
    if (count > most) count = most;
    for (size_t i = 0; i < count; i++) {
      item[i] = ended[i].leaf;
      adds[i] = ended[i].length;
    }
  }
  free(heaviest);
  free(ended);
  return count;
}
