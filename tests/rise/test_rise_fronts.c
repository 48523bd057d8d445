/* Where the front stands, against closed forms of creeping flow. */
#include <math.h>
#include <stdlib.h>

#include "rise/creep.h"
#include "rise/mask.h"
#include "rise/mesh_mould.h"
#include "shapes/check.h"

/* ---- a pour beside a wall ---- */

typedef struct {
  double reach, contact;
} front;

/* Round pour at d from a long straight wall: for a wet area A >= pi d^2 exactly half a Neumann
 * oval, reach sqrt(2A/pi + 2d^2), half contact length sqrt(2A/pi - 2d^2) (moment theorem of
 * Richardson 1972, J. Fluid Mech. 56, from memory; moments 2, 4 and 6 checked elsewhere). */
static front half_oval(double area, double d) {
  return (front){sqrt(2 * area / M_PI + 2 * d * d), sqrt(2 * area / M_PI - 2 * d * d)};
}

/* The wrong answer: a circle about the pour, cut off by the wall, of the same area. */
static front clipped_circle(double area, double d) {
  double low = d, high = 10 * sqrt(area);
  for (int i = 0; i < 100; i++) {
    const double r = (low + high) / 2, half = acos(d / r);
    const double wet = M_PI * r * r - (r * r * half - d * sqrt(r * r - d * d));
    if (wet < area)
      low = r;
    else
      high = r;
  }
  return (front){d + low, sqrt(low * low - d * d)};
}

static bool is_within(front got, front want, double share) {
  return fabs(got.reach / want.reach - 1) < share && fabs(got.contact / want.contact - 1) < share;
}

/* How far the front has come by time t along the row of cubes from `from` on, in the direction of
 * an axis, mm; between cube centres evenly. NAN when the row's next cube is never reached. */
static double front_along(const ul_rise *r, const ul_grid *g, const double from[3], int axis,
                          double t) {
  double at[3] = {from[0], from[1], from[2]}, before = 0;
  for (;; at[axis] += g->lattice.cube_mm) {
    const double now = (double)r->arrival_s[mask_cube(g, at[0], at[1], at[2])];
    if (!isfinite(now)) return NAN;
    if (now > t) return at[axis] - from[axis] - g->lattice.cube_mm * (now - t) / (now - before);
    before = now;
  }
}

/* A gap of 2 mm, 262 x 130, poured 31 mm from the wall y = 0, in cubes of 2 mm. */
static void beside_a_wall_the_front_is_half_a_neumann_oval(void **state) {
  (void)state;
  const double size[3] = {262, 130, 2}, d = 31, pour[3] = {131, d, 1};
  ul_grid *g = mask_grid(size, 2, mask_everything, NULL);
  float *k = creep_even_mobility(g, 4.0 / 12);
  ul_rise_opts o = creep_opts(3);
  o.mobility_mm2 = k;
  o.pour_mm = &pour;
  o.pack = 0.55;
  ul_rise *r = creep_rise(g, NULL, &o);
  const double areas[3] = {8000, 11000, 14000}; /* pi d^2 is 3019 */
  for (int i = 0; i < 3; i++) {
    double early = 25, late = 110;
    while (late - early > 1e-6) {
      const double t = (early + late) / 2;
      if (creep_volume_mm3(r, 262 * 130 * 2, t) < areas[i] * 2)
        early = t;
      else
        late = t;
    }
    const double out[3] = {131, 1, 1}, along[3] = {131, 1, 1};
    const front got = {1 + front_along(r, g, out, 1, late), front_along(r, g, along, 0, late)};
    assert_true(is_within(got, half_oval(areas[i], d), 0.02));
    assert_false(is_within(got, clipped_circle(areas[i], d), 0.02));
    assert_false(is_within(clipped_circle(areas[i], d), half_oval(areas[i], d), 0.02));
  }
  ul_rise_free(r);
  free(k);
  mask_free(g);
}

/* ---- two channels fed by one chamber ---- */

/* A chamber up to x = 20, and beyond it two rows of one cube with a wall between. */
static bool chamber_and_two_rows(const double at[3], const void *context) {
  (void)context;
  return at[0] < 20 || (at[1] > 2 && at[1] < 3) || (at[1] > 7 && at[1] < 8);
}

/* In a slit fed at p, d(L^2)/dt = s L^2 + h^2 p / (6 mu), linear in L^2: two slits that start
 * together stand at L1 : L2 = h1 : h2 for ever, whatever p, mu and s do. */
static void two_slits_fed_alike_advance_as_their_gaps(void **state) {
  (void)state;
  const double size[3] = {70, 10, 1}, pour[3] = {0.5, 5, 0.5};
  ul_grid *g = mask_grid(size, 1, chamber_and_two_rows, NULL);
  float *k = creep_even_mobility(g, 100);
  for (double x = 20.5; x < 70; x += 1) {
    k[mask_cube(g, x, 2.5, 0.5)] = 0.8F * 0.8F / 12;
    k[mask_cube(g, x, 7.5, 0.5)] = 0.4F * 0.4F / 12;
  }
  ul_rise_opts o = creep_opts(30);
  o.mobility_mm2 = k;
  o.pour_mm = &pour;
  o.up[0] = 1; /* the slits go up, so that the liquid lies at the chamber's far end */
  o.up[2] = 0;
  o.pack = 0.9;
  ul_rise *r = creep_rise(g, NULL, &o);
  int checked = 0;
  for (double t = 75; t < 110; t += 0.5) {
    const double wide = 0.5 + front_along(r, g, (double[3]){20.5, 2.5, 0.5}, 0, t);
    const double narrow = 0.5 + front_along(r, g, (double[3]){20.5, 7.5, 0.5}, 0, t);
    if (!(narrow > 3)) continue; /* also when it goes no farther */
    assert_near(wide / narrow, 2, 0.03);
    checked++;
  }
  assert_true(checked > 40);
  ul_rise_free(r);
  free(k);
  mask_free(g);
}

/* Length that the foam has filled of what lies between two heights of y, beyond x = 20. */
static double length_filled(const ul_rise *r, const ul_grid *g, double y0, double y1,
                            double section_mm2) {
  const ul_lattice *l = &g->lattice;
  double sum = 0;
  for (size_t i = 0; i < g->cube_count; i++) {
    const size_t n0 = (size_t)l->n[0], n1 = (size_t)l->n[1];
    const double x = l->origin_mm[0] + ((double)(i % n0) + 0.5) * l->cube_mm;
    const double y = l->origin_mm[1] + ((double)(i / n0 % n1) + 0.5) * l->cube_mm;
    const bool counts = g->inside[i] && x > 20 && y > y0 && y < y1;
    if (counts && (double)r->arrival_s[i] < INFINITY) sum += pow(l->cube_mm, 3);
  }
  return sum / section_mm2;
}

/* The same from a mesh, with the mobility that the rise makes: square ducts of 8 and 4 mm leave a
 * chamber; of one shape, they advance nearly as their sides: the way to its mouth costs the wider
 * one more. A front that K has no say in would stand equally far in both. */
static void a_branch_fills_its_wider_duct_twice_as_far(void **state) {
  (void)state;
  const double x[3] = {0, 20, 60}, y[6] = {0, 4, 12, 18, 22, 26}, z[6] = {0, 6, 8, 12, 14, 20};
  unsigned char solid[50];
  for (int c = 0; c < 50; c++) {
    const int i = c % 2, j = c / 2 % 5, l = c / 10;
    solid[c] = i == 0 || (j == 1 && l >= 1 && l <= 3) || (j == 3 && l == 2);
  }
  mesh_mould m;
  mesh_mould_make(&m, shape_cells(x, 2, y, 5, z, 5, solid), 1, 5, 13);
  ul_rise_opts o = creep_opts(100);
  o.pour_mm = (const double(*)[3])m.pour_mm;
  o.pack = 0.97;
  ul_rise *r = creep_rise(m.grid, m.columns, &o);
  const double wide = length_filled(r, m.grid, 4, 12, 64);
  const double narrow = length_filled(r, m.grid, 18, 22, 16);
  assert_true(wide > 20 && wide < 45);
  assert_near(wide / narrow, 2, 0.16);
  ul_rise_free(r);
  mesh_mould_free(&m);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(beside_a_wall_the_front_is_half_a_neumann_oval),
      cmocka_unit_test(two_slits_fed_alike_advance_as_their_gaps),
      cmocka_unit_test(a_branch_fills_its_wider_duct_twice_as_far),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
