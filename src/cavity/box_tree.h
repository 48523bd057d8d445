/* box_tree.h - a tree of boxes over the triangles of a mesh, to find those that are near. */
#ifndef UL_CAVITY_BOX_TREE_H
#define UL_CAVITY_BOX_TREE_H

#include <stdbool.h>

#include "ullage/job.h"
#include "ullage/mesh.h"

enum { UL_BOX_LEAF = 4 }; /* triangles in a leaf */

/* Float, about the middle of the mesh, rounded outwards: never smaller than what it holds. */
typedef struct ul_box {
  float low[3], high[3];
} ul_box;

/* A full binary tree without pointers: node n has the children 2n and 2n+1, 1 is the root, leaf i
 * is node width+i and holds order[UL_BOX_LEAF i] and on. Leaves past the last triangle are empty.
 */
typedef struct ul_box_tree {
  size_t count; /* triangles */
  size_t width; /* leaves, a power of two */
  uint32_t *order;
  ul_box *triangle; /* in that order */
  ul_box *node;
} ul_box_tree;

/* Triangles in Morton order (Morton 1966), boxes from the leaves up, grown so that those of
 * triangles up to `apart_mm` from one another meet. UL_OK, UL_E_MEMORY; release with
 * ul_box_tree_free() either way. */
ul_status ul_box_tree_make(const ul_mesh *mesh, double apart_mm, const ul_job *job,
                           ul_box_tree *tree);
void ul_box_tree_free(ul_box_tree *tree);

static inline bool ul_boxes_meet(const ul_box *a, const ul_box *b) {
  return a->low[0] <= b->high[0] && b->low[0] <= a->high[0] && a->low[1] <= b->high[1] &&
         b->low[1] <= a->high[1] && a->low[2] <= b->high[2] && b->low[2] <= a->high[2];
}

#endif
