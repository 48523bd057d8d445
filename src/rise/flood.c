#include "rise/flood.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "rise/cube_heap.h"

/* Rounded to a millionth of a cube, counted from the lattice's corner: a level layer stays level,
 * and its ties fall to the lowest number, when `up` is a hair off. */
double *ul_cube_heights(const ul_cubes *c, const double up[3]) {
  double *height = ul_new_raw(c->count, sizeof *height);
  if (!height) return NULL;
  const ul_lattice *l = &c->grid->lattice;
  double corner = ul_dot(up, l->origin_mm), step = l->cube_mm / 1048576;
  for (size_t i = 0; i < c->count; i++) {
    double centre[3];
    ul_cube_centre_mm(c, i, centre);
    height[i] = corner + step * rint((ul_dot(up, centre) - corner) / step);
  }
  return height;
}

/* The cube beyond a side, as a bit of 27: those round a cube are 3 x 3 x 3. */
static const int BEYOND[UL_SIDES] = {-1, 1, -3, 3, -9, 9};
enum { MIDDLE = 13 };

int ul_cube_corners(const ul_cubes *c, size_t cube, int32_t out[UL_CORNERS]) {
  uint32_t met = 0;
  int found = 0;
  for (int s = 0; s < UL_SIDES; s++) {
    const int32_t one = c->next[cube][s];
    if (one == UL_NO_CUBE) continue;
    for (int t = 0; t < UL_SIDES; t++) {
      const int edge = MIDDLE + BEYOND[s] + BEYOND[t];
      if (t / 2 == s / 2 || met >> edge & 1 || c->next[one][t] == UL_NO_CUBE) continue;
      const int32_t two = out[found++] = c->next[one][t];
      met |= 1u << edge;
      const int axis = 3 - s / 2 - t / 2;
      for (int side = 2 * axis; side <= 2 * axis + 1; side++) {
        const int corner = edge + BEYOND[side];
        if (met >> corner & 1 || c->next[two][side] == UL_NO_CUBE) continue;
        out[found++] = c->next[two][side];
        met |= 1u << corner;
      }
    }
  }
  return found;
}

/* ---- the flood ---- */

typedef struct {
  const ul_cubes *cubes;
  const double *height;
  ul_cube_heap heap;
  uint8_t *known; /* per cube: it is or was in the heap */
} flood;

static bool meet(flood *f, int32_t cube) {
  if (cube == UL_NO_CUBE || f->known[cube]) return true;
  f->known[cube] = 1;
  return ul_cube_heap_push(&f->heap, (ul_heap_cube){f->height[cube], (uint32_t)cube, 0});
}

/* Puts the neighbours in the heap; from a cube with none lower, also what lies lower across its
 * edges and corners. */
static bool look_round(flood *f, uint32_t cube) {
  const int32_t *next = f->cubes->next[cube];
  bool lower = false;
  for (int s = 0; s < UL_SIDES; s++) {
    if (next[s] == UL_NO_CUBE) continue;
    lower |= f->height[next[s]] < f->height[cube];
    if (!meet(f, next[s])) return false;
  }
  if (lower) return true;
  int32_t corner[UL_CORNERS];
  int corners = ul_cube_corners(f->cubes, cube, corner);
  for (int i = 0; i < corners; i++)
    if (f->height[corner[i]] < f->height[cube] && !meet(f, corner[i])) return false;
  return true;
}

/* A cube is met, looked round from, and filled only when nothing lower is left in the heap. Stops
 * at the end of the layer in which `enough_mm3` are filled. */
static bool run(flood *f, size_t pour, uint32_t *order, double enough_mm3, size_t *reached) {
  double filled = 0;
  if (!meet(f, (int32_t)pour)) return false;
  while (f->heap.count) {
    ul_heap_cube e = ul_cube_heap_pop(&f->heap);
    if (filled >= enough_mm3 && e.height > f->height[order[*reached - 1]]) return true;
    if (e.seen) {
      order[(*reached)++] = e.cube;
      filled += f->cubes->volume_mm3[e.cube];
      continue;
    }
    e.seen = 1;
    if (!look_round(f, e.cube) || !ul_cube_heap_push(&f->heap, e)) return false;
  }
  return true;
}

ul_status ul_flood_some(const ul_cubes *cubes, const double *height, size_t pour, double enough_mm3,
                        uint32_t *order, size_t *reached, ul_error *err) {
  flood f = {.cubes = cubes, .height = height, .known = ul_new(cubes->count, 1)};
  *reached = 0;
  bool done = f.known && run(&f, pour, order, enough_mm3, reached);
  free(f.known);
  free(f.heap.item);
  return done ? UL_OK : ul_fail_memory(err);
}

ul_status ul_flood_order(const ul_cubes *cubes, const double *height, size_t pour, uint32_t *order,
                         size_t *reached, ul_error *err) {
  return ul_flood_some(cubes, height, pour, INFINITY, order, reached, err);
}

ul_status ul_flood_bottom(const ul_cubes *cubes, const double *height, size_t pour,
                          uint32_t *bottom, ul_error *err) {
  flood f = {.cubes = cubes, .height = height, .known = ul_new(cubes->count, 1)};
  bool done = f.known && meet(&f, (int32_t)pour);
  while (done && f.heap.count) {
    ul_heap_cube e = ul_cube_heap_pop(&f.heap);
    *bottom = e.cube;
    if (e.seen) break;
    e.seen = 1;
    done = look_round(&f, e.cube) && ul_cube_heap_push(&f.heap, e);
  }
  free(f.known);
  free(f.heap.item);
  return done ? UL_OK : ul_fail_memory(err);
}
