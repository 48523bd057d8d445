#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "shapes/check.h"
#include "ullage/grid.h"

/* Smallest squared distance to a cube that is not inside, those just beyond the lattice among
 * them. */
static int brute(const uint8_t *inside, const int32_t n[3], const int32_t at[3]) {
  int best = INT32_MAX, to[3];
  for (to[2] = -1; to[2] <= n[2]; to[2]++)
    for (to[1] = -1; to[1] <= n[1]; to[1]++)
      for (to[0] = -1; to[0] <= n[0]; to[0]++) {
        bool beyond = false;
        int square = 0;
        for (int c = 0; c < 3; c++) {
          beyond |= to[c] < 0 || to[c] >= n[c];
          square += (to[c] - at[c]) * (to[c] - at[c]);
        }
        if ((beyond || !inside[(to[2] * n[1] + to[1]) * n[0] + to[0]]) && square < best)
          best = square;
      }
  return best;
}

/* Masks from nearly empty to nearly full, on lattices with short and odd sides. */
static void distances_are_those_of_a_search_over_all_cubes(void **state) {
  (void)state;
  const int32_t sizes[5][3] = {{17, 19, 23}, {1, 40, 3}, {33, 1, 1}, {2, 2, 30}, {16, 16, 16}};
  uint64_t random = 99;
  for (int s = 0; s < 5; s++)
    for (int percent = 0; percent <= 100; percent += percent < 90 ? 45 : 2) {
      const int32_t *n = sizes[s];
      size_t count = (size_t)n[0] * (size_t)n[1] * (size_t)n[2];
      uint8_t *inside = ul_new(count, 1);
      float *out = ul_new(count, sizeof *out);
      for (size_t i = 0; i < count; i++) {
        random = random * 6364136223846793005u + 1442695040888963407u;
        inside[i] = (random >> 33) % 100 < (uint64_t)percent;
      }
      assert_int_equal(ul_distance_squared(inside, n, NULL, out, NULL), UL_OK);
      int32_t at[3];
      size_t i = 0;
      for (at[2] = 0; at[2] < n[2]; at[2]++)
        for (at[1] = 0; at[1] < n[1]; at[1]++)
          for (at[0] = 0; at[0] < n[0]; at[0]++, i++)
            assert_true(out[i] == (float)(inside[i] ? brute(inside, n, at) : 0));
      free(inside);
      free(out);
    }
}

static void distances_do_not_depend_on_threads(void **state) {
  (void)state;
  const int32_t n[3] = {60, 50, 40};
  size_t count = 120000;
  uint8_t *inside = ul_new(count, 1);
  float *one = ul_new(count, sizeof *one), *many = ul_new(count, sizeof *many);
  for (size_t i = 0; i < count; i++) inside[i] = i * 2654435761u % 1000 < 990;
  for (int threads = 1; threads <= 7; threads += 3) {
    ul_job job = {.threads = threads};
    float *out = threads == 1 ? one : many;
    assert_int_equal(ul_distance_squared(inside, n, &job, out, NULL), UL_OK);
    assert_memory_equal(out, one, count * sizeof *one);
  }
  free(inside);
  free(one);
  free(many);
}

static void distances_without_memory_are_an_error(void **state) {
  (void)state;
  const int32_t n[3] = {3, 3, 3};
  const uint8_t inside[27] = {0};
  float out[27];
  ul_error err;
  ul_memory_fail_at(1);
  assert_int_equal(ul_distance_squared(inside, n, NULL, out, &err), UL_E_MEMORY);
  ul_memory_fail_at(0);
  assert_non_null(strstr(err.text, "out of memory"));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(distances_are_those_of_a_search_over_all_cubes),
      cmocka_unit_test(distances_do_not_depend_on_threads),
      cmocka_unit_test(distances_without_memory_are_an_error),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
