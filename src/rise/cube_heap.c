#include "rise/cube_heap.h"

#include "base/memory.h"

static bool before(const ul_heap_cube *a, const ul_heap_cube *b) {
  if (a->height != b->height) return a->height < b->height;
  return a->seen != b->seen ? a->seen < b->seen : a->cube < b->cube;
}

bool ul_cube_heap_push(ul_cube_heap *h, ul_heap_cube e) {
  if (!ul_grow((void **)&h->item, &h->room, h->count + 1, sizeof *h->item)) return false;
  size_t i = h->count++;
  for (; i && before(&e, &h->item[(i - 1) / 2]); i = (i - 1) / 2) h->item[i] = h->item[(i - 1) / 2];
  h->item[i] = e;
  return true;
}

ul_heap_cube ul_cube_heap_pop(ul_cube_heap *h) {
  ul_heap_cube top = h->item[0], last = h->item[--h->count];
  size_t i = 0;
  for (size_t child = 1; child < h->count; child = 2 * i + 1) {
    if (child + 1 < h->count && before(&h->item[child + 1], &h->item[child])) child++;
    if (!before(&h->item[child], &last)) break;
    h->item[i] = h->item[child];
    i = child;
  }
  h->item[i] = last;
  return top;
}
