/* facet.h - a file's polygons, cut into triangles. */
#ifndef UL_CAVITY_FACET_H
#define UL_CAVITY_FACET_H

#include "cavity/draft.h"

typedef struct ul_facet {
  uint32_t *corner;
  size_t count, room;
} ul_facet;

bool ul_facet_corner(ul_facet *facet, uint32_t vertex); /* false: no memory */
/* Appends the triangles to the draft; consumes the corners. Ears are cut where the polygon is not
 * convex (G. Meisters, "Polygons have ears", 1975). Fewer than three corners bound nothing. */
void ul_facet_triangles(ul_facet *facet, ul_draft *d, uint32_t part, bool *ok);
void ul_facet_release(ul_facet *facet);

#endif
