/* strips.h - the cavity's cubes packed row by row, rows in Morton order of (y, z), so that cubes
 * which become one on the next coarser grid lie in one stretch of memory at every level.
 *
 * A strip is a stretch of a row whose four neighbouring rows lie at constant distances in memory:
 * loops over it are loops over plain arrays, without an index in sight. */
#ifndef UL_RISE_STRIPS_H
#define UL_RISE_STRIPS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "ullage/status.h"

enum {
  STRIP_MOST = 256,        /* cubes in a strip */
  STRIP_FIRST = 1,         /* place of the first cube: one idle entry lies before it */
  STRIP_BLOCK_CUBES = 8192 /* about so many cubes make a block of parallel work */
};

typedef struct strip {
  uint32_t start, count;
  /* Distance to the neighbour. Where there is none: behind, to idle entries at the end of every
   * array, whose links are 0; ahead, 0, and the cube's own link is 0. */
  int32_t behind[2], ahead[2]; /* along y, z */
  int32_t y, z;                /* its row of the lattice */
} strip;

/* A group is the rows that become one row of the next coarser grid. Rows of even and odd y+z are
 * the two colours of the smoother: no link joins rows of one colour. */
typedef struct strip_group {
  uint32_t cube;     /* its first cube */
  uint32_t strip[3]; /* its strips of colour c: strip[c] to strip[c+1]-1 */
} strip_group;

typedef struct strips {
  size_t cube_count;
  size_t size;     /* entries of an array over cubes: 1 idle, the cubes, STRIP_MOST idle */
  uint32_t *place; /* per numbered cube: its entry */
  int32_t *x;      /* per entry */
  uint8_t *faces;  /* per entry: bit (1 << a): an open face to a cube on the + side along a */
  size_t strip_count, strip_room;
  strip *strip;
  size_t group_count;
  strip_group *group; /* one more than group_count, as an end */
  size_t block_count;
  uint32_t *block; /* groups of block b: block[b] to block[b+1]-1 */
} strips;

/* See ul_solver_new(). *out needs ul_strips_clear(), also after a failure. */
ul_status ul_strips_build(const int32_t n[3], const uint8_t *inside, const uint8_t *shut,
                          strips *out, ul_error *err);
void ul_strips_clear(strips *s);

size_t ul_strips_bytes(const strips *s);

/* Entries of a block, for work on vectors; the last one takes in the idle end. */
static inline size_t strips_from(const strips *s, size_t block) {
  return block ? s->group[s->block[block]].cube : 0;
}
static inline size_t strips_to(const strips *s, size_t block) {
  return block + 1 < s->block_count ? s->group[s->block[block + 1]].cube : s->size;
}

/* Strips of a block: of both colours. */
static inline size_t strips_first(const strips *s, size_t block) {
  return s->group[s->block[block]].strip[0];
}
static inline size_t strips_end(const strips *s, size_t block) {
  return s->group[s->block[block + 1] - 1].strip[2];
}

#endif
