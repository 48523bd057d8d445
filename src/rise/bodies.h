/* bodies.h - the few unknowns of the multigrid hierarchy that are never made coarser: bodies of
 * air, each linked to the nodes of a level that it touches. */
#ifndef UL_RISE_BODIES_H
#define UL_RISE_BODIES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct bodies {
  size_t count, room, link_room;
  size_t *first;   /* per body, and an end */
  float *hold;     /* per body */
  double *inverse; /* per body: 1 / diagonal, 0 where that is 0 */
  uint32_t *node;  /* per link */
  float *link;     /* per link */
  float *kept;     /* per link: what ul_bodies_spread() changed */
} bodies;

/* Makes room; false when there is no memory. */
bool ul_bodies_reserve(bodies *b, size_t count, size_t links);
void ul_bodies_clear(bodies *b);
size_t ul_bodies_bytes(const bodies *b);

/* Sets `inverse` once links and holds are there. */
void ul_bodies_finish(bodies *b);

/* The links on the next level, those to one aggregate added up. A node without an aggregate counts
 * as fixed there. `slot`: scratch, an entry an aggregate, all -1, and so it is left. `coarse`: per
 * node its aggregate, 0 for none. */
bool ul_bodies_lift(const bodies *fine, const int32_t *coarse, int32_t *slot, bodies *next);

/* Adds each link to diagonal[node]. */
void ul_bodies_add_diagonal(const bodies *b, float *diagonal);

/* x of the bodies so that their own equations hold. Vectors have the nodes first, then, from entry
 * `at` on, the bodies. */
void ul_bodies_relax(const bodies *b, size_t at, const float *rhs, float *x);

/* rhs[node] += link x[body]: the equations of the nodes with the bodies taken as known; and rhs as
 * it was before, to the last bit. */
void ul_bodies_spread(bodies *b, size_t at, const float *x, float *rhs);
void ul_bodies_unspread(const bodies *b, float *rhs);

/* Adds the bodies' part of A x to out and returns their part of x . A x. */
double ul_bodies_apply(const bodies *b, size_t at, const float *x, float *out);

/* Adds link x[body] to what is left at the nodes, summed by aggregates. */
void ul_bodies_restrict(const bodies *b, size_t at, const float *x, const int32_t *coarse,
                        float *residual);

#endif
