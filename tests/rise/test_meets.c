/* Seams of arrivals that are known beforehand. */
#include "mask.h"
#include "shapes/check.h"
#include "ullage/meets.h"

#include <math.h>
#include <stdlib.h>

typedef double (*arrival_fn)(const double at[3]);

static float *arrivals(const ul_grid *g, arrival_fn when) {
  float *t = malloc(g->cube_count * sizeof *t);
  const ul_lattice *l = &g->lattice;
  for (size_t i = 0; i < g->cube_count; i++) {
    size_t index[3] = {i % (size_t)l->n[0], i / (size_t)l->n[0] % (size_t)l->n[1],
                       i / ((size_t)l->n[0] * (size_t)l->n[1])};
    double at[3];
    for (int c = 0; c < 3; c++) at[c] = l->origin_mm[c] + ((double)index[c] + 0.5) * l->cube_mm;
    t[i] = g->inside[i] ? (float)when(at) : NAN;
  }
  return t;
}

static size_t find(ul_grid *g, arrival_fn when, double latest, ul_meet **meet) {
  float *t = arrivals(g, when);
  ul_error err = {0};
  size_t count;
  assert_ok(ul_meets_find(g, NULL, t, latest, meet, &count, &err), &err);
  free(t);
  return count;
}

static double from(const double at[3], double x, double y) {
  return hypot(at[0] - x, at[1] - y);
}

/* Two pours at equal time: the seam is the plane half way. */
static double two_pours(const double at[3]) {
  return fmin(from(at, 20, 20.5), from(at, 100, 20.5));
}

static void two_pours_meet_half_way(void **state) {
  (void)state;
  const double size[3] = {120, 41, 4};
  ul_grid *g = mask_grid(size, 1, mask_everything, NULL);
  ul_meet *meet;
  assert_int_equal(find(g, two_pours, 1e9, &meet), 1);
  assert_near(meet->at_mm[0], 60, 1);
  assert_near(meet->at_mm[1], 20.5, 1);
  assert_near(meet->arrival, 40, 1);
  assert_near(meet->area_mm2, 41 * 4, 1e-9);
  double cosines = 0; /* of the angle between the ways, over the seam */
  for (int y = -20; y <= 20; y++) cosines += (y * y - 1600.0) / (y * y + 1600.0) / 41;
  assert_near(meet->angle_deg, acos(cosines) * 180 / M_PI, 3);
  free(meet);
  /* Set before they meet: no seam. */
  assert_int_equal(find(g, two_pours, 39, &meet), 0);
  free(meet);
  mask_free(g);
}

static double one_pour(const double at[3]) {
  return from(at, 20, 20.5);
}

static void one_pour_has_no_seam(void **state) {
  (void)state;
  const double size[3] = {120, 41, 4};
  ul_grid *g = mask_grid(size, 1, mask_everything, NULL);
  ul_meet *meet;
  assert_int_equal(find(g, one_pour, 1e9, &meet), 0);
  free(meet);
  mask_free(g);
}

/* Round a core: a ring of radii 20 to 30 about (35,35), poured at its west; both ways to the east
 * are half the ring long. */
static bool in_ring(const double at[3], const void *context) {
  (void)context;
  double r = hypot(at[0] - 35, at[1] - 35);
  return r > 20 && r < 30;
}

static double round_the_ring(const double at[3]) {
  return 25 * fabs(M_PI - fabs(atan2(at[1] - 35, at[0] - 35)));
}

static void foam_round_a_core_meets_behind_it_head_on(void **state) {
  (void)state;
  const double size[3] = {70, 70, 4};
  ul_grid *g = mask_grid(size, 1, in_ring, NULL);
  ul_meet *meet;
  assert_int_equal(find(g, round_the_ring, 1e9, &meet), 1);
  assert_near(meet->at_mm[0], 60, 6);
  assert_near(meet->at_mm[1], 35, 1);
  assert_near(meet->arrival, 25 * M_PI, 3);
  assert_near(meet->angle_deg, 180, 8);
  free(meet);
  mask_free(g);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(two_pours_meet_half_way),
      cmocka_unit_test(one_pour_has_no_seam),
      cmocka_unit_test(foam_round_a_core_meets_behind_it_head_on),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
