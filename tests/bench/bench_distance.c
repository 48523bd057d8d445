/* Squared distances of a ball in a cube of cubes. Prints CSV: side, threads, seconds (best of
 * five), cubes inside. Exits with 1 when they differ from a search along rows at 2000 cubes. */
#include <stdio.h>
#include <stdlib.h>

#include "ball.h"
#include "base/memory.h"
#include "ullage/grid.h"

/* Every row knows where the ball ends on it, so the nearest cube outside is found row by row. */
static float brute(const uint8_t *inside, int side, int x, int y, int z) {
  int best = side * side;
  for (int k = -1; k <= side; k++)
    for (int j = -1; j <= side; j++) {
      int across = (k - z) * (k - z) + (j - y) * (j - y);
      if (across >= best) continue;
      int d = 0;
      for (; d * d + across < best; d++) {
        bool beyond = k < 0 || j < 0 || k >= side || j >= side || x - d < 0 || x + d >= side;
        const uint8_t *row = inside + ((size_t)k * (size_t)side + (size_t)j) * (size_t)side;
        if (beyond || !row[x - d] || !row[x + d]) best = d * d + across;
      }
    }
  return (float)best;
}

static bool right(const uint8_t *inside, int side, const float *out) {
  uint64_t random = 7;
  for (int i = 0; i < 2000; i++) {
    int at[3];
    for (int c = 0; c < 3; c++) {
      random = random * 6364136223846793005u + 1442695040888963407u;
      at[c] = (int)((random >> 33) % (uint64_t)side);
    }
    size_t cube = ((size_t)at[2] * (size_t)side + (size_t)at[1]) * (size_t)side + (size_t)at[0];
    float want = inside[cube] ? brute(inside, side, at[0], at[1], at[2]) : 0;
    if (out[cube] != want) return false;
  }
  return true;
}

static size_t make_ball(uint8_t *inside, int side) {
  double middle = side / 2.0, r = side * 0.345;
  size_t count = 0, i = 0;
  for (int k = 0; k < side; k++)
    for (int j = 0; j < side; j++)
      for (int x = 0; x < side; x++, i++) {
        double a = x + 0.5 - middle, b = j + 0.5 - middle, c = k + 0.5 - middle;
        inside[i] = a * a + b * b + c * c < r * r;
        count += inside[i];
      }
  return count;
}

int main(void) {
  puts("kernel,side,threads,inside,best_s");
  for (int side = 64; side <= 256; side *= 2)
    for (int threads = 1; threads <= 2; threads++) {
      const int32_t n[3] = {side, side, side};
      size_t cubes = (size_t)side * (size_t)side * (size_t)side;
      uint8_t *inside = ul_new(cubes, 1);
      float *out = ul_new(cubes, sizeof *out);
      size_t count = make_ball(inside, side);
      ul_job job = {.threads = threads};
      double best = INFINITY;
      for (int run = 0; run < 5; run++) {
        double begin = now_s();
        if (ul_distance_squared(inside, n, &job, out, NULL)) return 1;
        best = fmin(best, now_s() - begin);
      }
      if (!right(inside, side, out)) return 1;
      printf("distance,%d,%d,%zu,%.4f\n", side, threads, count, best);
      free(inside);
      free(out);
    }
  return 0;
}
