/* holes.h - loops of open edges, and flat patches over them. */
#ifndef UL_CAVITY_HOLES_H
#define UL_CAVITY_HOLES_H

#include "cavity/edges.h"
#include "ullage/solid.h"

/* A vertex of a rim and the open half-edge between it and the next. */
typedef struct ul_rim_point {
  uint32_t vertex;
  uint32_t half;
} ul_rim_point;

typedef struct ul_loop {
  size_t first, count; /* in rim */
  bool closed;         /* false: the rim ends somewhere, as it may where edges are odd */
  ul_hole hole;
} ul_loop;

typedef struct ul_loops {
  ul_rim_point *rim;
  size_t rim_count, rim_room;
  ul_loop *loop; /* longest rim first */
  size_t count, room;
} ul_loops;

/* Open edges chained into simple loops. UL_OK, UL_E_MEMORY; release with ul_loops_free(). */
ul_status ul_loops_find(const ul_mesh *mesh, const ul_edges *edges, ul_loops *loops);
void ul_loops_free(ul_loops *loops);

/* Cuts the polygon `corner` (taken in its best plane) into count-2 triangles wound as it runs, by
 * ear clipping (Meisters 1975, Am. Math. Monthly 82, from memory). count >= 3. UL_E_MEMORY. */
ul_status ul_patch_polygon(const ul_mesh *mesh, const uint32_t *corner, size_t count,
                           uint32_t (*triangle)[3]);

#endif
