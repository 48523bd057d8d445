#include "cavity/holes.h"

#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* An end of an open edge. */
typedef struct {
  uint32_t vertex, edge;
} rim_end;

typedef struct {
  const ul_mesh *mesh;
  uint32_t *half; /* the open edges */
  uint8_t *used;
  size_t count;
  rim_end *end;       /* both ends of each, by vertex */
  uint32_t *place;    /* per vertex: where it is on the path, UL_NONE if it is not */
  ul_rim_point *path; /* the walk so far */
} walk;

static int by_vertex(const void *left, const void *right) {
  const rim_end *a = left, *b = right;
  if (a->vertex != b->vertex) return a->vertex < b->vertex ? -1 : 1;
  return a->edge < b->edge ? -1 : a->edge > b->edge;
}

static ul_status begin_walk(const ul_mesh *mesh, const ul_edges *edges, walk *w) {
  for (size_t r = 0; r < edges->run_count; r++) w->count += edges->run[r].count == 1;
  w->mesh = mesh;
  w->half = ul_new_raw(w->count, sizeof *w->half);
  w->used = ul_new(w->count, sizeof *w->used);
  w->end = ul_new_raw(2 * w->count, sizeof *w->end);
  w->path = ul_new_raw(w->count, sizeof *w->path);
  w->place = ul_new_raw(mesh->vertex_count, sizeof *w->place);
  if (!w->half || !w->used || !w->end || !w->path || !w->place) return UL_E_MEMORY;
  memset(w->place, 0xff, mesh->vertex_count * sizeof *w->place);
  uint32_t n = 0;
  for (size_t r = 0; r < edges->run_count; r++) {
    if (edges->run[r].count != 1) continue;
    uint32_t half = edges->use[edges->run[r].first].half;
    w->end[2 * n] = (rim_end){ul_half_from(mesh, half), n};
    w->end[2 * n + 1] = (rim_end){ul_half_to(mesh, half), n};
    w->half[n++] = half;
  }
  qsort(w->end, 2 * w->count, sizeof *w->end, by_vertex);
  return UL_OK;
}

static void end_walk(walk *w) {
  free(w->half);
  free(w->used);
  free(w->end);
  free(w->place);
  free(w->path);
}

/* The lowest-numbered open edge at a vertex not walked yet. */
static uint32_t next_edge(const walk *w, uint32_t vertex) {
  size_t low = 0, high = 2 * w->count;
  while (low < high) {
    size_t mid = (low + high) / 2;
    if (w->end[mid].vertex < vertex)
      low = mid + 1;
    else
      high = mid;
  }
  for (; low < 2 * w->count && w->end[low].vertex == vertex; low++)
    if (!w->used[w->end[low].edge]) return w->end[low].edge;
  return UL_NONE;
}

typedef struct {
  double r; /* from the rim's middle */
  const double *at;
} far_point;

static int farthest_first(const void *left, const void *right) {
  const far_point *a = left, *b = right;
  return a->r > b->r ? -1 : a->r < b->r;
}

/* Largest distance between two rim points. From the farthest out inwards: two that are not far
 * enough from the middle together cannot be farther apart than the best so far. */
static ul_status measure_across(const ul_mesh *mesh, const ul_rim_point *rim, size_t count,
                                const double middle[3], double *across) {
  far_point *p = ul_new_raw(count, sizeof *p);
  if (!p) return UL_E_MEMORY;
  for (size_t i = 0; i < count; i++) {
    const double *at = mesh->vertex_mm[rim[i].vertex];
    p[i] = (far_point){ul_distance(at, middle), at};
  }
  qsort(p, count, sizeof *p, farthest_first);
  double best = 0;
  for (size_t i = 0; i < count; i++)
    for (size_t j = i + 1; j < count && p[i].r + p[j].r > best * (1 + 1e-9); j++)
      best = fmax(best, ul_distance(p[i].at, p[j].at));
  free(p);
  *across = best;
  return UL_OK;
}

static ul_status add_loop(walk *w, ul_loops *out, size_t first, size_t count, bool closed) {
  if (!ul_grow((void **)&out->rim, &out->rim_room, out->rim_count + count, sizeof *out->rim) ||
      !ul_grow((void **)&out->loop, &out->room, out->count + 1, sizeof *out->loop))
    return UL_E_MEMORY;
  const ul_rim_point *rim = w->path + first;
  ul_loop loop = {.first = out->rim_count, .count = count, .closed = closed};
  loop.hole.edge_count = count;
  for (size_t i = 0; i < count; i++) {
    const double *p = w->mesh->vertex_mm[ul_half_from(w->mesh, rim[i].half)];
    const double *q = w->mesh->vertex_mm[ul_half_to(w->mesh, rim[i].half)];
    loop.hole.rim_mm += ul_distance(p, q);
    ul_add_scaled(loop.hole.at_mm, 1.0 / (double)count, w->mesh->vertex_mm[rim[i].vertex],
                  loop.hole.at_mm);
    w->place[rim[i].vertex] = UL_NONE;
  }
  memcpy(out->rim + out->rim_count, rim, count * sizeof *rim);
  out->rim_count += count;
  out->loop[out->count++] = loop;
  return measure_across(w->mesh, rim, count, loop.hole.at_mm,
                        &out->loop[out->count - 1].hole.across_mm);
}

/* Walks from one edge until nothing is left to walk; a vertex met again closes a loop. */
static ul_status walk_from(walk *w, uint32_t edge, ul_loops *out) {
  ul_status status = UL_OK;
  size_t length = 0;
  uint32_t vertex = ul_half_from(w->mesh, w->half[edge]);
  for (;;) {
    size_t back = w->place[vertex];
    if (back != UL_NONE) {
      status = add_loop(w, out, back, length - back, true);
      length = back;
    }
    edge = status == UL_OK ? next_edge(w, vertex) : UL_NONE;
    if (edge == UL_NONE) break;
    w->used[edge] = 1;
    w->place[vertex] = (uint32_t)length;
    w->path[length++] = (ul_rim_point){vertex, w->half[edge]};
    uint32_t from = ul_half_from(w->mesh, w->half[edge]);
    vertex = from == vertex ? ul_half_to(w->mesh, w->half[edge]) : from;
  }
  if (status == UL_OK && length > 0) status = add_loop(w, out, 0, length, false);
  return status;
}

static int longest_first(const void *left, const void *right) {
  const ul_loop *a = left, *b = right;
  if (a->hole.rim_mm != b->hole.rim_mm) return a->hole.rim_mm > b->hole.rim_mm ? -1 : 1;
  return a->first < b->first ? -1 : a->first > b->first;
}

ul_status ul_loops_find(const ul_mesh *mesh, const ul_edges *edges, ul_loops *loops) {
  memset(loops, 0, sizeof *loops);
  walk w = {0};
  ul_status status = begin_walk(mesh, edges, &w);
  for (size_t e = 0; status == UL_OK && e < w.count; e++)
    if (!w.used[e]) status = walk_from(&w, (uint32_t)e, loops);
  end_walk(&w);
  if (loops->count) qsort(loops->loop, loops->count, sizeof *loops->loop, longest_first);
  return status;
}

void ul_loops_free(ul_loops *loops) {
  free(loops->rim);
  free(loops->loop);
  memset(loops, 0, sizeof *loops);
}
