/* How the charge goes in: lines, basins, puddles, slopes, turning, and what it stands over. Grids
 * are masks of whole cubes; the foam is ul_foam_middling(): 1080 and 64 kg/m3, 1 Pa s, cream at 25
 * s. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "rise/books.h"
#include "rise/filling.h"
#include "rise/mask.h"
#include "rise/pool.h"
#include "rise/puddle.h"
#include "rise/turn.h"
#include "shapes/check.h"
#include "ullage/rise.h"

static const ul_job one_thread = {.threads = 1};
static const double UPRIGHT[3] = {0, 0, 1};

typedef struct {
  ul_grid *grid;
  float *mobility;
  ul_cubes *all, *one;
  ul_rise_opts opts;
  ul_filling *filling;
} bed;

static void make_bed(bed *b, double x, double y, double z, double cube, mask_fn inside) {
  const double size[3] = {x, y, z};
  *b = (bed){.grid = mask_grid(size, cube, inside, NULL), .opts = ul_rise_opts_default()};
  b->mobility = mask_mobility(b->grid, 10);
  b->opts.mobility_mm2 = b->mobility;
  b->opts.poured_s = 10;
  b->opts.pack = 1.25;
}

/* The state that a rise begins from; a charge of `ml`. */
static void fill_bed(bed *b, const double up[3], double ml) {
  assert_ok(ul_cubes_new(b->grid, NULL, &b->all, NULL), NULL);
  assert_ok(ul_cubes_pick(b->all, 0, &b->one, NULL), NULL);
  assert_ok(ul_filling_new(b->one, &b->opts, up, &one_thread, &b->filling, NULL), NULL);
  b->filling->charge_kg = ml * 1e-6 * ul_mid(b->opts.foam.liquid_kg_m3);
}

static void free_bed(bed *b) {
  ul_filling_free(b->filling);
  ul_cubes_free(b->one);
  ul_cubes_free(b->all);
  free(b->mobility);
  mask_free(b->grid);
}

/* Liquid, ml, in the cubes whose centres have lo <= x < hi. */
static double ml_between(const bed *b, double lo, double hi) {
  double kg = 0;
  for (size_t i = 0; i < b->filling->count; i++) {
    double at[3];
    ul_cube_centre_mm(b->one, i, at);
    if (at[0] >= lo && at[0] < hi) kg += b->filling->mass[i];
  }
  return kg / ul_mid(b->opts.foam.liquid_kg_m3) * 1e6;
}

/* Lays it as from that point or line, in the time. Returns how far it reached, m. */
static double lay(bed *b, const double from[3], const double to[3], double time) {
  const double up[3] = {b->filling->rise[1] / b->filling->cube_m,
                        b->filling->rise[3] / b->filling->cube_m,
                        b->filling->rise[5] / b->filling->cube_m};
  const double density = ul_mid(b->opts.foam.liquid_kg_m3);
  const double nu = ul_mid(b->opts.foam.viscosity_pa_s) / density;
  ul_pour pour;
  ul_pool pool;
  ul_error err;
  double end[3] = {NAN, NAN, NAN};
  if (to) memcpy(end, to, sizeof end);
  b->opts.pour_mm = (const double(*)[3])from;
  b->opts.pour_end_mm = (const double(*)[3])end;
  assert_ok(ul_pour_find(b->one, &b->opts, 0, up, &pour, &err), &err);
  assert_ok(ul_pool_new(b->filling, &pour, up, false, &pool, &err), &err);
  ul_pool_reach(b->filling, &pool, b->filling->charge_kg / density, nu, time);
  assert_ok(ul_pool_lay(b->filling, &pool, density, &err), &err);
  double reach = pool.reach_m;
  ul_pool_free(&pool);
  b->opts.pour_mm = b->opts.pour_end_mm = NULL;
  return reach;
}

static ul_rise *rise(const bed *b) {
  ul_rise *r = NULL;
  ul_error err;
  assert_ok(ul_rise_run(b->grid, NULL, &b->opts, &one_thread, &r, &err), &err);
  books_demand(b->grid, NULL, r, &b->opts);
  return r;
}

/* ---- laws ---- */

/* Huppert 1982: the similarity solutions' own constants, (2^10 / 3^4 pi^3)^(1/8) and
 * [(1/5)(3/10)^(1/3) sqrt(pi) Gamma(1/3) / Gamma(5/6)]^(-3/5). */
static void puddles_spread_by_their_closed_forms(void **state) {
  (void)state;
  const double g = 9.80665, nu = 1e-3, t = 15, v = 1e-4, a = 2e-4;
  double round = pow(1024 / (81 * pow(M_PI, 3)), 0.125);
  double side = pow(0.2 * cbrt(0.3) * sqrt(M_PI) * tgamma(1.0 / 3) / tgamma(5.0 / 6), -0.6);
  assert_rel(ul_puddle_radius_m(v, nu, t), round * pow(g * v * v * v / (3 * nu) * t, 0.125), 1e-3);
  assert_rel(ul_puddle_side_m(a, nu, t), side * pow(g * a * a * a / (3 * nu) * t, 0.2), 1e-3);
  /* Down a slope h = sqrt(nu x / (g sin t)); its area from 0 to the nose is a. */
  double x = ul_puddle_downhill_m(a, 0.2, nu, t);
  assert_rel(2.0 / 3 * pow(x, 1.5) * sqrt(nu / (g * 0.2 * t)), a, 1e-12);
}

/* ---- basins ---- */

/* A wall 20 mm high at x 60 to 80 parts a floor in two. */
static bool two_basins(const double at[3], const void *context) {
  (void)context;
  return at[2] > 20 || at[0] < 60 || at[0] > 80;
}

static void a_line_fills_each_basin_with_what_falls_into_it(void **state) {
  (void)state;
  const double from[3] = {10, 25, 55}, to[3] = {130, 25, 55};
  bed b;
  make_bed(&b, 140, 50, 60, 5, two_basins);
  fill_bed(&b, UPRIGHT, 24);
  lay(&b, from, to, 1e9);
  /* Of 120 mm of line 50 lie over either basin and 20 over the wall, whose top sheds to the side
   * that a flat drops to first: both sides together hold all. */
  double left = ml_between(&b, 0, 60), right = ml_between(&b, 80, 140);
  assert_rel(left + right, 24, 1e-12);
  assert_true(left >= 24 * 50 / 120.0 - 1e-9 && right >= 24 * 50 / 120.0 - 1e-9);
  free_bed(&b);
}

static void a_full_basin_spills_into_the_next_and_then_both_rise(void **state) {
  (void)state;
  const double at[3] = {20, 25, 55};
  bed b;
  make_bed(&b, 140, 50, 60, 5, two_basins);
  fill_bed(&b, UPRIGHT, 50); /* the left basin holds 60 x 50 x 20 mm = 60 ml, and so the right */
  lay(&b, at, NULL, 1e9);
  assert_rel(ml_between(&b, 0, 60), 50, 1e-12);
  b.filling->charge_kg *= 100 / 50.0;
  lay(&b, at, NULL, 1e9);
  assert_rel(ml_between(&b, 0, 60), 60, 1e-12);
  assert_rel(ml_between(&b, 80, 140), 40, 1e-12);
  b.filling->charge_kg *= 155 / 100.0; /* 120 and then 35 over 140 x 50 mm */
  lay(&b, at, NULL, 1e9);
  assert_rel(ml_between(&b, 0, 60), 60 + 35 * 60 / 140.0, 1e-12);
  assert_rel(ml_between(&b, 60, 80), 35 * 20 / 140.0, 1e-12);
  free_bed(&b);
}

static void a_line_of_no_length_is_a_point(void **state) {
  (void)state;
  const double at[3] = {33, 25, 55};
  bed b;
  make_bed(&b, 140, 50, 60, 5, two_basins);
  fill_bed(&b, UPRIGHT, 100);
  lay(&b, at, NULL, 1e9);
  double *mass = malloc(b.filling->count * sizeof *mass);
  memcpy(mass, b.filling->mass, b.filling->count * sizeof *mass);
  lay(&b, at, at, 1e9);
  assert_memory_equal(mass, b.filling->mass, b.filling->count * sizeof *mass);
  free(mass);
  free_bed(&b);
}

/* ---- puddles ---- */

static void a_pool_reaches_no_farther_than_its_puddle(void **state) {
  (void)state;
  const double at[3] = {300, 200, 5}, to[3] = {400, 200, 5};
  bed b;
  make_bed(&b, 600, 400, 40, 10, mask_everything);
  fill_bed(&b, UPRIGHT, 300);
  double nu = 1 / 1080.0;
  double reach = lay(&b, at, NULL, 10), law = ul_puddle_radius_m(3e-4, nu, 10);
  assert_true(reach > 0 && reach <= law && reach > law - 0.015);
  assert_rel(ml_between(&b, 0, 600), 300, 1e-12);
  assert_near(ml_between(&b, 300 + 1e3 * law + 5, 600), 0, 1e-12);
  /* A line reaches less to its sides than the same charge from a point. */
  double side = lay(&b, at, to, 10);
  assert_true(side > 0 && side <= fmin(law, ul_puddle_side_m(3e-4 / 0.2, nu, 10)) + 0.001);
  assert_near(lay(&b, at, NULL, 1e9), 0, 0); /* with time enough it lies level */
  free_bed(&b);
}

/* A duct 20 mm wide, 400 mm out and 400 mm back, a wall of 10 mm between. */
static bool is_hairpin(const double at[3], const void *context) {
  (void)context;
  return at[1] < 20 || at[1] > 30 || at[0] > 380;
}

/* It runs both ways along its leg, as a line's puddle does, and comes to nothing behind the wall:
 * once it lay there, 25 mm away, where the way round is 430 mm long. */
static void a_puddle_goes_round_a_wall_and_not_through_it(void **state) {
  (void)state;
  const double at[3] = {200, 10, 2.5}, by_the_turn[3] = {350, 10, 2.5}, nu = 1 / 1080.0;
  const double law = ul_puddle_side_m(2e-5 / (2 * 0.02), nu, 10);
  bed b;
  make_bed(&b, 400, 50, 20, 5, is_hairpin);
  fill_bed(&b, UPRIGHT, 20);
  assert_true(law > 1.5 * ul_puddle_radius_m(2e-5, nu, 10));
  assert_near(lay(&b, at, NULL, 10), law, 0.0075);
  for (int turn = 0; turn < 2; turn++) {
    double behind = 0, most = 0;
    if (turn) (void)lay(&b, by_the_turn, NULL, 10);
    for (size_t i = 0; i < b.filling->count; i++) {
      double here[3];
      ul_cube_centre_mm(b.one, i, here);
      if (here[1] < 30 || b.filling->mass[i] <= 0) continue;
      behind += b.filling->mass[i];
      most = fmax(most, (390 - 350) + 30 + (390 - here[0])); /* along the middle of the duct */
    }
    assert_int_equal(turn, behind > 0);
    assert_true(most < 1.2e3 * law + 20);
  }
  assert_rel(ml_between(&b, 0, 400), 20, 1e-12);
  free_bed(&b);
}

/* On a floor that falls by 15 degrees, poured at its upper end. */
static void liquid_runs_down_a_slope_as_far_as_its_law_says(void **state) {
  (void)state;
  const double fall = 15 * M_PI / 180, up[3] = {sin(fall), 0, cos(fall)};
  const double at[3] = {780, 50, 5}; /* the floor falls towards -x */
  bed b;
  make_bed(&b, 800, 100, 60, 10, mask_everything);
  fill_bed(&b, up, 40);
  double nu = 1 / 1080.0, t = 2; /* as wide as the cavity: its puddle would be wider */
  double law = ul_puddle_downhill_m(4e-5 / 0.1, sin(fall), nu, t);
  double radius = ul_puddle_radius_m(4e-5, nu, t);
  assert_true(2 * radius > 0.1 && law > radius && law < 0.5);
  double reach = lay(&b, at, NULL, t);
  assert_near(reach, law * cos(fall), 0.025);
  assert_rel(ml_between(&b, 0, 800), 40, 1e-12);
  /* A quarter of an hour takes all of it to the bottom, where it lies level in the wedge. */
  assert_near(lay(&b, at, NULL, 900), 0, 0);
  assert_rel(ml_between(&b, 0, 200), 40, 1e-12);
  free_bed(&b);
}

/* What spreads on with nothing changed is where its law has it at the later time. */
static void a_puddle_goes_on_by_its_law(void **state) {
  (void)state;
  const double at[3] = {300, 200, 5}, from[3] = {780, 50, 5}, fall[3] = {0.25, 0, sqrt(1 - 0.0625)};
  const double nu = 1 / 1080.0;
  for (int slope = 0; slope < 2; slope++) {
    bed b;
    ul_pour pour;
    ul_pool pool, begun, later;
    make_bed(&b, slope ? 800 : 600, slope ? 100 : 400, 40, 10, mask_everything);
    fill_bed(&b, slope ? fall : UPRIGHT, 100);
    b.opts.pour_mm = (const double(*)[3])(slope ? from : at);
    const double *up = slope ? fall : UPRIGHT;
    assert_ok(ul_pour_find(b.one, &b.opts, 0, up, &pour, NULL), NULL);
    assert_ok(ul_pool_new(b.filling, &pour, up, false, &pool, NULL), NULL);
    ul_pool_reach(b.filling, &pool, 1e-4, nu, 7);
    begun = later = pool;
    for (int i = 0; i < 4; i++) ul_pool_spread(&later, &begun, 1, 1, 7, 0.75);
    ul_pool_reach(b.filling, &pool, 1e-4, nu, 10);
    assert_rel(later.radius_m, pool.radius_m, 1e-12);
    assert_int_equal(slope, pool.slide_m[0] > 0);
    /* The stream is as wide as the cavity at both times. */
    if (slope) assert_rel(later.slide_m[0], pool.slide_m[0], 0.1);
    ul_pool_free(&pool);
    free_bed(&b);
  }
}

/* Half a cube of liquid on a wide floor. Without spreading on, the middle of the lid is reached 2.0
 * s later at two thirds of the cube; with it, 1.1 s. */
static void a_pool_thinner_than_a_cube_spreads_while_it_begins_to_rise(void **state) {
  (void)state;
  const double at[1][3] = {{60, 120, 1}}, cube[2] = {15, 10};
  ul_rise_vent vent[4];
  double middle[2];
  for (int i = 0; i < 4; i++)
    vent[i] = (ul_rise_vent){{i % 2 ? 360 : 0, i / 2 ? 240 : 0, 60}, 3, 25, false};
  for (int i = 0; i < 2; i++) {
    bed b;
    make_bed(&b, 360, 240, 60, cube[i], mask_everything);
    b.opts.pour_mm = at;
    b.opts.vent = vent;
    b.opts.vent_count = 4;
    b.opts.poured_s = 15;
    ul_rise *r = rise(&b);
    assert_true(r->cavity[0].puddle_mm > 100);
    assert_true(r->sample[0].s > 25); /* what it did from cream to there is the puddle's law */
    middle[i] = (double)r->arrival_s[mask_cube(b.grid, 180, 120, 57)];
    ul_rise_free(r);
    free_bed(&b);
  }
  assert_near(middle[0], middle[1], 1.6);
}

/* ---- turning ---- */

static const ul_rise_event *find_event(const ul_rise *r, ul_rise_event_kind kind) {
  for (size_t i = 0; i < r->event_count; i++)
    if (r->event[i].kind == kind) return &r->event[i];
  return NULL;
}

static void turned_in_time_it_rises_as_if_poured_in_the_tilt(void **state) {
  (void)state;
  const double tilt[3] = {0, 0.6, 0.8};
  bed b;
  make_bed(&b, 60, 60, 40, 10, mask_everything);
  b.opts.open = true;
  b.opts.foam.cream_s = (ul_span){60, 60}; /* half a minute and more to run over */
  b.opts.foam.viscosity_pa_s = (ul_span){0.1, 0.1};
  memcpy(b.opts.up, tilt, sizeof tilt);
  ul_rise *direct = rise(&b);
  b.opts.poured_up[0] = 1;
  b.opts.shut_s = 15;
  b.opts.turned_s = 20;
  ul_rise *turned = rise(&b);
  assert_near(turned->cavity[0].puddle_mm, 0, 0);
  assert_non_null(find_event(turned, UL_RISE_TURNED));
  assert_rel(find_event(turned, UL_RISE_TURNED)->s, 20, 1e-12);
  for (size_t i = 0; i < b.grid->cube_count; i++)
    if (b.grid->inside[i])
      assert_near((double)turned->arrival_s[i], (double)direct->arrival_s[i], 1e-3);
  ul_rise_free(direct);
  ul_rise_free(turned);
  free_bed(&b);
}

/* Two seconds after cream it has hardly grown: it runs down all the same, and the rise is that of a
 * charge poured in the tilt, which has had its time to lie level. Before, it was turned as foam. */
static void turned_just_after_cream_it_still_runs_down(void **state) {
  (void)state;
  const double tilt[3] = {0, 0.6, 0.8};
  bed b;
  make_bed(&b, 60, 60, 40, 5, mask_everything);
  b.opts.open = true;
  b.opts.foam.cream_s = (ul_span){60, 60};
  b.opts.foam.viscosity_pa_s = (ul_span){0.1, 0.1};
  memcpy(b.opts.up, tilt, sizeof tilt);
  ul_rise *direct = rise(&b);
  b.opts.poured_up[0] = 1;
  b.opts.shut_s = 57;
  b.opts.turned_s = 62;
  ul_rise *turned = rise(&b);
  assert_rel(find_event(turned, UL_RISE_TURNED)->s, 62, 1e-9);
  assert_int_equal(turned->cavity[0].rough_steps, 0);
  double worst = 0;
  for (size_t i = 0; i < b.grid->cube_count; i++)
    if (b.grid->inside[i] && direct->arrival_s[i] > 64)
      worst = fmax(worst, fabs((double)turned->arrival_s[i] - (double)direct->arrival_s[i]));
  assert_true(worst < 0.5); /* 0.24 s seen */
  ul_rise_free(direct);
  ul_rise_free(turned);
  free_bed(&b);
}

static void turned_without_time_left_it_lies_in_a_puddle_on_the_way(void **state) {
  (void)state;
  bed b;
  make_bed(&b, 500, 60, 60, 10, mask_everything);
  b.opts.open = true;
  b.opts.poured_up[0] = 1; /* on end, and then laid down, two seconds before cream */
  b.opts.shut_s = 15;
  b.opts.turned_s = 23;
  ul_rise *r = rise(&b);
  double nu = 1 / 1080.0, v = 1.25 * 64 / 1080.0 * 1.8e-3; /* a channel 60 mm wide */
  double law = fmax(ul_puddle_radius_m(v, nu, 2), ul_puddle_side_m(v / 0.12, nu, 2));
  assert_true(r->cavity[0].puddle_mm > 0 && r->cavity[0].puddle_mm < 1e3 * law);
  ul_rise_free(r);
  b.opts.foam.cream_s = (ul_span){1700, 1700};
  b.opts.foam.gel_s = (ul_span){1750, 1750};
  b.opts.foam.rise_s = (ul_span){1800, 1800};
  r = rise(&b);
  assert_near(r->cavity[0].puddle_mm, 0, 0);
  ul_rise_free(r);
  free_bed(&b);
}

/* Thin foam that creams before it is turned: what is reached last is the top of the tilt. */
static void turned_too_late_it_begins_in_the_one_attitude_and_ends_in_the_other(void **state) {
  (void)state;
  bed b;
  make_bed(&b, 80, 40, 80, 10, mask_everything);
  b.opts.open = true;
  b.opts.foam.viscosity_pa_s = (ul_span){0.01, 0.01};
  b.opts.foam.gel_s = (ul_span){1000, 1000};
  b.opts.foam.gas_power = 0;
  b.opts.up[0] = 1; /* the tilt: on its side -x */
  b.opts.up[2] = 0;
  b.opts.poured_up[2] = 1;
  b.opts.shut_s = 35;
  b.opts.turned_s = 45;
  ul_rise *r = rise(&b);
  double early = (double)r->arrival_s[mask_cube(b.grid, 75, 5, 5)];
  assert_true(early < 25); /* the whole floor of the poured attitude was wet */
  assert_rel(find_event(r, UL_RISE_TURNED)->s, 45, 1e-9);
  assert_true(r->cavity[0].last_reached_mm[0] > 70);
  assert_true(r->cavity[0].last_reached_s > 45);
  double low = (double)r->arrival_s[mask_cube(b.grid, 5, 5, 75)];
  double high = (double)r->arrival_s[mask_cube(b.grid, 75, 5, 75)];
  assert_true(low < high); /* same height when poured, not in the tilt */
  ul_rise_free(r);
  free_bed(&b);
}

/* ---- openings ---- */

/* Turned upside down, a vent in the side passes under the liquid half way, and in neither end. */
static void a_vent_that_dips_under_on_the_way_is_told_with_how_deep(void **state) {
  (void)state;
  ul_rise_vent vent[2] = {{{30, 0, 30}, 3, 25, false}, {{30, 40, 30}, 3, 25, false}};
  bed b;
  make_bed(&b, 60, 40, 60, 5, mask_everything);
  b.opts.vent = vent;
  b.opts.vent_count = 2;
  b.opts.up[2] = -1;
  b.opts.poured_up[2] = 1;
  b.opts.shut_s = 15;
  b.opts.turned_s = 20;
  ul_turn turn;
  ul_turn_make(&b.opts, (double[3]){0, 0, -1}, &turn);
  assert_rel(turn.angle, M_PI, 1e-9);
  assert_rel(fabs(turn.side[1]), 1, 1e-9); /* one of the two dips, as it happens */
  ul_rise *r = rise(&b);
  int under = turn.side[1] > 0 ? 0 : 1;
  /* Half way the liquid lies on the side: 1.25 x 64/1080 of 40 mm deep, in cubes of 5. */
  assert_near(r->vent[under].liquid_over_mm, 1.25 * 64 / 1080.0 * 40, 0.5);
  assert_near(r->vent[!under].liquid_over_mm, 0, 0);
  const ul_rise_event *e = find_event(r, UL_RISE_LIQUID);
  assert_non_null(e);
  assert_int_equal(e->vent, under);
  assert_true(e->s > 15 && e->s < 20);
  ul_rise_free(r);
  b.opts.poured_up[2] = 0; /* not turned: nothing dips */
  b.opts.up[2] = 1;
  r = rise(&b);
  assert_null(find_event(r, UL_RISE_LIQUID));
  ul_rise_free(r);
  free_bed(&b);
}

static void liquid_over_the_rim_is_told_with_how_deep(void **state) {
  (void)state;
  bed b;
  make_bed(&b, 60, 40, 50, 5, mask_everything);
  b.opts.pack = 8; /* dense: 8 x 64/1080 of 50 mm stand 23.7 mm high */
  b.opts.has_parting = true;
  b.opts.parting_mm[2] = 12.5;
  b.opts.parting_normal[2] = 1;
  ul_rise *r = rise(&b);
  assert_near(r->cavity[0].rim_over_mm, 8 * 64 / 1080.0 * 50 - 12.5, 0.01);
  assert_near(r->cavity[0].rim_at_mm[2], 12.5, 1e-9);
  assert_true(r->cavity[0].rim_s <= 10);
  ul_rise_free(r);
  b.opts.parting_mm[2] = 37.5;
  b.opts.pack = 1.25;
  b.opts.open = true;
  r = rise(&b);
  assert_near(r->cavity[0].rim_over_mm, 0, 0);
  assert_true(r->cavity[0].rim_s > 25 && r->cavity[0].rim_s < 110);
  ul_rise_free(r);
  free_bed(&b);
}

/* "Liquid stands over the rim: it runs out there" was told of a mould poured through its hole. */
static void
over_the_rim_of_a_mould_poured_shut_nothing_runs_out_unless_its_seam_gapes(void **state) {
  (void)state;
  bed b;
  make_bed(&b, 60, 40, 50, 5, mask_everything);
  b.opts.pack = 8;
  b.opts.has_parting = true;
  b.opts.parting_mm[2] = 12.5;
  b.opts.parting_normal[2] = 1;
  const bool shut = true;
  b.opts.poured_shut = &shut;
  ul_rise *r = rise(&b);
  assert_near(r->cavity[0].rim_over_mm, 0, 0);
  assert_null(find_event(r, UL_RISE_LIQUID));
  assert_true(r->cavity[0].rim_s <= 10);
  ul_rise_free(r);
  float *seam = calloc(b.grid->cube_count, sizeof *seam);
  for (size_t i = 0; i < b.grid->cube_count; i++) {
    const size_t n0 = (size_t)b.grid->lattice.n[0], n1 = (size_t)b.grid->lattice.n[1];
    if (i % n0 == 1 && i / (n0 * n1) == 3) seam[i] = 5; /* along one side, as high as the plane */
  }
  b.opts.seam_mm = seam;
  b.opts.seam_gap_mm = 0.05;
  b.opts.seam_land_mm = 20;
  r = rise(&b);
  assert_near(r->cavity[0].rim_over_mm, 8 * 64 / 1080.0 * 50 - 12.5, 0.1);
  assert_non_null(find_event(r, UL_RISE_LIQUID));
  ul_rise_free(r);
  free(seam);
  free_bed(&b);
}

static bool two_rooms(const double at[3], const void *context) {
  (void)context;
  return at[0] < 40 || at[0] > 60;
}

/* A cavity in two parts, as one that cubes cannot follow through a slit. */
static void a_part_that_the_pour_cannot_reach_is_told(void **state) {
  (void)state;
  const double left[1][3] = {{20, 20, 5}};
  bed b;
  make_bed(&b, 120, 40, 40, 10, two_rooms);
  for (size_t i = 0; i < b.grid->cube_count; i++)
    if (b.grid->inside[i]) b.grid->cavity[i] = 0;
  b.opts.pack = 1.05;
  ul_rise *r = rise(&b); /* by itself it pours into the larger one */
  assert_true(r->cavity[0].pour_mm[0] > 60);
  assert_rel(r->cavity[0].unreached_mm3, 40 * 40 * 40, 1e-12);
  assert_true(r->cavity[0].unreached_at_mm[0] < 40);
  ul_rise_free(r);
  b.opts.pour_mm = left;
  r = rise(&b);
  assert_rel(r->cavity[0].unreached_mm3, 60 * 40 * 40, 1e-12);
  ul_rise_free(r);
  free_bed(&b);
}

static bool slips_off(const double at[3], const void *context) {
  (void)context;
  return at[0] < 10 || (at[0] > 20 && at[0] < 100);
}

/* Two cubes by themselves, as at a slanting edge, have no room for the charge. */
static void a_pour_without_room_moves_where_it_may(void **state) {
  (void)state;
  const double off[1][3] = {{5, 5, 5}}, line[1][3] = {{45, 5, 5}};
  ul_rise *r;
  ul_error err;
  bed b;
  make_bed(&b, 120, 10, 20, 10, slips_off);
  for (size_t i = 0; i < b.grid->cube_count; i++)
    if (b.grid->inside[i]) b.grid->cavity[i] = 0;
  b.opts.pack = 2; /* an eighth of the cavity, where those two have a ninth */
  b.opts.pour_mm = off;
  assert_int_equal(ul_rise_run(b.grid, NULL, &b.opts, &one_thread, &r, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "pour elsewhere"));
  b.opts.pour_moves = true;
  for (int drawn = 0; drawn < 2; drawn++) { /* also the pieces of a line that begins there */
    b.opts.pour_end_mm = drawn ? line : NULL;
    r = rise(&b);
    assert_rel(r->cavity[0].unreached_mm3, 2 * 1000, 1e-12); /* none of it lies there */
    ul_rise_free(r);
  }
  b.opts.pack = 1.05; /* they have room for that little, as liquid: the foam is pressed hard */
  b.opts.pour_end_mm = NULL;
  assert_ok(ul_rise_run(b.grid, NULL, &b.opts, &one_thread, &r, &err), &err);
  assert_rel(r->cavity[0].unreached_mm3, 16 * 1000, 1e-12);
  ul_rise_free(r);
  free_bed(&b);
}

/* Poured along a line, turned late, past a vent, with a seam that gapes: each allocation fails
 * once. */
static void a_failing_allocation_leaves_nothing_behind(void **state) {
  (void)state;
  static const double from[1][3] = {{10, 10, 1}}, to[1][3] = {{50, 30, 1}};
  const ul_rise_vent vent = {{30, 20, 20}, 3, 25, true};
  bed b;
  make_bed(&b, 60, 40, 20, 10, mask_everything);
  float *seam = calloc(b.grid->cube_count, sizeof *seam);
  seam[mask_cube(b.grid, 5, 5, 15)] = seam[mask_cube(b.grid, 15, 5, 15)] = 10;
  b.opts.pour_mm = from;
  b.opts.pour_end_mm = to;
  b.opts.vent = &vent;
  b.opts.vent_count = 1;
  b.opts.seam_mm = seam;
  b.opts.seam_gap_mm = 0.1;
  b.opts.seam_land_mm = 10;
  b.opts.poured_up[2] = 1;
  b.opts.up[0] = 0.3;
  b.opts.shut_s = 12;
  for (int late = 0; late < 2; late++) {
    b.opts.turned_s = late ? 40 : 15;
    books_survive_failures(b.grid, &b.opts, 100);
  }
  free(seam);
  free_bed(&b);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(puddles_spread_by_their_closed_forms),
      cmocka_unit_test(a_line_fills_each_basin_with_what_falls_into_it),
      cmocka_unit_test(a_full_basin_spills_into_the_next_and_then_both_rise),
      cmocka_unit_test(a_line_of_no_length_is_a_point),
      cmocka_unit_test(a_pool_reaches_no_farther_than_its_puddle),
      cmocka_unit_test(a_puddle_goes_round_a_wall_and_not_through_it),
      cmocka_unit_test(liquid_runs_down_a_slope_as_far_as_its_law_says),
      cmocka_unit_test(a_puddle_goes_on_by_its_law),
      cmocka_unit_test(a_pool_thinner_than_a_cube_spreads_while_it_begins_to_rise),
      cmocka_unit_test(turned_in_time_it_rises_as_if_poured_in_the_tilt),
      cmocka_unit_test(turned_just_after_cream_it_still_runs_down),
      cmocka_unit_test(turned_without_time_left_it_lies_in_a_puddle_on_the_way),
      cmocka_unit_test(turned_too_late_it_begins_in_the_one_attitude_and_ends_in_the_other),
      cmocka_unit_test(a_vent_that_dips_under_on_the_way_is_told_with_how_deep),
      cmocka_unit_test(liquid_over_the_rim_is_told_with_how_deep),
      cmocka_unit_test(over_the_rim_of_a_mould_poured_shut_nothing_runs_out_unless_its_seam_gapes),
      cmocka_unit_test(a_part_that_the_pour_cannot_reach_is_told),
      cmocka_unit_test(a_pour_without_room_moves_where_it_may),
      cmocka_unit_test(a_failing_allocation_leaves_nothing_behind),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
