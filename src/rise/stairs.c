#include "rise/stairs.h"

#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"

typedef struct {
  const ul_cubes *cubes;
  ul_stairs *stairs;
  size_t count, room;
} builder;

/* Is what lies there cut by the wall? One step on a side, and one more on another; `two` -1: none.
 */
static bool is_cut(const ul_cubes *c, size_t cube, int one, int two) {
  int32_t at[3];
  ul_lattice_place(&c->grid->lattice, c->at[cube], at);
  at[one / 2] += one % 2 ? 1 : -1;
  if (two >= 0) at[two / 2] += two % 2 ? 1 : -1;
  return ul_lattice_cut(c->grid, at);
}

/* Do two cut cubes side by side lead from the cube to the one across its corner on sides s, t, r?
 * They are one on a single side of the first, and one on that side and another. */
static bool around_corner(const ul_cubes *c, size_t cube, const int side[3]) {
  for (int i = 0; i < 3; i++)
    for (int k = 0; k < 3; k++)
      if (i != k && is_cut(c, cube, side[i], -1) && is_cut(c, cube, side[i], side[k])) return true;
  return false;
}

static bool add(builder *b, int32_t to) {
  if (!ul_grow((void **)&b->stairs->to, &b->room, b->count + 1, sizeof *b->stairs->to))
    return false;
  b->stairs->to[b->count++] = (uint32_t)to;
  return true;
}

/* From the cube over `beside` on side s to what lies on its side t, and around the corner. */
static bool add_beyond(builder *b, size_t cube, int s, int t) {
  const ul_cubes *c = b->cubes;
  const int32_t edge = c->next[c->next[cube][s]][t];
  if (edge == UL_NO_CUBE) return true;
  if (is_cut(c, cube, t, -1) && !add(b, edge)) return false;
  const int axis = 3 - s / 2 - t / 2;
  for (int r = 2 * axis; r <= 2 * axis + 1; r++) {
    const int32_t corner = c->next[edge][r];
    if (corner == UL_NO_CUBE || !around_corner(c, cube, (const int[3]){s, t, r})) continue;
    if (!add(b, corner)) return false;
  }
  return true;
}

/* Only beside a wall is there a stair step. */
static bool at_wall(const ul_cubes *c, size_t cube) {
  for (int s = 0; s < UL_SIDES; s++)
    if (c->next[cube][s] == UL_NO_CUBE) return true;
  return false;
}

static bool add_cube(builder *b, size_t cube) {
  b->stairs->first[cube] = b->count;
  if (!at_wall(b->cubes, cube)) return true;
  for (int s = 0; s < UL_SIDES; s++) {
    if (b->cubes->next[cube][s] == UL_NO_CUBE) continue;
    for (int t = 0; t < UL_SIDES; t++)
      if (t / 2 != s / 2 && !add_beyond(b, cube, s, t)) return false;
  }
  return true;
}

ul_status ul_stairs_new(const ul_cubes *cubes, ul_stairs *stairs, ul_error *err) {
  *stairs = (ul_stairs){.first = ul_new(cubes->count + 1, sizeof *stairs->first)};
  builder b = {.cubes = cubes, .stairs = stairs};
  bool done = stairs->first != NULL;
  for (size_t i = 0; done && i < cubes->count; i++) done = add_cube(&b, i);
  if (done) {
    stairs->first[cubes->count] = b.count;
    return UL_OK;
  }
  ul_stairs_free(stairs);
  return ul_fail_memory(err);
}

void ul_stairs_free(ul_stairs *stairs) {
  free(stairs->first);
  free(stairs->to);
  *stairs = (ul_stairs){0};
}
