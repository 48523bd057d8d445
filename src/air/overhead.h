/* overhead.h - what part of the skin is right above a place. */
#ifndef UL_AIR_OVERHEAD_H
#define UL_AIR_OVERHEAD_H

#include "air/surface.h"

/* The skin's nodes as seen from above. */
typedef struct ul_view {
  const ul_surface *surface;
  double (*plan)[2]; /* per node: two coordinates across `up` */
  double *height;    /* per node: along `up` */
} ul_view;

/* For each of `count` nodes the first triangle met on the way straight up from it, of those that
 * close the cavity from above and do not touch the node; UINT32_MAX if there is none. One pass over
 * the triangles, the nodes sorted across. */
ul_status ul_overhead(const ul_view *view, const uint32_t *node, size_t count, uint32_t *triangle);

/* Twice the area of a triangle's plan; positive where the wall is above the air. */
static inline double ul_plan_area2(const ul_view *v, uint32_t triangle) {
  const uint32_t *n = v->surface->node[triangle];
  const double *a = v->plan[n[0]], *b = v->plan[n[1]], *c = v->plan[n[2]];
  return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
}

#endif
