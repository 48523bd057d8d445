#include "cavity/wall.h"

#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"

enum { TRIANGLES_PER_BLOCK = 256, DEEPEST = 40 };

typedef struct {
  double (*corner)[3][3];
  size_t count, room;
} pieces;

typedef struct {
  const ul_mesh *mesh;
  const ul_bvh *tree; /* of the whole mesh */
  double fine_mm;
  pieces *block;
} bared;

static int longest_side(const double p[3][3], double *length) {
  int longest = 0;
  *length = 0;
  for (int k = 0; k < 3; k++) {
    double d = ul_distance(p[k], p[(k + 1) % 3]);
    if (d <= *length) continue;
    *length = d;
    longest = k;
  }
  return longest;
}

/* A step outwards from the middle must lead out of every shell. */
static bool is_wall(const bared *b, const double p[3][3]) {
  double ab[3], ac[3], normal[3], at[3];
  ul_sub(p[1], p[0], ab);
  ul_sub(p[2], p[0], ac);
  ul_cross(ab, ac, normal);
  double length = ul_norm(normal);
  if (length == 0) return false;
  for (int c = 0; c < 3; c++) at[c] = (p[0][c] + p[1][c] + p[2][c]) / 3;
  ul_add_scaled(at, 1e-6 * b->fine_mm / length, normal, at);
  return ul_bvh_winding(b->tree, at) <= 0;
}

static bool keep(pieces *list, const double p[3][3]) {
  if (!ul_grow((void **)&list->corner, &list->room, list->count + 1, sizeof *list->corner))
    return false;
  memcpy(list->corner[list->count++], p, sizeof *list->corner);
  return true;
}

/* Halves the longest side until it is short enough. */
static bool bare(const bared *b, pieces *list, const double p[3][3], int depth) {
  double length, half[3], part[3][3];
  int k = longest_side(p, &length);
  if (length <= b->fine_mm || depth == DEEPEST) return !is_wall(b, p) || keep(list, p);
  for (int c = 0; c < 3; c++) half[c] = (p[k][c] + p[(k + 1) % 3][c]) / 2;
  for (int side = 0; side < 2; side++) {
    memcpy(part, p, sizeof part);
    ul_copy3(half, part[side ? k : (k + 1) % 3]);
    if (!bare(b, list, (const double(*)[3])part, depth + 1)) return false;
  }
  return true;
}

static ul_status bare_block(void *context, size_t block, int worker) {
  (void)worker;
  const bared *b = context;
  size_t begin = block * TRIANGLES_PER_BLOCK, end = begin + TRIANGLES_PER_BLOCK;
  if (end > b->mesh->triangle_count) end = b->mesh->triangle_count;
  for (size_t t = begin; t < end; t++) {
    double p[3][3];
    for (int v = 0; v < 3; v++) ul_copy3(b->mesh->vertex_mm[b->mesh->triangle[t][v]], p[v]);
    if (!bare(b, &b->block[block], (const double(*)[3])p, 0)) return UL_E_MEMORY;
  }
  return UL_OK;
}

static ul_status join_pieces(const pieces *block, size_t blocks, ul_mesh **out, ul_error *err) {
  size_t count = 0, t = 0;
  for (size_t k = 0; k < blocks; k++) count += block[k].count;
  if (count > UINT32_MAX / 3)
    return ul_fail(err, UL_E_LIMIT, "overlapping shells in %zu pieces: use a larger --cube", count);
  ul_status status = ul_mesh_new(3 * count, count, out, err);
  for (size_t k = 0; k < blocks && !status; k++)
    for (size_t i = 0; i < block[k].count; i++, t++)
      for (int v = 0; v < 3; v++) {
        ul_copy3(block[k].corner[i][v], (*out)->vertex_mm[3 * t + (size_t)v]);
        (*out)->triangle[t][v] = (uint32_t)(3 * t) + (uint32_t)v;
      }
  return status;
}

/* The mesh without what is buried. */
static ul_status bare_mesh(const ul_mesh *mesh, double fine_mm, const ul_job *job, ul_mesh **out,
                           ul_error *err) {
  ul_bvh *tree;
  ul_status status = ul_bvh_new(&mesh, 1, job, &tree, err);
  if (status) return status;
  size_t blocks = (mesh->triangle_count + TRIANGLES_PER_BLOCK - 1) / TRIANGLES_PER_BLOCK;
  bared b = {.mesh = mesh, .tree = tree, .fine_mm = fine_mm};
  b.block = ul_new(blocks, sizeof *b.block);
  status = b.block ? ul_parallel(job, "overlaps", blocks, bare_block, &b) : UL_E_MEMORY;
  if (status == UL_E_MEMORY)
    ul_fail_memory(err);
  else if (status)
    ul_fail(err, status, "overlaps: %s", ul_status_text(status));
  else
    status = join_pieces(b.block, blocks, out, err);
  for (size_t k = 0; b.block && k < blocks; k++) free(b.block[k].corner);
  free(b.block);
  ul_bvh_free(tree);
  return status;
}

ul_status ul_wall_tree(const ul_solid *solid, const ul_solid *const *inserts, size_t insert_count,
                       double fine_mm, const ul_job *job, ul_bvh **out, ul_error *err) {
  *out = NULL;
  ul_mesh *bared_mesh = NULL;
  ul_status status = UL_OK;
  if (solid->overlapping) status = bare_mesh(solid->mesh, fine_mm, job, &bared_mesh, err);
  const ul_mesh **mesh = status ? NULL : ul_new(insert_count + 1, sizeof *mesh);
  if (!status && !mesh) status = ul_fail_memory(err);
  if (!status) {
    mesh[0] = bared_mesh ? bared_mesh : solid->mesh;
    for (size_t k = 0; k < insert_count; k++) mesh[k + 1] = inserts[k]->mesh;
    status = ul_bvh_new(mesh, insert_count + 1, job, out, err);
  }
  free(mesh);
  ul_mesh_free(bared_mesh);
  return status;
}
