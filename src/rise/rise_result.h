/* rise_result.h - what is written down of a rise while it runs and when it ends. */
#ifndef UL_RISE_RESULT_H
#define UL_RISE_RESULT_H

#include "rise/front.h"
#include "rise/turn.h"

typedef struct ul_recorder {
  ul_rise *rise;
  uint32_t cavity; /* the one that is being filled */
  size_t event_room, sample_room;
  double pressed_s; /* the last sample whose pressure is its own */
} ul_recorder;

/* Room for every cavity and vent; arrival INFINITY inside, NAN outside. */
ul_status ul_rise_new(const ul_cubes *all, const ul_rise_opts *opts, ul_rise **out, ul_error *err);

ul_status ul_record_begin(ul_recorder *record, ul_filling *filling, const ul_rise_opts *opts,
                          const ul_lying *lying, const ul_pour *pour, ul_error *err);
ul_status ul_record_step(ul_recorder *record, const ul_filling *filling, const ul_step *step,
                         ul_error *err);
ul_status ul_record_end(ul_recorder *record, const ul_filling *filling, const ul_rise_opts *opts,
                        const double up[3], ul_error *err);

#endif
