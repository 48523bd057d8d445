#include "air/flood.h"

#include "base/vec.h"

#include <stdbool.h>
#include <stdlib.h>

typedef struct {
  double height;
  size_t cube;
} step;

static int highest_step_first(const void *a, const void *b) {
  const step *x = a, *y = b;
  if (x->height != y->height) return x->height > y->height ? -1 : 1;
  return (x->cube > y->cube) - (x->cube < y->cube);
}

static size_t find(size_t *up, size_t i) {
  while (up[i] != i) i = up[i] = up[up[i]];
  return i;
}

static bool centre_inside(const ul_columns *columns, const int32_t i[3]) {
  const ul_lattice *l = &columns->lattice;
  size_t ray = ul_ray(l, 2, i[0], i[1]);
  double z = l->origin_mm[2] + (i[2] + 0.5) * l->cube_mm;
  for (uint32_t r = columns->bundle[2].first[ray]; r < columns->bundle[2].first[ray + 1]; r++)
    if (columns->bundle[2].run[r].lo <= z && z <= columns->bundle[2].run[r].hi) return true;
  return false;
}

size_t flood_deeper_than(const ul_columns *columns, const double up[3], double least,
                         flood_pocket *out) {
  const ul_lattice *l = &columns->lattice;
  size_t all = (size_t)l->n[0] * (size_t)l->n[1] * (size_t)l->n[2], inside = 0, count = 0;
  size_t *set = malloc(all * sizeof *set);
  double *top = malloc(all * sizeof *top);
  step *steps = malloc(all * sizeof *steps);
  for (int32_t k = 0; k < l->n[2]; k++)
    for (int32_t j = 0; j < l->n[1]; j++)
      for (int32_t i = 0; i < l->n[0]; i++) {
        int32_t at[3] = {i, j, k};
        size_t cube = ((size_t)k * (size_t)l->n[1] + (size_t)j) * (size_t)l->n[0] + (size_t)i;
        double centre[3];
        set[cube] = SIZE_MAX;
        for (int c = 0; c < 3; c++) centre[c] = l->origin_mm[c] + (at[c] + 0.5) * l->cube_mm;
        if (centre_inside(columns, at)) steps[inside++] = (step){ul_dot(up, centre), cube};
      }
  qsort(steps, inside, sizeof *steps, highest_step_first);
  const size_t stride[3] = {1, (size_t)l->n[0], (size_t)l->n[0] * (size_t)l->n[1]};
  for (size_t s = 0; s < inside; s++) {
    size_t cube = steps[s].cube;
    set[cube] = cube;
    top[cube] = steps[s].height;
    for (int c = 0; c < 6; c++) {
      size_t other = c < 3 ? cube + stride[c] : cube - stride[c - 3]; /* the rim is never inside */
      if (set[other] == SIZE_MAX) continue;
      size_t a = find(set, cube), b = find(set, other);
      if (a == b) continue;
      size_t keep = top[a] >= top[b] ? a : b, lose = keep == a ? b : a;
      if (top[lose] - steps[s].height > least)
        out[count++] = (flood_pocket){top[lose], steps[s].height};
      set[lose] = keep;
    }
  }
  free(set);
  free(top);
  free(steps);
  return count;
}
