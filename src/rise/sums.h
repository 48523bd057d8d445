/* sums.h - sums over arrays in strands, in an order that never varies: an addition does not wait
 * for the one before. */
#ifndef UL_RISE_SUMS_H
#define UL_RISE_SUMS_H

#include <math.h>
#include <stddef.h>

enum { SUM_STRANDS = 16, SUM_STRETCH = 512 /* terms added up in float */ };

static inline double sum_of_strands(const float s[SUM_STRANDS]) {
  double sum = 0;
  for (int k = 0; k < SUM_STRANDS; k++) sum += (double)s[k];
  return sum;
}

/* Sum of a[i] b[i]. */
static inline double sum_products(const float *a, const float *b, size_t count) {
  double s[8] = {0};
  size_t i = 0;
  for (; i + 8 <= count; i += 8)
    for (size_t k = 0; k < 8; k++) s[k] += (double)a[i + k] * (double)b[i + k];
  for (size_t k = 0; i < count; i++, k++) s[k] += (double)a[i] * (double)b[i];
  return ((s[0] + s[1]) + (s[2] + s[3])) + ((s[4] + s[5]) + (s[6] + s[7]));
}

/* Sum of |a[i]|. */
static inline double sum_magnitudes(const float *a, size_t count) {
  double sum = 0;
  for (size_t from = 0, to; from < count; from = to) {
    float s[SUM_STRANDS] = {0};
    size_t i = from;
    to = count - from < SUM_STRETCH ? count : from + SUM_STRETCH;
    for (; i + SUM_STRANDS <= to; i += SUM_STRANDS)
      for (size_t k = 0; k < SUM_STRANDS; k++) s[k] += fabsf(a[i + k]);
    for (size_t k = 0; i < to; i++, k++) s[k] += fabsf(a[i]);
    sum += sum_of_strands(s);
  }
  return sum;
}

#endif
