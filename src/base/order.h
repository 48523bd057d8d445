/* order.h - the order of many numbers, in linear time. */
#ifndef UL_BASE_ORDER_H
#define UL_BASE_ORDER_H

#include <stddef.h>
#include <stdint.h>

#include "ullage/status.h"

/* Fills order[0 .. count) with the places of `value` from the greatest down; equal values keep the
 * order of their places, +0 equals -0, and no value may be a NaN. UL_E_MEMORY or UL_OK. */
ul_status ul_order_descending(const double *value, size_t count, uint32_t *order);

#endif
