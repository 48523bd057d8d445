#include "cavity/box_tree.h"

#include "base/memory.h"
#include "base/parallel.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { TRIANGLES_A_BLOCK = 16384, LEAVES_A_BLOCK = TRIANGLES_A_BLOCK / UL_BOX_LEAF };
enum { DIGIT_BITS = 10, DIGITS = 1 << DIGIT_BITS, AXIS_STEPS = 1 << DIGIT_BITS };

typedef struct {
  const ul_mesh *mesh;
  ul_box_tree *tree;
  double middle[3];
  double margin_mm;
  double steps_per_mm;
  ul_box *box; /* per triangle, in the mesh's order */
  uint32_t *key;
} building;

static const ul_box empty_box = {{INFINITY, INFINITY, INFINITY}, {-INFINITY, -INFINITY, -INFINITY}};

/* The rounded value moved by its last place: always outwards, without a call. */
static float round_down(double x) {
  float f = (float)x;
  return f - fabsf(f) * FLT_EPSILON;
}

static float round_up(double x) {
  float f = (float)x;
  return f + fabsf(f) * FLT_EPSILON;
}

static double least(double a, double b, double c) {
  double ab = a < b ? a : b;
  return ab < c ? ab : c;
}

static void include(ul_box *box, const ul_box *other) {
  for (int c = 0; c < 3; c++) {
    box->low[c] = other->low[c] < box->low[c] ? other->low[c] : box->low[c];
    box->high[c] = other->high[c] > box->high[c] ? other->high[c] : box->high[c];
  }
}

/* Puts two zeros behind each of ten bits. */
static uint32_t spread(uint32_t x) {
  x = (x | x << 16) & 0x030000ff;
  x = (x | x << 8) & 0x0300f00f;
  x = (x | x << 4) & 0x030c30c3;
  return (x | x << 2) & 0x09249249;
}

static uint32_t morton_key(const building *b, const ul_box *box) {
  uint32_t key = 0;
  for (int c = 0; c < 3; c++) {
    double step = ((double)box->low[c] + box->high[c]) / 2 * b->steps_per_mm + AXIS_STEPS / 2;
    int cell = (int)step;
    key |= spread((uint32_t)(cell < 0 ? 0 : cell >= AXIS_STEPS ? AXIS_STEPS - 1 : cell)) << c;
  }
  return key;
}

static ul_status box_block(void *context, size_t block, int worker) {
  (void)worker;
  building *b = context;
  size_t t = block * TRIANGLES_A_BLOCK, end = t + TRIANGLES_A_BLOCK;
  if (end > b->mesh->triangle_count) end = b->mesh->triangle_count;
  for (; t < end; t++) {
    const uint32_t *corner = b->mesh->triangle[t];
    const double *p = b->mesh->vertex_mm[corner[0]], *q = b->mesh->vertex_mm[corner[1]],
                 *r = b->mesh->vertex_mm[corner[2]];
    for (int c = 0; c < 3; c++) {
      b->box[t].low[c] = round_down(least(p[c], q[c], r[c]) - b->middle[c] - b->margin_mm);
      b->box[t].high[c] = round_up(-least(-p[c], -q[c], -r[c]) - b->middle[c] + b->margin_mm);
    }
    b->key[t] = morton_key(b, &b->box[t]);
  }
  return UL_OK;
}

/* Radix sort; equal keys stay in the mesh's order. */
static ul_status sort_by_key(building *b) {
  size_t n = b->mesh->triangle_count;
  uint32_t *from = ul_new_raw(n, sizeof *from), *to = b->tree->order;
  if (!from) return UL_E_MEMORY;
  for (size_t i = 0; i < n; i++) from[i] = (uint32_t)i;
  for (int shift = 0; shift < 3 * DIGIT_BITS; shift += DIGIT_BITS) {
    size_t start[DIGITS + 1] = {0};
    for (size_t i = 0; i < n; i++) start[(b->key[i] >> shift) % DIGITS + 1]++;
    for (int d = 0; d < DIGITS; d++) start[d + 1] += start[d];
    for (size_t i = 0; i < n; i++) to[start[(b->key[from[i]] >> shift) % DIGITS]++] = from[i];
    uint32_t *swap = from;
    from = to;
    to = swap;
  }
  b->tree->order = from; /* an odd number of passes */
  free(to);
  return UL_OK;
}

static ul_status leaf_block(void *context, size_t block, int worker) {
  (void)worker;
  building *b = context;
  ul_box_tree *tree = b->tree;
  size_t leaf = block * LEAVES_A_BLOCK, end = leaf + LEAVES_A_BLOCK;
  if (end > tree->width) end = tree->width;
  for (; leaf < end; leaf++) {
    ul_box box = empty_box;
    for (size_t i = UL_BOX_LEAF * leaf; i < UL_BOX_LEAF * (leaf + 1) && i < tree->count; i++) {
      tree->triangle[i] = b->box[tree->order[i]];
      include(&box, &tree->triangle[i]);
    }
    tree->node[tree->width + leaf] = box;
  }
  return UL_OK;
}

static void raise_boxes(ul_box_tree *tree) {
  for (size_t n = tree->width - 1; n > 0; n--) {
    tree->node[n] = tree->node[2 * n];
    include(&tree->node[n], &tree->node[2 * n + 1]);
  }
}

/* The mesh's middle, and Morton steps so that the longest side of its box has them all. */
static void place_lattice(building *b) {
  double box[2][3], longest = 0;
  ul_mesh_box_mm(b->mesh, box);
  for (int c = 0; c < 3; c++) {
    b->middle[c] = (box[0][c] + box[1][c]) / 2;
    longest = fmax(longest, box[1][c] - box[0][c]);
  }
  b->steps_per_mm = longest > 0 ? AXIS_STEPS / longest : 0;
}

ul_status ul_box_tree_make(const ul_mesh *mesh, double apart_mm, const ul_job *job,
                           ul_box_tree *tree) {
  size_t n = mesh->triangle_count, leaves = (n + UL_BOX_LEAF - 1) / UL_BOX_LEAF;
  *tree = (ul_box_tree){.count = n, .width = 1};
  while (tree->width < leaves) tree->width *= 2;
  building b = {.mesh = mesh, .tree = tree, .margin_mm = apart_mm / 2};
  place_lattice(&b);
  tree->order = ul_new_raw(n, sizeof *tree->order);
  tree->triangle = ul_new_raw(n, sizeof *tree->triangle);
  tree->node = ul_new_raw(2 * tree->width, sizeof *tree->node);
  b.box = ul_new_raw(n, sizeof *b.box);
  b.key = ul_new_raw(n, sizeof *b.key);
  ul_status status =
      tree->order && tree->triangle && tree->node && b.box && b.key ? UL_OK : UL_E_MEMORY;
  size_t blocks = (n + TRIANGLES_A_BLOCK - 1) / TRIANGLES_A_BLOCK;
  size_t leaf_blocks = (tree->width + LEAVES_A_BLOCK - 1) / LEAVES_A_BLOCK;
  if (status == UL_OK) status = ul_parallel(job, NULL, blocks, box_block, &b);
  if (status == UL_OK) status = sort_by_key(&b);
  if (status == UL_OK) status = ul_parallel(job, NULL, leaf_blocks, leaf_block, &b);
  if (status == UL_OK) raise_boxes(tree);
  free(b.box);
  free(b.key);
  return status;
}

void ul_box_tree_free(ul_box_tree *tree) {
  free(tree->order);
  free(tree->triangle);
  free(tree->node);
  memset(tree, 0, sizeof *tree);
}
