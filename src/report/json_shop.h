/* json_shop.h - the shop's numbers as JSON; keys in docs/plan-json.md. */
#ifndef UL_REPORT_JSON_SHOP_H
#define UL_REPORT_JSON_SHOP_H

#include <jansson.h>

#include "ullage/cautions.h"
#include "ullage/charge.h"
#include "ullage/hold.h"
#include "ullage/shots.h"
#include "ullage/vent_size.h"

/* Each returns a new reference, or NULL when there is no memory. `cavity` is the number
 * that people know it by. */
json_t *ul_json_foam(const ul_foam *foam);
json_t *ul_json_charge(size_t cavity, const ul_charge *charge);
/* Of a cavity while there is no foam card: its litres, and null for what the card would say. */
json_t *ul_json_litres(size_t cavity, double volume_mm3);
json_t *ul_json_clock(const ul_clock *clock);
/* `hold` NULL: no card, so the area only. */
json_t *ul_json_hold(const ul_hold *hold, double projected_mm2, const double direction[3]);
json_t *ul_json_air(size_t cavity, const ul_vent_size *size, double at_s);
json_t *ul_json_cautions(const ul_caution *caution, size_t count);
json_t *ul_json_shots(const ul_shots *shots, const ul_shots_opts *opts, const ul_shots_said *said);

#endif
