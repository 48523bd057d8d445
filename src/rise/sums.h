/* sums.h - sums over arrays in four strands, in an order that never varies: an addition does not
 * wait for the one before. */
#ifndef UL_RISE_SUMS_H
#define UL_RISE_SUMS_H

#include <math.h>
#include <stddef.h>

/* Sum of a[i] b[i]. */
static inline double sum_products(const double *a, const double *b, size_t count) {
  double s[4] = {0, 0, 0, 0};
  size_t i = 0;
  for (; i + 4 <= count; i += 4)
    for (size_t k = 0; k < 4; k++) s[k] += a[i + k] * b[i + k];
  for (; i < count; i++) s[0] += a[i] * b[i];
  return (s[0] + s[1]) + (s[2] + s[3]);
}

/* The same with a in float. */
static inline double sum_products_f(const float *a, const double *b, size_t count) {
  double s[4] = {0, 0, 0, 0};
  size_t i = 0;
  for (; i + 4 <= count; i += 4)
    for (size_t k = 0; k < 4; k++) s[k] += a[i + k] * b[i + k];
  for (; i < count; i++) s[0] += a[i] * b[i];
  return (s[0] + s[1]) + (s[2] + s[3]);
}

/* Sum of |a[i]|. */
static inline double sum_magnitudes(const double *a, size_t count) {
  double s[4] = {0, 0, 0, 0};
  size_t i = 0;
  for (; i + 4 <= count; i += 4)
    for (size_t k = 0; k < 4; k++) s[k] += fabs(a[i + k]);
  for (; i < count; i++) s[0] += fabs(a[i]);
  return (s[0] + s[1]) + (s[2] + s[3]);
}

#endif
