/* overhead.h - what part of the skin is right above a place. */
#ifndef UL_AIR_OVERHEAD_H
#define UL_AIR_OVERHEAD_H

#include "air/view.h"

/* For each of `count` nodes the first triangle met on the way straight up from it, of those that
 * close the cavity from above and do not touch the node; UINT32_MAX if there is none. One pass over
 * the triangles, the nodes sorted across. */
ul_status ul_overhead(const ul_view *view, const uint32_t *node, size_t count, uint32_t *triangle);

#endif
