/* cut.h - grid and columns of a cavity given by a rule instead of a mesh: which cubes are inside,
 * and where exactly the wall cuts the rays through their centres. */
#ifndef TEST_RISE_CUT_H
#define TEST_RISE_CUT_H

#include <stdbool.h>

#include "ullage/grid.h"

/* Is the point, mm, in the cavity? */
typedef bool (*cut_rule)(const double at[3], const void *context);

typedef struct cut {
  ul_grid grid; /* without fill and cavity; wall_mm is the half-gap */
  ul_columns columns;
} cut;

/* A lattice centred on the origin, moved by `shift` cubes. What is inside at the lattice's edge
 * goes on beyond it: the cavity has no wall there. Parts of the cavity and of what is between are
 * at least an eighth of a cube wide along the axes. Release with cut_free(). */
void cut_make(cut_rule rule, const void *context, const int32_t n[3], double cube_mm,
              const double shift[3], double half_gap_mm, cut *out);
void cut_free(cut *c);

/* Centre of a cube, mm. */
void cut_centre(const cut *c, size_t cube, double out[3]);

#endif
