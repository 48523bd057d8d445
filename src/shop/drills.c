#include "ullage/drills.h"

#include <math.h>
#include <stdio.h>

static const double inch_mm = 25.4;

static const double shop_mm[] = {1.5, 2, 2.5, 3, 4, 5, 6};

/* ANSI B94.11, thousandths and tenths of an inch: #1 to #80. */
static const double number_in[] = {
    0.228,  0.221,  0.213,  0.209,  0.2055, 0.204,  0.201,  0.199,  0.196,  0.1935, 0.191,  0.189,
    0.185,  0.182,  0.18,   0.177,  0.173,  0.1695, 0.166,  0.161,  0.159,  0.157,  0.154,  0.152,
    0.1495, 0.147,  0.144,  0.1405, 0.136,  0.1285, 0.12,   0.116,  0.113,  0.111,  0.11,   0.1065,
    0.104,  0.1015, 0.0995, 0.098,  0.096,  0.0935, 0.089,  0.086,  0.082,  0.081,  0.0785, 0.076,
    0.073,  0.07,   0.067,  0.0635, 0.0595, 0.055,  0.052,  0.0465, 0.043,  0.042,  0.041,  0.04,
    0.039,  0.038,  0.037,  0.036,  0.035,  0.033,  0.032,  0.031,  0.0292, 0.028,  0.026,  0.025,
    0.024,  0.0225, 0.021,  0.02,   0.018,  0.016,  0.0145, 0.0135};

static const double letter_in[] = {0.234, 0.238, 0.242, 0.246, 0.25,  0.257, 0.261, 0.266, 0.272,
                                   0.277, 0.281, 0.29,  0.295, 0.302, 0.316, 0.323, 0.332, 0.339,
                                   0.348, 0.358, 0.368, 0.377, 0.386, 0.397, 0.404, 0.413};

enum {
  SHOP = sizeof shop_mm / sizeof *shop_mm,
  NUMBERS = sizeof number_in / sizeof *number_in,
  LETTERS = sizeof letter_in / sizeof *letter_in,
  SIXTY_FOURTHS = 64,
};

/* BS 328: `count` sizes from `first`, `step` apart, in hundredths of a mm; below 1 mm each tenth
 * has .00 .02 .05 .08. */
static const struct {
  int first, step, count;
} metric_range[] = {{100, 5, 40}, {300, 10, 110}, {1400, 25, 45}};
enum { BELOW_ONE_MM = 32, METRIC = BELOW_ONE_MM + 40 + 110 + 45 };

const char *ul_drill_set_word(ul_drill_set set) {
#define AS_WORD(name, word) [name] = word,
  static const char *const words[] = {UL_DRILL_SET_LIST(AS_WORD)};
  return (unsigned)set < UL_DRILL_SET_END ? words[set] : "?";
}

size_t ul_drill_count(ul_drill_set set) {
  switch (set) {
  case UL_DRILLS_METRIC:
    return METRIC;
  case UL_DRILLS_INCH:
    return SIXTY_FOURTHS;
  case UL_DRILLS_NUMBER:
    return NUMBERS + LETTERS;
  default:
    return SHOP;
  }
}

static ul_drill in_mm(double diameter_mm) {
  ul_drill drill = {.diameter_mm = diameter_mm};
  snprintf(drill.name, sizeof drill.name, "%g mm", diameter_mm);
  return drill;
}

static ul_drill metric(size_t i) {
  static const int within_tenth[] = {0, 2, 5, 8};
  if (i < BELOW_ONE_MM) return in_mm((20 + 10 * (int)(i / 4) + within_tenth[i % 4]) / 100.0);
  i -= BELOW_ONE_MM;
  size_t range = 0;
  while (i >= (size_t)metric_range[range].count) i -= (size_t)metric_range[range++].count;
  return in_mm((metric_range[range].first + metric_range[range].step * (int)i) / 100.0);
}

static ul_drill fraction(size_t i) {
  unsigned over = (unsigned)i + 1, under = SIXTY_FOURTHS;
  ul_drill drill = {.diameter_mm = over * inch_mm / under};
  while (over % 2 == 0 && under > 1) over /= 2, under /= 2;
  if (under == 1)
    snprintf(drill.name, sizeof drill.name, "%u in", over);
  else
    snprintf(drill.name, sizeof drill.name, "%u/%u in", over, under);
  return drill;
}

static ul_drill number_or_letter(size_t i) {
  ul_drill drill;
  if (i < NUMBERS) {
    drill.diameter_mm = number_in[NUMBERS - 1 - i] * inch_mm;
    snprintf(drill.name, sizeof drill.name, "#%u", (unsigned)(NUMBERS - i));
  } else {
    drill.diameter_mm = letter_in[i - NUMBERS] * inch_mm;
    snprintf(drill.name, sizeof drill.name, "letter %c", (char)('A' + (i - NUMBERS)));
  }
  return drill;
}

ul_drill ul_drill_get(ul_drill_set set, size_t i) {
  switch (set) {
  case UL_DRILLS_METRIC:
    return metric(i);
  case UL_DRILLS_INCH:
    return fraction(i);
  case UL_DRILLS_NUMBER:
    return number_or_letter(i);
  default:
    return in_mm(shop_mm[i]);
  }
}

bool ul_drill_at_least(ul_drill_set set, double diameter_mm, ul_drill *out) {
  for (size_t i = 0; i < ul_drill_count(set); i++) {
    ul_drill drill = ul_drill_get(set, i);
    if (drill.diameter_mm < diameter_mm - 1e-6) continue;
    *out = drill;
    return true;
  }
  return false;
}
