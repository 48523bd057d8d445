/* strips.h - the nodes of a level (cubes, or aggregates of cubes) as strips: stretches of a row
 * whose four neighbouring rows lie at constant distances in memory. Loops over a strip are loops
 * over plain arrays, without an index in sight.
 *
 * Arrays of a level have STRIP_FIRST idle entries, its nodes in order, and STRIP_MOST idle ones; an
 * idle entry's links are 0. */
#ifndef UL_RISE_STRIPS_H
#define UL_RISE_STRIPS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "rise/aggregate.h"
#include "ullage/status.h"

enum {
  STRIP_MOST = 256,        /* nodes in a strip */
  STRIP_FIRST = 1,         /* entry of the first node */
  STRIP_BLOCK_NODES = 8192 /* about so many nodes make a block of parallel work */
};

typedef struct strip {
  uint32_t start, count;
  /* Distance to the neighbour along y, z. Behind: where there is none, an entry without a link
   * along that axis. Ahead: where there is none, anything in the array, the node's own link being
   * 0. */
  int32_t behind[2], ahead[2];
} strip;

/* Entries that follow one another. */
typedef struct run {
  uint32_t start, count;
} run;

typedef struct strips {
  size_t count; /* nodes */
  size_t size;  /* entries of an array */
  size_t strip_count, strip_room;
  strip *strip;
  size_t block_count;    /* blocks end where a row of the next coarser lattice does */
  uint32_t *block_strip; /* per block, and an end: its first strip */
  uint32_t *block_entry; /* per block, and an end: its first entry */
  uint32_t *hint;        /* per STRIP_MOST entries: the strip that holds the first one */
  /* What the system at hand uses: of block b the strips live[block_strip[b]] and following, cut to
   * what is active, and the runs of entries they make up. */
  strip *live;
  run *run;
  uint32_t *live_count, *run_count; /* per block */
} strips;

/* What a link of the graph became. */
typedef enum { STRIP_LINK_X, STRIP_LINK_Y, STRIP_LINK_Z, STRIP_LINK_EXTRA } strip_link;

/* *out needs ul_strips_clear(), also after a failure. kind[p] becomes what pair p is: the link of
 * its lower node along an axis, or, where a strip has no place for it, an extra one. */
ul_status ul_strips_build(const graph *g, strips *out, uint8_t *kind, ul_error *err);
void ul_strips_clear(strips *s);
size_t ul_strips_bytes(const strips *s);

/* Nothing of the block is active; then: entries from..to-1 of strip k, a strip of it, are. */
void ul_strips_sleep(strips *s, size_t block);
void ul_strips_wake(strips *s, size_t block, size_t k, uint32_t from, uint32_t to);

/* The strip of a node's entry, and the block of a strip. */
size_t ul_strips_find(const strips *s, uint32_t entry);
size_t ul_strips_block_of(const strips *s, size_t strip);

static inline const strip *live_first(const strips *s, size_t block) {
  return s->live + s->block_strip[block];
}
static inline const strip *live_end(const strips *s, size_t block) {
  return live_first(s, block) + s->live_count[block];
}
static inline const run *run_first(const strips *s, size_t block) {
  return s->run + s->block_strip[block];
}
static inline const run *run_end(const strips *s, size_t block) {
  return run_first(s, block) + s->run_count[block];
}

#endif
