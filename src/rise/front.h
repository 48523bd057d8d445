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
  bool shut;           /* nothing passes */
  bool one_way;        /* foam never comes back through it: the air beyond is let out */
  double conduct;      /* kg/(s Pa) */
  double lift;         /* rho g times the fall from the cube's centre to the front, Pa */
} ul_front_face;

/* Scratch of a step, and what it found. Masses of the filling change only on acceptance. */
typedef struct ul_step {
  ul_filling *f;
  double dt;
  ul_foam_now now;  /* at the end of the step */
  double source_kg; /* mass that has to move: what convergence is measured against */
  double *value;    /* pressures: cubes, then parts */
  double *before;   /* those about which the system was made linear */
  double *density;  /* of each full cube at its pressure so far */
  double *link[3], *hold, *source;
  double *gain;    /* per cube not full: mass that arrives */
  float *begun;    /* per cube: how full at the start */
  float *reached;  /* per cube that filled up: how full it would be */
  uint8_t *ajar;   /* per cube, one bit a side: foam passed there when last tried, or untried yet */
  uint8_t *left;   /* was full, and fell back in this step */
  uint8_t *barred; /* gives nothing back for the rest of the step */
  uint8_t *was_full;
  int32_t *was_air;
  double *was_pressure;
  size_t front_count, front_room;
  ul_front_face *front;
  size_t part_room; /* the arrays per part */
  double *part_volume, *part_mass, *part_gain,
      *part_hold; /* cubes' volume, mass, and arriving mass */
  size_t *first;
  size_t link_room;
  uint32_t *link_cube;
  double *link_conduct;
  int iterations, solver_iterations;
} ul_step;

ul_status ul_step_new(ul_filling *filling, ul_step *step, ul_error *err);
void ul_step_free(ul_step *step);

/* Solves the step from filling->t to t + dt. *converged false: try a shorter one, after
 * ul_step_undo(). The filling's full cubes and pressures are then those of the step's end. */
ul_status ul_step_solve(ul_step *step, double dt, bool *converged, ul_error *err);
/* Largest change of volume of a part of air that matters, as a share of it. */
double ul_step_air_change(const ul_step *step);
void ul_step_undo(ul_step *step);
/* Moves the masses, books what left, notes arrivals; filling->t is the step's end. */
void ul_step_accept(ul_step *step);

#endif
