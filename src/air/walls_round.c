#include "air/walls_round.h"

#include <math.h>

#include "air/normal.h"
#include "air/sight.h"
#include "base/vec.h"

enum { STRETCHES = 64 };

static const double sight_mm = 1e-3; /* only the line itself is asked for */

/* The part of the line through `at` along the unit `axis` that holds the depth; false: none. */
static ul_status stretch_at(const ul_mesh *mesh, const double at[3], const double axis[3],
                            double depth, ul_stretch *out, bool *found, ul_error *err) {
  ul_sight *sight;
  ul_stretch list[STRETCHES];
  *found = false;
  ul_status status = ul_sight_new(mesh, at, axis, sight_mm, &sight, err);
  if (status != UL_OK) return status;
  const size_t count = ul_sight_stretches(sight, 0, 0, STRETCHES, list);
  for (size_t i = 0; i < count && i < STRETCHES; i++) {
    if (list[i].lo > depth || list[i].hi < depth) continue;
    *out = list[i];
    *found = true;
  }
  ul_sight_free(sight);
  return UL_OK;
}

/* Halfway to the wall opposite, or as deep as that may be; the place itself where it is not seen.
 */
static ul_status into_gap(const ul_mesh *mesh, const double at[3], double deepest_mm,
                          double inside[3], ul_error *err) {
  double normal[3];
  ul_stretch gap;
  bool found;
  ul_copy3(at, inside);
  if (!ul_surface_normal(mesh, at, true, normal)) return UL_OK;
  ul_status status = stretch_at(mesh, at, normal, -sight_mm, &gap, &found, err);
  if (status == UL_OK && found) ul_add_scaled(at, -fmin(-gap.lo / 2, deepest_mm), normal, inside);
  return status;
}

static void insert(const double at[3], const double wall[3], double place[UL_WALLS_ROUND][3],
                   size_t *count) {
  size_t i = (*count)++;
  for (; i && ul_distance(place[i - 1], at) > ul_distance(wall, at); i--)
    ul_copy3(place[i - 1], place[i]);
  ul_copy3(wall, place[i]);
}

ul_status ul_walls_round(const ul_mesh *cavity, const double at[3], double deepest_mm,
                         double place[UL_WALLS_ROUND][3], size_t *count, ul_error *err) {
  double inside[3];
  *count = 0;
  ul_status status = into_gap(cavity, at, deepest_mm, inside, err);
  for (int side = 0; side < UL_WALLS_ROUND && status == UL_OK; side++) {
    double axis[3] = {0}, wall[3];
    ul_stretch way;
    bool found;
    axis[side / 2] = side % 2 ? -1 : 1;
    status = stretch_at(cavity, inside, axis, 0, &way, &found, err);
    if (status != UL_OK || !found) continue;
    ul_add_scaled(inside, way.hi, axis, wall);
    insert(at, wall, place, count);
  }
  return status;
}
