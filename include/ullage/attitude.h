/* attitude.h - how the mould lies: directions, what a level reads, blocks under corners, the
 * search. */
#ifndef ULLAGE_ATTITUDE_H
#define ULLAGE_ATTITUDE_H

#include <stdbool.h>

#include "ullage/peaks.h"

/* `up` from what a level laid along the mould's x and y edges reads:
 * up = (sin A, sin B, sqrt(1 - sin^2 A - sin^2 B)); UL_E_USAGE if the root is negative, which is
 * when |A| + |B| passes 90. */
ul_status ul_up_from_raise(double x_deg, double y_deg, double up[3], ul_error *err);
/* The two readings at a unit `up`, -90 to 90. They say nothing of up[2]'s sign: give `up` as well.
 */
void ul_raise_from_up(const double up[3], double *x_deg, double *y_deg);
/* Unit length; UL_E_USAGE for zero or not finite. */
ul_status ul_up_normalise(const double in[3], double up[3], ul_error *err);

/* The tool around the cavity: a box `wall_mm` outside the cavity's, or a mesh. */
typedef struct ul_tool {
  double box_mm[2][3];
  double wall_mm; /* 0 when a mesh was given */
  bool assumed;   /* nobody said: 25 mm */
  ul_mesh *mesh;  /* NULL for a box; borrowed */
} ul_tool;
/* The box around all cavities, `wall_mm` larger on every side. */
ul_tool ul_tool_wall(const ul_solid *solid, double wall_mm, bool assumed);

/* What goes under the corners of the tool's box so that it lies at `up`. It stands with the face
 * that comes nearest to lying level underneath (of equals z, then y, then x), on one corner of it
 * or more; the table is level and touches the lowest. */
typedef struct ul_props {
  double corner_mm[4][3]; /* in the mesh frame, in order round the face it stands on */
  double block_mm[4];     /* height of the block under each, plumb; the lowest is 0 */
  int face;               /* the face it stands on: 0 -x, 1 +x, 2 -y, 3 +y, 4 -z, 5 +z */
  double level_reads_x_deg, level_reads_y_deg, level_reads_z_deg; /* along the tool's edges */
} ul_props;
void ul_props_for(const ul_tool *tool, const double up[3], ul_props *out);

/* X(name, word in JSON and text), in the order of how easily a shop holds it */
#define UL_EASE_LIST(X)                                                                            \
  X(UL_EASE_FLAT, "flat")                                                                          \
  X(UL_EASE_SIDE, "on a side")                                                                     \
  X(UL_EASE_ONE_SIDE, "one side raised")                                                           \
  X(UL_EASE_ONE_CORNER, "one corner raised")                                                       \
  X(UL_EASE_OTHER, "other")
#define UL_EASE_AS_ENUM(name, word) name,
typedef enum { UL_EASE_LIST(UL_EASE_AS_ENUM) UL_EASE_END } ul_ease;
const char *ul_ease_word(ul_ease ease);
/* How a shop would hold a boxy tool at `up`: edges that climb by half a degree or less are level;
 * "other" is more than 45 degrees off every face. Upside down costs nothing by itself. */
ul_ease ul_ease_of(const double up[3]);

/* Whether the charge stays in a mould that is poured as it lies in a tilt, in the order in which
 * tilts are preferred. */
typedef enum ul_tilt_pours {
  UL_TILT_HOLDS,
  UL_TILT_OPENS_LOW, /* nobody knows how much goes in, and it is open lower than most of it lies */
  UL_TILT_RUNS_OUT
} ul_tilt_pours;

typedef struct ul_tilt {
  double up[3];
  double raise_x_deg, raise_y_deg;
  ul_ease ease;
  ul_tilt_pours pours;
  size_t peaks;            /* with pockets above void_ok */
  double trapped_mm3;      /* vented only at each cavity's highest peak */
  double trapped_2deg_mm3; /* the worst of that over this attitude and its eight neighbours 2
                              degrees off, vented at this attitude's vents */
  size_t vents_needed; /* fewest vents that leave no pocket above void_ok, at most vents_at_most */
  double left_mm3;     /* the worst air left over the nine attitudes with those vents */
  double left_largest_mm3; /* and the largest single pocket of it */
  char why[200];
} ul_tilt;

typedef struct ul_tilts_opts {
  unsigned cookie;
  size_t tries; /* directions over the whole sphere, evenly spread */
  double void_ok_mm3;
  size_t vents_at_most;
  size_t list_at_most;     /* how many distinct answers to keep */
  double apart_deg;        /* answers nearer than this are one */
  const double (*only)[3]; /* judge only these, in this order, unrounded; NULL: search */
  size_t only_count;
  /* How it pours as it lies so; NULL: every tilt holds its charge. Called from several threads. */
  ul_status (*pours)(const void *pours_in, const double up[3], ul_tilt_pours *out);
  const void *pours_in;
} ul_tilts_opts;
ul_tilts_opts ul_tilts_opts_default(void);

typedef struct ul_tilts {
  size_t count;
  ul_tilt *tilt; /* best first (in the order given when `only` was) */
  size_t tried;
} ul_tilts;

/* Searches the whole sphere: `tries` evenly spread directions, the six faces, edges and corners of
 * the box, the attitudes in which large flat faces lie level, and refinements of the best. Angles
 * are rounded to what a shop can set (5 degrees) and the rounded attitude is the one judged. Score:
 * that its charge does not run out, then worst air left over the attitude and its neighbours at 2
 * degrees with the same vents, then number of vents, then that it does not open low, then ease,
 * then angle. Deterministic. UL_OK: *out is yours, ul_tilts_free(). */
ul_status ul_tilts_search(const ul_solid *solid, const ul_heights *heights,
                          const ul_tilts_opts *opts, const ul_job *job, ul_tilts **out,
                          ul_error *err);
void ul_tilts_free(ul_tilts *tilts);

#endif
