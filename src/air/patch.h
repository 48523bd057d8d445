/* patch.h - small connected pieces of the mesh. */
#ifndef UL_AIR_PATCH_H
#define UL_AIR_PATCH_H

#include <stdbool.h>

#include "air/surface.h"

/* What a search needs, so that many of them share it. Zeroed to begin with. */
typedef struct ul_patch {
  uint32_t *seen; /* per triangle: the last search that met it */
  uint32_t search;
  uint32_t *queue;
  size_t room;
} ul_patch;

ul_status ul_patch_init(ul_patch *patch, const ul_surface *surface);
void ul_patch_clear(ul_patch *patch);

/* Lists in patch->queue the triangles reached from `from` over shared edges without leaving the
 * ball; *count of them, `from` first. */
ul_status ul_patch_gather(ul_patch *patch, const ul_surface *surface, uint32_t from,
                          const double centre[3], double radius, size_t *count);
/* *joined: `to` is one of them. */
ul_status ul_patch_joins(ul_patch *patch, const ul_surface *surface, uint32_t from, uint32_t to,
                         const double centre[3], double radius, bool *joined);

#endif
