/* The search for a tilt: cavities whose best attitude one can say beforehand. */
#include "air/directions.h"
#include "base/vec.h"
#include "lie.h"
#include "shapes/check.h"
#include "shapes/shapes.h"
#include "ullage/attitude.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static ul_tilts *find(const lie *f, const ul_tilts_opts *opts, int threads) {
  ul_job job = {.threads = threads};
  ul_tilts *found;
  ul_error err = {0};
  assert_ok(ul_tilts_search(f->solid, f->heights, opts, &job, &found, &err), &err);
  return found;
}

static ul_tilts *compare(const lie *f, const double (*up)[3], size_t count) {
  ul_tilts_opts opts = ul_tilts_opts_default();
  opts.only = up;
  opts.only_count = count;
  return find(f, &opts, 2);
}

static void the_sphere_is_covered_evenly(void **state) {
  (void)state;
  ul_solid *solid = shape_solid(shape_box(30, 20, 10));
  directions d;
  assert_int_equal(ul_directions_make(solid, 2000, &d), UL_OK);
  double sum[3] = {0};
  for (size_t i = 0; i < 2000; i++) {
    assert_near(ul_norm(d.up[i]), 1, 1e-14);
    for (int c = 0; c < 3; c++) sum[c] += d.up[i][c];
  }
  assert_true(ul_norm(sum) < 1); /* 2000 unit vectors that cancel */
  /* No place on the sphere is farther from a direction than twice the mean spacing. */
  for (int i = 0; i < 500; i++) {
    double a = 0.7 * i, z = -1 + 2 * (i + 0.5) / 500, r = sqrt(1 - z * z), nearest = -1;
    const double at[3] = {r * cos(a), r * sin(a), z};
    for (size_t j = 0; j < 2000; j++) nearest = fmax(nearest, ul_dot(at, d.up[j]));
    assert_true(acos(nearest) < 2 * sqrt(4 * M_PI / 2000));
  }
  free(d.up);
  ul_solid_free(solid);
}

static void level_faces_of_the_cavity_are_among_the_directions(void **state) {
  (void)state;
  ul_solid *solid = shape_solid(shape_gable(100, 60, 40, 70)); /* roof slopes 45 degrees */
  directions d;
  assert_int_equal(ul_directions_make(solid, 1, &d), UL_OK);
  double best = -1;
  const double roof[3] = {0, M_SQRT1_2, M_SQRT1_2};
  for (size_t i = 0; i < d.count; i++) best = fmax(best, ul_dot(roof, d.up[i]));
  assert_near(best, 1, 1e-12);
  free(d.up);
  ul_solid_free(solid);
}

static void a_shop_sets_multiples_of_five_degrees(void **state) {
  (void)state;
  for (int i = 0; i < 1000; i++) {
    double a = 2.399963 * i, z = -1 + 2 * (i + 0.5) / 1000, r = sqrt(1 - z * z);
    const double up[3] = {r * cos(a), r * sin(a), z};
    double shop[3];
    ul_direction_to_shop(up, shop);
    assert_near(ul_norm(shop), 1, 1e-12);
    assert_true(acos(fmin(1, ul_dot(up, shop))) < 6 * M_PI / 180);
    int whole = 0;
    for (int c = 0; c < 3; c++) {
      double fives = asin(fmin(1, fmax(-1, shop[c]))) * 180 / M_PI / 5;
      whole += fabs(fives - round(fives)) < 1e-6;
    }
    assert_true(whole >= 2); /* the two edges of the face it stands on */
  }
}

static void neighbours_lie_as_far_off_as_asked_all_round(void **state) {
  (void)state;
  const double up[3] = {0.6, 0, 0.8};
  double sum[3] = {0}, beside[3];
  for (int i = 0; i < 8; i++) {
    ul_direction_beside(up, 2, i, beside);
    assert_near(acos(ul_dot(up, beside)) * 180 / M_PI, 2, 1e-9);
    for (int c = 0; c < 3; c++) sum[c] += beside[c];
  }
  for (int c = 0; c < 3; c++) assert_near(sum[c], 8 * cos(2 * M_PI / 180) * up[c], 1e-12);
}

/* Level, one vent in the lid's middle looks perfect on heights alone; 2 degrees off it is not. */
static void a_level_lid_never_beats_the_same_box_raised_at_a_corner(void **state) {
  (void)state;
  const double size[][3] = {{300, 200, 100}, {200, 200, 30}, {80, 150, 200}};
  for (size_t s = 0; s < 3; s++) {
    lie f = lie_make(shape_box(size[s][0], size[s][1], size[s][2]), 40);
    double up[2][3] = {{0, 0, 1}};
    assert_int_equal(ul_up_from_raise(5, 5, up[1], NULL), UL_OK);
    ul_tilts *t = compare(&f, (const double(*)[3])up, 2);
    assert_true(t->tilt[0].trapped_2deg_mm3 > 1000);
    assert_true(t->tilt[1].trapped_2deg_mm3 < 50);
    assert_int_equal(t->tilt[1].vents_needed, 1);
    assert_int_equal(t->tilt[0].vents_needed, 4);
    ul_tilts_free(t);
    ul_tilts_opts opts = ul_tilts_opts_default();
    opts.tries = 300;
    t = find(&f, &opts, 2);
    assert_int_equal(t->tilt[0].vents_needed, 1);
    assert_true(t->tilt[0].left_mm3 < 50);
    assert_true(t->tilt[0].ease != UL_EASE_FLAT && t->tilt[0].ease != UL_EASE_SIDE);
    ul_tilts_free(t);
    lie_free(&f);
  }
}

/* A comb poured teeth up needs a vent a tooth; teeth down or on its side, far fewer. */
static void a_comb_is_not_cast_teeth_up(void **state) {
  (void)state;
  lie f = lie_make(shape_comb(5, 10, 10, 15, 40, 20), 45);
  const double up[1][3] = {{0, 0, 1}};
  ul_tilts *t = compare(&f, up, 1);
  assert_int_equal(t->tilt[0].peaks, 5);
  ul_tilts_free(t);
  ul_tilts_opts opts = ul_tilts_opts_default();
  opts.tries = 300;
  t = find(&f, &opts, 2);
  assert_int_equal(t->tilt[0].vents_needed, 1);
  assert_true(t->tilt[0].left_mm3 <= 50);
  ul_tilts_free(t);
  lie_free(&f);
}

static void answers_are_apart_and_best_first(void **state) {
  (void)state;
  lie f = lie_make(shape_u(20, 30, 20, 80, 60, 20), 40);
  ul_tilts_opts opts = ul_tilts_opts_default();
  opts.tries = 300;
  ul_tilts *t = find(&f, &opts, 2);
  assert_true(t->count > 1);
  for (size_t i = 0; i < t->count; i++)
    for (size_t j = 0; j < i; j++)
      assert_true(acos(ul_dot(t->tilt[i].up, t->tilt[j].up)) * 180 / M_PI >= opts.apart_deg - 1e-9);
  for (size_t i = 1; i < t->count; i++)
    assert_true(t->tilt[i].left_mm3 > 50 || t->tilt[0].left_mm3 <= 50);
  ul_tilts_free(t);
  lie_free(&f);
}

typedef struct {
  double way; /* 1: it holds with z up, -1: with z down */
  ul_tilt_pours otherwise;
} rule;

static ul_status pours_by(const void *in, const double up[3], ul_tilt_pours *out) {
  const rule *r = in;
  *out = r->way * up[2] > 0.5 ? UL_TILT_HOLDS : r->otherwise;
  return UL_OK;
}

/* A box raised at a corner is as good on its head. A U stands better on its
 * head (one vent) than on its feet (two), whether or not it opens low so. */
static void what_runs_out_comes_last_and_what_opens_low_after_its_equals(void **state) {
  (void)state;
  const rule runs_out = {1, UL_TILT_RUNS_OUT}, low = {1, UL_TILT_OPENS_LOW},
             down = {-1, UL_TILT_OPENS_LOW};
  lie f = lie_make(shape_u(20, 30, 20, 80, 60, 20), 32), b = lie_make(shape_box(60, 50, 40), 30);
  ul_tilts_opts opts = ul_tilts_opts_default();
  opts.tries = 300;
  opts.pours = pours_by;
  opts.pours_in = &runs_out;
  ul_tilts *t = find(&f, &opts, 2);
  for (size_t i = 1; i < t->count; i++) assert_true(t->tilt[i].pours >= t->tilt[i - 1].pours);
  assert_int_equal(t->tilt[0].pours, UL_TILT_HOLDS);
  assert_true(t->tilt[0].up[2] > 0.5);
  ul_tilts_free(t);
  opts.pours_in = &low;
  t = find(&f, &opts, 2);
  assert_int_equal(t->tilt[0].vents_needed, 1);
  ul_tilts_free(t);
  opts.pours_in = &down;
  t = find(&b, &opts, 2);
  assert_int_equal(t->tilt[0].pours, UL_TILT_HOLDS);
  ul_tilts_free(t);
  lie_free(&f);
  lie_free(&b);
}

static void threads_change_nothing(void **state) {
  (void)state;
  lie f = lie_make(shape_u(20, 30, 20, 80, 60, 20), 32);
  ul_tilts_opts opts = ul_tilts_opts_default();
  opts.tries = 200;
  ul_tilts *one = find(&f, &opts, 1), *seven = find(&f, &opts, 7);
  assert_int_equal(one->count, seven->count);
  assert_memory_equal(one->tilt, seven->tilt, one->count * sizeof *one->tilt);
  ul_tilts_free(one);
  ul_tilts_free(seven);
  lie_free(&f);
}

static void a_hair_of_tilt_changes_no_judgement(void **state) {
  (void)state;
  lie f = lie_make(shape_gable(100, 60, 40, 70), 33);
  for (int i = 0; i < 12; i++) {
    double a = 0.7 * i, z = -1 + i / 5.5, r = sqrt(fmax(0, 1 - z * z));
    const double up[2][3] = {{r * cos(a), r * sin(a), z},
                             {r * cos(a) + 1e-9, r * sin(a) - 1e-9, z + 1e-9}};
    ul_tilts *t = compare(&f, up, 2);
    assert_int_equal(t->tilt[0].peaks, t->tilt[1].peaks);
    assert_int_equal(t->tilt[0].vents_needed, t->tilt[1].vents_needed);
    assert_near(t->tilt[0].left_mm3, t->tilt[1].left_mm3, 1);
    ul_tilts_free(t);
  }
  lie_free(&f);
}

static void a_zeroed_struct_and_senseless_numbers_are_refused(void **state) {
  (void)state;
  lie f = lie_make(shape_box(30, 20, 10), 15);
  ul_tilts *t;
  ul_error err;
  ul_tilts_opts zeroed = {0}, none = ul_tilts_opts_default();
  assert_int_equal(ul_tilts_search(f.solid, f.heights, &zeroed, NULL, &t, &err), UL_E_USAGE);
  none.tries = 0;
  assert_int_equal(ul_tilts_search(f.solid, f.heights, &none, NULL, &t, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "at least 1"));
  assert_null(t);
  lie_free(&f);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_sphere_is_covered_evenly),
      cmocka_unit_test(level_faces_of_the_cavity_are_among_the_directions),
      cmocka_unit_test(a_shop_sets_multiples_of_five_degrees),
      cmocka_unit_test(neighbours_lie_as_far_off_as_asked_all_round),
      cmocka_unit_test(a_level_lid_never_beats_the_same_box_raised_at_a_corner),
      cmocka_unit_test(a_comb_is_not_cast_teeth_up),
      cmocka_unit_test(answers_are_apart_and_best_first),
      cmocka_unit_test(what_runs_out_comes_last_and_what_opens_low_after_its_equals),
      cmocka_unit_test(threads_change_nothing),
      cmocka_unit_test(a_hair_of_tilt_changes_no_judgement),
      cmocka_unit_test(a_zeroed_struct_and_senseless_numbers_are_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
