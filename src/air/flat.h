/* flat.h - what a top looks like: a point, a level edge or a level face, and its ends. */
#ifndef UL_AIR_FLAT_H
#define UL_AIR_FLAT_H

#include "air/view.h"
#include "ullage/peaks.h"

/* Memory for looking at many tops one after the other. Zeroed to begin with. */
typedef struct ul_flat_scratch {
  uint32_t *seen; /* per node: the last region that held it */
  uint32_t region;
  uint32_t *list; /* nodes of the region */
  size_t count, room;
  double (*hull)[2]; /* its outline from above, and the nodes there */
  uint32_t *hull_node;
  size_t hull_count, hull_room, hull_node_room;
} ul_flat_scratch;

ul_status ul_flat_init(ul_flat_scratch *scratch, const ul_surface *surface);
void ul_flat_clear(ul_flat_scratch *scratch);

/* Fills kind, extent_mm, end_count, end_mm and at_mm of the peak whose highest node is `top`.
 *
 * To the level top belongs what can be reached on the skin with no step falling more than half a
 * degree, and nothing lying more than that below `top` as seen from it. A round top has such a
 * piece too, but looked at with one degree it is twice as wide: that is how a dome is told from a
 * lid. */
ul_status ul_flat_describe(ul_flat_scratch *scratch, const ul_view *view, uint32_t top,
                           ul_peak *peak);

/* Marks the nodes of the level top of `top` with `mark` in of_node, one number a node. */
ul_status ul_flat_mark(ul_flat_scratch *scratch, const ul_view *view, uint32_t top, uint32_t mark,
                       uint32_t *of_node);

#endif
