/* cube_heap.h - cubes waiting, lowest first. */
#ifndef UL_RISE_CUBE_HEAP_H
#define UL_RISE_CUBE_HEAP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Of one height a cube not looked round from yet comes first: a flat is explored to its rim, where
 * it may drop, before any of it fills. Then the lower number. */
typedef struct ul_heap_cube {
  double height;
  uint32_t cube;
  uint32_t seen; /* 1: its neighbours are in the heap, only filling is left */
} ul_heap_cube;

/* Begins zeroed; `item` is yours to free(). */
typedef struct ul_cube_heap {
  ul_heap_cube *item;
  size_t count, room;
} ul_cube_heap;

/* False when there is no memory. */
bool ul_cube_heap_push(ul_cube_heap *heap, ul_heap_cube cube);
/* Of a heap that is not empty. */
ul_heap_cube ul_cube_heap_pop(ul_cube_heap *heap);

#endif
