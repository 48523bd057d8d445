/* islands.h - the connected parts of a system. The mean level of one that is hardly held hangs on
 * the sum of its sources, digits of which a cycle in float does not have: it is found here, in
 * double, by itself. */
#ifndef UL_RISE_ISLANDS_H
#define UL_RISE_ISLANDS_H

#include "rise/matrix.h"

typedef struct islands {
  size_t count, room, body_room;
  uint32_t *of;     /* per entry of what is live, then per body: its island */
  double *hold;     /* per island: the sum of its holds */
  double *residual; /* per island: the sum of its residuals, then what its level is raised by */
} islands;

/* *out needs ul_islands_clear(). */
bool ul_islands_find(islands *s, const matrix *m);
void ul_islands_clear(islands *s);
size_t ul_islands_bytes(const islands *s, const matrix *m);

/* Raises x by a constant on each island, so that its residuals sum to 0; `residual` is `by` times
 * them, and stays that. Returns the sum of their magnitudes, times `by`. */
double ul_islands_level(islands *s, const matrix *m, double by, double *x, float *residual);

#endif
