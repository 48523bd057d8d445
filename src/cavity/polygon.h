/* polygon.h - convex polygons cut by planes across an axis. */
#ifndef UL_CAVITY_POLYGON_H
#define UL_CAVITY_POLYGON_H

#include <string.h>

#include "base/vec.h"

/* A triangle cut by the six faces of a cube has at most nine corners. Rounding can bend an edge
 * that lies in a cut and make a few more. */
enum { UL_POLYGON_MOST = 16 };

typedef struct {
  int count;
  double at[UL_POLYGON_MOST][3];
} ul_polygon;

/* A corner there is no room for is one of those few: it lies on an edge already. */
static inline void ul_polygon_add(ul_polygon *p, const double at[3]) {
  if (p->count < UL_POLYGON_MOST) memcpy(p->at[p->count++], at, sizeof p->at[0]);
}

/* Splits `whole` at coordinate `at` of `axis`. The corners made by the cut are the same in both. */
static inline void ul_polygon_split(const ul_polygon *whole, int axis, double at, ul_polygon *below,
                                    ul_polygon *above) {
  below->count = above->count = 0;
  for (int i = 0; i < whole->count; i++) {
    const double *p = whole->at[i], *q = whole->at[i + 1 < whole->count ? i + 1 : 0];
    if (p[axis] <= at) ul_polygon_add(below, p);
    if (p[axis] >= at) ul_polygon_add(above, p);
    if ((p[axis] < at && q[axis] > at) || (p[axis] > at && q[axis] < at)) {
      const double *lo = p[axis] < at ? p : q, *hi = p[axis] < at ? q : p;
      double cut[3], t = (at - lo[axis]) / (hi[axis] - lo[axis]);
      for (int c = 0; c < 3; c++) cut[c] = lo[c] + t * (hi[c] - lo[c]);
      cut[axis] = at;
      ul_polygon_add(below, cut);
      ul_polygon_add(above, cut);
    }
  }
}

static inline void ul_polygon_range(const ul_polygon *p, int axis, double *lo, double *hi) {
  *lo = *hi = p->at[0][axis];
  for (int i = 1; i < p->count; i++) {
    *lo = fmin(*lo, p->at[i][axis]);
    *hi = fmax(*hi, p->at[i][axis]);
  }
}

/* Signed area of the polygon's shadow on the x-y plane, positive when it faces +z, and the integral
 * of z - floor over it. */
static inline void ul_polygon_shadow(const ul_polygon *p, double floor, double *area,
                                     double *volume) {
  *area = *volume = 0;
  const double *o = p->at[0];
  for (int i = 1; i + 1 < p->count; i++) {
    const double *a = p->at[i], *b = p->at[i + 1];
    double half = ((a[0] - o[0]) * (b[1] - o[1]) - (b[0] - o[0]) * (a[1] - o[1])) / 2;
    *area += half;
    *volume += half * ((o[2] - floor) + (a[2] - floor) + (b[2] - floor)) / 3;
  }
}

#endif
