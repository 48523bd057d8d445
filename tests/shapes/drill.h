/* drill.h - a vent judged by brute force: its lines against every triangle of the cavity, sharing
 * nothing with the code that places it. */
#ifndef TEST_DRILL_H
#define TEST_DRILL_H

#include "ullage/vents.h"

/* What is wrong with the hole; all 0 for a good one. */
typedef struct drilled {
  int not_in_air; /* lines of its circle, back_mm before the mouth, that begin outside the cavity */
  int not_out_once; /* lines that do not leave the cavity exactly once and for good */
  int not_outside;  /* lines that end inside the tool's box */
  int relief_meets; /* lines of its relief, from the land on, that meet the cavity */
  int walls;        /* triangles steeper than 79 degrees, or facing inwards, that the circle cuts on
                       its way out of the cavity: it breaks in over an edge or a step */
} drilled;

drilled drill_by_force(const ul_mesh *cavity, const ul_tool *tool, const ul_vent *vent);

/* Fails the test, saying what is wrong, unless the vent is a good hole whose mouth's centre lies on
 * the surface. */
void assert_good_hole(const ul_mesh *cavity, const ul_tool *tool, const ul_vent *vent);

/* Of the tool, what is left between the parting plane and a hole, its land and its relief, mm;
 * below 0: so far it reaches through. */
double web_by_force(const ul_parting *parting, const ul_vent *vent);

/* The same for a groove scraped along the parting plane: its whole section begins in the cavity,
 * leaves it once and for good, and comes out of the tool; it lies on the plane, on the side of its
 * half. */
void assert_good_groove(const ul_mesh *cavity, const ul_tool *tool, const ul_parting *parting,
                        const ul_vent *vent);

#endif
