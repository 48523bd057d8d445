/* filling.h - one cavity in the middle of its rise: the state that every part of the model works
 * on. SI units; pressures are gauge unless their name says absolute. */
#ifndef UL_RISE_FILLING_H
#define UL_RISE_FILLING_H

#include "rise/cubes.h"
#include "rise/mouth.h"
#include "rise/solver.h"
#include "rise/stairs.h"
#include "ullage/rise.h"

#define UL_GRAVITY 9.80665

enum { UL_NO_PART = -1 };

/* A connected body of air. Its moles are kept as content: absolute pressure times volume at the
 * shop's temperature. */
typedef struct ul_part {
  double content_j;
  double gauge_pa;
  double volume_m3;
  double shrink_m3_s; /* how fast it shrank in the last step */
  double climb_pa_s;  /* and its pressure rose */
  bool grows;         /* and foam gave way to it */
  double mouth_area;  /* > 0 while a vent lets it out */
  double cut_off_s;   /* NAN while it is let out */
  double cut_off_m3;  /* its volume then */
  uint32_t first;     /* its lowest cube */
  size_t cube_count;  /* and what they are, and the foam in them */
  double cubes_m3, held_kg;
} ul_part;

typedef struct ul_filling {
  const ul_cubes *cubes;
  const ul_foam *foam;
  const ul_job *job;
  ul_solver *solver;
  ul_stairs stairs; /* where air passes along slanting walls */
  bool open;        /* air may leave everywhere */
  size_t count;     /* of cubes */
  double cube_m;
  double layer_m;        /* how high a cube is along up: the largest of rise */
  double rise[UL_SIDES]; /* how much higher the neighbour on each side is */
  double volume_m3;
  double charge_kg;
  double *volume;  /* per cube */
  double *height;  /* along up */
  double *face[3]; /* K h of the face on the + side, m3; 0 where there is none */

  double t;
  double turn_begin_s, turn_end_s; /* it is turned meanwhile; both 0: not at all */
  double into_front; /* share of the foam's growth in the last step that took room from air */
  double mean_pa;    /* absolute, mean over the foam's mass */
  double peak_pa;    /* gauge, the highest in the foam */
  double *mass;      /* per cube, kg */
  double *pressure;  /* per cube that is full */
  uint8_t *full;
  int32_t *air; /* per cube: the part its air belongs to; UL_NO_PART when full */
  size_t part_count;
  ul_part *part;
  size_t mouth_count;
  ul_mouth *mouth;
  float *arrival_s;      /* per cube */
  double absorbed_j;     /* air taken into the foam */
  double vented_j;       /* air that left, as content */
  double started_j;      /* air there was */
  double smallest_m3;    /* a part under this is taken into the foam */
  size_t absorbed_cubes; /* how many cubes that has filled */
} ul_filling;

/* What a step of length dt to time t1 knows of the foam: v = liquid + gas / absolute pressure. */
typedef struct ul_foam_now {
  double liquid, gas;
  double density; /* one for the step's hydrostatics: foam mass over foam volume */
  double viscosity;
} ul_foam_now;

static inline double ul_volume_at(const ul_foam_now *f, double gauge) {
  return f->liquid + f->gas / (UL_ATMOSPHERE_PA + gauge);
}

/* `mobility_m2` per cube. The mouths are found from the vents that lie in this cavity. */
ul_status ul_filling_new(const ul_cubes *cubes, const ul_rise_opts *opts, const double up[3],
                         const ul_job *job, ul_filling **out, ul_error *err);
void ul_filling_free(ul_filling *filling);

/* Mobility of its faces, from mm2 per cube of the lattice. */
void ul_filling_set_mobility(ul_filling *filling, const float *mobility_mm2);

/* From now on `up` is up: heights, and how much higher each neighbour is. */
ul_status ul_filling_aim(ul_filling *filling, const double up[3], ul_error *err);

/* The foam at time t at about the pressure the filling has now. */
ul_foam_now ul_foam_at(const ul_filling *filling, double t);

#endif
