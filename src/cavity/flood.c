#include "cavity/edges.h"

#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* -- shells and their winding -- */

static void note_conflict(ul_flood *f, uint32_t half, uint32_t twin) {
  if (half > twin) return; /* each join is met from both sides */
  if (f->conflict_count++ == 0 || half < f->conflict) f->conflict = half;
}

/* All that hangs together with queue[0]. Neighbours run along their edge in opposite directions. */
static size_t flood_from(const ul_mesh *mesh, const ul_edges *e, ul_flood *f, uint32_t *queue) {
  size_t end = 1;
  for (size_t next = 0; next < end; next++) {
    uint32_t t = queue[next];
    for (uint32_t half = 3 * t; half < 3 * t + 3; half++) {
      uint32_t twin = e->twin[half];
      if (twin == UL_NONE) continue;
      uint32_t u = twin / 3;
      uint8_t flip = f->flip[t] ^ (ul_half_from(mesh, half) == ul_half_from(mesh, twin));
      if (f->shell_of[u] != UL_NONE) {
        if (f->flip[u] != flip) note_conflict(f, half, twin);
        continue;
      }
      f->shell_of[u] = f->shell_of[t];
      f->flip[u] = flip;
      queue[end++] = u;
    }
  }
  return end;
}

/* The winding most triangles have is taken for the one meant; even numbers go to the first's. */
static size_t follow_the_most(ul_flood *f, const uint32_t *member, size_t count) {
  size_t turned = 0;
  for (size_t i = 0; i < count; i++) turned += f->flip[member[i]];
  if (2 * turned <= count) return turned;
  for (size_t i = 0; i < count; i++) f->flip[member[i]] ^= 1;
  return count - turned;
}

ul_status ul_flood_make(const ul_mesh *mesh, const ul_edges *edges, ul_flood *flood) {
  memset(flood, 0, sizeof *flood);
  size_t triangles = mesh->triangle_count, room = 0, turned_room = 0;
  flood->shell_of = ul_new_raw(triangles, sizeof *flood->shell_of);
  flood->flip = ul_new(triangles, sizeof *flood->flip);
  uint32_t *queue = ul_new_raw(triangles, sizeof *queue);
  ul_status status = flood->shell_of && flood->flip && queue ? UL_OK : UL_E_MEMORY;
  if (status == UL_OK) memset(flood->shell_of, 0xff, triangles * sizeof *flood->shell_of);
  for (size_t t = 0; status == UL_OK && t < triangles; t++) {
    if (flood->shell_of[t] != UL_NONE) continue;
    size_t s = flood->shell_count;
    if (!ul_grow((void **)&flood->size, &room, s + 1, sizeof *flood->size) ||
        !ul_grow((void **)&flood->turned, &turned_room, s + 1, sizeof *flood->turned)) {
      status = UL_E_MEMORY;
      break;
    }
    queue[0] = (uint32_t)t;
    flood->shell_of[t] = (uint32_t)flood->shell_count++;
    flood->size[s] = flood_from(mesh, edges, flood, queue);
    flood->turned[s] = follow_the_most(flood, queue, flood->size[s]);
  }
  free(queue);
  return status;
}

void ul_flood_free(ul_flood *flood) {
  free(flood->shell_of);
  free(flood->flip);
  free(flood->size);
  free(flood->turned);
  memset(flood, 0, sizeof *flood);
}

/* -- edges with four or more triangles -- */

/* One triangle at an edge, seen along the edge from its lower to its higher vertex. */
typedef struct {
  double angle; /* from the first, counter-clockwise */
  int opens;    /* 1: the solid begins behind it, counter-clockwise; 0: it ends here */
  uint32_t half, patch;
} spoke;

typedef struct {
  const ul_mesh *mesh;
  const ul_flood *patches;
  uint32_t *group; /* union-find over patches: those joined so far are one */
  ul_edges *edges;
  spoke *spoke;
  size_t room;
  uint32_t *open; /* a stack */
  size_t open_room;
} wheel;

static int by_angle(const void *left, const void *right) {
  const spoke *a = left, *b = right;
  if (a->angle != b->angle) return a->angle < b->angle ? -1 : 1;
  if (a->opens != b->opens) return a->opens - b->opens; /* what ends, before what begins */
  return a->half < b->half ? -1 : a->half > b->half;
}

/* Angles closer than rounding leaves them are one angle: there two shells share a face. */
static void sort_spokes(spoke *s, size_t count) {
  const double same = 1e-9, round = 2 * acos(-1.0);
  for (size_t i = 0; i < count; i++)
    if (round - s[i].angle < same) s[i].angle = 0;
  qsort(s, count, sizeof *s, by_angle);
  for (size_t i = 1; i < count; i++)
    if (s[i].angle - s[i - 1].angle < same) s[i].angle = s[i - 1].angle;
  qsort(s, count, sizeof *s, by_angle);
}

static void fill_spokes(const wheel *w, const ul_edge_use *use, size_t count, spoke *s) {
  const ul_mesh *mesh = w->mesh;
  uint32_t from = ul_half_from(mesh, use[0].half), to = ul_half_to(mesh, use[0].half);
  uint32_t low = from < to ? from : to;
  const double *base = mesh->vertex_mm[low];
  double axis[3], u[3], v[3], d[3];
  ul_sub(mesh->vertex_mm[use[0].high], base, axis);
  ul_sub(mesh->vertex_mm[ul_half_apex(mesh, use[0].half)], base, u);
  ul_add_scaled(u, -ul_dot(u, axis) / ul_dot(axis, axis), axis, u);
  ul_cross(axis, u, v);
  double length = ul_norm(axis);
  for (size_t i = 0; i < count; i++) {
    uint32_t half = use[i].half;
    ul_sub(mesh->vertex_mm[ul_half_apex(mesh, half)], base, d);
    double angle = atan2(ul_dot(d, v) / length, ul_dot(d, u));
    bool along = (ul_half_from(mesh, half) == low) != (w->patches->flip[half / 3] != 0);
    s[i] = (spoke){angle < 0 ? angle + 2 * acos(-1.0) : angle, !along, half,
                   w->patches->shell_of[half / 3]};
  }
}

static uint32_t root_of(uint32_t *group, uint32_t i) {
  while (group[i] != i) i = group[i] = group[group[i]];
  return i;
}

static void join(wheel *w, const spoke *a, const spoke *b) {
  w->edges->twin[a->half] = b->half;
  w->edges->twin[b->half] = a->half;
  w->group[root_of(w->group, a->patch)] = root_of(w->group, b->patch);
}

/* Where a patch has exactly two triangles at the edge, it goes on across it. Returns how many
 * spokes are left, moved to the front. */
static size_t join_patches(wheel *w, spoke *s, size_t count) {
  size_t left = 0;
  for (size_t i = 0; i < count; i++) {
    size_t same = 0, other = i;
    for (size_t j = 0; j < count; j++)
      if (j != i && root_of(w->group, s[j].patch) == root_of(w->group, s[i].patch))
        same++, other = j;
    if (same == 1 && s[i].opens != s[other].opens) join(w, &s[i], &s[other]);
  }
  for (size_t i = 0; i < count; i++)
    if (w->edges->twin[s[i].half] == UL_NONE) s[left++] = s[i];
  return left;
}

/* Twice round: what opens is joined with the next free one that closes, as brackets are. */
static ul_status join_wedges(wheel *w, spoke *s, size_t count) {
  size_t opens = 0, depth = 0;
  for (size_t i = 0; i < count; i++) opens += (size_t)s[i].opens;
  if (2 * opens != count) { /* mixed winding: neighbours in angle */
    for (size_t i = 0; i + 1 < count; i += 2) join(w, &s[i], &s[i + 1]);
    return UL_OK;
  }
  if (!ul_grow((void **)&w->open, &w->open_room, count, sizeof *w->open)) return UL_E_MEMORY;
  for (size_t i = 0; i < 2 * count; i++) {
    spoke *at = &s[i % count];
    if (w->edges->twin[at->half] != UL_NONE) continue;
    if (at->opens && i < count) w->open[depth++] = (uint32_t)i;
    if (!at->opens && depth > 0) join(w, &s[w->open[--depth]], at);
  }
  return UL_OK;
}

static ul_status join_run(wheel *w, const ul_edge_run *run) {
  if (!ul_grow((void **)&w->spoke, &w->room, run->count, sizeof *w->spoke)) return UL_E_MEMORY;
  fill_spokes(w, w->edges->use + run->first, run->count, w->spoke);
  size_t left = join_patches(w, w->spoke, run->count);
  sort_spokes(w->spoke, left);
  return join_wedges(w, w->spoke, left);
}

ul_status ul_edges_join_many(const ul_mesh *mesh, const ul_flood *patches, ul_edges *edges) {
  wheel w = {.mesh = mesh, .patches = patches, .edges = edges};
  w.group = ul_new_raw(patches->shell_count, sizeof *w.group);
  ul_status status = w.group ? UL_OK : UL_E_MEMORY;
  for (size_t i = 0; status == UL_OK && i < patches->shell_count; i++) w.group[i] = (uint32_t)i;
  for (size_t i = 0; status == UL_OK && i < edges->run_count; i++)
    if (edges->run[i].count % 2 == 0) status = join_run(&w, &edges->run[i]);
  free(w.group);
  free(w.spoke);
  free(w.open);
  return status;
}
