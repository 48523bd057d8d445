/* A shot repeated with the shop's scatter, on grids of whole cubes. */
#include "base/vec.h"
#include "rise/mask.h"
#include "shapes/check.h"
#include "ullage/repeats.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
  ul_grid *grid;
  float *mobility;
  double pour[1][3];
  ul_rise_vent vent[2];
  ul_rise_opts opts;
} bed;

/* A box poured in the middle of its floor, with a vent in the middle of its lid. */
static void lay(bed *b, double x, double y, double z, double cube) {
  *b = (bed){.grid = mask_grid((double[3]){x, y, z}, cube, mask_everything, NULL),
             .pour = {{x / 2, y / 2, cube / 2}}};
  b->mobility = mask_mobility(b->grid, fmin(x, fmin(y, z)) / 2);
  b->vent[0] = (ul_rise_vent){{x / 2, y / 2, z}, 3, 25, false};
  b->opts = ul_rise_opts_default();
  b->opts.mobility_mm2 = b->mobility;
  b->opts.pour_mm = (const double(*)[3])b->pour;
  b->opts.poured_s = 10;
  b->opts.vent = b->vent;
  b->opts.vent_count = 1;
  b->opts.pack = 1.25;
}

static void clear(bed *b) {
  free(b->mobility);
  mask_free(b->grid);
}

static ul_repeats *repeat(const bed *b, size_t tries, unsigned long seed, int threads) {
  ul_repeats_opts opts = ul_repeats_opts_default();
  opts.tries = tries;
  opts.seed = seed;
  ul_repeats *out;
  ul_error err = {0};
  const ul_job job = {.threads = threads};
  assert_ok(ul_repeats_run(b->grid, NULL, &b->opts, &opts, &job, &out, &err), &err);
  return out;
}

static void equal_seeds_give_equal_bytes_for_any_number_of_threads(void **state) {
  (void)state;
  bed b;
  lay(&b, 80, 60, 40, 10);
  ul_repeats *one = repeat(&b, 6, 3, 1), *two = repeat(&b, 6, 3, 2), *many = repeat(&b, 6, 3, 7);
  assert_memory_equal(one->list, two->list, 6 * sizeof *one->list);
  assert_memory_equal(one->list, many->list, 6 * sizeof *one->list);
  assert_memory_equal(one->vent, two->vent, sizeof *one->vent);
  ul_repeats *other = repeat(&b, 6, 4, 2), *more = repeat(&b, 9, 3, 2);
  assert_memory_not_equal(one->list, other->list, sizeof *one->list);
  assert_memory_equal(one->list, more->list, 6 * sizeof *one->list); /* the first ones stay */
  ul_repeats_free(one), ul_repeats_free(two), ul_repeats_free(many);
  ul_repeats_free(other), ul_repeats_free(more);
  clear(&b);
}

/* 400 draws: within their bounds, and spread as an even draw is (its mean to 4 standard errors). */
static void tries_differ_by_what_a_shop_differs(void **state) {
  (void)state;
  bed b;
  lay(&b, 80, 60, 40, 20);
  b.opts.up[0] = 3; /* any length */
  enum { N = 400 };
  ul_repeats *t = repeat(&b, N, 1, 2);
  const double up[3] = {3 / sqrt(10), 0, 1 / sqrt(10)};
  double off = 0, pack = 0, slow = 0, pour = 0, side[3] = {0};
  for (size_t i = 0; i < N; i++) {
    const ul_repeat *try = &t->list[i];
    double deg = acos(fmin(1, ul_dot(try->up, up))) * 180 / M_PI;
    assert_near(ul_norm(try->up), 1, 1e-12);
    assert_true(deg <= 2 + 1e-9 && fabs(try->pack / 1.25 - 1) <= 0.05 + 1e-12);
    assert_true(try->slow >= 0 && try->slow < 1 && ul_norm(try->pour_off_mm) <= 10 + 1e-9);
    assert_near(ul_dot(try->pour_off_mm, try->up), 0, 1e-9); /* level */
    off += deg / N, pack += try->pack / N, slow += try->slow / N;
    pour += ul_norm(try->pour_off_mm) / N;
    for (int c = 0; c < 3; c++) side[c] += (try->up[c] - up[c]) / N;
  }
  assert_near(off, 2 * 2.0 / 3, 4 * 2 * sqrt(1 / 18.0 / N)); /* of a disc: 2/3 of its radius */
  assert_near(pour, 10 * 2.0 / 3, 4 * 10 * sqrt(1 / 18.0 / N));
  assert_near(pack, 1.25, 4 * 0.125 / sqrt(12.0 * N));
  assert_near(slow, 0.5, 4 / sqrt(12.0 * N));
  for (int c = 0; c < 3; c++) assert_near(side[c], 0, 4 * 2 * M_PI / 180 / 2 / sqrt(N));
  ul_repeats_free(t);
  clear(&b);
}

/* A level lidded box vented in the middle of its lid alone keeps air under the rim (the trade;
 * common practice, no source): no try is good, its one vent is never where the air is. With the air
 * free to leave everywhere, nothing is left in any. */
static void a_vent_in_the_wrong_place_is_found_out(void **state) {
  (void)state;
  bed b;
  lay(&b, 120, 80, 40, 5);
  ul_repeats *t = repeat(&b, 6, 1, 2);
  assert_int_equal(t->good, 0);
  assert_int_equal(t->vent[0].there, 0);
  assert_true(isfinite(t->vent[0].middle_mm[0]) && t->vent[0].wanders_mm > 20);
  assert_true(isfinite(t->vent[0].else_mm[0]) && t->vent[0].else_mm[2] > 30);
  for (size_t i = 0; i < 6; i++)
    assert_true(t->list[i].worst_mm3 > 50 && t->list[i].worst_at_mm[2] > 30);
  ul_repeats_free(t);
  b.opts.open = true;
  b.opts.vent_count = 0;
  t = repeat(&b, 6, 1, 2);
  assert_int_equal(t->good, 6);
  ul_repeats_free(t);
  clear(&b);
}

/* With charges 5 % up and down round the least that fills, some tries are short and some are not.
 */
static void a_charge_on_the_edge_fills_in_some_tries(void **state) {
  (void)state;
  bed b;
  lay(&b, 80, 60, 40, 10);
  b.opts.open = true;
  b.opts.vent_count = 0;
  b.opts.pack = 1.02;
  ul_repeats *t = repeat(&b, 40, 1, 2);
  assert_true(t->good >= 8 && t->good <= 32);
  double most_short = 0, least_good = INFINITY;
  for (size_t i = 0; i < 40; i++) {
    const ul_repeat *try = &t->list[i];
    if (try->good) least_good = fmin(least_good, try->pack);
    if (!try->good) most_short = fmax(most_short, try->pack);
  }
  assert_true(most_short < least_good); /* the charge alone decides here */
  ul_repeats_free(t);
  clear(&b);
}

/* Of twelve tries none is good: four are made where nine must be, eight where eight must be. Where
 * all are good, all are made. Those made are what they would be among all. */
static void tries_end_once_too_few_can_be_good(void **state) {
  (void)state;
  static const struct {
    bool open;
    size_t wanted, made;
  } row[] = {{false, 9, 4}, {false, 8, 8}, {false, 1, 12}, {true, 12, 12}, {true, 13, 0}};
  bed b;
  lay(&b, 120, 80, 40, 10);
  ul_repeats *all = repeat(&b, 12, 1, 2);
  assert_int_equal(all->good, 0);
  for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
    ul_repeats_opts opts = ul_repeats_opts_default();
    ul_repeats *some;
    ul_error err = {0};
    opts.tries = 12;
    opts.seed = 1;
    opts.good_wanted = row[i].wanted;
    b.opts.open = row[i].open;
    b.opts.vent_count = !row[i].open;
    assert_ok(ul_repeats_run(b.grid, NULL, &b.opts, &opts, NULL, &some, &err), &err);
    assert_int_equal(some->count, row[i].made);
    assert_int_equal(some->good, row[i].open ? row[i].made : 0);
    if (!row[i].open) assert_memory_equal(some->list, all->list, some->count * sizeof *some->list);
    ul_repeats_free(some);
  }
  ul_repeats_free(all);
  clear(&b);
}

typedef struct {
  double last;
  bool strange; /* another stage, or more than one try less than before */
} follower;

static bool follow(void *user, const char *stage, double done) {
  follower *f = user;
  f->strange =
      f->strange || strcmp(stage, "repeating") != 0 || done < f->last - 0.1 - 1e-12 || done > 1;
  f->last = done;
  return true;
}

/* Four by four, and still one bar from 0 to 1; within a try a rise has more than one stage. */
static void progress_of_tries_is_one_bar(void **state) {
  (void)state;
  bed b;
  lay(&b, 80, 60, 40, 10);
  for (size_t wanted = 0; wanted < 2; wanted++) {
    ul_repeats_opts opts = ul_repeats_opts_default();
    ul_repeats *out;
    ul_error err = {0};
    follower f = {0};
    const ul_job job = {.threads = 1, .progress = follow, .user = &f};
    opts.tries = 10;
    opts.good_wanted = wanted;
    assert_ok(ul_repeats_run(b.grid, NULL, &b.opts, &opts, &job, &out, &err), &err);
    assert_false(f.strange);
    assert_true(f.last > 0.9);
    ul_repeats_free(out);
  }
  clear(&b);
}

typedef struct {
  size_t calls, stop_at; /* 0: never */
  double most;
  bool strange; /* another stage, or a share that is none */
} listener;

static bool listen(void *user, const char *stage, double done) {
  listener *l = user;
  l->strange = l->strange || strcmp(stage, "many") != 0 || !(done >= 0 && done <= 1);
  l->most = fmax(l->most, done);
  return ++l->calls != l->stop_at;
}

/* Also within a rise, so that two long ones need not end before anybody hears of a stop. */
static void several_rises_tell_and_stop_on_the_way(void **state) {
  (void)state;
  enum { RISES = 3 };
  bed b;
  lay(&b, 80, 60, 40, 10);
  const ul_rise_opts opts[RISES] = {b.opts, b.opts, b.opts};
  for (int threads = 1; threads <= 2; threads++) {
    ul_rise *rise[RISES];
    ul_error err = {0};
    listener all = {0}, early = {.stop_at = 5};
    const ul_job job = {.threads = threads, .progress = listen, .user = &all};
    assert_ok(ul_rises_run(b.grid, NULL, opts, RISES, &job, "many", rise, &err), &err);
    for (int i = 0; i < RISES; i++) ul_rise_free(rise[i]);
    assert_true(all.calls > 20 && all.most > 0.3 && !all.strange);
    const ul_job stop = {.threads = threads, .progress = listen, .user = &early};
    assert_int_equal(ul_rises_run(b.grid, NULL, opts, RISES, &stop, "many", rise, &err),
                     UL_E_STOPPED);
    assert_true(early.calls < 12 && !early.strange);
    for (int i = 0; i < RISES; i++) assert_null(rise[i]);
  }
  clear(&b);
}

static void bad_wishes_are_refused(void **state) {
  (void)state;
  bed b;
  lay(&b, 80, 60, 40, 20);
  ul_repeats_opts opts = ul_repeats_opts_default(), none = {0};
  ul_repeats *out;
  ul_error err;
  assert_int_equal(ul_repeats_run(b.grid, NULL, &b.opts, &none, NULL, &out, &err), UL_E_USAGE);
  opts.tries = 0;
  assert_int_equal(ul_repeats_run(b.grid, NULL, &b.opts, &opts, NULL, &out, &err), UL_E_USAGE);
  opts.tries = 3;
  b.opts.pour_mm = NULL;
  assert_int_equal(ul_repeats_run(b.grid, NULL, &b.opts, &opts, NULL, &out, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "pour"));
  b.opts.pour_mm = (const double(*)[3])b.pour;
  b.vent[0].at_mm[0] = 500; /* what fails in a rise is said as the rise says it */
  assert_int_equal(ul_repeats_run(b.grid, NULL, &b.opts, &opts, NULL, &out, &err), UL_E_OUTSIDE);
  assert_non_null(strstr(err.text, "vent 1"));
  assert_null(out);
  clear(&b);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(equal_seeds_give_equal_bytes_for_any_number_of_threads),
      cmocka_unit_test(tries_differ_by_what_a_shop_differs),
      cmocka_unit_test(a_vent_in_the_wrong_place_is_found_out),
      cmocka_unit_test(a_charge_on_the_edge_fills_in_some_tries),
      cmocka_unit_test(tries_end_once_too_few_can_be_good),
      cmocka_unit_test(progress_of_tries_is_one_bar),
      cmocka_unit_test(several_rises_tell_and_stop_on_the_way),
      cmocka_unit_test(bad_wishes_are_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
