/* surface.h - how high liquid stands over the openings of the mould. */
#ifndef UL_RISE_SURFACE_H
#define UL_RISE_SURFACE_H

#include "rise/filling.h"

/* An opening that liquid stood over. */
typedef struct ul_wet {
  uint32_t vent; /* 0-based, of the vents given; UINT32_MAX: the rim */
  double over_mm;
  double at_mm[3];
  double s; /* when */
} ul_wet;

/* The worst of each vent of the filling, and of the rim. */
typedef struct ul_wets {
  size_t count;
  ul_wet *wet; /* room for every mouth and the rim; free() */
} ul_wets;

ul_status ul_wets_new(const ul_filling *filling, ul_wets *out, ul_error *err);

/* Adds what the liquid, as it lies in the filling now at time s, stands over: vents, and with `rim`
 * also the place where the wall meets the parting plane of the options. `up` is the filling's. */
ul_status ul_wets_look(const ul_filling *filling, const ul_rise_opts *opts, const double up[3],
                       bool rim, double s, ul_wets *wets, ul_error *err);

/* Where the wall meets the parting plane of the options: a cube that it cuts, with a wall beside
 * it. Only where opts->has_parting. */
bool ul_on_rim(const ul_filling *filling, const ul_rise_opts *opts, size_t cube);

#endif
