/* tree.c - the merge tree of a graph, by Kruskal's algorithm from the highest edge down.
 *
 * First the sweep makes a raw tree with one node an item, and one more for every edge that joins
 * two regions below both of their lowest items. Then raw nodes are folded into arcs: a node on the
 * level of its parent is its parent (a tie is no step), and a node with a single child goes on with
 * that child's arc. */
#include "ullage/tree.h"

#include "base/fail.h"
#include "base/forest.h"
#include "base/memory.h"
#include "base/order.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#define NONE UINT32_MAX

typedef struct {
  size_t count; /* items first, joins after them */
  double *level;
  uint32_t *parent; /* NONE at a root */
} raw_tree;

typedef struct {
  uint32_t *up;     /* the union-find forest over items */
  uint32_t *newest; /* per representative: the raw node where its region ends so far */
  uint32_t *order;  /* the edges, highest first */
} sweep;

/* --- the sweep --- */

static void join(raw_tree *raw, sweep *s, uint32_t a, uint32_t b, double level) {
  uint32_t ra = ul_root(s->up, a), rb = ul_root(s->up, b);
  if (ra == rb) return;
  uint32_t x = s->newest[ra], y = s->newest[rb], at;
  if (raw->level[x] == level)
    at = x;
  else if (raw->level[y] == level)
    at = y;
  else {
    at = (uint32_t)raw->count++;
    raw->level[at] = level;
    raw->parent[at] = NONE;
  }
  if (x != at) raw->parent[x] = at;
  if (y != at) raw->parent[y] = at;
  s->up[rb] = ra;
  s->newest[ra] = at;
}

static ul_status sweep_edges(const ul_tree_input *in, raw_tree *raw, sweep *s) {
  for (size_t i = 0; i < in->item_count; i++) {
    raw->level[i] = in->value[i];
    raw->parent[i] = NONE;
    s->up[i] = s->newest[i] = (uint32_t)i;
  }
  raw->count = in->item_count;
  ul_status status = ul_order_descending(in->edge_value, in->edge_count, s->order);
  for (size_t i = 0; status == UL_OK && i < in->edge_count; i++) {
    const uint32_t *edge = in->edge[s->order[i]];
    join(raw, s, edge[0], edge[1], in->edge_value[s->order[i]]);
  }
  return status;
}

static ul_status grow_raw_tree(const ul_tree_input *in, raw_tree *raw) {
  size_t most =
      in->item_count + (in->item_count < in->edge_count ? in->item_count : in->edge_count);
  sweep s = {ul_new_raw(in->item_count, sizeof *s.up), ul_new_raw(in->item_count, sizeof *s.newest),
             ul_new_raw(in->edge_count, sizeof *s.order)};
  raw->level = ul_new_raw(most, sizeof *raw->level);
  raw->parent = ul_new_raw(most, sizeof *raw->parent);
  ul_status status = UL_E_MEMORY;
  if (s.up && s.newest && s.order && raw->level && raw->parent) status = sweep_edges(in, raw, &s);
  free(s.up);
  free(s.newest);
  free(s.order);
  return status;
}

/* --- folding raw nodes into arcs --- */

typedef struct {
  uint32_t *group; /* per raw node: the topmost node it ties with, which stands for all of them */
  uint32_t *kids;  /* per group: groups right above it */
  uint32_t *arc;   /* per group; until the group is met, the arc of the child met last */
  uint32_t *order; /* raw nodes, highest first */
  uint32_t *joins; /* per arc: the group at which it ends, NONE at a root */
} folding;

/* Ties form chains of any length: follow them once, then point everything passed at the end. */
static void tie_groups(const raw_tree *raw, folding *f) {
  for (size_t i = 0; i < raw->count; i++) {
    uint32_t p = raw->parent[i];
    f->group[i] = p != NONE && raw->level[p] == raw->level[i] ? p : (uint32_t)i;
  }
  for (size_t i = 0; i < raw->count; i++) f->group[i] = ul_root(f->group, (uint32_t)i);
  for (size_t i = 0; i < raw->count; i++) f->kids[i] = 0;
  for (size_t i = 0; i < raw->count; i++)
    if (f->group[i] == i && raw->parent[i] != NONE) f->kids[f->group[raw->parent[i]]]++;
}

/* Groups are met from above, so a group's children have their arcs when it is met. */
static void fold(const raw_tree *raw, folding *f, ul_tree *tree) {
  for (size_t n = 0; n < raw->count; n++) {
    uint32_t g = f->order[n];
    if (f->group[g] != g) continue;
    if (f->kids[g] != 1) {
      f->arc[g] = (uint32_t)tree->arc_count++;
      tree->arc[f->arc[g]] =
          (ul_arc){.parent = NONE, .leaf = NONE, .top = raw->level[g], .child_count = f->kids[g]};
      tree->leaf_count += f->kids[g] == 0;
    }
    uint32_t a = f->arc[g], below = raw->parent[g];
    tree->arc[a].bottom = raw->level[g];
    f->joins[a] = NONE;
    if (below == NONE) continue;
    below = f->group[below];
    tree->arc[a].bottom = raw->level[below];
    if (f->kids[below] == 1)
      f->arc[below] = a;
    else
      f->joins[a] = below;
  }
  for (size_t a = 0; a < tree->arc_count; a++)
    if (f->joins[a] != NONE) tree->arc[a].parent = f->arc[f->joins[a]];
}

static void fill_arcs(const ul_tree_input *in, const folding *f, ul_tree *tree) {
  for (size_t i = 0; i < in->item_count; i++) {
    ul_arc *arc = &tree->arc[tree->arc_of_item[i] = f->arc[f->group[i]]];
    arc->weight += in->weight[i];
    if (arc->child_count == 0 && (arc->leaf == NONE || in->value[i] > in->value[arc->leaf]))
      arc->leaf = (uint32_t)i;
  }
  for (size_t a = 0; a < tree->arc_count; a++) {
    ul_arc *arc = &tree->arc[a];
    arc->subtree_weight += arc->weight;
    if (arc->parent == NONE) continue;
    ul_arc *below = &tree->arc[arc->parent];
    below->subtree_weight += arc->subtree_weight;
    bool first = below->leaf == NONE;
    double lead = first ? 1 : in->value[arc->leaf] - in->value[below->leaf];
    if (lead > 0 || (lead == 0 && arc->leaf < below->leaf)) below->leaf = arc->leaf;
  }
}

static ul_status fold_raw_tree(const ul_tree_input *in, const raw_tree *raw, ul_tree *tree) {
  size_t n = raw->count;
  folding f = {ul_new_raw(n, sizeof *f.group), ul_new_raw(n, sizeof *f.kids),
               ul_new_raw(n, sizeof *f.arc), ul_new_raw(n, sizeof *f.order),
               ul_new_raw(n, sizeof *f.joins)};
  tree->arc = ul_new_raw(n, sizeof *tree->arc);
  tree->arc_of_item = ul_new_raw(in->item_count, sizeof *tree->arc_of_item);
  ul_status status = UL_E_MEMORY;
  if (f.group && f.kids && f.arc && f.order && f.joins && tree->arc && tree->arc_of_item)
    status = ul_order_descending(raw->level, n, f.order);
  if (status == UL_OK) {
    tie_groups(raw, &f);
    fold(raw, &f, tree);
    fill_arcs(in, &f, tree);
  }
  free(f.group);
  free(f.kids);
  free(f.arc);
  free(f.order);
  free(f.joins);
  return status;
}

/* --- the door --- */

/* A join above one of its ends would be a bridge in mid air. */
static ul_status refuse_bad_input(const ul_tree_input *in, ul_error *err) {
  if (in->item_count > UINT32_MAX / 2 || in->edge_count > UINT32_MAX - 1)
    return ul_fail(err, UL_E_LIMIT,
                   "an air tree of %zu places and %zu joins: at most 2^31 places are possible",
                   in->item_count, in->edge_count);
  for (size_t i = 0; i < in->item_count; i++)
    if (!isfinite(in->value[i]) || !(in->weight[i] >= 0))
      return ul_fail(
          err, UL_E_NUMBER,
          "place %zu of an air tree has value %g and volume %g: both must be finite, the "
          "volume not negative",
          i, in->value[i], in->weight[i]);
  for (size_t i = 0; i < in->edge_count; i++) {
    uint32_t a = in->edge[i][0], b = in->edge[i][1];
    bool known = a < in->item_count && b < in->item_count;
    if (!known || !(in->edge_value[i] <= fmin(in->value[a], in->value[b])) ||
        !isfinite(in->edge_value[i]))
      return ul_fail(err, UL_E_NUMBER,
                     "join %zu of an air tree, of places %u and %u at level %g, names no place or "
                     "lies above one of them",
                     i, a, b, in->edge_value[i]);
  }
  return UL_OK;
}

ul_status ul_tree_build(const ul_tree_input *in, ul_tree **out, ul_error *err) {
  *out = NULL;
  ul_status status = refuse_bad_input(in, err);
  if (status != UL_OK) return status;
  raw_tree raw = {0};
  ul_tree *tree = ul_new(1, sizeof *tree);
  status = tree ? grow_raw_tree(in, &raw) : UL_E_MEMORY;
  if (status == UL_OK) status = fold_raw_tree(in, &raw, tree);
  free(raw.level);
  free(raw.parent);
  if (status == UL_OK) {
    *out = tree;
    return UL_OK;
  }
  ul_tree_free(tree);
  return ul_fail_memory(err);
}

void ul_tree_free(ul_tree *tree) {
  if (!tree) return;
  free(tree->arc);
  free(tree->arc_of_item);
  free(tree);
}
