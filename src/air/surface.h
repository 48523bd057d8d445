/* surface.h - a solid's skin as a graph: which triangles are neighbours, which corners are one. */
#ifndef UL_AIR_SURFACE_H
#define UL_AIR_SURFACE_H

#include "ullage/mesh.h"

/* Where two parts of the skin only touch, at a vertex or along an edge, no air passes. So the graph
 * has nodes instead of vertices: corners that meet round one vertex, triangle to neighbouring
 * triangle; and at an edge of four or more triangles those two are neighbours that bound the same
 * wedge of solid. */
typedef struct ul_surface {
  const ul_mesh *mesh;   /* borrowed */
  uint32_t (*across)[3]; /* per triangle: the one beyond corner i to i+1; UINT32_MAX if none */
  size_t node_count;
  uint32_t (*node)[3]; /* per triangle corner */
  uint32_t *vertex;    /* per node */
  uint32_t *fan_first; /* per node: its corners, 3 * triangle + i, are */
  uint32_t *fan;       /* fan[fan_first[n] .. fan_first[n+1]), rising */
  uint32_t *neighbour; /* along fan: the next node of that triangle; all of them, each once */
  size_t edge_count;
  uint32_t (*edge)[2]; /* pairs of nodes, each once */
  double (*ball)[4];   /* per triangle: centre and radius of a ball round it */
} ul_surface;

ul_status ul_surface_new(const ul_mesh *mesh, ul_surface **out);
void ul_surface_free(ul_surface *surface);

/* The triangle nearest to `at` (of equally near ones the first) and its nearest point. */
uint32_t ul_nearest_triangle(const ul_surface *surface, const double at[3], double near[3]);

static inline const double *ul_surface_at(const ul_surface *s, uint32_t node) {
  return s->mesh->vertex_mm[s->vertex[node]];
}

#endif
