/* cuts.h - a flat triangle cut into convex pieces along segments, in its own two coordinates. */
#ifndef UL_CAVITY_CUTS_H
#define UL_CAVITY_CUTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A region: whole, or halved by a line into two regions. */
typedef struct ul_region {
  double from[2], along[2]; /* the line; `along` of unit length */
  uint32_t side[2];         /* regions left and right of it; 0: not halved */
  size_t first;             /* its corners, counter-clockwise */
  uint32_t count;
} ul_region;

/* A binary space partition (Fuchs, Kedem & Naylor 1980, SIGGRAPH 14(3)). */
typedef struct ul_cuts {
  double near; /* what is nearer than this is the same place */
  ul_region *region;
  size_t region_count, region_room;
  double (*corner)[2];
  size_t corner_count, corner_room;
  struct ul_cut_walk *walk; /* scratch */
  size_t walk_room;
} ul_cuts;

/* The uncut triangle, counter-clockwise. Keeps the memory of the triangle before. False when there
 * is no memory; release with ul_cuts_free(). */
bool ul_cuts_begin(ul_cuts *cuts, const double corner[3][2], double near);
/* Cuts along the segment ab and, where a piece has part of it within, right through that piece. */
bool ul_cuts_add(ul_cuts *cuts, const double a[2], const double b[2]);
void ul_cuts_free(ul_cuts *cuts);

#endif
