#include "cavity/skin.h"

#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"
#include "cavity/box_tree.h"
#include "cavity/bvh.h"
#include "cavity/cuts.h"
#include "cavity/triangle_pair.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { A_BLOCK = 256, DEEPEST = 64 };

/* How far before and behind a piece the winding is asked for, in touches. */
static const double STEP = 4;

typedef struct {
  const ul_mesh *mesh;
  double touch_mm;
  ul_box_tree tree;
  ul_face *face;         /* of every triangle, in the tree's order */
  ul_bvh *whole, *taken; /* what is gone round, and what is taken out of it; NULL: nothing is */
  size_t whole_count;
  bool plain;
  ul_box taken_box;
  ul_skin *block;
} shells;

/* One triangle being cut. */
typedef struct {
  const shells *u;
  ul_face face;
  double normal[3], x[3], y[3]; /* unit length; the two coordinates on the face */
  ul_cuts *cuts;
  uint32_t *alike; /* lower-numbered triangles in its plane that face the same way */
  size_t alike_count, alike_room;
  bool met; /* see ul_skin_piece */
} cutting;

static void on_face(const cutting *c, const double p[3], double out[2]) {
  double d[3];
  ul_sub(p, c->face.at[0], d);
  out[0] = ul_dot(d, c->x);
  out[1] = ul_dot(d, c->y);
}

/* -- cutting -- */

static bool has_corner(const uint32_t corner[3], uint32_t vertex) {
  return corner[0] == vertex || corner[1] == vertex || corner[2] == vertex;
}

static bool shares_a_corner(const uint32_t a[3], const uint32_t b[3]) {
  return has_corner(a, b[0]) || has_corner(a, b[1]) || has_corner(a, b[2]);
}

static void heights(const cutting *c, const ul_face *other, double h[3]) {
  for (int k = 0; k < 3; k++) {
    double d[3];
    ul_sub(other->at[k], c->face.at[0], d);
    h[k] = has_corner(c->face.corner, other->corner[k]) ? 0 : ul_dot(d, c->normal);
    if (fabs(h[k]) <= c->u->touch_mm) h[k] = 0;
  }
}

static bool cut_along_edges(cutting *c, const ul_face *other) {
  double p[3][2];
  for (int k = 0; k < 3; k++) on_face(c, other->at[k], p[k]);
  for (int k = 0; k < 3; k++)
    if (!ul_cuts_add(c->cuts, p[k], p[(k + 1) % 3])) return false;
  if (other->triangle > c->face.triangle || !(ul_dot(other->normal, c->normal) > 0)) return true;
  if (!ul_grow((void **)&c->alike, &c->alike_room, c->alike_count + 1, sizeof *c->alike))
    return false;
  c->alike[c->alike_count++] = other->triangle;
  return true;
}

/* Where the other goes through the face's plane, or has an edge in it. */
static bool cut_across(cutting *c, const ul_face *other, const double h[3]) {
  double end[2][2];
  int ends = 0;
  for (int k = 0; k < 3 && ends < 2; k++) {
    int next = (k + 1) % 3;
    double at[3];
    if (h[k] != 0 && h[k] * h[next] >= 0) continue;
    double share = h[k] == 0 ? 0 : h[k] / (h[k] - h[next]);
    for (int a = 0; a < 3; a++)
      at[a] = other->at[k][a] + share * (other->at[next][a] - other->at[k][a]);
    on_face(c, at, end[ends++]);
  }
  return ends < 2 || ul_cuts_add(c->cuts, end[0], end[1]);
}

static bool cut_by(cutting *c, const ul_face *other) {
  double h[3];
  heights(c, other, h);
  if ((h[0] > 0 && h[1] > 0 && h[2] > 0) || (h[0] < 0 && h[1] < 0 && h[2] < 0)) return true;
  c->met = c->met || !shares_a_corner(c->face.corner, other->corner);
  if (h[0] == 0 && h[1] == 0 && h[2] == 0) return cut_along_edges(c, other);
  return cut_across(c, other, h);
}

/* Neither goes through the other: both are of a surface that goes round nothing twice. */
static bool are_plain(const cutting *c, uint32_t triangle) {
  return c->u->plain && c->face.triangle < c->u->whole_count && triangle < c->u->whole_count;
}

static bool cut_leaf(cutting *c, const ul_box *box, size_t leaf) {
  const ul_box_tree *tree = &c->u->tree;
  for (size_t j = UL_BOX_LEAF * leaf; j < UL_BOX_LEAF * (leaf + 1) && j < tree->count; j++)
    if (tree->order[j] != c->face.triangle && !are_plain(c, tree->order[j]) &&
        ul_boxes_meet(box, &tree->triangle[j]) && !cut_by(c, &c->u->face[j]))
      return false;
  return true;
}

static bool cut_by_all(cutting *c, const ul_box *box) {
  const ul_box_tree *tree = &c->u->tree;
  size_t stack[DEEPEST], depth = 0;
  stack[depth++] = 1;
  while (depth > 0) {
    size_t n = stack[--depth];
    if (!ul_boxes_meet(box, &tree->node[n])) continue;
    if (n >= tree->width) {
      if (!cut_leaf(c, box, n - tree->width)) return false;
      continue;
    }
    stack[depth++] = 2 * n + 1;
    stack[depth++] = 2 * n;
  }
  return true;
}

/* -- keeping -- */

static bool is_in(const ul_mesh *mesh, uint32_t triangle, const double normal[3],
                  const double at[3]) {
  for (int k = 0; k < 3; k++) {
    const double *a = mesh->vertex_mm[mesh->triangle[triangle][k]];
    double edge[3], d[3], left[3];
    ul_sub(mesh->vertex_mm[mesh->triangle[triangle][(k + 1) % 3]], a, edge);
    ul_sub(at, a, d);
    ul_cross(edge, d, left);
    if (ul_dot(left, normal) < 0) return false;
  }
  return true;
}

static bool is_room(const shells *u, const double at[3]) {
  return ul_bvh_winding(u->whole, at) > 0 && (!u->taken || ul_bvh_winding(u->taken, at) == 0);
}

static bool is_skin(const cutting *c, const double at[3]) {
  for (size_t i = 0; i < c->alike_count; i++)
    if (is_in(c->u->mesh, c->alike[i], c->normal, at)) return false;
  double before[3], behind[3];
  ul_add_scaled(at, STEP * c->u->touch_mm, c->normal, before);
  ul_add_scaled(at, -STEP * c->u->touch_mm, c->normal, behind);
  if (are_plain(c, 0)) return !c->u->taken || ul_bvh_winding(c->u->taken, behind) == 0;
  return !is_room(c->u, before) && is_room(c->u, behind);
}

static bool add_corner(ul_skin *s, const double at[3]) {
  if (!ul_grow((void **)&s->corner, &s->corner_room, s->corner_count + 1, sizeof *s->corner))
    return false;
  ul_copy3(at, s->corner[s->corner_count++]);
  return true;
}

static void in_space(const cutting *c, const double p[2], double out[3]) {
  ul_add_scaled(c->face.at[0], p[0], c->x, out);
  ul_add_scaled(out, p[1], c->y, out);
}

static bool keep_piece(const cutting *c, const ul_region *r, ul_skin *s) {
  if (!ul_grow((void **)&s->piece, &s->piece_room, s->piece_count + 1, sizeof *s->piece))
    return false;
  s->piece[s->piece_count++] = (ul_skin_piece){s->corner_count, r->count, c->face.triangle, c->met};
  bool uncut = c->cuts->region_count == 1;
  for (uint32_t i = 0; i < r->count; i++) {
    double at[3];
    in_space(c, c->cuts->corner[r->first + i], at);
    if (!add_corner(s, uncut ? c->face.at[i] : at)) return false;
  }
  return true;
}

static bool keep_if_skin(const cutting *c, const ul_region *r, ul_skin *s) {
  double middle[2] = {0, 0}, at[3];
  if (r->count < 3) return true;
  for (uint32_t i = 0; i < r->count; i++)
    for (int a = 0; a < 2; a++) middle[a] += c->cuts->corner[r->first + i][a] / r->count;
  in_space(c, middle, at);
  return !is_skin(c, at) || keep_piece(c, r, s);
}

/* -- one triangle -- */

/* False: no area, no side. */
static bool set_frame(cutting *c) {
  double ab[3], ac[3];
  ul_sub(c->face.at[1], c->face.at[0], ab);
  ul_sub(c->face.at[2], c->face.at[0], ac);
  ul_cross(ab, ac, c->normal);
  double area = ul_norm(c->normal), length = ul_norm(ab);
  if (!(area > 0 && length > 0)) return false;
  for (int a = 0; a < 3; a++) {
    c->normal[a] /= area;
    c->x[a] = ab[a] / length;
  }
  ul_cross(c->normal, c->x, c->y);
  return true;
}

static bool cut_triangle(cutting *c, size_t place, ul_skin *s) {
  const ul_box_tree *tree = &c->u->tree;
  c->face = c->u->face[place];
  if (!set_frame(c)) return true;
  double corner[3][2];
  for (int k = 0; k < 3; k++) on_face(c, c->face.at[k], corner[k]);
  c->alike_count = 0;
  c->met = false;
  if (!ul_cuts_begin(c->cuts, (const double(*)[2])corner, c->u->touch_mm)) return false;
  const ul_box *box = &tree->triangle[place];
  if (are_plain(c, 0) && !ul_boxes_meet(box, &c->u->taken_box))
    return keep_piece(c, &c->cuts->region[0], s);
  bool thin = ul_dot(c->face.normal, c->face.normal) == 0;
  if (!thin && !cut_by_all(c, box)) return false;
  for (size_t i = 0; i < c->cuts->region_count; i++)
    if (c->cuts->region[i].side[0] == 0 && !keep_if_skin(c, &c->cuts->region[i], s)) return false;
  return true;
}

static ul_status cut_block(void *context, size_t block, int worker) {
  (void)worker;
  const shells *u = context;
  ul_cuts cuts = {0};
  cutting c = {.u = u, .cuts = &cuts};
  size_t begin = block * A_BLOCK, end = begin + A_BLOCK;
  if (end > u->tree.count) end = u->tree.count;
  bool ok = true;
  for (size_t i = begin; i < end && ok; i++) ok = cut_triangle(&c, i, &u->block[block]);
  ul_cuts_free(&cuts);
  free(c.alike);
  return ok ? UL_OK : UL_E_MEMORY;
}

/* -- the whole -- */

static int by_source(const void *a, const void *b) {
  const ul_skin_piece *p = a, *q = b;
  if (p->source != q->source) return p->source < q->source ? -1 : 1;
  return (p->first > q->first) - (p->first < q->first);
}

static ul_status join_blocks(const ul_skin *block, size_t blocks, ul_skin *out) {
  size_t corners = 0, pieces = 0;
  for (size_t k = 0; k < blocks; k++) {
    corners += block[k].corner_count;
    pieces += block[k].piece_count;
  }
  out->corner = ul_new_raw(out->corner_room = corners, sizeof *out->corner);
  out->piece = ul_new_raw(out->piece_room = pieces, sizeof *out->piece);
  if (!out->corner || !out->piece) return UL_E_MEMORY;
  for (size_t k = 0; k < blocks; k++) {
    for (size_t i = 0; i < block[k].piece_count; i++) {
      ul_skin_piece *p = &out->piece[out->piece_count++];
      *p = block[k].piece[i];
      p->first += out->corner_count;
    }
    for (size_t i = 0; i < block[k].corner_count; i++)
      ul_copy3(block[k].corner[i], out->corner[out->corner_count++]);
  }
  if (pieces) qsort(out->piece, pieces, sizeof *out->piece, by_source);
  return UL_OK;
}

void ul_skin_clear(ul_skin *skin) {
  free(skin->corner);
  free(skin->piece);
  *skin = (ul_skin){0};
}

/* A tree over the triangles from number `from` to before `to`, as a mesh that shares the vertices.
 */
static ul_status tree_of(const ul_mesh *mesh, size_t from, size_t to, const ul_job *job,
                         ul_bvh **out) {
  ul_mesh part = *mesh;
  part.triangle += from;
  part.triangle_count = to - from;
  const ul_mesh *only = &part;
  return from < to ? ul_bvh_new(&only, 1, job, out, NULL) : UL_OK;
}

/* The box of what is taken out, with room for a step before or behind a piece. */
static void box_taken(shells *u) {
  float more = (float)(2 * STEP * u->touch_mm);
  for (int c = 0; c < 3; c++) u->taken_box.low[c] = INFINITY, u->taken_box.high[c] = -INFINITY;
  for (size_t i = 0; i < u->tree.count; i++) {
    if (u->tree.order[i] < u->whole_count) continue;
    for (int c = 0; c < 3; c++) {
      u->taken_box.low[c] = fminf(u->taken_box.low[c], u->tree.triangle[i].low[c] - more);
      u->taken_box.high[c] = fmaxf(u->taken_box.high[c], u->tree.triangle[i].high[c] + more);
    }
  }
}

/* Where many triangles meet in one corner, each of them is compared with all the others. */
static ul_status load_faces(shells *u) {
  u->face = ul_new_raw(u->tree.count, sizeof *u->face);
  if (!u->face) return UL_E_MEMORY;
  for (size_t i = 0; i < u->tree.count; i++)
    ul_face_load(u->mesh, u->tree.order[i], u->touch_mm, &u->face[i]);
  return UL_OK;
}

ul_status ul_skin_cut(const ul_mesh *mesh, size_t whole, bool plain, double touch_mm,
                      const ul_job *job, ul_skin *out) {
  *out = (ul_skin){0};
  shells u = {.mesh = mesh, .touch_mm = touch_mm, .whole_count = whole, .plain = plain};
  size_t blocks = (mesh->triangle_count + A_BLOCK - 1) / A_BLOCK;
  ul_status status = ul_box_tree_make(mesh, touch_mm, job, &u.tree);
  if (status == UL_OK) status = load_faces(&u);
  if (status == UL_OK) status = tree_of(mesh, 0, whole, job, &u.whole);
  if (status == UL_OK) status = tree_of(mesh, whole, mesh->triangle_count, job, &u.taken);
  if (status == UL_OK) box_taken(&u);
  u.block = ul_new(blocks, sizeof *u.block);
  if (status == UL_OK && !u.block) status = UL_E_MEMORY;
  if (status == UL_OK) status = ul_parallel(job, "overlaps", blocks, cut_block, &u);
  if (status == UL_OK) status = join_blocks(u.block, blocks, out);
  for (size_t k = 0; u.block && k < blocks; k++) ul_skin_clear(&u.block[k]);
  free(u.block);
  free(u.face);
  ul_bvh_free(u.whole);
  ul_bvh_free(u.taken);
  ul_box_tree_free(&u.tree);
  return status;
}
