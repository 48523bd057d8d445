#include "ullage/mobility.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "rise/cut.h"
#include "shapes/check.h"
#include "shapes/shapes.h"

static const double PI = 3.14159265358979323846;

/* ---- sections of ducts along x ---- */

typedef struct duct duct;
struct duct {
  const char *name;
  bool (*holds)(const duct *d, double y, double z);
  double size, ratio; /* mm; what they mean is the section's business */
  double across_mm;   /* what "n cubes across" divides */
  double reach_mm;    /* the section lies within so far of its origin; 0: it goes on along y */
  double half_gap_mm;
  double turned_deg;
};

static bool in_slot(const duct *d, double y, double z) {
  (void)y;
  return fabs(z) < d->size / 2;
}
static bool in_rectangle(const duct *d, double y, double z) {
  return fabs(z) < d->size / 2 && fabs(y) < d->size * d->ratio / 2;
}
static bool in_triangle(const duct *d, double y, double z) {
  const double inner = d->size / (2 * sqrt(3));
  return z > -inner && sqrt(3) * fabs(y) + z < 2 * inner;
}
static bool in_ring(const duct *d, double y, double z) {
  const double r = hypot(y, z);
  return r < d->size && r > d->size * d->ratio;
}

static bool in_duct(const double at[3], const void *context) {
  const duct *d = context;
  const double a = d->turned_deg * PI / 180;
  return d->holds(d, cos(a) * at[1] + sin(a) * at[2], cos(a) * at[2] - sin(a) * at[1]);
}

/* Volume rate Q mu L / dp, mm4. Shah & London 1978 (Laminar Flow Forced Convection in Ducts): the
 * series for the rectangle of sides a, b, b >= a. */
static double rectangle_flow(double a, double b) {
  double sum = 0;
  for (int n = 1; n < 200; n += 2) sum += tanh(n * PI * b / (2 * a)) / pow(n, 5);
  return b * a * a * a / 12 * (1 - 192 * a / (pow(PI, 5) * b) * sum);
}
/* Shah & London 1978. */
static double triangle_flow(double side) {
  return sqrt(3) * pow(side, 4) / 320;
}
/* Shah & London 1978; circle for k = 0. */
static double ring_flow(double r, double k) {
  const double hole = k > 0 ? (1 - k * k) * (1 - k * k) / log(k) : 0;
  return PI / 8 * pow(r, 4) * (1 - pow(k, 4) + hole);
}

static double exact_flow(const duct *d) {
  if (d->holds == in_slot) return pow(d->size, 3) / 12; /* per mm of width: Poiseuille */
  if (d->holds == in_rectangle) return rectangle_flow(d->size, d->size * d->ratio);
  if (d->holds == in_triangle) return triangle_flow(d->size);
  return ring_flow(d->size, d->ratio);
}

static void cut_duct(const duct *d, double cubes_across, double shift, cut *out) {
  const double cube = d->across_mm / cubes_across;
  const double reach = d->reach_mm > 0 ? d->reach_mm : d->size;
  const int32_t side = 2 * ((int32_t)ceil(reach / cube) + 2);
  const int32_t n[3] = {2, d->reach_mm > 0 ? side : 4, side};
  cut_make(in_duct, d, n, cube, (double[3]){0, shift, 0.7 * shift}, d->half_gap_mm, out);
}

/* What the cubes of a slice carry, over what they should. */
static double flow_factor(const duct *d, double cubes_across, double shift,
                          const ul_mobility_opts *opts) {
  cut c;
  ul_error err = {0};
  cut_duct(d, cubes_across, shift, &c);
  float *k = ul_new(c.grid.cube_count, sizeof *k);
  assert_ok(ul_mobility(&c.grid, &c.columns, opts, NULL, k, &err), &err);
  double sum = 0;
  for (size_t i = 0; i < c.grid.cube_count; i++) sum += k[i];
  const double cube = c.grid.lattice.cube_mm;
  const double width = d->reach_mm > 0 ? 1 : c.grid.lattice.n[1] * cube;
  const double flow = sum * cube * cube / c.grid.lattice.n[0] / width;
  free(k);
  cut_free(&c);
  return flow / exact_flow(d);
}

/* The same of a slot across the lattice: it goes on beyond it, so places along it count by a hat of
 * cos^2 that is 0 two slots from the lattice's edge, where no wall ends the cavity. */
static double turned_slot_factor(const duct *slot, double cubes_across, double shift,
                                 const ul_mobility_opts *opts) {
  duct d = *slot;
  cut c;
  ul_error err = {0};
  d.turned_deg = 30;
  const double cube = d.size / cubes_across, half = 2.5 * d.size;
  const int32_t n[3] = {2, (int32_t)ceil(8 * d.size / cube), (int32_t)ceil(6 * d.size / cube)};
  cut_make(in_duct, &d, n, cube, (double[3]){0, shift, 0.7 * shift}, d.half_gap_mm, &c);
  float *k = ul_new(c.grid.cube_count, sizeof *k);
  assert_ok(ul_mobility(&c.grid, &c.columns, opts, NULL, k, &err), &err);
  double sum = 0;
  for (size_t i = 0; i < c.grid.cube_count; i++) {
    double at[3];
    cut_centre(&c, i, at);
    const double along = (cos(PI / 6) * at[1] + sin(PI / 6) * at[2]) / half;
    if (fabs(along) < 1) sum += k[i] * pow(cos(PI * along / 2), 2);
  }
  free(k);
  cut_free(&c);
  return sum * cube * cube / n[0] / half / exact_flow(&d);
}

/* Turned 30 degrees about the duct's own axis, or level. */
static double factor_of(const duct *level, bool turned, double cubes_across, double shift,
                        const ul_mobility_opts *opts) {
  duct d = *level;
  if (turned && d.reach_mm <= 0) return turned_slot_factor(&d, cubes_across, shift, opts);
  d.turned_deg = turned ? 30 : 0;
  return flow_factor(&d, cubes_across, shift, opts);
}

static const duct DUCTS[] = {
    {"slot", in_slot, 10, 0, 10, 0, 5, 0},
    {"square", in_rectangle, 10, 1, 10, 7.1, 5, 0},
    {"rectangle 1:2", in_rectangle, 10, 2, 10, 11.2, 5, 0},
    {"rectangle 1:4", in_rectangle, 10, 4, 10, 20.7, 5, 0},
    {"rectangle 1:10", in_rectangle, 10, 10, 10, 50.3, 5, 0},
    {"triangle", in_triangle, 10, 0, 8.66, 5.8, 2.887, 0}, /* across: its height */
    {"circle", in_ring, 5, 0, 10, 5, 5, 0},
    {"annulus 0.5", in_ring, 20, 0.5, 10, 20, 5, 0},
};
enum { DUCT_COUNT = sizeof DUCTS / sizeof *DUCTS };

static void demand_flow_factors(double cubes_across, double within) {
  for (int i = 0; i < DUCT_COUNT; i++)
    for (int turned = 0; turned < 2; turned++)
      for (int s = 0; s < 3; s++) {
        const double f = factor_of(&DUCTS[i], turned, cubes_across, 0.31 * s + 0.04, NULL);
        if (fabs(f - 1) > within)
          print_error("%s turned %d, lattice moved %d: ", DUCTS[i].name, 30 * turned, s);
        assert_near(f, 1, within);
      }
}

static void ducts_16_cubes_across_carry_their_flow_within_1_percent(void **state) {
  (void)state;
  demand_flow_factors(16, 0.01);
}

static void ducts_8_cubes_across_carry_their_flow_within_3_percent(void **state) {
  (void)state;
  demand_flow_factors(8, 0.03);
}

/* Mean over ducts and places of the lattice of |flow factor - 1|, turned 30 degrees. Without the
 * floor: it is a part of the model, which adds its tenths of a percent to a duct's flow in cubes of
 * any size, and what is asked here is how the cubes' own error goes to nothing. */
static double mean_error(double cubes_across) {
  enum { PLACES = 5 };
  const ul_mobility_opts bare = {.floor = 0, .slip = 0};
  double sum = 0;
  for (int i = 0; i < DUCT_COUNT; i++)
    for (int s = 0; s < PLACES; s++)
      sum += fabs(factor_of(&DUCTS[i], true, cubes_across, 0.2 * s + 0.03, &bare) - 1);
  return sum / (DUCT_COUNT * PLACES);
}

/* Seen: 0.97, 0.21, 0.041 %, orders 2.2 and 2.4. */
static void half_the_cube_gives_a_quarter_of_the_error(void **state) {
  (void)state;
  const double error[3] = {mean_error(8), mean_error(16), mean_error(32)};
  for (int i = 0; i < 2; i++) {
    const double order = log2(error[i] / error[i + 1]);
    print_message("# %d to %d cubes across: order %.2f\n", 8 << i, 16 << i, order);
    assert_true(order >= 1.8);
  }
}

/* ---- point by point ---- */

typedef struct {
  double half[3];
} ellipsoid;

static double ellipsoid_mobility(const ellipsoid *e, const double p[3]) {
  double f = 1, curvature = 0;
  for (int a = 0; a < 3; a++) {
    f -= p[a] * p[a] / (e->half[a] * e->half[a]);
    curvature += 2 / (e->half[a] * e->half[a]);
  }
  return f / curvature;
}
static bool in_ellipsoid(const double at[3], const void *context) {
  return ellipsoid_mobility(context, at) > 0;
}

/* In an ellipsoid lap K = -1, K = 0 on the wall has a quadratic for its answer. Mean over the
 * cubes: the single one whose centre all but lies on the wall is of first order. */
static double ellipsoid_error(int32_t cubes) {
  const ellipsoid e = {{5, 7, 9}};
  const ul_mobility_opts bare = {.floor = 0, .slip = 0};
  const int32_t n[3] = {cubes + 4, cubes * 7 / 5 + 4, cubes * 9 / 5 + 4};
  cut c;
  ul_error err = {0};
  cut_make(in_ellipsoid, &e, n, 10.0 / cubes, (double[3]){0.11, 0.23, 0.37}, 5, &c);
  float *k = ul_new(c.grid.cube_count, sizeof *k);
  assert_ok(ul_mobility(&c.grid, &c.columns, &bare, NULL, k, &err), &err);
  double sum = 0;
  for (size_t i = 0; i < c.grid.cube_count; i++) {
    double p[3];
    cut_centre(&c, i, p);
    if (c.grid.inside[i]) sum += fabs(k[i] - ellipsoid_mobility(&e, p));
  }
  const double mean = sum / (double)c.grid.inside_count;
  free(k);
  cut_free(&c);
  return mean / ellipsoid_mobility(&e, (double[3]){0, 0, 0});
}

static void mobility_in_an_ellipsoid_is_the_exact_quadratic_to_second_order(void **state) {
  (void)state;
  const double coarse = ellipsoid_error(8), fine = ellipsoid_error(32);
  assert_true(coarse < 0.015);
  assert_true(fine < coarse / 9);
}

/* ---- from a mesh ---- */

/* A box 60 long and 10 square, or a round bar, its axis turned out of the lattice: what its middle
 * carries over what it should. The axis lay along `axis` and the middle at `centre`. */
static double flow_factor_of_mesh(ul_mesh *mesh, int axis, const double centre[3], double exact) {
  double at[3] = {centre[0], centre[1], centre[2]}, along[3] = {axis == 0, 0, axis == 2};
  const int axes[2] = {2, 0};
  for (int turn = 0; turn < 2; turn++) {
    shape_rotate(mesh, axes[turn], 30);
    shape_turn(at, axes[turn], 30);
    shape_turn(along, axes[turn], 30);
  }
  ul_solid *solid = shape_solid(mesh);
  cut c = {0}; /* for cut_centre() */
  ul_lattice *lattice = &c.grid.lattice;
  ul_columns *columns = NULL;
  ul_grid *grid = NULL;
  ul_error err = {0};
  assert_ok(
      ul_lattice_for_box((const double(*)[3])solid->cavity[0].box_mm, 10.0 / 16, lattice, &err),
      &err);
  assert_ok(ul_columns_build(solid, NULL, 0, lattice, NULL, &columns, &err), &err);
  assert_ok(ul_grid_build(solid, NULL, 0, columns, NULL, &grid, &err), &err);
  float *k = ul_new(grid->cube_count, sizeof *k);
  assert_ok(ul_mobility(grid, columns, NULL, NULL, k, &err), &err);
  double sum = 0;
  for (size_t i = 0; i < grid->cube_count; i++) {
    double p[3], s = 0;
    cut_centre(&c, i, p);
    for (int a = 0; a < 3; a++) s += (p[a] - at[a]) * along[a];
    if (fabs(s) < 15) sum += k[i];
  }
  const double cube = lattice->cube_mm;
  free(k);
  ul_grid_free(grid);
  ul_columns_free(columns);
  ul_solid_free(solid);
  return sum * cube * cube * cube / 30 / exact;
}

static void meshes_of_ducts_turned_in_space_carry_their_flow_within_1_percent(void **state) {
  (void)state;
  assert_near(
      flow_factor_of_mesh(shape_box(60, 10, 10), 0, (double[3]){30, 5, 5}, rectangle_flow(10, 10)),
      1, 0.01);
  assert_near(
      flow_factor_of_mesh(shape_cylinder(5, 60, 96), 2, (double[3]){0, 0, 30}, ring_flow(5, 0)), 1,
      0.01);
}

/* ---- floor, slip, ribs, refusals ---- */

static void no_mobility_is_below_the_floor_and_none_outside_the_cavity(void **state) {
  (void)state;
  cut c;
  ul_error err = {0};
  cut_duct(&DUCTS[1], 16, 0, &c);
  float *k = ul_new(c.grid.cube_count, sizeof *k), least = INFINITY;
  assert_ok(ul_mobility(&c.grid, &c.columns, NULL, NULL, k, &err), &err);
  for (size_t i = 0; i < c.grid.cube_count; i++) {
    if (c.grid.inside[i] && k[i] < least) least = k[i];
    if (!c.grid.inside[i]) assert_true(k[i] == 0);
  }
  assert_rel(least, 0.015 * 5 * 5, 1e-6); /* in the corners of the square */
  free(k);
  cut_free(&c);
}

/* Navier's slip in a slot of half-gap R: Q = Q0 (1 + 3 slip), by integrating the parabola. */
static void slip_lets_a_slot_carry_what_naviers_law_says(void **state) {
  (void)state;
  for (double slip = 0.02; slip < 0.5; slip *= 3) {
    const ul_mobility_opts opts = {.floor = 0, .slip = slip};
    for (int s = 0; s < 3; s++)
      assert_near(flow_factor(&DUCTS[0], 16, 0.31 * s, &opts) / (1 + 3 * slip), 1, 0.005);
  }
}

typedef struct {
  double half_rib;
} ribbed;

static bool in_ribbed_slot(const double at[3], const void *context) {
  const ribbed *r = context;
  return fabs(at[2]) < 8 + r->half_rib && fabs(at[2]) > r->half_rib;
}

/* Two slots of 8 cubes, and between them a wall that no cube's centre lies in. */
static void a_rib_thinner_than_a_cube_still_parts_two_slots(void **state) {
  (void)state;
  const ribbed r = {0.15};
  const int32_t n[3] = {2, 2, 20};
  cut c;
  ul_error err = {0};
  cut_make(in_ribbed_slot, &r, n, 1, (double[3]){0, 0, 0}, 4, &c);
  float *k = ul_new(c.grid.cube_count, sizeof *k), most = 0;
  assert_int_equal(c.grid.inside_count, 2 * 2 * 16);
  assert_ok(ul_mobility(&c.grid, &c.columns, NULL, NULL, k, &err), &err);
  for (size_t i = 0; i < c.grid.cube_count; i++) most = fmaxf(most, k[i]);
  assert_near(most, 0.5 * 4 * 4, 0.1); /* without the rib it would be four times that */
  free(k);
  cut_free(&c);
}

static void absurd_options_and_foreign_columns_are_refused_by_name(void **state) {
  (void)state;
  cut c;
  cut_duct(&DUCTS[1], 4, 0, &c);
  float *k = ul_new(c.grid.cube_count, sizeof *k);
  const ul_mobility_opts bad[] = {{-1, 0}, {2, 0}, {NAN, 0}, {0, -0.1}, {0, INFINITY}};
  for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
    ul_error err = {0};
    assert_int_equal(ul_mobility(&c.grid, &c.columns, &bad[i], NULL, k, &err), UL_E_USAGE);
    assert_non_null(strstr(err.text, "floor"));
  }
  ul_error err = {0};
  c.columns.lattice.cube_mm *= 2;
  assert_int_equal(ul_mobility(&c.grid, &c.columns, NULL, NULL, k, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "lattice"));
  free(k);
  cut_free(&c);
}

static void every_allocation_may_fail(void **state) {
  (void)state;
  cut c;
  cut_duct(&DUCTS[1], 16, 0, &c);
  float *k = ul_new(c.grid.cube_count, sizeof *k);
  ul_status status = UL_E_MEMORY;
  long nth = 0;
  while (status == UL_E_MEMORY) {
    ul_error err = {0};
    ul_memory_fail_at(++nth);
    status = ul_mobility(&c.grid, &c.columns, NULL, NULL, k, &err);
    if (status != UL_OK) assert_int_equal(err.code, UL_E_MEMORY);
  }
  ul_memory_fail_at(0);
  assert_int_equal(status, UL_OK);
  assert_true(nth > 30);
  free(k);
  cut_free(&c);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(ducts_16_cubes_across_carry_their_flow_within_1_percent),
      cmocka_unit_test(ducts_8_cubes_across_carry_their_flow_within_3_percent),
      cmocka_unit_test(half_the_cube_gives_a_quarter_of_the_error),
      cmocka_unit_test(mobility_in_an_ellipsoid_is_the_exact_quadratic_to_second_order),
      cmocka_unit_test(meshes_of_ducts_turned_in_space_carry_their_flow_within_1_percent),
      cmocka_unit_test(no_mobility_is_below_the_floor_and_none_outside_the_cavity),
      cmocka_unit_test(slip_lets_a_slot_carry_what_naviers_law_says),
      cmocka_unit_test(a_rib_thinner_than_a_cube_still_parts_two_slots),
      cmocka_unit_test(absurd_options_and_foreign_columns_are_refused_by_name),
      cmocka_unit_test(every_allocation_may_fail),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
