#include "air/nearest.h"

#include "base/vec.h"

void ul_nearest_on_segment(const double p[3], const double a[3], const double b[3], double out[3]) {
  double ab[3], ap[3];
  ul_sub(b, a, ab);
  ul_sub(p, a, ap);
  double length2 = ul_dot(ab, ab), t = length2 > 0 ? ul_dot(ap, ab) / length2 : 0;
  if (t >= 1)
    ul_copy3(b, out);
  else
    ul_add_scaled(a, t > 0 ? t : 0, ab, out);
}

void ul_nearest_on_triangle(const double p[3], const double a[3], const double b[3],
                            const double c[3], double out[3]) {
  double ab[3], ac[3], ap[3], bp[3], cp[3];
  ul_sub(b, a, ab);
  ul_sub(c, a, ac);
  ul_sub(p, a, ap);
  ul_sub(p, b, bp);
  ul_sub(p, c, cp);
  double d1 = ul_dot(ab, ap), d2 = ul_dot(ac, ap), d3 = ul_dot(ab, bp), d4 = ul_dot(ac, bp);
  double d5 = ul_dot(ab, cp), d6 = ul_dot(ac, cp);
  double va = d3 * d6 - d5 * d4, vb = d5 * d2 - d1 * d6, vc = d1 * d4 - d3 * d2;
  if (vc <= 0 && d1 >= 0 && d3 <= 0) {
    ul_nearest_on_segment(p, a, b, out);
  } else if (vb <= 0 && d2 >= 0 && d6 <= 0) {
    ul_nearest_on_segment(p, a, c, out);
  } else if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) {
    ul_nearest_on_segment(p, b, c, out);
  } else if (d1 <= 0 && d2 <= 0) {
    ul_copy3(a, out);
  } else if (d3 >= 0 && d4 <= d3) {
    ul_copy3(b, out);
  } else if (d6 >= 0 && d5 <= d6) {
    ul_copy3(c, out);
  } else {
    double sum = va + vb + vc;
    ul_add_scaled(a, vb / sum, ab, out);
    ul_add_scaled(out, vc / sum, ac, out);
  }
}
