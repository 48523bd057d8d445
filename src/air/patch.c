#include "air/patch.h"

#include "air/nearest.h"
#include "base/memory.h"
#include "base/vec.h"

#include <stdlib.h>

ul_status ul_patch_init(ul_patch *patch, const ul_surface *surface) {
  *patch = (ul_patch){.seen = ul_new(surface->mesh->triangle_count, sizeof *patch->seen)};
  return patch->seen ? UL_OK : UL_E_MEMORY;
}

void ul_patch_clear(ul_patch *patch) {
  free(patch->seen);
  free(patch->queue);
}

static bool reaches_into(const ul_mesh *mesh, uint32_t t, const double centre[3], double radius) {
  const uint32_t *v = mesh->triangle[t];
  double near[3];
  ul_nearest_on_triangle(centre, mesh->vertex_mm[v[0]], mesh->vertex_mm[v[1]],
                         mesh->vertex_mm[v[2]], near);
  return ul_distance(near, centre) <= radius;
}

ul_status ul_patch_gather(ul_patch *patch, const ul_surface *surface, uint32_t from,
                          const double centre[3], double radius, size_t *count) {
  size_t n = 0;
  *count = 0;
  if (!ul_grow((void **)&patch->queue, &patch->room, 1, sizeof *patch->queue)) return UL_E_MEMORY;
  patch->queue[n++] = from;
  patch->seen[from] = ++patch->search;
  for (size_t i = 0; i < n; i++)
    for (int side = 0; side < 3; side++) {
      uint32_t next = surface->across[patch->queue[i]][side];
      if (next == UINT32_MAX || patch->seen[next] == patch->search) continue;
      patch->seen[next] = patch->search;
      if (!reaches_into(surface->mesh, next, centre, radius)) continue;
      if (!ul_grow((void **)&patch->queue, &patch->room, n + 1, sizeof *patch->queue))
        return UL_E_MEMORY;
      patch->queue[n++] = next;
    }
  *count = n;
  return UL_OK;
}

ul_status ul_patch_joins(ul_patch *patch, const ul_surface *surface, uint32_t from, uint32_t to,
                         const double centre[3], double radius, bool *joined) {
  size_t count;
  ul_status status = ul_patch_gather(patch, surface, from, centre, radius, &count);
  *joined = false;
  for (size_t i = 0; i < count; i++) *joined |= patch->queue[i] == to;
  return status;
}
