/* bvh.h - boxes round triangles, halved again and again: the nearest wall, and what a ray meets. */
#ifndef UL_CAVITY_BVH_H
#define UL_CAVITY_BVH_H

#include <stdbool.h>

#include "ullage/job.h"
#include "ullage/mesh.h"

typedef struct ul_bvh ul_bvh;

/* Over all triangles of `count` meshes; they need not outlive the call. Triangle t of mesh m gets
 * the number t + (triangles of the meshes before m). */
ul_status ul_bvh_new(const ul_mesh *const *mesh, size_t count, const ul_job *job, ul_bvh **out,
                     ul_error *err);
void ul_bvh_free(ul_bvh *bvh);

size_t ul_bvh_count(const ul_bvh *bvh);
/* The triangle's corners. */
void ul_bvh_triangle(const ul_bvh *bvh, uint32_t triangle, double corner[3][3]);

typedef struct {
  double square; /* of the distance, mm2 */
  double at[3];  /* the nearest point */
  uint32_t triangle;
} ul_nearest;

/* The nearest point of all triangles, if its squared distance is below near->square, else *near is
 * left as it was; true if found. */
bool ul_bvh_nearest(const ul_bvh *bvh, const double from[3], ul_nearest *near);
/* Tells `see` of every triangle whose own box meets that one, in the tree's order. */
typedef void (*ul_bvh_see)(void *context, uint32_t triangle);
void ul_bvh_in_box(const ul_bvh *bvh, const double low[3], const double high[3], ul_bvh_see see,
                   void *context);
/* The nearest point of one triangle (Ericson 2005, Real-Time Collision Detection, 5.1.5). */
double ul_triangle_nearest(const double corner[3][3], const double from[3], double at[3]);

/* How far along `way` (any length) from `from` the first triangle lies beyond t = `after` and
 * before *t; true if there is one, then *t and *triangle say where. Triangle `skip` is passed
 * through. */
bool ul_bvh_ray(const ul_bvh *bvh, const double from[3], const double way[3], double after,
                uint32_t skip, double *t, uint32_t *triangle);

/* How often the triangles wind round `from`, counted along one fixed ray that is parallel to
 * nothing people draw. */
int ul_bvh_winding(const ul_bvh *bvh, const double from[3]);

#endif
