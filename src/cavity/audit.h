/* audit.h - what the steps of an audit share: the mesh under repair and the faults found so far. */
#ifndef UL_CAVITY_AUDIT_H
#define UL_CAVITY_AUDIT_H

#include "cavity/edges.h"
#include "cavity/self_intersect.h"
#include "ullage/solid.h"

/* A mesh under audit. Everything in it belongs to ul_audit_mesh(). */
typedef struct ul_survey {
  const ul_job *job;
  const ul_solid_opts *opts;
  ul_mesh *mesh;
  uint32_t *welded_id; /* per triangle: its number in the mesh given; NULL: the same number */
  ul_edges edges;
  ul_flood flood;
  ul_fault fault[UL_FAULT_END]; /* count 0: not found */
  ul_hole *hole;
  size_t hole_count;
  /* From here on only of a closed mesh with one consistent winding. */
  size_t
      *member_start; /* per shell: its triangles are member[start] to member[start of next - 1] */
  uint32_t *member;
  ul_measure *measure; /* per shell, as wound */
  double touch_mm;     /* what is nearer touches: well above the rounding of a float file */
  ul_crossings crossings;
} ul_survey;

/* Adds `count` to a fault; the first place and triangle given stay. `triangle` counts in
 * s->mesh; -1: none. */
void ul_note(ul_survey *s, ul_fault_kind kind, size_t count, const double at_mm[3], long triangle);
void ul_note_triangle(ul_survey *s, ul_fault_kind kind, size_t count, size_t triangle);
/* The faults found, with their remedies, into audit->fault. */
ul_status ul_list_faults(const ul_survey *s, ul_audit *audit);

/* A shell is flat when its volume is lost in the rounding of its area times its size. */
bool ul_shell_is_flat(const ul_measure *shell);

/* Makes s->welded_id, before triangles are dropped or added (clean.c). */
ul_status ul_keep_numbers(ul_survey *s);
/* Drops triangles that use a vertex twice (clean.c). */
ul_status ul_drop_pointed(ul_survey *s);
/* Drops triangles of zero area and second copies, each only where no more edges are odd without it
 * (clean.c). Needs edges; makes them anew when it drops some. */
ul_status ul_drop_spare(ul_survey *s);
/* Finds the holes; closes those up to opts->patch_mm across (holes.c). Needs edges; makes them anew
 * when it closes some. */
ul_status ul_close_holes(ul_survey *s);

#endif
