/* packing.h - the cavity's cubes packed row by row, rows in Morton order of (y, z), so that cubes
 * which become one on the next coarser grid lie in one stretch of memory at every level. */
#ifndef UL_RISE_PACKING_H
#define UL_RISE_PACKING_H

#include "rise/aggregate.h"
#include "rise/strips.h"

typedef struct packing {
  size_t count;     /* cubes */
  size_t size;      /* entries of an array over cubes, see strips.h */
  uint32_t *place;  /* per numbered cube: its entry */
  uint32_t *number; /* per entry: its cube. Cubes of a row follow one another in both */
  uint8_t *faces;   /* per entry: bit (1 << a): an open face to a cube on the + side along a */
} packing;

/* See ul_solver_new(). *out needs ul_packing_clear(), *g, the cubes and their open faces,
 * ul_graph_clear(), also after a failure. */
ul_status ul_packing_build(const int32_t n[3], const uint8_t *inside, const uint8_t *shut,
                           packing *out, graph *g, ul_error *err);
void ul_packing_clear(packing *p);
size_t ul_packing_bytes(const packing *p);

#endif
