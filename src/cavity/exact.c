#include "cavity/exact.h"

#include <float.h>
#include <math.h>

/* An expansion is a sum of doubles that do not overlap, smallest first, zeros left out. Its sign is
 * that of its last term. Every function returns the number of terms written. */

#define HALF_ULP (DBL_EPSILON / 2)
static const double side_bound = (7 + 56 * HALF_ULP) * HALF_ULP;
static const double turn_bound = (3 + 16 * HALF_ULP) * HALF_ULP;

static void two_sum(double a, double b, double *sum, double *lost) {
  double s = a + b, bb = s - a;
  *lost = (a - (s - bb)) + (b - bb);
  *sum = s;
}

static void split(double a, double *high, double *low) {
  double c = 134217729.0 * a; /* 2^27 + 1 */
  *high = c - (c - a);
  *low = a - *high;
}

static void two_product(double a, double b, double *product, double *lost) {
  double ah, al, bh, bl, p = a * b;
  split(a, &ah, &al);
  split(b, &bh, &bl);
  *lost = al * bl - (((p - ah * bh) - al * bh) - ah * bl);
  *product = p;
}

/* e += b, in place; e has room for one more. */
static int grow(int n, double *e, double b) {
  int written = 0;
  for (int i = 0; i < n; i++) {
    double lost;
    two_sum(b, e[i], &b, &lost);
    if (lost != 0) e[written++] = lost;
  }
  if (b != 0) e[written++] = b;
  return written;
}

/* h += sign e f, in place; h has room for 2 ne nf more. */
static int add_product(int nh, double *h, int ne, const double *e, int nf, const double *f,
                       double sign) {
  for (int i = 0; i < ne; i++)
    for (int j = 0; j < nf; j++) {
      double p, lost;
      two_product(e[i], sign * f[j], &p, &lost);
      nh = grow(nh, h, lost);
      nh = grow(nh, h, p);
    }
  return nh;
}

static int difference(double a, double b, double out[2]) {
  double d, lost;
  two_sum(a, -b, &d, &lost);
  int n = grow(0, out, lost);
  return grow(n, out, d);
}

static int sign_of(int n, const double *e) {
  return n == 0 ? 0 : e[n - 1] > 0 ? 1 : -1;
}

/* Sign of (a-p) . ((b-p) x (c-p)). */
static int exact_side(const double *corner[3], const double p[3]) {
  double d[3][3][2], det[192];
  int n[3][3], nd = 0;
  for (int i = 0; i < 3; i++)
    for (int c = 0; c < 3; c++) n[i][c] = difference(corner[i][c], p[c], d[i][c]);
  for (int c = 0; c < 3; c++) {
    int u = (c + 1) % 3, v = (c + 2) % 3, nm = 0;
    double minor[16];
    nm = add_product(nm, minor, n[1][u], d[1][u], n[2][v], d[2][v], 1);
    nm = add_product(nm, minor, n[1][v], d[1][v], n[2][u], d[2][u], -1);
    nd = add_product(nd, det, nm, minor, n[0][c], d[0][c], 1);
  }
  return sign_of(nd, det);
}

int ul_side(const double a[3], const double b[3], const double c[3], const double p[3]) {
  double ax = a[0] - p[0], ay = a[1] - p[1], az = a[2] - p[2];
  double bx = b[0] - p[0], by = b[1] - p[1], bz = b[2] - p[2];
  double cx = c[0] - p[0], cy = c[1] - p[1], cz = c[2] - p[2];
  double bycz = by * cz, bzcy = bz * cy, bzcx = bz * cx, bxcz = bx * cz, bxcy = bx * cy,
         bycx = by * cx;
  double det = ax * (bycz - bzcy) + ay * (bzcx - bxcz) + az * (bxcy - bycx);
  double size = fabs(ax) * (fabs(bycz) + fabs(bzcy)) + fabs(ay) * (fabs(bzcx) + fabs(bxcz)) +
                fabs(az) * (fabs(bxcy) + fabs(bycx));
  if (det > side_bound * size) return -1;
  if (-det > side_bound * size) return 1;
  if (size == 0) return 0;
  const double *corner[3] = {a, b, c};
  return -exact_side(corner, p);
}

int ul_turn(const double a[3], const double b[3], const double p[3], int u, int v) {
  double left = (a[u] - p[u]) * (b[v] - p[v]), right = (a[v] - p[v]) * (b[u] - p[u]);
  double det = left - right, size = fabs(left) + fabs(right);
  if (det > turn_bound * size) return 1;
  if (-det > turn_bound * size) return -1;
  if (size == 0) return 0;
  double d[4][2], h[16];
  int n[4] = {difference(a[u], p[u], d[0]), difference(b[v], p[v], d[1]),
              difference(a[v], p[v], d[2]), difference(b[u], p[u], d[3])};
  int nh = add_product(0, h, n[0], d[0], n[1], d[1], 1);
  nh = add_product(nh, h, n[2], d[2], n[3], d[3], -1);
  return sign_of(nh, h);
}
