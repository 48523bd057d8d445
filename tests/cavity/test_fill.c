#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "cavity/by_hand.h"
#include "cavity/fill.h"
#include "shapes/check.h"
#include "shapes/shapes.h"

static size_t cubes_of(const ul_lattice *l) {
  return (size_t)l->n[0] * (size_t)l->n[1] * (size_t)l->n[2];
}

static ul_lattice lattice_of(const ul_mesh *mesh, double cube_mm) {
  double box[2][3];
  ul_lattice lattice;
  ul_mesh_box_mm(mesh, box);
  assert_int_equal(ul_lattice_for_box((const double(*)[3])box, cube_mm, &lattice, NULL), UL_OK);
  return lattice;
}

static float *fill(const ul_solid *solid, const ul_solid *insert, const ul_lattice *l, int threads,
                   double *volume_mm3) {
  float *share = ul_new(cubes_of(l), sizeof *share);
  ul_job job = {.threads = threads};
  ul_error err = {0};
  assert_ok(ul_fill(solid, &insert, insert ? 1 : 0, l, &job, share, volume_mm3, &err), &err);
  *volume_mm3 *= l->cube_mm * l->cube_mm * l->cube_mm;
  for (size_t i = 0; i < cubes_of(l); i++) assert_true(share[i] >= 0 && share[i] <= 1);
  return share;
}

/* Askew, so that every kind of cut is made; with a core; and a case of triangles far smaller and
 * far larger than a cube. */
static void shares_add_up_to_the_mesh_volume(void **state) {
  (void)state;
  ul_mesh *mesh[4] = {shape_box(31, 17, 9.3), shape_icosphere(10, 5), shape_torus(10, 4, 31, 17),
                      shape_box_in_sphere(12, 7, 40, 20)};
  for (int s = 0; s < 4; s++) {
    shape_rotate(mesh[s], 0, 13.7);
    shape_rotate(mesh[s], 2, 71.3);
    shape_move(mesh[s], 5000, -300, 7);
    ul_solid *solid = by_hand(mesh[s], false);
    for (double h = 4; h > 0.4; h /= 2) {
      ul_lattice l = lattice_of(mesh[s], h);
      double volume;
      float *share = fill(solid, NULL, &l, 2, &volume);
      assert_rel(volume, solid->cavity->volume_mm3, 1e-12);
      double sum = 0;
      for (size_t i = 0; i < cubes_of(&l); i++) sum += share[i];
      assert_rel(sum * h * h * h, volume, 1e-7);
      free(share);
    }
    by_hand_free(solid);
  }
}

/* The share of each cube of a box is a product of three lengths. */
static void shares_of_a_box_are_products_of_lengths(void **state) {
  (void)state;
  const double size[3] = {7.3, 5.9, 3.1};
  ul_solid *box = by_hand(shape_box(size[0], size[1], size[2]), false);
  ul_lattice l = {{-1.3, -1.75, -1.1}, 0.8, {13, 12, 8}};
  double volume;
  float *share = fill(box, NULL, &l, 2, &volume);
  for (size_t i = 0; i < cubes_of(&l); i++) {
    int at[3] = {(int)i % l.n[0], (int)i / l.n[0] % l.n[1], (int)i / l.n[0] / l.n[1]};
    double want = 1;
    for (int c = 0; c < 3; c++) {
      double lo = l.origin_mm[c] + at[c] * 0.8;
      want *= fmax(0, fmin(lo + 0.8, size[c]) - fmax(lo, 0)) / 0.8;
    }
    assert_near(share[i], want, 1e-7);
  }
  free(share);
  by_hand_free(box);
}

/* Faces between cubes: every share is 0 or 1 to the bit. */
static void a_box_of_whole_cubes_has_no_partial_cube(void **state) {
  (void)state;
  ul_solid *box = by_hand(shape_box(1.3, 0.7, 0.4), false);
  ul_lattice l = lattice_of(box->mesh, 0.1);
  double volume;
  float *share = fill(box, NULL, &l, 1, &volume);
  size_t full = 0;
  for (size_t i = 0; i < cubes_of(&l); i++) {
    full += share[i] > 0.5F;
    assert_true(share[i] == 0 || share[i] > 1 - 1e-6F);
  }
  assert_int_equal(full, 13 * 7 * 4);
  free(share);
  by_hand_free(box);
}

/* Against volumes by arithmetic. Sampled cubes keep the sum right to 1e-3 here, and each to 0.09
 * where walls of two shells cross along the cubes. */
static void overlaps_count_once(void **state) {
  (void)state;
  ul_mesh *both = shape_box(20, 20, 20), *other = shape_box(20, 20, 20);
  shape_move(other, 12.3, 4.1, 8.7);
  shape_append(both, other);
  ul_solid *solid = by_hand(both, true);
  ul_lattice l = lattice_of(both, 1.1);
  double volume;
  float *share = fill(solid, NULL, &l, 2, &volume);
  assert_rel(volume, 16000 - 7.7 * 15.9 * 11.3, 1e-3);
  double worst = 0;
  for (size_t i = 0; i < cubes_of(&l); i++) {
    int at[3] = {(int)i % l.n[0], (int)i / l.n[0] % l.n[1], (int)i / l.n[0] / l.n[1]};
    double a = 1, b = 1, ab = 1;
    const double by[3] = {12.3, 4.1, 8.7};
    for (int c = 0; c < 3; c++) {
      double lo = (l.origin_mm[c] + at[c] * 1.1), hi = lo + 1.1;
      a *= fmax(0, fmin(hi, 20) - fmax(lo, 0)) / 1.1;
      b *= fmax(0, fmin(hi, 20 + by[c]) - fmax(lo, by[c])) / 1.1;
      ab *= fmax(0, fmin(hi, 20) - fmax(lo, by[c])) / 1.1;
    }
    worst = fmax(worst, fabs(share[i] - (a + b - ab)));
  }
  assert_true(worst < 0.09);
  free(share);
  by_hand_free(solid);
}

/* An insert wholly inside, and one that stands through both walls. */
static void inserts_are_taken_out(void **state) {
  (void)state;
  ul_solid *box = by_hand(shape_box(20, 20, 20), false);
  ul_lattice l = lattice_of(box->mesh, 0.9);
  double volume;
  ul_mesh *ball = shape_icosphere(5, 3);
  shape_move(ball, 9, 10, 11);
  ul_solid *inside = by_hand(ball, false);
  float *share = fill(box, inside, &l, 2, &volume);
  assert_rel(volume, 8000 - inside->cavity->volume_mm3, 1e-12);
  free(share);
  by_hand_free(inside);
  ul_mesh *bolt_mesh = shape_cylinder(3, 40, 24);
  shape_move(bolt_mesh, 9, 10, -10);
  double taken = by_hand_volume(bolt_mesh) / 2;
  ul_solid *bolt = by_hand(bolt_mesh, false);
  share = fill(box, bolt, &l, 2, &volume);
  assert_rel(volume, 8000 - taken, 5e-4);
  free(share);
  by_hand_free(bolt);
  by_hand_free(box);
}

static void shares_do_not_depend_on_threads(void **state) {
  (void)state;
  ul_mesh *both = shape_icosphere(10, 4), *other = shape_icosphere(7, 4);
  shape_move(other, 8, 1, 2);
  shape_append(both, other);
  ul_solid *solid = by_hand(both, true);
  ul_lattice l = lattice_of(both, 0.6);
  double one_volume, volume;
  float *one = fill(solid, NULL, &l, 1, &one_volume);
  for (int threads = 2; threads <= 7; threads += 5) {
    float *share = fill(solid, NULL, &l, threads, &volume);
    assert_memory_equal(share, one, cubes_of(&l) * sizeof *one);
    assert_true(volume == one_volume);
    free(share);
  }
  free(one);
  by_hand_free(solid);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(shares_add_up_to_the_mesh_volume),
      cmocka_unit_test(shares_of_a_box_are_products_of_lengths),
      cmocka_unit_test(a_box_of_whole_cubes_has_no_partial_cube),
      cmocka_unit_test(overlaps_count_once),
      cmocka_unit_test(inserts_are_taken_out),
      cmocka_unit_test(shares_do_not_depend_on_threads),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
