/* slices.h - a mesh taken apart into its named parts, for formats that hold several objects. */
#ifndef UL_REPORT_SLICES_H
#define UL_REPORT_SLICES_H

#include "ullage/mesh.h"

typedef struct ul_slice {
  const char *name;
  size_t part; /* its number in the mesh */
  size_t vertex_count, triangle_count;
  const uint32_t *vertex;        /* numbers in the mesh, in the order of first use */
  const uint32_t (*triangle)[3]; /* into `vertex` */
} ul_slice;

typedef struct ul_slices {
  const ul_mesh *mesh;
  size_t count;
  ul_slice *slice; /* those parts that have a triangle, in order */
  uint32_t *vertex;
  uint32_t (*triangle)[3];
} ul_slices;

/* Borrows `mesh`. Release with ul_slices_free() whatever came back. UL_E_NUMBER for a coordinate
 * that is not finite or that no float holds, UL_E_EMPTY for a mesh without a triangle, both naming
 * `path`. */
ul_status ul_slices_make(const ul_mesh *mesh, const char *path, ul_slices *out, ul_error *err);
void ul_slices_free(ul_slices *slices);

/* The check alone. */
ul_status ul_coordinates_fit(const ul_mesh *mesh, const char *path, ul_error *err);

#endif
