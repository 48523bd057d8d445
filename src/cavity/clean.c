#include "cavity/audit.h"

#include "base/memory.h"
#include "base/vec.h"
#include "cavity/exact.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Triangles that may be spare, in order of their number. */
typedef struct {
  uint32_t *triangle;
  uint8_t *flat; /* zero area; else a copy */
  size_t count, room, flat_room;
  uint32_t *group; /* union-find: spares that share an edge go or stay together */
  long *balance;   /* per group root: odd edges without it less odd edges with it */
} spares;

/* An edge of a spare triangle. */
typedef struct {
  uint32_t low, high;
  uint32_t spare; /* index into spares */
} spare_edge;

ul_status ul_keep_numbers(ul_survey *s) {
  if (s->welded_id) return UL_OK;
  s->welded_id = ul_new_raw(s->mesh->triangle_count, sizeof *s->welded_id);
  if (!s->welded_id) return UL_E_MEMORY;
  for (size_t t = 0; t < s->mesh->triangle_count; t++) s->welded_id[t] = (uint32_t)t;
  return UL_OK;
}

/* Takes out the triangles marked, numbers of the rest moving up. */
static ul_status compact(ul_survey *s, const uint8_t *drop) {
  ul_mesh *mesh = s->mesh;
  if (ul_keep_numbers(s) != UL_OK) return UL_E_MEMORY;
  size_t kept = 0;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    if (drop[t]) continue;
    memmove(mesh->triangle[kept], mesh->triangle[t], sizeof mesh->triangle[t]);
    mesh->part[kept] = mesh->part[t];
    s->welded_id[kept++] = s->welded_id[t];
  }
  mesh->triangle_count = kept;
  return UL_OK;
}

ul_status ul_drop_pointed(ul_survey *s) {
  uint8_t *drop = ul_new(s->mesh->triangle_count, 1);
  if (!drop) return UL_E_MEMORY;
  size_t count = 0;
  for (size_t t = 0; t < s->mesh->triangle_count; t++) {
    const uint32_t *c = s->mesh->triangle[t];
    if (c[0] != c[1] && c[1] != c[2] && c[2] != c[0]) continue;
    drop[t] = 1;
    count++;
    ul_note_triangle(s, UL_FAULT_DEGENERATE, 1, t);
  }
  ul_status status = count ? compact(s, drop) : UL_OK;
  free(drop);
  return status;
}

/* -- finding spares -- */

static bool has_no_area(const ul_mesh *mesh, size_t t) {
  const double *a = mesh->vertex_mm[mesh->triangle[t][0]];
  const double *b = mesh->vertex_mm[mesh->triangle[t][1]];
  const double *c = mesh->vertex_mm[mesh->triangle[t][2]];
  double ab[3], ac[3], normal[3];
  ul_sub(b, a, ab);
  ul_sub(c, a, ac);
  ul_cross(ab, ac, normal);
  if (ul_dot(normal, normal) > 1e-20 * ul_dot(ab, ab) * ul_dot(ac, ac)) return false;
  return ul_turn(a, b, c, 0, 1) == 0 && ul_turn(a, b, c, 1, 2) == 0 && ul_turn(a, b, c, 2, 0) == 0;
}

static ul_status add_spare(spares *list, size_t t, bool flat) {
  if (!ul_grow((void **)&list->triangle, &list->room, list->count + 1, sizeof *list->triangle) ||
      !ul_grow((void **)&list->flat, &list->flat_room, list->count + 1, sizeof *list->flat))
    return UL_E_MEMORY;
  list->triangle[list->count] = (uint32_t)t;
  list->flat[list->count++] = flat;
  return UL_OK;
}

/* A copy shares all three edges with its original, so it shows at an edge where two uses have the
 * same apex. Where only those two meet they are a sheet, which is a shell of its own. */
static void mark_copies(const ul_mesh *mesh, const ul_edges *e, uint8_t *copy) {
  for (size_t r = 0; r < e->run_count; r++) {
    const ul_edge_use *use = e->use + e->run[r].first;
    for (size_t i = 1; i < e->run[r].count; i++)
      for (size_t j = 0; j < i; j++)
        if (ul_half_apex(mesh, use[i].half) == ul_half_apex(mesh, use[j].half))
          copy[use[i].half / 3] = 1;
  }
}

static ul_status find_spares(const ul_survey *s, spares *list) {
  uint8_t *copy = ul_new(s->mesh->triangle_count, 1);
  if (!copy) return UL_E_MEMORY;
  mark_copies(s->mesh, &s->edges, copy);
  ul_status status = UL_OK;
  for (size_t t = 0; status == UL_OK && t < s->mesh->triangle_count; t++) {
    bool flat = has_no_area(s->mesh, t);
    if (flat || copy[t]) status = add_spare(list, t, flat);
  }
  free(copy);
  return status;
}

/* -- which of them may go -- */

static uint32_t root_of(uint32_t *group, uint32_t i) {
  while (group[i] != i) i = group[i] = group[group[i]];
  return i;
}

static int by_edge(const void *left, const void *right) {
  const spare_edge *a = left, *b = right;
  if (a->low != b->low) return a->low < b->low ? -1 : 1;
  if (a->high != b->high) return a->high < b->high ? -1 : 1;
  return a->spare < b->spare ? -1 : a->spare > b->spare;
}

static spare_edge *list_edges(const ul_mesh *mesh, const spares *list) {
  spare_edge *edge = ul_new_raw(3 * list->count, sizeof *edge);
  if (!edge) return NULL;
  for (size_t i = 0; i < 3 * list->count; i++) {
    uint32_t half = 3 * list->triangle[i / 3] + (uint32_t)(i % 3);
    uint32_t a = ul_half_from(mesh, half), b = ul_half_to(mesh, half);
    edge[i] = (spare_edge){a < b ? a : b, a < b ? b : a, (uint32_t)(i / 3)};
  }
  qsort(edge, 3 * list->count, sizeof *edge, by_edge);
  return edge;
}

static size_t same_edge(const spare_edge *edge, size_t first, size_t count) {
  size_t next = first + 1;
  while (next < count && edge[next].low == edge[first].low && edge[next].high == edge[first].high)
    next++;
  return next;
}

/* Weighs each group: taking it out is worth while when no more edges are odd afterwards. */
static ul_status weigh(const ul_survey *s, spares *list) {
  spare_edge *edge = list_edges(s->mesh, list);
  size_t edges = 3 * list->count;
  list->group = ul_new_raw(list->count, sizeof *list->group);
  list->balance = ul_new(list->count, sizeof *list->balance);
  if (!edge || !list->group || !list->balance) {
    free(edge);
    return UL_E_MEMORY;
  }
  for (size_t i = 0; i < list->count; i++) list->group[i] = (uint32_t)i;
  for (size_t i = 0, next; i < edges; i = next) {
    next = same_edge(edge, i, edges);
    for (size_t j = i + 1; j < next; j++)
      list->group[root_of(list->group, edge[j].spare)] = root_of(list->group, edge[i].spare);
  }
  for (size_t i = 0, next; i < edges; i = next) {
    next = same_edge(edge, i, edges);
    size_t before = ul_edges_find(&s->edges, edge[i].low, edge[i].high).count;
    size_t after = before - (next - i);
    list->balance[root_of(list->group, edge[i].spare)] += (long)(after % 2) - (long)(before % 2);
  }
  free(edge);
  return UL_OK;
}

static ul_status drop_groups(ul_survey *s, spares *list) {
  uint8_t *drop = ul_new(s->mesh->triangle_count, 1);
  if (!drop) return UL_E_MEMORY;
  size_t dropped = 0;
  for (size_t i = 0; i < list->count; i++) {
    bool go = list->balance[root_of(list->group, (uint32_t)i)] <= 0;
    if (list->flat[i] || go)
      ul_note_triangle(s, list->flat[i] ? UL_FAULT_DEGENERATE : UL_FAULT_DUPLICATE, 1,
                       list->triangle[i]);
    drop[list->triangle[i]] = go;
    dropped += go;
  }
  ul_status status = UL_OK;
  if (dropped) {
    status = compact(s, drop);
    ul_edges_free(&s->edges);
    if (status == UL_OK) status = ul_edges_make(s->mesh, s->job, &s->edges);
  }
  free(drop);
  return status;
}

ul_status ul_drop_spare(ul_survey *s) {
  spares list = {0};
  ul_status status = find_spares(s, &list);
  if (status == UL_OK && list.count) {
    status = weigh(s, &list);
    if (status == UL_OK) status = drop_groups(s, &list);
  }
  free(list.triangle);
  free(list.flat);
  free(list.group);
  free(list.balance);
  return status;
}
