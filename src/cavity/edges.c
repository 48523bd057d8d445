#include "cavity/edges.h"

#include "base/memory.h"
#include "base/parallel.h"

#include <stdlib.h>
#include <string.h>

enum { VERTICES_A_BLOCK = 8192, SHORT_BUCKET = 24 };

typedef struct {
  ul_edge_run *run;
  size_t count, room;
} run_list;

typedef struct {
  const ul_mesh *mesh;
  ul_edges *edges;
  run_list *list; /* per block */
} joining;

/* Counting sort by lower vertex; within a vertex the half-edges stay in order. */
static ul_status distribute(const ul_mesh *mesh, ul_edges *e) {
  size_t vertices = mesh->vertex_count, halves = 3 * mesh->triangle_count;
  e->start = ul_new(vertices + 2, sizeof *e->start);
  e->use = ul_new_raw(halves, sizeof *e->use);
  e->twin = ul_new_raw(halves, sizeof *e->twin);
  if (!e->start || !e->use || !e->twin) return UL_E_MEMORY;
  for (size_t t = 0; t < mesh->triangle_count; t++)
    for (int k = 0; k < 3; k++) {
      uint32_t a = mesh->triangle[t][k], b = mesh->triangle[t][(k + 1) % 3];
      e->start[(a < b ? a : b) + 2]++;
    }
  for (size_t v = 2; v < vertices + 2; v++) e->start[v] += e->start[v - 1];
  for (size_t t = 0; t < mesh->triangle_count; t++)
    for (int k = 0; k < 3; k++) {
      uint32_t a = mesh->triangle[t][k], b = mesh->triangle[t][(k + 1) % 3];
      size_t at = e->start[(a < b ? a : b) + 1]++;
      e->use[at] = (ul_edge_use){a < b ? b : a, (uint32_t)(3 * t + (size_t)k)};
    }
  return UL_OK;
}

static int by_high_then_half(const void *left, const void *right) {
  const ul_edge_use *a = left, *b = right;
  if (a->high != b->high) return a->high < b->high ? -1 : 1;
  return a->half < b->half ? -1 : a->half > b->half;
}

static void sort_bucket(ul_edge_use *use, size_t count) {
  if (count > SHORT_BUCKET) {
    qsort(use, count, sizeof *use, by_high_then_half);
    return;
  }
  for (size_t i = 1; i < count; i++) {
    ul_edge_use u = use[i];
    size_t j = i;
    for (; j > 0 && use[j - 1].high > u.high; j--) use[j] = use[j - 1];
    use[j] = u;
  }
}

static bool take_edge(ul_edges *e, run_list *list, size_t first, size_t count) {
  ul_edge_use *u = e->use + first;
  if (count == 2) {
    e->twin[u[0].half] = u[1].half;
    e->twin[u[1].half] = u[0].half;
    return true;
  }
  for (size_t i = 0; i < count; i++) e->twin[u[i].half] = UL_NONE;
  if (!ul_grow((void **)&list->run, &list->room, list->count + 1, sizeof *list->run)) return false;
  list->run[list->count++] = (ul_edge_run){first, count};
  return true;
}

static ul_status join_block(void *context, size_t block, int worker) {
  (void)worker;
  joining *j = context;
  ul_edges *e = j->edges;
  size_t vertex = block * VERTICES_A_BLOCK, end = vertex + VERTICES_A_BLOCK;
  if (end > j->mesh->vertex_count) end = j->mesh->vertex_count;
  for (; vertex < end; vertex++) {
    size_t first = e->start[vertex], last = e->start[vertex + 1];
    sort_bucket(e->use + first, last - first);
    for (size_t next; first < last; first = next) {
      for (next = first + 1; next < last && e->use[next].high == e->use[first].high;) next++;
      if (!take_edge(e, &j->list[block], first, next - first)) return UL_E_MEMORY;
    }
  }
  return UL_OK;
}

static ul_status gather_runs(ul_edges *e, const run_list *list, size_t blocks) {
  size_t total = 0;
  for (size_t b = 0; b < blocks; b++) total += list[b].count;
  e->run = ul_new_raw(total, sizeof *e->run);
  if (!e->run) return UL_E_MEMORY;
  for (size_t b = 0; b < blocks; b++) {
    if (list[b].count) memcpy(e->run + e->run_count, list[b].run, list[b].count * sizeof *e->run);
    e->run_count += list[b].count;
  }
  return UL_OK;
}

ul_status ul_edges_make(const ul_mesh *mesh, const ul_job *job, ul_edges *edges) {
  memset(edges, 0, sizeof *edges);
  ul_status status = distribute(mesh, edges);
  if (status != UL_OK) return status;
  size_t blocks = (mesh->vertex_count + VERTICES_A_BLOCK - 1) / VERTICES_A_BLOCK;
  joining j = {mesh, edges, ul_new(blocks, sizeof *j.list)};
  if (!j.list) return UL_E_MEMORY;
  status = ul_parallel(job, NULL, blocks, join_block, &j);
  if (status == UL_OK) status = gather_runs(edges, j.list, blocks);
  for (size_t b = 0; b < blocks; b++) free(j.list[b].run);
  free(j.list);
  return status;
}

void ul_edges_free(ul_edges *edges) {
  free(edges->start);
  free(edges->use);
  free(edges->twin);
  free(edges->run);
  memset(edges, 0, sizeof *edges);
}

ul_edge_run ul_edges_find(const ul_edges *edges, uint32_t a, uint32_t b) {
  uint32_t low = a < b ? a : b, high = a < b ? b : a;
  size_t first = edges->start[low], last = edges->start[low + 1];
  while (first < last && edges->use[first].high != high) first++;
  ul_edge_run run = {first, 0};
  while (first + run.count < last && edges->use[first + run.count].high == high) run.count++;
  return run;
}

static uint32_t turned_half(const uint8_t *flip, uint32_t half) {
  return half != UL_NONE && flip[half / 3] ? half - half % 3 + 2 - half % 3 : half;
}

void ul_edges_turn(ul_mesh *mesh, ul_edges *edges, const uint8_t *flip) {
  size_t halves = 3 * mesh->triangle_count;
  for (size_t i = 0; i < halves; i++) {
    edges->twin[i] = turned_half(flip, edges->twin[i]);
    edges->use[i].half = turned_half(flip, edges->use[i].half);
  }
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    if (!flip[t]) continue;
    uint32_t *corner = mesh->triangle[t], *twin = edges->twin + 3 * t, keep = corner[1];
    corner[1] = corner[2];
    corner[2] = keep;
    keep = twin[0];
    twin[0] = twin[2];
    twin[2] = keep;
  }
}
