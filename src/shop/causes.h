/* causes.h - from a symptom to what may be behind it. */
#ifndef UL_SHOP_CAUSES_H
#define UL_SHOP_CAUSES_H

#include "ullage/shots.h"

/* What a shot's numbers show. */
enum {
  UL_SHOWS_UNDER_PACKED = 1,
  UL_SHOWS_OVER_PACKED = 2,
  UL_SHOWS_COLD = 4,
  UL_SHOWS_WARM = 8,
  UL_SHOWS_HEAVY_CUP = 16,
  UL_SHOWS_LIGHT_CUP = 32,
  UL_SHOWS_SILENT_VENT = 64, /* foam showed at some vents and not at another */
};

/* Causes of `symptom`, those that `shows` points to first; returns how many. `next_way`: above 0
 * when the next charge is more than that shot's, below 0 when it is less. A cause whose remedy
 * would then send the wrong way is left out; *charge_wants is the way it wanted, 0 when none was
 * left out. */
size_t ul_causes_of(ul_symptom symptom, int shows, int next_way, ul_cause out[UL_CAUSES_MOST],
                    int *charge_wants);
/* The one that is cheapest to try; of equals the likelier. */
size_t ul_causes_cheapest(const ul_cause *cause, size_t count);

#endif
