#include "base/order.h"

#include "base/memory.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* Least significant digit first, as no comparison sort moves less: four digits of 16 bits. */
enum { DIGIT_BITS = 16, DIGITS = 4, BUCKETS = 1 << DIGIT_BITS };

typedef struct {
  uint64_t key;
  uint32_t place;
} card;

/* A key that grows as the value falls. Doubles of one sign are ordered as their bits are. */
static uint64_t falling_key(double value) {
  uint64_t bits;
  value += 0.0; /* -0 becomes +0 */
  memcpy(&bits, &value, sizeof bits);
  uint64_t rising = bits >> 63 ? ~bits : bits | UINT64_C(1) << 63;
  return ~rising;
}

static size_t digit(uint64_t key, int d) {
  return key >> (d * DIGIT_BITS) & (BUCKETS - 1);
}

/* Moves the cards from `from` to `to` by one digit; false when all share it and nothing moved. */
static bool deal(const card *from, card *to, size_t count, size_t *start, int d) {
  memset(start, 0, BUCKETS * sizeof *start);
  for (size_t i = 0; i < count; i++) start[digit(from[i].key, d)]++;
  if (count == 0 || start[digit(from[0].key, d)] == count) return false;
  size_t sum = 0;
  for (size_t b = 0; b < BUCKETS; b++) {
    size_t here = start[b];
    start[b] = sum;
    sum += here;
  }
  for (size_t i = 0; i < count; i++) to[start[digit(from[i].key, d)]++] = from[i];
  return true;
}

ul_status ul_order_descending(const double *value, size_t count, uint32_t *order) {
  card *cards = ul_new_raw(count, sizeof *cards), *other = ul_new_raw(count, sizeof *other);
  size_t *start = ul_new_raw(BUCKETS, sizeof *start);
  ul_status status = cards && other && start ? UL_OK : UL_E_MEMORY;
  if (status == UL_OK) {
    for (size_t i = 0; i < count; i++) cards[i] = (card){falling_key(value[i]), (uint32_t)i};
    for (int d = 0; d < DIGITS; d++)
      if (deal(cards, other, count, start, d)) {
        card *dealt = other;
        other = cards;
        cards = dealt;
      }
    for (size_t i = 0; i < count; i++) order[i] = cards[i].place;
  }
  free(cards);
  free(other);
  free(start);
  return status;
}
