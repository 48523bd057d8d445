/* turn.h - how the mould lies while it is poured, shut and turned, and the charge in it. */
#ifndef UL_RISE_TURN_H
#define UL_RISE_TURN_H

#include "rise/pool.h"
#include "rise/surface.h"

/* From one attitude to another by the shortest way, evenly in time. */
typedef struct ul_turn {
  bool turns;
  double from[3], to[3]; /* up at its beginning and end, unit */
  double side[3];        /* unit, across `from`, in the plane of the turn */
  double angle;          /* rad */
  double begin_s, end_s;
} ul_turn;

/* `up` is the unit of opts->up. */
void ul_turn_make(const ul_rise_opts *opts, const double up[3], ul_turn *out);
/* Which way is up at time t. */
void ul_turn_up(const ul_turn *turn, double t, double up[3]);

/* How the charge came to lie at cream. */
typedef struct ul_lying {
  ul_pour pour;   /* where it was let go last */
  ul_pool pool;   /* and how it lies since; it borrows `pour` */
  double time_s;  /* that it had */
  double reach_m; /* how far it had spread at cream; 0: level */
  ul_wets wets;   /* what it stood over on the way */
  bool turned;    /* it has run to where the tilt has it: from cream on that is up */
} ul_lying;

/* Lays the charge where it was poured; if the mould is turned before cream, lets it go again from
 * there in the tilt. The filling is left aimed as it lies at cream. Openings are looked at in the
 * poured attitude, in the tilt, and every five degrees between while it is liquid. Notes the
 * arrivals of what is at least half full of liquid. `out` must stay where it is. */
ul_status ul_charge_lay(ul_filling *filling, const ul_pour *pour, const ul_turn *turn,
                        const ul_rise_opts *opts, ul_lying *out, ul_error *err);
/* Whatever came back. */
void ul_lying_free(ul_lying *lying);

/* Before a step: gravity as it is in the middle of it, while the mould is being turned. */
ul_status ul_turn_follow(ul_filling *filling, const ul_turn *turn, ul_error *err);
/* The longest step that a turning mould allows at the filling's time: a tenth of the turn, and no
 * further than its beginning or end. INFINITY when it is not turned. */
double ul_turn_longest_step_s(const ul_filling *filling);

#endif
