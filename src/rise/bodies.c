#include "rise/bodies.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

static bool grow(void **block, size_t had, size_t need, size_t size) {
  return ul_grow(block, &had, need, size);
}

bool ul_bodies_reserve(bodies *b, size_t count, size_t links) {
  if (count + 1 > b->room) {
    const size_t had = b->room, need = count + 1;
    b->room = 0;
    if (!grow((void **)&b->first, had, need, sizeof *b->first) ||
        !grow((void **)&b->hold, had, need, sizeof *b->hold) ||
        !grow((void **)&b->inverse, had, need, sizeof *b->inverse))
      return false;
    b->room = need;
  }
  if (links > b->link_room) {
    const size_t had = b->link_room;
    b->link_room = 0;
    if (!grow((void **)&b->node, had, links, sizeof *b->node) ||
        !grow((void **)&b->link, had, links, sizeof *b->link) ||
        !grow((void **)&b->kept, had, links, sizeof *b->kept))
      return false;
    b->link_room = links;
  }
  return true;
}

void ul_bodies_clear(bodies *b) {
  free(b->first);
  free(b->hold);
  free(b->inverse);
  free(b->node);
  free(b->link);
  free(b->kept);
  memset(b, 0, sizeof *b);
}

size_t ul_bodies_bytes(const bodies *b) {
  return b->room * (sizeof *b->first + sizeof *b->hold + sizeof *b->inverse) +
         b->link_room * (sizeof *b->node + sizeof *b->link + sizeof *b->kept);
}

void ul_bodies_finish(bodies *b) {
  for (size_t k = 0; k < b->count; k++) {
    double diagonal = (double)b->hold[k];
    for (size_t l = b->first[k]; l < b->first[k + 1]; l++) diagonal += (double)b->link[l];
    b->inverse[k] = diagonal > 0 ? 1 / diagonal : 0;
  }
}

bool ul_bodies_lift(const bodies *fine, const int32_t *coarse, int32_t *slot, bodies *next) {
  next->count = 0;
  if (!ul_bodies_reserve(next, fine->count, fine->count ? fine->first[fine->count] : 0))
    return false;
  size_t kept = 0;
  for (size_t k = 0; k < fine->count; k++) {
    next->first[k] = kept;
    next->hold[k] = fine->hold[k];
    for (size_t l = fine->first[k]; l < fine->first[k + 1]; l++) {
      const int32_t to = coarse[fine->node[l]];
      if (to == 0) {
        next->hold[k] += fine->link[l];
      } else if (slot[to] < 0) {
        slot[to] = (int32_t)kept;
        next->node[kept] = (uint32_t)to;
        next->link[kept++] = fine->link[l];
      } else {
        next->link[slot[to]] += fine->link[l];
      }
    }
    for (size_t l = next->first[k]; l < kept; l++) slot[next->node[l]] = -1;
  }
  next->count = fine->count;
  next->first[next->count] = kept;
  ul_bodies_finish(next);
  return true;
}

void ul_bodies_add_diagonal(const bodies *b, float *diagonal) {
  for (size_t k = 0; k < b->count; k++)
    for (size_t l = b->first[k]; l < b->first[k + 1]; l++) diagonal[b->node[l]] += b->link[l];
}

void ul_bodies_relax(const bodies *b, size_t at, const float *rhs, float *x) {
  for (size_t k = 0; k < b->count; k++) {
    double sum = rhs[at + k];
    for (size_t l = b->first[k]; l < b->first[k + 1]; l++) sum += b->link[l] * x[b->node[l]];
    x[at + k] = (float)(sum * b->inverse[k]);
  }
}

void ul_bodies_spread(bodies *b, size_t at, const float *x, float *rhs) {
  for (size_t k = 0; k < b->count; k++)
    for (size_t l = b->first[k]; l < b->first[k + 1]; l++) {
      b->kept[l] = rhs[b->node[l]];
      rhs[b->node[l]] += b->link[l] * x[at + k];
    }
}

void ul_bodies_unspread(const bodies *b, float *rhs) {
  for (size_t l = b->first[b->count]; l-- > b->first[0];) rhs[b->node[l]] = b->kept[l];
}

double ul_bodies_apply(const bodies *b, size_t at, const float *x, float *out) {
  double sum = 0;
  for (size_t k = 0; k < b->count; k++) {
    double of_body = b->hold[k] * x[at + k];
    sum += of_body * x[at + k];
    for (size_t l = b->first[k]; l < b->first[k + 1]; l++) {
      const float d = x[at + k] - x[b->node[l]], flow = b->link[l] * d;
      of_body += flow;
      out[b->node[l]] -= flow;
      sum += flow * d;
    }
    out[at + k] = (float)of_body;
  }
  return sum;
}

void ul_bodies_restrict(const bodies *b, size_t at, const float *x, const int32_t *coarse,
                        float *residual) {
  for (size_t k = 0; k < b->count; k++)
    for (size_t l = b->first[k]; l < b->first[k + 1]; l++) {
      const int32_t to = coarse[b->node[l]];
      if (to) residual[to] += b->link[l] * x[at + k];
    }
}
