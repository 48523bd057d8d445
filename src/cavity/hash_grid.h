/* hash_grid.h - takes vertices one after the other; one that lies within the tolerance of a kept
 * one becomes the nearest such (the lowest index of equals), any other is kept. So no vertex moves
 * farther than the tolerance, chains of near vertices do not creep, and no two kept vertices are
 * within the tolerance of each other. */
#ifndef UL_CAVITY_HASH_GRID_H
#define UL_CAVITY_HASH_GRID_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct ul_hash_grid {
  double (*kept)[3]; /* the caller's; first the kept vertices, then those still to come */
  size_t kept_count;
  uint32_t *head; /* per bucket: the kept vertex added last */
  uint32_t *next; /* per kept vertex: the one added before it to the same bucket */
  size_t next_room;
  uint64_t mask;
  double tolerance, cells_per_mm;
} ul_hash_grid;

/* For about `expected` kept vertices, up to `room`. A tolerance of 0 merges equal vertices only.
 * `farthest`: no coordinate exceeds it, unless the tolerance is 0. False when there is no memory;
 * ul_hash_grid_end() either way. */
bool ul_hash_grid_start(ul_hash_grid *grid, double (*kept)[3], size_t expected, size_t room,
                        double tolerance, double farthest);
/* More room: `kept` is the array, moved by its owner or not. */
bool ul_hash_grid_grow(ul_hash_grid *grid, double (*kept)[3], size_t room);
/* Takes kept[first] to kept[first + count - 1], where first >= kept_count, and says which kept
 * vertex each becomes. */
void ul_hash_grid_take(ul_hash_grid *grid, size_t first, size_t count, uint32_t *becomes);
void ul_hash_grid_end(ul_hash_grid *grid);

#endif
