#include "cavity/self_intersect.h"

#include "base/memory.h"
#include "base/parallel.h"
#include "cavity/box_tree.h"
#include "cavity/triangle_pair.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LEAVES_A_BLOCK = 1024, DEEPEST = 64 };

/* What one block of leaves finds. */
typedef struct {
  size_t self_count;
  uint32_t first, with; /* the pair whose lower number is lowest */
  ul_shell_meeting *meeting;
  size_t meeting_count, room;
} finding;

typedef struct {
  const ul_mesh *mesh;
  const ul_edges *edges;
  const uint32_t *shell_of;
  const signed char *outward;
  double touch_mm;
  ul_box_tree tree;
  finding *found; /* per block */
} search;

/* The middle of what the two triangles' boxes share. */
static void meeting_place(const ul_mesh *mesh, uint32_t t, uint32_t u, double at[3]) {
  for (int c = 0; c < 3; c++) {
    double low[2], high[2];
    for (int i = 0; i < 2; i++) {
      const uint32_t *corner = mesh->triangle[i ? u : t];
      double p = mesh->vertex_mm[corner[0]][c], q = mesh->vertex_mm[corner[1]][c],
             r = mesh->vertex_mm[corner[2]][c];
      low[i] = fmin(p, fmin(q, r));
      high[i] = fmax(p, fmax(q, r));
    }
    at[c] = (fmax(low[0], low[1]) + fmin(high[0], high[1])) / 2;
  }
}

static ul_status add_meeting(const search *s, finding *f, uint32_t t, uint32_t u, bool cross) {
  uint32_t a = s->shell_of[t], b = s->shell_of[u];
  ul_shell_meeting m = {.shell = {a < b ? a : b, a < b ? b : a}, .cross = cross, .triangle = t};
  for (size_t i = 0; i < f->meeting_count; i++)
    if (f->meeting[i].shell[0] == m.shell[0] && f->meeting[i].shell[1] == m.shell[1] &&
        f->meeting[i].cross == cross)
      return UL_OK;
  meeting_place(s->mesh, t, u, m.at_mm);
  if (!ul_grow((void **)&f->meeting, &f->room, f->meeting_count + 1, sizeof m)) return UL_E_MEMORY;
  f->meeting[f->meeting_count++] = m;
  return UL_OK;
}

static ul_status compare(const search *s, finding *f, const ul_face *face, uint32_t other) {
  if (!s->outward[s->shell_of[face->triangle]] || !s->outward[s->shell_of[other]]) return UL_OK;
  ul_pair pair = ul_face_pair(s->mesh, s->edges, s->touch_mm, face, other);
  if (pair == UL_PAIR_APART) return UL_OK;
  uint32_t t = face->triangle < other ? face->triangle : other;
  uint32_t u = face->triangle < other ? other : face->triangle;
  uint32_t a = s->shell_of[t], b = s->shell_of[u];
  if (a != b) {
    /* Wound outwards, do both have their solid on the same side? Else they only touch. */
    bool same_side = (pair == UL_PAIR_ALIKE) == (s->outward[a] == s->outward[b]);
    bool cross = pair == UL_PAIR_CROSS;
    return cross || same_side ? add_meeting(s, f, t, u, cross) : UL_OK;
  }
  if (f->self_count++ == 0 || t < f->first || (t == f->first && u < f->with)) {
    f->first = t;
    f->with = u;
  }
  return UL_OK;
}

/* All triangles of one leaf with those of another, or of itself. */
static ul_status compare_leaves(const search *s, finding *f, const ul_face *face, size_t leaf,
                                size_t other) {
  const ul_box_tree *tree = &s->tree;
  for (size_t i = UL_BOX_LEAF * leaf; i < UL_BOX_LEAF * (leaf + 1) && i < tree->count; i++) {
    if (leaf != other && !ul_boxes_meet(&tree->triangle[i], &tree->node[tree->width + other]))
      continue;
    size_t j = leaf == other ? i + 1 : UL_BOX_LEAF * other;
    for (; j < UL_BOX_LEAF * (other + 1) && j < tree->count; j++) {
      if (!ul_boxes_meet(&tree->triangle[i], &tree->triangle[j])) continue;
      ul_status status = compare(s, f, &face[i % UL_BOX_LEAF], tree->order[j]);
      if (status != UL_OK) return status;
    }
  }
  return UL_OK;
}

/* The leaves under `node` whose boxes meet the leaf's. */
static ul_status descend(const search *s, finding *f, const ul_face *face, size_t leaf,
                         size_t node) {
  const ul_box_tree *tree = &s->tree;
  const ul_box *box = &tree->node[tree->width + leaf];
  size_t stack[DEEPEST], depth = 0;
  stack[depth++] = node;
  while (depth > 0) {
    size_t n = stack[--depth];
    if (!ul_boxes_meet(box, &tree->node[n])) continue;
    if (n < tree->width) {
      stack[depth++] = 2 * n + 1;
      stack[depth++] = 2 * n;
      continue;
    }
    ul_status status = compare_leaves(s, f, face, leaf, n - tree->width);
    if (status != UL_OK) return status;
  }
  return UL_OK;
}

/* Every leaf looks at itself and at what comes after it: the right-hand neighbours on the way up.
 */
static ul_status search_block(void *context, size_t block, int worker) {
  (void)worker;
  const search *s = context;
  finding *f = &s->found[block];
  size_t leaf = block * LEAVES_A_BLOCK, end = leaf + LEAVES_A_BLOCK;
  if (end > s->tree.width) end = s->tree.width;
  for (; leaf < end && UL_BOX_LEAF * leaf < s->tree.count; leaf++) {
    ul_face face[UL_BOX_LEAF];
    for (size_t i = UL_BOX_LEAF * leaf; i < UL_BOX_LEAF * (leaf + 1) && i < s->tree.count; i++)
      ul_face_load(s->mesh, s->tree.order[i], s->touch_mm, &face[i % UL_BOX_LEAF]);
    ul_status status = compare_leaves(s, f, face, leaf, leaf);
    for (size_t n = s->tree.width + leaf; status == UL_OK && n > 1; n /= 2)
      if (n % 2 == 0) status = descend(s, f, face, leaf, n + 1);
    if (status != UL_OK) return status;
  }
  return UL_OK;
}

/* -- gathering -- */

static int by_shells(const void *left, const void *right) {
  const ul_shell_meeting *a = left, *b = right;
  for (int i = 0; i < 2; i++)
    if (a->shell[i] != b->shell[i]) return a->shell[i] < b->shell[i] ? -1 : 1;
  if (a->cross != b->cross) return a->cross ? -1 : 1; /* to cross says more */
  return a->triangle < b->triangle ? -1 : a->triangle > b->triangle;
}

static void gather_self(const search *s, size_t blocks, ul_crossings *out) {
  uint32_t with = 0;
  for (size_t b = 0; b < blocks; b++) {
    const finding *f = &s->found[b];
    if (f->self_count == 0) continue;
    if (out->self_count == 0 || f->first < out->triangle ||
        (f->first == out->triangle && f->with < with)) {
      out->triangle = f->first;
      with = f->with;
    }
    out->self_count += f->self_count;
  }
  if (out->self_count > 0) meeting_place(s->mesh, out->triangle, with, out->at_mm);
}

static ul_status gather_meetings(const search *s, size_t blocks, ul_crossings *out) {
  size_t total = 0, kept = 0;
  for (size_t b = 0; b < blocks; b++) total += s->found[b].meeting_count;
  if (total == 0) return UL_OK;
  ul_shell_meeting *all = out->meeting = ul_new_raw(total, sizeof *all);
  if (!all) return UL_E_MEMORY;
  total = 0;
  for (size_t b = 0; b < blocks; b++)
    for (size_t i = 0; i < s->found[b].meeting_count; i++) all[total++] = s->found[b].meeting[i];
  qsort(all, total, sizeof *all, by_shells);
  for (size_t i = 0; i < total; i++)
    if (i == 0 || all[i].shell[0] != all[kept - 1].shell[0] ||
        all[i].shell[1] != all[kept - 1].shell[1])
      all[kept++] = all[i];
  out->meeting_count = kept;
  return UL_OK;
}

ul_status ul_crossings_find(const ul_mesh *mesh, const ul_edges *edges, const uint32_t *shell_of,
                            const signed char *outward, double touch_mm, const ul_job *job,
                            ul_crossings *out) {
  memset(out, 0, sizeof *out);
  search s = {
      .mesh = mesh, .edges = edges, .shell_of = shell_of, .outward = outward, .touch_mm = touch_mm};
  ul_status status = ul_box_tree_make(mesh, touch_mm, job, &s.tree);
  size_t blocks = (s.tree.width + LEAVES_A_BLOCK - 1) / LEAVES_A_BLOCK;
  s.found = ul_new(blocks, sizeof *s.found);
  if (!s.found) status = UL_E_MEMORY;
  if (status == UL_OK) status = ul_parallel(job, "self-intersections", blocks, search_block, &s);
  if (status == UL_OK) gather_self(&s, blocks, out);
  if (status == UL_OK) status = gather_meetings(&s, blocks, out);
  for (size_t b = 0; s.found && b < blocks; b++) free(s.found[b].meeting);
  free(s.found);
  ul_box_tree_free(&s.tree);
  return status;
}

void ul_crossings_free(ul_crossings *crossings) {
  free(crossings->meeting);
  memset(crossings, 0, sizeof *crossings);
}
