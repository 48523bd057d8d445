/* view.h - the skin as seen from above in one attitude. */
#ifndef UL_AIR_VIEW_H
#define UL_AIR_VIEW_H

#include "air/surface.h"

typedef struct ul_view {
  const ul_surface *surface;
  double (*plan)[2]; /* per node: two coordinates across `up` */
  double *height;    /* per node: along `up` */
} ul_view;

/* Fills plan and height, which have room; `up` of unit length. */
void ul_view_look(ul_view *view, const double up[3]);

/* Twice the area of a triangle's plan; positive where the wall is above the air. */
static inline double ul_plan_area2(const ul_view *v, uint32_t triangle) {
  const uint32_t *n = v->surface->node[triangle];
  const double *a = v->plan[n[0]], *b = v->plan[n[1]], *c = v->plan[n[2]];
  return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
}

/* The first of a triangle's highest nodes. */
static inline uint32_t ul_highest_corner(const ul_view *v, uint32_t triangle) {
  const uint32_t *n = v->surface->node[triangle];
  uint32_t best = v->height[n[1]] > v->height[n[0]] ? n[1] : n[0];
  return v->height[n[2]] > v->height[best] ? n[2] : best;
}

/* What a triangle adds to the volume of the air above `level`: the integral of the height over its
 * plan, as far as the triangle is above (divergence theorem; the lid that the level itself makes
 * adds nothing). h: its corners' heights, falling; all heights from one origin. */
double ul_volume_under(double plan_area2, const double h[3], double level);
/* The three heights less `origin`, the highest first. */
void ul_falling_heights(const ul_view *view, uint32_t triangle, double origin, double h[3]);

/* Pairs of nodes in one body of air though not on one skin: the top of each core, a top with air
 * above it, and the highest corner of the wall straight above. *pair grows as need be. */
ul_status ul_tie_core_tops(const ul_view *view, uint32_t (**pair)[2], size_t *room, size_t *count);

#endif
