/* islands.h - the connected parts of a system. The mean level of one that is hardly held hangs on
 * the sum of its sources, digits of which a cycle in float does not have: it is found here, in
 * double, by itself. */
#ifndef UL_RISE_ISLANDS_H
#define UL_RISE_ISLANDS_H

#include "rise/matrix.h"

/* A patch is what hangs together of an island within a block; it goes by its first entry. */
typedef struct islands {
  uint32_t *patch;       /* per entry of what is live: its patch */
  uint32_t *island;      /* per entry that is a patch: its island */
  uint32_t *list;        /* of block b from block_entry[b] on: its patches */
  uint32_t *patch_count; /* per block */
  double *block_hold;    /* per block: the sum of its holds */
  double *part;          /* per block */
  size_t count, room;
  double *hold;     /* per island: the sum of its holds */
  double *residual; /* per island: the sum of its residuals, then what its level is raised by */
  size_t tree_room;
  uint32_t *tree; /* scratch; then per patch, and after them per body: its island */
  size_t patches;
} islands;

/* *out needs ul_islands_clear(), also after a failure. */
bool ul_islands_build(const matrix *m, islands *out);
void ul_islands_clear(islands *s);
size_t ul_islands_bytes(const islands *s, const matrix *m);

/* Finds those of the system the matrix holds. */
ul_status ul_islands_find(islands *s, const matrix *m, const ul_job *job);

/* Raises x by a constant on each island, so that its residuals sum to 0; `residual` is `by` times
 * them, and stays that. *off becomes the sum of their magnitudes, times `by`. */
ul_status ul_islands_level(islands *s, const matrix *m, double by, double *x, float *residual,
                           double *off, const ul_job *job);

#endif
