/* A cell is CELL_TOLERANCES tolerances wide: a vertex looks into neighbouring cells only when it
 * lies near their border, and an equal vertex is found in its own cell. */
#include "cavity/hash_grid.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { CELL_TOLERANCES = 32, AHEAD = 16 };
static const uint32_t NONE = UINT32_MAX;

static uint64_t mix(uint64_t a, uint64_t b, uint64_t c) {
  uint64_t h =
      a * 0x9e3779b97f4a7c15u ^ (b * 0xc2b2ae3d27d4eb4fu + (c << 1 | 1) * 0x165667b19e3779f9u);
  h ^= h >> 32;
  h *= 0xd6e8feb86659fd93u;
  return h ^ h >> 29;
}

static int64_t cell_of(double x, double cells_per_mm) {
  return (int64_t)floor(x * cells_per_mm);
}

static uint64_t own_bucket(const ul_hash_grid *grid, const double at[3]) {
  uint64_t key[3];
  if (grid->tolerance > 0)
    for (int c = 0; c < 3; c++) key[c] = (uint64_t)cell_of(at[c], grid->cells_per_mm);
  else
    memcpy(key, at, sizeof key);
  return mix(key[0], key[1], key[2]) & grid->mask;
}

typedef struct {
  uint32_t vertex;
  double squared;
} nearest;

static void look_into(const ul_hash_grid *grid, uint64_t bucket, const double at[3],
                      nearest *best) {
  for (uint32_t k = grid->head[bucket]; k != NONE; k = grid->next[k]) {
    double dx = grid->kept[k][0] - at[0], dy = grid->kept[k][1] - at[1];
    double dz = grid->kept[k][2] - at[2], squared = dx * dx + dy * dy + dz * dz;
    if (squared < best->squared || (squared == best->squared && k < best->vertex))
      *best = (nearest){k, squared};
  }
}

/* Cells other than the vertex's own that the ball of the tolerance reaches. */
static void look_around(const ul_hash_grid *grid, uint64_t own, const double at[3], nearest *best) {
  int64_t low[3], high[3];
  for (int c = 0; c < 3; c++) {
    low[c] = cell_of(at[c] - grid->tolerance, grid->cells_per_mm);
    high[c] = cell_of(at[c] + grid->tolerance, grid->cells_per_mm);
  }
  for (int64_t i = low[0]; i <= high[0]; i++)
    for (int64_t j = low[1]; j <= high[1]; j++)
      for (int64_t k = low[2]; k <= high[2]; k++) {
        uint64_t bucket = mix((uint64_t)i, (uint64_t)j, (uint64_t)k) & grid->mask;
        if (bucket != own) look_into(grid, bucket, at, best);
      }
}

/* The kept vertex that `at` becomes; a new one when none is near. */
static uint32_t settle(ul_hash_grid *grid, uint64_t own, const double at[3]) {
  nearest best = {NONE, grid->tolerance * grid->tolerance};
  look_into(grid, own, at, &best);
  if (grid->tolerance > 0 && best.squared > 0) look_around(grid, own, at, &best);
  if (best.vertex != NONE) return best.vertex;
  uint32_t k = (uint32_t)grid->kept_count++;
  memmove(grid->kept[k], at, sizeof grid->kept[k]);
  grid->next[k] = grid->head[own];
  grid->head[own] = k;
  return k;
}

/* In batches, so that the memory a batch will want is already on its way. */
void ul_hash_grid_take(ul_hash_grid *grid, size_t first, size_t count, uint32_t *becomes) {
  for (size_t done = 0; done < count; done += AHEAD) {
    uint64_t bucket[AHEAD];
    double(*at)[3] = grid->kept + first + done;
    size_t batch = count - done < AHEAD ? count - done : AHEAD;
    for (size_t i = 0; i < batch; i++) {
      for (int c = 0; c < 3; c++) at[i][c] += 0.0; /* -0 and 0 are one place, not the same bits */
      bucket[i] = own_bucket(grid, at[i]);
      __builtin_prefetch(&grid->head[bucket[i]]);
    }
    for (size_t i = 0; i < batch; i++) {
      uint32_t k = grid->head[bucket[i]];
      if (k != NONE) __builtin_prefetch(grid->kept[k]);
    }
    for (size_t i = 0; i < batch; i++) becomes[done + i] = settle(grid, bucket[i], at[i]);
  }
}

bool ul_hash_grid_start(ul_hash_grid *grid, double (*kept)[3], size_t expected, size_t room,
                        double tolerance, double farthest) {
  size_t buckets = 16;
  while (buckets < expected) buckets *= 2;
  *grid = (ul_hash_grid){.kept = kept, .mask = buckets - 1, .tolerance = tolerance};
  if (tolerance > 0) /* the second keeps cell numbers within what a double counts exactly */
    grid->cells_per_mm = fmin(1 / (CELL_TOLERANCES * tolerance), 4e15 / fmax(farthest, 1));
  grid->head = ul_new_raw(buckets, sizeof *grid->head);
  grid->next = ul_new_raw(room, sizeof *grid->next);
  if (!grid->head || !grid->next) return false;
  grid->next_room = room;
  memset(grid->head, 0xff, buckets * sizeof *grid->head);
  return true;
}

bool ul_hash_grid_grow(ul_hash_grid *grid, double (*kept)[3], size_t room) {
  void *next = grid->next;
  bool ok = ul_grow(&next, &grid->next_room, room, sizeof *grid->next);
  grid->next = next;
  grid->kept = kept;
  return ok;
}

void ul_hash_grid_end(ul_hash_grid *grid) {
  free(grid->head);
  free(grid->next);
}
