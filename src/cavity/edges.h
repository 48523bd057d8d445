/* edges.h - which triangles meet at which edge, and what hangs together across edges. */
#ifndef UL_CAVITY_EDGES_H
#define UL_CAVITY_EDGES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "ullage/job.h"
#include "ullage/mesh.h"

#define UL_NONE UINT32_MAX

/* Half-edge 3t+k runs along triangle t from its corner k to its corner (k+1)%3. */
typedef struct ul_edge_use {
  uint32_t high; /* the edge's higher vertex */
  uint32_t half;
} ul_edge_use;

/* An edge that does not have exactly two triangles: use[first] to use[first+count-1]. */
typedef struct ul_edge_run {
  size_t first;
  size_t count;
} ul_edge_run;

typedef struct ul_edges {
  size_t *start;    /* per vertex v: uses of edges whose lower vertex is v begin here */
  ul_edge_use *use; /* by lower vertex, higher vertex, half-edge */
  uint32_t *twin;   /* per half-edge: the one it is joined with, UL_NONE if none */
  ul_edge_run *run; /* edges with one, three or more triangles, in order of their vertices */
  size_t run_count;
} ul_edges;

/* Joins the half-edges of edges that have two triangles. No triangle may use a vertex twice.
 * UL_OK, UL_E_MEMORY; release with ul_edges_free() either way. */
ul_status ul_edges_make(const ul_mesh *mesh, const ul_job *job, ul_edges *edges);
void ul_edges_free(ul_edges *edges);

/* Uses of the edge between two vertices. */
ul_edge_run ul_edges_find(const ul_edges *edges, uint32_t a, uint32_t b);

/* What hangs together across joined half-edges. */
typedef struct ul_flood {
  uint32_t *shell_of; /* per triangle, numbered in order of first triangles */
  uint8_t *flip;      /* per triangle: 1 if it must be turned to be wound as most of its shell */
  size_t shell_count;
  size_t *size;          /* per shell: triangles */
  size_t *turned;        /* per shell: triangles to turn */
  size_t conflict_count; /* joins at which no winding is consistent */
  uint32_t conflict;     /* first half-edge of that kind */
} ul_flood;

/* UL_OK, UL_E_MEMORY; release with ul_flood_free() either way. */
ul_status ul_flood_make(const ul_mesh *mesh, const ul_edges *edges, ul_flood *flood);
void ul_flood_free(ul_flood *flood);

/* Joins the half-edges of edges with four, six, ... triangles two by two, so that shells that only
 * touch there stay apart: first the two of one patch (`patches`: the flood over edges with two
 * triangles; what is joined becomes one patch for the edges after), then those between which the
 * solid lies, going round the edge. */
ul_status ul_edges_join_many(const ul_mesh *mesh, const ul_flood *patches, ul_edges *edges);

/* Turns the triangles marked in `flip` and renumbers the half-edges accordingly. */
void ul_edges_turn(ul_mesh *mesh, ul_edges *edges, const uint8_t *flip);

static inline uint32_t ul_half_from(const ul_mesh *mesh, uint32_t half) {
  return mesh->triangle[half / 3][half % 3];
}

static inline uint32_t ul_half_to(const ul_mesh *mesh, uint32_t half) {
  return mesh->triangle[half / 3][(half % 3 + 1) % 3];
}

/* The corner of its triangle that the half-edge does not touch. */
static inline uint32_t ul_half_apex(const ul_mesh *mesh, uint32_t half) {
  return mesh->triangle[half / 3][(half % 3 + 2) % 3];
}

#endif
