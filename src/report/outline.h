/* outline.h - a mesh as a line drawing: outlines and sharp edges, hidden lines left out. */
#ifndef UL_REPORT_OUTLINE_H
#define UL_REPORT_OUTLINE_H

#include "ullage/mesh.h"

/* Unit directions of a drawing, right-handed: right, up, and towards the eye. */
typedef struct ul_view {
  double right[3], up[3], eye[3];
} ul_view;

typedef struct ul_outline_line {
  double from[2], to[2]; /* along right and up, mm */
} ul_outline_line;

/* The lines of a closed mesh that are seen: edges where it turns from the eye, and edges between
 * faces over 35 degrees apart. What is hidden is found on a raster of 700 points across (Loutrel
 * 1970 gives the exact way; a drawing the width of a hand does not need it). UL_OK: *out is yours,
 * free(). UL_E_MEMORY. Deterministic. */
ul_status ul_outline(const ul_mesh *mesh, const ul_view *view, ul_outline_line **out, size_t *count,
                     ul_error *err);

#endif
