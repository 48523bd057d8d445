#include "cavity/pieces.h"

#include <string.h>

#include "base/vec.h"

enum { DEEPEST = 40 }; /* a millionth of the side: only a `fine_mm` of nothing gets there */

static int longest_side(const double p[3][3], double *length) {
  int longest = 0;
  *length = 0;
  for (int k = 0; k < 3; k++) {
    double d = ul_distance(p[k], p[(k + 1) % 3]);
    if (d <= *length) continue;
    *length = d;
    longest = k;
  }
  return longest;
}

static bool cut(const double p[3][3], double fine_mm, int depth, ul_piece_fn fn, void *context) {
  double length, half[3], part[3][3];
  int k = longest_side(p, &length);
  if (length <= fine_mm || depth == DEEPEST) return fn(context, p);
  for (int c = 0; c < 3; c++) half[c] = (p[k][c] + p[(k + 1) % 3][c]) / 2;
  for (int side = 0; side < 2; side++) {
    memcpy(part, p, sizeof part);
    ul_copy3(half, part[side ? k : (k + 1) % 3]);
    if (!cut((const double(*)[3])part, fine_mm, depth + 1, fn, context)) return false;
  }
  return true;
}

bool ul_cut_triangle(const double corner[3][3], double fine_mm, ul_piece_fn fn, void *context) {
  return cut(corner, fine_mm, 0, fn, context);
}
