/* Welding by a hash grid. Vertices are taken in order; one that lies within the tolerance of a kept
 * vertex becomes the nearest such (the lowest index of equals), any other is kept. So no vertex
 * moves farther than the tolerance, chains of near vertices do not creep, and no two kept vertices
 * are within the tolerance of each other.
 *
 * A cell is eight tolerances wide: a vertex looks into neighbouring cells only when it lies near
 * their border, and an equal vertex is found in its own cell. */
#include "ullage/mesh.h"

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { CELL_TOLERANCES = 8, AHEAD = 16 };
static const uint32_t NONE = UINT32_MAX;

typedef struct {
  double (*kept)[3]; /* the front of the mesh's own vertex array */
  size_t kept_count;
  uint32_t *head; /* per bucket: the kept vertex added last */
  uint32_t *next; /* per kept vertex: the one added before it to the same bucket */
  uint64_t mask;
  double tolerance, cells_per_mm;
} hash_grid;

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

static uint64_t own_bucket(const hash_grid *grid, const double at[3]) {
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

static void look_into(const hash_grid *grid, uint64_t bucket, const double at[3], nearest *best) {
  for (uint32_t k = grid->head[bucket]; k != NONE; k = grid->next[k]) {
    double dx = grid->kept[k][0] - at[0], dy = grid->kept[k][1] - at[1];
    double dz = grid->kept[k][2] - at[2], squared = dx * dx + dy * dy + dz * dz;
    if (squared < best->squared || (squared == best->squared && k < best->vertex))
      *best = (nearest){k, squared};
  }
}

/* Cells other than the vertex's own that the ball of the tolerance reaches. */
static void look_around(const hash_grid *grid, uint64_t own, const double at[3], nearest *best) {
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
static uint32_t settle(hash_grid *grid, uint64_t own, const double at[3]) {
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
static void settle_all(hash_grid *grid, size_t count, uint32_t *becomes) {
  for (size_t first = 0; first < count; first += AHEAD) {
    uint64_t bucket[AHEAD];
    size_t batch = count - first < AHEAD ? count - first : AHEAD;
    for (size_t i = 0; i < batch; i++) {
      double *at = grid->kept[first + i];
      for (int c = 0; c < 3; c++) at[c] += 0.0; /* -0 and 0 are one place but not the same bits */
      bucket[i] = own_bucket(grid, at);
      __builtin_prefetch(&grid->head[bucket[i]]);
    }
    for (size_t i = 0; i < batch; i++) {
      uint32_t k = grid->head[bucket[i]];
      if (k != NONE) __builtin_prefetch(grid->kept[k]);
    }
    for (size_t i = 0; i < batch; i++)
      becomes[first + i] = settle(grid, bucket[i], grid->kept[first + i]);
  }
}

/* Renames the corners and closes the gaps that degenerate triangles leave. */
static size_t drop_degenerate(ul_mesh *mesh, const uint32_t *becomes) {
  size_t left = 0;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    uint32_t a = becomes[mesh->triangle[t][0]], b = becomes[mesh->triangle[t][1]];
    uint32_t c = becomes[mesh->triangle[t][2]];
    if (a == b || b == c || c == a) continue;
    mesh->triangle[left][0] = a, mesh->triangle[left][1] = b, mesh->triangle[left][2] = c;
    mesh->part[left++] = mesh->part[t];
  }
  size_t dropped = mesh->triangle_count - left;
  mesh->triangle_count = left;
  return dropped;
}

/* A vertex no triangle uses would only enlarge the box. `number` is scratch, one per vertex. */
static void drop_unused(ul_mesh *mesh, uint32_t *number) {
  memset(number, 0xff, mesh->vertex_count * sizeof *number);
  for (size_t t = 0; t < mesh->triangle_count; t++)
    for (int c = 0; c < 3; c++) number[mesh->triangle[t][c]] = 0;
  uint32_t left = 0;
  for (size_t v = 0; v < mesh->vertex_count; v++) {
    if (number[v] == NONE) continue;
    memmove(mesh->vertex_mm[left], mesh->vertex_mm[v], sizeof mesh->vertex_mm[v]);
    number[v] = left++;
  }
  if (left == mesh->vertex_count) return;
  mesh->vertex_count = left;
  for (size_t t = 0; t < mesh->triangle_count; t++)
    for (int c = 0; c < 3; c++) mesh->triangle[t][c] = number[mesh->triangle[t][c]];
}

/* Where a float file rounds the farthest coordinate, two copies of a vertex computed along
 * different ways lie an ulp or two apart per axis: four cover it (2 um at 5 m, 0.12 um at 0.3 m). A
 * millionth of the box's diagonal is for files written with six digits; both stay far below a
 * 0.01 mm feature of a 300 mm part. */
static double default_tolerance_mm(double box[2][3], double farthest) {
  int exponent = 0;
  frexp(farthest, &exponent);
  return fmax(4 * ldexp(1.0, exponent - FLT_MANT_DIG), 1e-6 * ul_distance(box[0], box[1]));
}

static ul_status start_grid(hash_grid *grid, const ul_mesh *mesh, double tolerance_mm) {
  double box[2][3], farthest = 0;
  ul_mesh_box_mm(mesh, box);
  for (int c = 0; c < 3; c++) farthest = fmax(farthest, fmax(fabs(box[0][c]), fabs(box[1][c])));
  size_t buckets = 16;
  while (buckets < mesh->vertex_count) buckets *= 2;
  *grid = (hash_grid){.kept = mesh->vertex_mm, .mask = buckets - 1};
  grid->tolerance = tolerance_mm < 0 ? default_tolerance_mm(box, farthest) : tolerance_mm;
  if (grid->tolerance > 0) /* the second keeps cell numbers within what a double counts exactly */
    grid->cells_per_mm = fmin(1 / (CELL_TOLERANCES * grid->tolerance), 4e15 / fmax(farthest, 1));
  grid->head = ul_new_raw(buckets, sizeof *grid->head);
  grid->next = ul_new_raw(mesh->vertex_count, sizeof *grid->next);
  if (!grid->head || !grid->next) return UL_E_MEMORY;
  memset(grid->head, 0xff, buckets * sizeof *grid->head);
  return UL_OK;
}

ul_status ul_mesh_weld(ul_mesh *mesh, double tolerance_mm, ul_weld_result *result, ul_error *err) {
  if (!isfinite(tolerance_mm))
    return ul_fail(err, UL_E_USAGE, "weld tolerance %g mm: give a finite one", tolerance_mm);
  size_t before = mesh->vertex_count;
  hash_grid grid;
  ul_status status = start_grid(&grid, mesh, tolerance_mm);
  uint32_t *becomes = status == UL_OK ? ul_new_raw(before, sizeof *becomes) : NULL;
  if (becomes) {
    settle_all(&grid, before, becomes);
    mesh->vertex_count = grid.kept_count;
    size_t dropped = drop_degenerate(mesh, becomes);
    drop_unused(mesh, becomes);
    if (result) *result = (ul_weld_result){grid.tolerance, before - grid.kept_count, dropped};
  }
  free(becomes);
  free(grid.next);
  free(grid.head);
  return becomes ? UL_OK : ul_fail_memory(err);
}
