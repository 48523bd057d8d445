#include "cavity/wall.h"

#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"
#include "cavity/pieces.h"

enum { TRIANGLES_PER_BLOCK = 256 };

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

typedef struct {
  const bared *bared;
  pieces *list;
} keeper;

static bool keep_wall(void *context, const double p[3][3]) {
  keeper *k = context;
  pieces *list = k->list;
  if (!is_wall(k->bared, p)) return true;
  if (!ul_grow((void **)&list->corner, &list->room, list->count + 1, sizeof *list->corner))
    return false;
  memcpy(list->corner[list->count++], p, sizeof *list->corner);
  return true;
}

static ul_status bare_block(void *context, size_t block, int worker) {
  (void)worker;
  const bared *b = context;
  keeper k = {b, &b->block[block]};
  size_t begin = block * TRIANGLES_PER_BLOCK, end = begin + TRIANGLES_PER_BLOCK;
  if (end > b->mesh->triangle_count) end = b->mesh->triangle_count;
  for (size_t t = begin; t < end; t++) {
    double p[3][3];
    for (int v = 0; v < 3; v++) ul_copy3(b->mesh->vertex_mm[b->mesh->triangle[t][v]], p[v]);
    if (!ul_cut_triangle((const double(*)[3])p, b->fine_mm, keep_wall, &k)) return UL_E_MEMORY;
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

/* A copy wound the other way: an insert's outside is the cavity's inside. */
static ul_status turned(const ul_mesh *insert, ul_mesh **out, ul_error *err) {
  ul_status status = ul_mesh_copy(insert, out, err);
  for (size_t t = 0; !status && t < insert->triangle_count; t++) {
    (*out)->triangle[t][1] = insert->triangle[t][2];
    (*out)->triangle[t][2] = insert->triangle[t][1];
  }
  return status;
}

ul_status ul_wall_tree(const ul_solid *solid, const ul_solid *const *inserts, size_t insert_count,
                       double fine_mm, const ul_job *job, ul_bvh **out, ul_error *err) {
  *out = NULL;
  ul_mesh **mesh = ul_new(insert_count + 1, sizeof *mesh); /* [0]: only when not the solid's own */
  const ul_mesh **seen = ul_new(insert_count + 1, sizeof *seen);
  ul_status status = mesh && seen ? UL_OK : ul_fail_memory(err);
  if (!status && solid->overlapping) status = bare_mesh(solid->mesh, fine_mm, job, &mesh[0], err);
  for (size_t k = 0; k < insert_count && !status; k++)
    status = turned(inserts[k]->mesh, &mesh[k + 1], err);
  if (!status) {
    for (size_t k = 0; k <= insert_count; k++) seen[k] = mesh[k] ? mesh[k] : solid->mesh;
    status = ul_bvh_new(seen, insert_count + 1, job, out, err);
  }
  for (size_t k = 0; mesh && k <= insert_count; k++) ul_mesh_free(mesh[k]);
  free(mesh);
  free(seen);
  return status;
}
