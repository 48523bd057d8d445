#include "stress/damage.h"

#include "shapes/check.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
  char *data;
  size_t size, room;
  uint64_t *dice;
} bytes;

static uint32_t roll(uint64_t *dice, size_t sides) {
  *dice = *dice * 6364136223846793005u + 1442695040888963407u;
  return (uint32_t)(((*dice >> 33) * (uint64_t)sides) >> 31);
}

/* Puts `with` in the place of `length` bytes at `at`. */
static void replace(bytes *b, size_t at, size_t length, const char *with, size_t count) {
  if (length > b->size - at) length = b->size - at;
  if (b->size - length + count > b->room) return;
  char *copy = malloc(count + 1);
  assert_non_null(copy);
  memcpy(copy, with, count); /* it may be a piece of the file itself */
  memmove(b->data + at + count, b->data + at + length, b->size - at - length);
  memcpy(b->data + at, copy, count);
  b->size += count - length;
  free(copy);
}

static void senseless_number(bytes *b, size_t at) {
  static const char *const number[] = {"-1",         "0",
                                       "4294967295", "4294967296",
                                       "2147483648", "-2147483649",
                                       "1e308",      "-1e308",
                                       "1e-320",     "nan",
                                       "inf",        "0x7f",
                                       "1e999",      "18446744073709551616",
                                       "1,5",        "1.2.3",
                                       "",           "9999999999999999999"};
  while (at < b->size && !isdigit((unsigned char)b->data[at])) at++;
  size_t end = at;
  while (end < b->size && (isalnum((unsigned char)b->data[end]) || b->data[end] == '.')) end++;
  if (at == b->size) return;
  const char *with = number[roll(b->dice, sizeof number / sizeof *number)];
  replace(b, at, end - at, with, strlen(with));
}

static void word(bytes *b, size_t at) {
  static const uint32_t value[] = {0,          1,          0xff,       0xffff,     0x7fffffff,
                                   0x80000000, 0xffffffff, 0x7f800000, 0x7fc00000, 0x00000001};
  uint32_t v = value[roll(b->dice, sizeof value / sizeof *value)];
  char w[4] = {(char)v, (char)(v >> 8), (char)(v >> 16), (char)(v >> 24)};
  replace(b, at, 4, w, 4);
}

static void change(bytes *b) {
  size_t at = roll(b->dice, b->size), from = roll(b->dice, b->size), many = 1 + roll(b->dice, 40);
  if (many > b->size - from) many = b->size - from;
  switch (roll(b->dice, 9)) {
  case 0:
    b->data[at] ^= (char)(1 << roll(b->dice, 8));
    break;
  case 1:
    b->data[at] = (char)roll(b->dice, 256);
    break;
  case 2:
    b->data[at] = (char)('0' + roll(b->dice, 10));
    break;
  case 3:
    senseless_number(b, at);
    break;
  case 4:
    word(b, at);
    break;
  case 5: /* a piece of it over another place */
    replace(b, at, many, b->data + from, many);
    break;
  case 6: /* once more */
    replace(b, at, 0, b->data + from, many);
    break;
  case 7: /* left out */
    replace(b, from, many, "", 0);
    break;
  default: /* the rest is missing; seldom, since prefixes are tried one by one */
    if (roll(b->dice, 8) == 0) b->size = at + 1;
  }
}

char *damage(const char *from, size_t size, uint64_t *dice, size_t *made) {
  bytes b = {malloc(size + 1000), size, size + 1000, dice};
  assert_non_null(b.data);
  memcpy(b.data, from, size);
  for (uint32_t n = 1 + roll(dice, 4); n > 0 && b.size; n--) change(&b);
  *made = b.size;
  return b.data;
}
