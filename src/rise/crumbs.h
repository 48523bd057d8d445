/* crumbs.h - cubes at a sharp edge or in a tip that join no other of their cavity. */
#ifndef UL_RISE_CRUMBS_H
#define UL_RISE_CRUMBS_H

#include "rise/cubes.h"

/* Where two walls meet at a sharp angle, the lattice may have a cube whose centre is inside and
 * whose neighbours' centres are not: foam and air pass from it to the rest of the cavity through
 * those cut cubes only, which its links know nothing of. Marks, per cube, the parts of which every
 * cube meets the cavity's largest part so, across an edge or a corner; *count of them. `cubes` has
 * its neighbours, and of_lattice of cubes inside alone. Nothing is marked without columns: then
 * whatever lies side by side is joined, and what is apart was meant to be. */
ul_status ul_crumbs_find(const ul_cubes *cubes, uint8_t *crumb, size_t *count, ul_error *err);

#endif
