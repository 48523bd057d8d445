/* self_intersect.h - where triangles of a closed mesh pass through one another. */
#ifndef UL_CAVITY_SELF_INTERSECT_H
#define UL_CAVITY_SELF_INTERSECT_H

#include "cavity/edges.h"

/* Two shells of which triangles meet. */
typedef struct ul_shell_meeting {
  uint32_t shell[2]; /* the lower first */
  bool cross; /* one passes through the other; else one lies on the other, solids on one side */
  uint32_t triangle; /* one of them */
  double at_mm[3];
} ul_shell_meeting;

typedef struct ul_crossings {
  size_t self_count; /* pairs of triangles of one shell that cross, or lie on one another */
  uint32_t triangle; /* the lowest-numbered of these */
  double at_mm[3];
  ul_shell_meeting *meeting; /* by shells, each two at most once */
  size_t meeting_count;
} ul_crossings;

/* `outward` per shell: 1 if it is wound outwards, -1 if inside out, 0 if it is flat and
 * to be left out of account. What is nearer than `touch_mm`
 * touches (triangle_pair.h). Triangles near one another are found through a tree of boxes
 * (box_tree.h). UL_OK, UL_E_MEMORY, UL_E_STOPPED; release with ul_crossings_free() either way. */
ul_status ul_crossings_find(const ul_mesh *mesh, const ul_edges *edges, const uint32_t *shell_of,
                            const signed char *outward, double touch_mm, const ul_job *job,
                            ul_crossings *out);
void ul_crossings_free(ul_crossings *crossings);

#endif
