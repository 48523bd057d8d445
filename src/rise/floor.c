#include "rise/floor.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

static const double WITHIN_CUBES = 0.5 + 1e-6;

/* Lists the floor from its lowest cube on; how many there are. */
static size_t spread(const ul_cubes *c, const double up[3], size_t lowest, uint8_t *seen,
                     uint32_t *list) {
  double at[3];
  ul_cube_centre_mm(c, lowest, at);
  const double most = ul_dot(at, up) + WITHIN_CUBES * c->grid->lattice.cube_mm * ul_norm(up);
  size_t count = 0;
  list[count++] = (uint32_t)lowest;
  seen[lowest] = 1;
  for (size_t i = 0; i < count; i++)
    for (int s = 0; s < UL_SIDES; s++) {
      const int32_t n = c->next[list[i]][s];
      if (n == UL_NO_CUBE || seen[n]) continue;
      ul_cube_centre_mm(c, (size_t)n, at);
      if (ul_dot(at, up) > most) continue;
      seen[n] = 1;
      list[count++] = (uint32_t)n;
    }
  return count;
}

static size_t nearest_to_middle(const ul_cubes *c, const uint32_t *list, size_t count) {
  double middle[3] = {0, 0, 0}, at[3], least = INFINITY;
  size_t best = list[0];
  for (size_t i = 0; i < count; i++) {
    ul_cube_centre_mm(c, list[i], at);
    ul_add_scaled(middle, 1.0 / (double)count, at, middle);
  }
  for (size_t i = 0; i < count; i++) {
    ul_cube_centre_mm(c, list[i], at);
    const double far = ul_distance(at, middle);
    if (far > least + 1e-9 || (far > least - 1e-9 && list[i] > best)) continue;
    least = far;
    best = list[i];
  }
  return best;
}

ul_status ul_floor_middle(const ul_cubes *c, const double up[3], size_t lowest, size_t *middle,
                          ul_error *err) {
  uint8_t *seen = ul_new(c->count, 1);
  uint32_t *list = ul_new_raw(c->count, sizeof *list);
  const bool ok = seen && list;
  if (ok) *middle = nearest_to_middle(c, list, spread(c, up, lowest, seen, list));
  free(seen);
  free(list);
  return ok ? UL_OK : ul_fail_memory(err);
}
