/* meets.h - where fronts meet: foam that has gone round something, or two streams, come together in
 * a seam that is weaker and may shut a thread of air in. */
#ifndef ULLAGE_MEETS_H
#define ULLAGE_MEETS_H

#include "ullage/grid.h"

typedef struct ul_meet {
  uint32_t cavity;  /* 0-based */
  double at_mm[3];  /* where they first meet */
  double arrival;   /* when, in the unit of the arrivals */
  double angle_deg; /* between the two ways they go, the mean over the seam: 180 head on */
  double area_mm2;  /* of the seam, in cube faces */
} ul_meet;

/* Seams in the arrival per cube of the lattice (NAN outside; INFINITY, or above `latest`, where
 * foam never came). A face between two cubes belongs to a seam when the ways that foam came to them
 * differ by over 90 degrees and lead towards each other; faces that touch are one seam, and a seam
 * under nine faces is the lattice's grain. The way into a cube is the upwind gradient (Godunov) of
 * the arrival. Earliest first; *out is yours, free(). */
ul_status ul_meets_find(const ul_grid *grid, const ul_columns *columns, const float *arrival,
                        double latest, ul_meet **out, size_t *count, ul_error *err);

#endif
