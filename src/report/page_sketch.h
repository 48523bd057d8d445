/* page_sketch.h - line drawings of the cavity, hidden lines left out. */
#ifndef UL_REPORT_PAGE_SKETCH_H
#define UL_REPORT_PAGE_SKETCH_H

#include "report/page_parts.h"

/* What every drawing of one mesh shares. */
typedef struct ul_page_sketch {
  const ul_mesh *mesh;
  ul_edges edges;
  double (*normal)[3]; /* per triangle, unit */
} ul_page_sketch;

/* Release with ul_page_sketch_free() whatever came back. */
bool ul_page_sketch_make(const ul_mesh *mesh, ul_page_sketch *sketch);
void ul_page_sketch_free(ul_page_sketch *sketch);

/* The data of an SVG path with the mesh's visible outlines and sharp edges. The drawing must lie
 * within width x height units. False: no memory. */
bool ul_page_sketch_lines(FILE *file, const ul_page_sketch *sketch, const ul_page_view *view,
                          int width, int height);

#endif
