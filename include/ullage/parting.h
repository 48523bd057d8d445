/* parting.h - how the tool opens: its parting plane and draw, and what would hold the part back. */
#ifndef ULLAGE_PARTING_H
#define ULLAGE_PARTING_H

#include <stdbool.h>
#include <stddef.h>

#include "ullage/solid.h"

/* The upper half is the one on the side to which the draw points; it comes off along the draw, the
 * lower one against it. */
typedef struct ul_parting {
  bool has_plane;
  double at_mm[3];  /* a point of the plane */
  double normal[3]; /* unit, towards the upper half */
  double draw[3];   /* unit; zeros: not known, and then there is no plane either */
} ul_parting;

/* From what the user gives: `at_mm` and `normal` of the plane, or NULL for both; `draw`, or NULL
 * for the plane's normal. The normal is turned towards the draw. UL_E_USAGE for a direction without
 * length, or a draw within 5 degrees of the plane; UL_E_OUTSIDE for a plane that misses a cavity
 * (one that lies on its top or bottom, as a flat lid does, does not). */
ul_status ul_parting_make(const ul_solid *solid, const double *at_mm, const double *normal,
                          const double *draw, ul_parting *out, ul_error *err);

/* Height of `at_mm` above the plane along its normal, mm; 0 without a plane. */
double ul_parting_height_mm(const ul_parting *parting, const double at_mm[3]);

/* A place where part stands behind tool on its way out. */
typedef struct ul_undercut {
  double at_mm[3]; /* on the surface that catches, where it reaches farthest behind */
  int half;        /* 1: of the upper half, -1: of the lower; 0: no plane is known: of either */
  double depth_mm; /* across the draw, from there to the nearest opening through which the part can
                      come: what a flexible part must strip over; NAN if there is none */
  bool hangs; /* what is in the way is a core that nothing joins to the tool's wall: nothing holds
                 it, and there is no way out */
  double area_mm2;   /* seen along the draw */
  double volume_mm3; /* of the tool that is in the way */
} ul_undercut;

/* From columns of `cube_mm` along the draw: on its half, a run that hides behind another or behind
 * the plane. Neighbouring ones are one undercut, the deepest comes first. Places and depths are
 * good to a cube; what is less than 0.01 mm in the way is none. Inserts do not count: they come out
 * with the part. *count of them in *out (yours, free()). Errors: as ul_lattice_for_box(),
 * UL_E_MEMORY, UL_E_STOPPED. */
ul_status ul_undercuts_find(const ul_solid *solid, const ul_parting *parting, double cube_mm,
                            const ul_job *job, ul_undercut **out, size_t *count, ul_error *err);

/* A wall along which the part drags as it comes out. */
typedef struct ul_drag {
  double at_mm[3];  /* on it, near its middle */
  double area_mm2;  /* of the surface */
  double draft_deg; /* the least angle between wall and draw, 0 or more */
  double height_mm; /* along the draw */
} ul_drag;

/* Walls with less draft than `least_deg`: triangles that hang together and face much the same way
 * (within 45 degrees across an edge), the largest first; those under 3 mm high along the draw, such
 * as the brim of a ball, are left out. *count of them in *out (yours, free()). Errors: UL_E_MEMORY,
 * UL_E_STOPPED. */
ul_status ul_drags_find(const ul_mesh *mesh, const double draw[3], double least_deg,
                        const ul_job *job, ul_drag **out, size_t *count, ul_error *err);

#endif
