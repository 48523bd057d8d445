/* mesh.h - triangles in the CAD file's frame, right-handed, mm, double. */
#ifndef ULLAGE_MESH_H
#define ULLAGE_MESH_H

#include <stddef.h>
#include <stdint.h>

#include "ullage/status.h"

/* Read it freely; change it only through functions. */
typedef struct ul_mesh {
  size_t vertex_count;
  size_t triangle_count;
  double (*vertex_mm)[3];
  uint32_t (*triangle)[3]; /* counter-clockwise seen from outside the enclosed solid */
  uint32_t *part;          /* per triangle: index into part_name */
  size_t part_count;       /* at least 1 */
  char **part_name; /* UTF-8, from the file's named solids, groups or materials; "" if none */
} ul_mesh;

/* An uninitialised mesh of that size with one nameless part. UL_OK: *out is yours, ul_mesh_free().
 * Otherwise *out is NULL. `err` may be NULL, here and everywhere. */
ul_status ul_mesh_new(size_t vertices, size_t triangles, ul_mesh **out, ul_error *err);
/* A copy of the given arrays. Indices must be below `vertices`, coordinates finite: UL_E_NUMBER. */
ul_status ul_mesh_from_arrays(const double (*vertex_mm)[3], size_t vertices,
                              const uint32_t (*triangle)[3], size_t triangles, ul_mesh **out,
                              ul_error *err);
ul_status ul_mesh_copy(const ul_mesh *mesh, ul_mesh **out, ul_error *err);
void ul_mesh_free(ul_mesh *mesh); /* NULL is fine */

/* Smallest and largest coordinate: box_mm[0] and box_mm[1]. */
void ul_mesh_box_mm(const ul_mesh *mesh, double box_mm[2][3]);

typedef struct ul_weld_result {
  double tolerance_mm;      /* the one used */
  size_t vertices_merged;   /* vertices that fell together */
  size_t triangles_dropped; /* triangles that became degenerate: two corners in one place */
} ul_weld_result;

/* Merges vertices closer than `tolerance_mm` (negative: chosen from the size and from the float
 * spacing at the farthest coordinate; 0: only equal ones) and drops triangles that become
 * degenerate, then vertices no triangle uses. In place. A vertex becomes the nearest kept one
 * within the tolerance, of equals the one with the lowest index, else is kept itself: none moves
 * farther than the tolerance. On failure the mesh is as it was. `result` may be NULL. */
ul_status ul_mesh_weld(ul_mesh *mesh, double tolerance_mm, ul_weld_result *result, ul_error *err);

#endif
