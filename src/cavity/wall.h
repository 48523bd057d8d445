/* wall.h - the triangles that are really wall: a search tree over them. */
#ifndef UL_CAVITY_WALL_H
#define UL_CAVITY_WALL_H

#include "cavity/bvh.h"
#include "ullage/solid.h"

/* All triangles of the solid and the inserts, wound so that their normals point out of the cavity;
 * what an insert hides needs no care, since from the
 * cavity the insert's own surface is nearer. Where shells overlap, what lies buried in another
 * shell is no wall: triangles are then halved until no side is longer than `fine_mm`, and pieces
 * whose middle is buried are left out, so that the wall is right to half of that where shells
 * cross. Numbers of triangles are the solid's only when it is not overlapping. */
ul_status ul_wall_tree(const ul_solid *solid, const ul_solid *const *inserts, size_t insert_count,
                       double fine_mm, const ul_job *job, ul_bvh **out, ul_error *err);

#endif
