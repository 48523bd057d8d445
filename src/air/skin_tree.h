/* skin_tree.h - the air tree of one attitude, exactly, from the mesh alone.
 *
 * The height along `up` is linear, so the air above a falling level changes its connection only at
 * the skin's vertices: a region is born at a top with wall above it, and two regions meet where a
 * vertex parts them. So the tree of the skin's own graph is the tree of the air in it, once every
 * top that has air above it (the top of a core) is tied to the wall straight above, which is in the
 * same region. No lattice has a say in it: the thinnest sheet and rib count. */
#ifndef UL_AIR_SKIN_TREE_H
#define UL_AIR_SKIN_TREE_H

#include "air/view.h"
#include "base/vec.h"
#include "ullage/tree.h"

typedef struct ul_skin_tree {
  ul_view view;       /* owned, but not its surface */
  ul_tree *tree;      /* its items are the surface's nodes; it weighs nothing */
  double *volume_mm3; /* per arc: of the region above the arc's bottom, exact */
  double up[3];
} ul_skin_tree;

/* `up` of unit length. */
ul_status ul_skin_tree_new(const ul_surface *surface, const double up[3], ul_skin_tree **out);
void ul_skin_tree_free(ul_skin_tree *tree);

static inline double ul_skin_height(const ul_skin_tree *tree, const double at[3]) {
  return ul_dot(tree->up, at);
}
/* Volume of what lies above `level` in the region that reaches down to it on that arc, exact. */
ul_status ul_skin_volume_above(const ul_skin_tree *tree, uint32_t arc, double level,
                               double *volume_mm3);

#endif
