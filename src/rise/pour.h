/* pour.h - where the charge lands. */
#ifndef UL_RISE_POUR_H
#define UL_RISE_POUR_H

#include "rise/filling.h"

enum { UL_POUR_PIECES = 32 };

/* The charge in pieces of one size, each let go at its cube. */
typedef struct ul_pour {
  size_t count;
  uint32_t cube[UL_POUR_PIECES];
  double length_m; /* between the outermost pieces; 0: a point */
} ul_pour;

/* The charge of that cavity, kg. */
double ul_pour_kg(const ul_rise_opts *opts, size_t cavity, double volume_m3);

/* The pour of that cavity: the point given, pieces a cube apart (at most as many as there is room
 * for) along the line given, or the middle of the lowest floor of its largest connected part.
 * With `pour_moves` a piece in a part without room for the liquid goes to the nearest with.
 * UL_E_OUTSIDE for a piece out of the cavity. */
ul_status ul_pour_find(const ul_cubes *one, const ul_rise_opts *opts, size_t cavity,
                       const double up[3], ul_pour *out, ul_error *err);

/* A pool that lies in the filling, let go again: pieces of one mass spread over it. */
void ul_pour_again(const ul_filling *filling, ul_pour *out);

/* Volume that no way through the cubes joins to the pour, and one of its cubes. */
ul_status ul_pour_unreached(const ul_cubes *one, const ul_pour *pour, double *mm3, size_t *cube,
                            ul_error *err);

#endif
