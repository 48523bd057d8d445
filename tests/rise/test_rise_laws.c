/* The front and the pressure against closed forms of creeping flow. Where the mobility is given as
 * h^2/12 on one layer of cubes, the rise is that of a flat gap h. */
#include "rise/mask.h"
#include "shapes/check.h"
#include "ullage/rise.h"

#include <math.h>
#include <stdlib.h>

static const ul_job one_thread = {.threads = 1};

/* Foam of nearly constant viscosity, that gas does not thicken. */
static ul_rise_opts plain_foam(double viscosity) {
  ul_rise_opts o = ul_rise_opts_default();
  o.foam.viscosity_pa_s = (ul_span){viscosity, viscosity};
  o.foam.gel_s = (ul_span){7000, 7000};
  o.foam.gas_power = 0;
  o.open = true;
  o.poured_s = 24;
  return o;
}

static ul_rise *rise(const ul_grid *grid, const ul_rise_opts *opts) {
  ul_rise *r = NULL;
  ul_error err;
  assert_ok(ul_rise_run(grid, NULL, opts, &one_thread, &r, &err), &err);
  assert_near(r->cavity[0].mass_error, 0, 1e-9);
  return r;
}

static float *even_mobility(const ul_grid *g, double k_mm2) {
  float *k = malloc(g->cube_count * sizeof *k);
  for (size_t i = 0; i < g->cube_count; i++) k[i] = g->inside[i] ? (float)k_mm2 : 0;
  return k;
}

/* Mean over the steps with the foam's volume between two bounds (mm3) of the peak pressure over
 * mu s g(V), where s is the rate at which the foam grows in the step. */
static double mean_ratio(const ul_rise *r, const ul_rise_opts *o, double volume_mm3, double from,
                         double to, double (*g)(double), double weight) {
  double sum = 0;
  int count = 0;
  for (size_t i = 1; i < r->sample_count; i++) {
    const ul_rise_sample *a = &r->sample[i - 1], *b = &r->sample[i];
    double va = a->filled_fraction * volume_mm3, vb = b->filled_fraction * volume_mm3;
    if (vb < from || vb > to) continue;
    double s = (vb / va - 1) / (b->s - a->s), mu = ul_foam_liquid_viscosity(&o->foam, b->s);
    double density = o->pack * 64 * volume_mm3 / vb; /* charge over volume now */
    double lift = weight * density * 9.80665;
    sum += (b->peak_kpa * 1000 - lift * vb) / (mu * s * g(vb));
    count++;
  }
  assert_true(count > 5);
  return sum / count;
}

/* Disc in a gap h: 3 R^2 / h^2, R^2 = V / (pi h). Here h = 2 mm. */
static double disc_law(double v) {
  return 3 * v / (M_PI * 2) / 4;
}

static void a_disc_stands_at_three_mu_s_r2_over_h2(void **state) {
  (void)state;
  const double size[3] = {202, 202, 2}, pour[3] = {101, 101, 1};
  ul_grid *g = mask_grid(size, 2, mask_everything, NULL);
  float *k = even_mobility(g, 4.0 / 12);
  ul_rise_opts o = plain_foam(1);
  o.mobility_mm2 = k;
  o.pour_mm = (const double(*)[3])pour;
  o.pack = 0.6;
  ul_rise *r = rise(g, &o);
  double ratio =
      mean_ratio(r, &o, 202 * 202 * 2, M_PI * 40 * 40 * 2, M_PI * 85 * 85 * 2, disc_law, 0);
  assert_near(ratio, 1, 0.03);
  ul_rise_free(r);
  free(k);
  mask_free(g);
}

/* Round pour at d from a long straight wall: for a wet area A >= pi d^2 exactly half a Neumann
 * oval, reach a = sqrt(2A/pi + 2d^2), half contact b = sqrt(2A/pi - 2d^2) (moment theorem of
 * Richardson 1972, from memory). A circle cut off by the wall reaches less far and touches more. */
static void beside_a_wall_the_front_is_half_a_neumann_oval(void **state) {
  (void)state;
  const double size[3] = {242, 130, 2}, d = 31, pour[3] = {121, 31, 1};
  ul_grid *g = mask_grid(size, 2, mask_everything, NULL);
  float *k = even_mobility(g, 4.0 / 12);
  for (int i = 0; i < 3; i++) {
    ul_rise_opts o = plain_foam(i == 1 ? 10 : 1);
    o.mobility_mm2 = k;
    o.pour_mm = (const double(*)[3])pour;
    o.pack = 0.28 + 0.12 * i;
    ul_rise *r = rise(g, &o);
    double area = r->cavity[0].filled_fraction * 242 * 130, reach = 0, contact = 0;
    assert_true(area > M_PI * d * d);
    for (double y = 1; y < 130; y += 2)
      if ((double)r->arrival_s[mask_cube(g, 121, y, 1)] < INFINITY) reach = y + 1 - 0;
    for (double x = 1; x < 242; x += 2)
      if ((double)r->arrival_s[mask_cube(g, x, 1, 1)] < INFINITY) contact += 1;
    double a = sqrt(2 * area / M_PI + 2 * d * d), b = sqrt(2 * area / M_PI - 2 * d * d);
    assert_near(reach, a, 0.02 * a + 1); /* and half a cube */
    assert_near(contact, b, 0.02 * b + 1);
    ul_rise_free(r);
  }
  free(k);
  mask_free(g);
}

/* Square duct closed at one end: 6 L^2 / (h^2 F), F = 0.42173104 (Shah & London 1978). h = 4 mm. */
static double duct_law(double v) {
  double length = v / 16;
  return 6 * length * length / (16 * 0.42173104);
}

static void a_square_duct_stands_at_six_mu_s_l2_over_h2_f(void **state) {
  (void)state;
  const double size[3] = {4, 4, 24}, pour[3] = {2.1, 2.1, 0.1};
  ul_grid *g = mask_grid(size, 0.25, mask_everything, NULL);
  float *k = mask_mobility(g, 2);
  ul_rise_opts o = plain_foam(10);
  o.mobility_mm2 = k;
  o.pour_mm = (const double(*)[3])pour;
  o.pack = 0.9;
  ul_rise *r = rise(g, &o);
  /* the weight of the column, L = V / 16 mm2, stands on the closed end too */
  double ratio = mean_ratio(r, &o, 4 * 4 * 24, 16 * 12, 16 * 21, duct_law, 1e-3 / 16);
  assert_near(ratio, 1, 0.03);
  ul_rise_free(r);
  free(k);
  mask_free(g);
}

/* In a dead-end channel the front's place is a matter of volume alone. */
static void a_dead_end_front_does_not_know_viscosity_or_gap(void **state) {
  (void)state;
  double arrival[3];
  for (int i = 0; i < 3; i++) {
    const double gap = i == 2 ? 1 : 2, size[3] = {120, 10, gap}, pour[3] = {1, 5, gap / 2};
    ul_grid *g = mask_grid(size, gap, mask_everything, NULL);
    float *k = even_mobility(g, gap * gap / 12);
    ul_rise_opts o = plain_foam(i == 1 ? 5 : 0.5);
    o.mobility_mm2 = k;
    o.pour_mm = (const double(*)[3])pour;
    o.pack = 0.9;
    ul_rise *r = rise(g, &o);
    arrival[i] = (double)r->arrival_s[mask_cube(g, 60.1, 5.1, gap / 2)];
    ul_rise_free(r);
    free(k);
    mask_free(g);
  }
  assert_rel(arrival[1], arrival[0], 0.01);
  assert_rel(arrival[2], arrival[0], 0.01);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_disc_stands_at_three_mu_s_r2_over_h2),
      cmocka_unit_test(beside_a_wall_the_front_is_half_a_neumann_oval),
      cmocka_unit_test(a_square_duct_stands_at_six_mu_s_l2_over_h2_f),
      cmocka_unit_test(a_dead_end_front_does_not_know_viscosity_or_gap),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
