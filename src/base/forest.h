/* forest.h - disjoint sets (union-find): which things have become one. */
#ifndef UL_BASE_FOREST_H
#define UL_BASE_FOREST_H

#include <stdint.h>

/* The representative of x's set; every visit halves the path (Tarjan & van Leeuwen 1984). */
static inline uint32_t ul_root(uint32_t *up, uint32_t x) {
  while (up[x] != x) {
    up[x] = up[up[x]];
    x = up[x];
  }
  return x;
}

#endif
