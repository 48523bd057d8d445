/* extras.h - the links of a level for which its strips have no place: where a cell of the lattice
 * holds several nodes, as between the walls of a comb. Each is kept at both of its ends. */
#ifndef UL_RISE_EXTRAS_H
#define UL_RISE_EXTRAS_H

#include "rise/strips.h"

typedef struct extras {
  size_t count;    /* nodes that have such links */
  uint32_t *node;  /* entries, rising */
  uint32_t *first; /* per node, and an end: its links */
  uint32_t *other; /* per link: the entry at its other end */
  uint32_t *twin;  /* per link: the same, as the other end has it */
  uint8_t *axis;   /* per link */
  float *link;     /* per link */
  uint32_t *block; /* per block of the level, and an end: its first node */
} extras;

/* From the pairs of kind STRIP_LINK_EXTRA. *out needs ul_extras_clear(), also after a failure. */
ul_status ul_extras_build(const graph *g, const uint8_t *kind, const strips *s, extras *out,
                          ul_error *err);
void ul_extras_clear(extras *e);
size_t ul_extras_bytes(const extras *e);

/* The first of the nodes at entry `from` or after. */
size_t ul_extras_from(const extras *e, uint32_t from);
/* The link from entry `from` to entry `to`, as `from` has it; NULL: not among these. */
float *ul_extras_find(const extras *e, uint32_t from, uint32_t to);

#endif
