/* vec.h - three doubles. cglm's types are float, which costs a millimetre's last digits at 5 m. */
#ifndef UL_BASE_VEC_H
#define UL_BASE_VEC_H

#include <math.h>

static inline double ul_dot(const double a[3], const double b[3]) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

static inline void ul_cross(const double a[3], const double b[3], double out[3]) {
  double x = a[1] * b[2] - a[2] * b[1], y = a[2] * b[0] - a[0] * b[2];
  out[2] = a[0] * b[1] - a[1] * b[0];
  out[0] = x;
  out[1] = y;
}

static inline void ul_sub(const double a[3], const double b[3], double out[3]) {
  for (int c = 0; c < 3; c++) out[c] = a[c] - b[c];
}

/* out = a + s b */
static inline void ul_add_scaled(const double a[3], double s, const double b[3], double out[3]) {
  for (int c = 0; c < 3; c++) out[c] = a[c] + s * b[c];
}

static inline void ul_copy3(const double a[3], double out[3]) {
  for (int c = 0; c < 3; c++) out[c] = a[c];
}

static inline double ul_norm(const double a[3]) {
  return sqrt(ul_dot(a, a));
}

/* Two unit directions across the unit `axis`: x, y, axis are right-handed. Across a main axis they
 * are main axes, so that coordinates go through them exactly. */
static inline void ul_across(const double axis[3], double x[3], double y[3]) {
  int least = 0;
  for (int c = 1; c < 3; c++)
    if (fabs(axis[c]) < fabs(axis[least])) least = c;
  double side[3] = {least == 0, least == 1, least == 2};
  ul_cross(side, axis, x);
  double length = ul_norm(x);
  for (int c = 0; c < 3; c++) x[c] /= length;
  ul_cross(axis, x, y);
}

static inline double ul_distance(const double a[3], const double b[3]) {
  double d[3];
  ul_sub(a, b, d);
  return ul_norm(d);
}

#endif
