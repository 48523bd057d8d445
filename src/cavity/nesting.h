/* nesting.h - which shells are around which. */
#ifndef UL_CAVITY_NESTING_H
#define UL_CAVITY_NESTING_H

#include "cavity/edges.h"
#include "ullage/solid.h"

typedef struct ul_inside {
  uint32_t inner, outer;
} ul_inside;

typedef struct ul_shell_set {
  const ul_mesh *mesh;
  const uint32_t *shell_of;
  size_t count;
  const ul_measure *measure;  /* per shell */
  const size_t *member_start; /* per shell and one more: its triangles in `member` */
  const uint32_t *member;
  double touch_mm; /* what is nearer lies on the surface */
} ul_shell_set;

/* Lists every (inner, outer), ordered; *list is yours, free(). A vertical ray from a vertex of one
 * shell crosses another an odd number of times if that is around it; a vertex that lies on the
 * other shell says nothing, then the next one is asked. Of shells that cross, the answer is that of
 * one vertex. UL_OK, UL_E_MEMORY. */
ul_status ul_nesting_find(const ul_shell_set *shells, const ul_job *job, ul_inside **list,
                          size_t *count);

#endif
