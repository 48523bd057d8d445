/* affine.h - where a scene puts a mesh. */
#ifndef UL_CAVITY_AFFINE_H
#define UL_CAVITY_AFFINE_H

#include "base/vec.h"

/* Points as rows: p' = p m, the fourth row being the shift. */
typedef struct ul_affine {
  double m[4][3];
} ul_affine;

static inline ul_affine ul_affine_none(void) {
  return (ul_affine){{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {0, 0, 0}}};
}

static inline void ul_affine_apply(const ul_affine *a, const double p[3], double out[3]) {
  double from[3] = {p[0], p[1], p[2]};
  for (int c = 0; c < 3; c++)
    out[c] = from[0] * a->m[0][c] + from[1] * a->m[1][c] + from[2] * a->m[2][c] + a->m[3][c];
}

/* First `inner`, then `outer`. */
static inline ul_affine ul_affine_then(const ul_affine *inner, const ul_affine *outer) {
  ul_affine both;
  for (int row = 0; row < 4; row++) {
    ul_affine_apply(outer, inner->m[row], both.m[row]);
    for (int c = 0; c < 3 && row < 3; c++) both.m[row][c] -= outer->m[3][c];
  }
  return both;
}

/* A mirror turns every triangle's outside in. */
static inline int ul_affine_mirrors(const ul_affine *a) {
  double n[3];
  ul_cross(a->m[0], a->m[1], n);
  return ul_dot(n, a->m[2]) < 0;
}

#endif
