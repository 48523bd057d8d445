/* front.h - one step of the rise: pressures of foam and air, and how far the front goes. */
#ifndef UL_RISE_FRONT_H
#define UL_RISE_FRONT_H

#include "rise/filling.h"

enum { UL_AJAR = 0x3f }; /* all six sides */

/* A face between a cube full of foam and one that is not. */
typedef struct ul_front_face {
  uint32_t cube, next; /* the full one, and the other */
  int32_t part;        /* of air beyond */
  uint8_t side;        /* of the full one */
  bool shut;           /* nothing passes but `given` */
  bool one_way;        /* foam never comes back through it: the air beyond is let out */
  double conduct;      /* kg/(s Pa) */
  double lift;         /* rho g times the fall from the cube's centre to the front, Pa */
  double given;        /* kg/s back into the full one, whatever the pressures */
} ul_front_face;

/* A cube that fell back, and what f->air held of it before. */
typedef struct ul_fallen {
  uint32_t cube;
  int32_t air;
} ul_fallen;

/* What a cube's `barred` holds. */
enum { UL_BARRED_SIDE = 7, UL_BARRED_BEFORE = 8 };

/* Scratch of a step, and what it found. Masses of the filling change only on acceptance. */
typedef struct ul_step {
  ul_filling *f;
  double dt;
  double may_s;     /* how long the step might be, before it was halved or cut */
  double tighter;   /* and what of that a solve may leave, where a cube is too far off: 1 */
  double settle;    /* scales what may be left undone: 1 */
  ul_foam_now now;  /* at the end of the step */
  double source_kg; /* mass that has to move: what convergence is measured against */
  double *value;    /* pressures: cubes, then parts */
  double *before;   /* those about which the system was made linear */
  double *density;  /* of each full cube at its pressure so far, and how that grows with pressure */
  double *slope;
  double *link[3], *hold, *source;
  double *gain;    /* per cube of the rim: mass that arrives */
  float *begun;    /* per cube of the rim: how full at the start */
  float *reached;  /* per cube that filled up: how full it would be */
  uint8_t *ajar;   /* per cube, one bit a side: foam passed there when last tried, or untried yet */
  uint8_t *left;   /* was full, and fell back in this step */
  uint8_t *barred; /* would give back more than it has: its faces are shut, and all it has goes by
                      one: UL_BARRED_SIDE of this is 1 + the side of the full cube there. Opened
                      once more in the step when foam would come, it is UL_BARRED_BEFORE */
  uint8_t *was_full;
  size_t rim_count, rim_room; /* cubes not full that hold foam or touch a full one; those that */
  uint32_t *rim;              /* fill in this step stay listed to its end */
  uint8_t *in_rim;
  size_t joined_count, joined_room; /* cubes that filled up in this step, in that order */
  uint32_t *joined;
  size_t fallen_count, fallen_room; /* and those that fell back */
  ul_fallen *fallen;
  bool runs;      /* foam has grown to no more than twice its liquid before gel; or was turned */
  bool whole;     /* all equations are to be made anew */
  uint8_t *renew; /* per cube: what of its equation is to be made anew (front_renew.h) */
  size_t renewed_count, renewed_room; /* cubes of which something is */
  uint32_t *renewed;
  size_t joined_solved, fallen_solved; /* how many of those lists the last solve knew of */
  size_t absorbed;                     /* of the filling, when the rim was made */
  size_t rim_faces_room;
  size_t *rim_faces; /* scratch: how many of them a stretch of the rim has */
  size_t front_count, front_room;
  ul_front_face *front;
  size_t part_room;                                        /* the arrays per part */
  double *part_volume, *part_mass, *part_gain, *part_hold; /* cubes' volume, mass, arriving mass */
  size_t *part_cubes, *first;
  size_t link_room;
  uint32_t *link_cube;
  double *link_conduct;
  double *sum; /* per block of cubes */
  int iterations, solver_iterations;
} ul_step;

ul_status ul_step_new(ul_filling *filling, ul_step *step, ul_error *err);
void ul_step_free(ul_step *step);

/* Solves the step from filling->t to t + dt. *converged false: try a shorter one, after
 * ul_step_undo(). The filling's full cubes and pressures are then those of the step's end. */
ul_status ul_step_solve(ul_step *step, double dt, bool *converged, ul_error *err);
/* Largest change of pressure or volume of a part of air that matters, as a share of it; of volume
 * less than half counts where a vent lets it out. */
double ul_step_air_change(const ul_step *step);
/* When in the step, as a share of it, the first vent is shut: covered all over, or shown foam if it
 * is then plugged; 1 for none. A cube is taken to fill evenly. */
double ul_step_shuts_vent(const ul_step *step);
void ul_step_undo(ul_step *step);
/* Moves the masses, books what left, notes arrivals, finds the parts of air anew; filling->t is the
 * step's end. */
ul_status ul_step_accept(ul_step *step, ul_error *err);
/* Volume of the cubes that foam enters next. */
double ul_step_front_volume(ul_step *step);

#endif
