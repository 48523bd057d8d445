/* One step of the rise from the inside: the rules that a step keeps to. */
#include <math.h>
#include <stdlib.h>

#include "rise/air.h"
#include "rise/creep.h"
#include "rise/front.h"
#include "rise/mask.h"
#include "shapes/check.h"

static const double UP_X[3] = {1, 0, 0}, UP_Z[3] = {0, 0, 1};
static const double P0 = 101325;
static const ul_job one_thread = {.threads = 1};

typedef struct {
  ul_grid *grid;
  float *mobility;
  ul_rise_opts opts;
  ul_cubes *all, *one;
  ul_filling *f;
  ul_step step;
} bench;

static void make_bench(bench *b, const double size[3], double cube, double k_mm2) {
  ul_error err;
  b->grid = mask_grid(size, cube, mask_everything, NULL);
  b->mobility = creep_even_mobility(b->grid, k_mm2);
  b->opts.mobility_mm2 = b->mobility;
  assert_ok(ul_cubes_new(b->grid, NULL, &b->all, &err), &err);
  assert_ok(ul_cubes_pick(b->all, 0, &b->one, &err), &err);
  assert_ok(ul_filling_new(b->one, &b->opts, UP_Z, &one_thread, &b->f, &err), &err);
}

static void free_bench(bench *b) {
  ul_step_free(&b->step);
  ul_filling_free(b->f);
  ul_cubes_free(b->one);
  ul_cubes_free(b->all);
  free(b->mobility);
  mask_free(b->grid);
}

/* ---- foam that falls back ---- */

enum { COLUMN = 600, LOW = 150, HIGH = 450 }; /* cubes of 1 mm; foam in the middle ones */

/* Length of foam of m kg/m2 between pressures that differ by its weight:
 * m (l + gas ln(p2/p1)/(p2 - p1)). */
static double foam_length(double m, double l, double gas, double p1, double p2) {
  return m * (l + gas * log(p2 / p1) / (p2 - p1));
}

/* A sealed column of 600 mm with foam at atmospheric pressure in its middle 300 is set upright, and
 * a fifth more air is let in above, little by little. The foam sinks until that air stands at p1
 * and the other at p2 = p1 + m g, both as Boyle has it. */
static double pressure_above(double m, double l, double gas) {
  double low = 0.5 * P0, high = 2 * P0;
  while (high - low > 1e-6) {
    const double p1 = (low + high) / 2, p2 = p1 + m * UL_GRAVITY;
    const double air = 1.2 * P0 * 0.15 / p1 + P0 * 0.15 / p2;
    if (air + foam_length(m, l, gas, p1, p2) > 0.6)
      low = p1;
    else
      high = p1;
  }
  return low;
}

static void make_column(bench *b) {
  const double size[3] = {COLUMN, 1, 1};
  ul_error err;
  *b = (bench){.opts = creep_opts(0.05)};
  b->opts.foam.free_kg_m3 = (ul_span){500, 500};
  b->opts.foam.gel_cap = 1;
  b->opts.open = false;
  make_bench(b, size, 1, 1);
  ul_filling *f = b->f;
  f->t = 200; /* after set: it grows no more */
  const ul_foam_now now = ul_foam_at(f, f->t);
  for (size_t i = LOW; i < HIGH; i++) {
    f->full[i] = 1;
    f->mass[i] = f->volume[i] / (now.liquid + now.gas / P0);
    f->charge_kg += f->mass[i];
  }
  assert_ok(ul_air_begin(f, &err), &err);
  assert_int_equal(f->part_count, 2);
  assert_ok(ul_filling_aim(f, UP_X, &err), &err);
  assert_ok(ul_step_new(f, &b->step, &err), &err);
}

/* As long as it converges, as the rise has it. */
static void take_step(bench *b, double dt) {
  ul_error err;
  bool converged = false;
  for (int tries = 0; tries < 8 && !converged; tries++, dt /= 2) {
    assert_ok(ul_step_solve(&b->step, dt, &converged, &err), &err);
    if (!converged) ul_step_undo(&b->step);
  }
  assert_true(converged);
}

static size_t fallen_above(const ul_step *s, uint32_t cube) {
  size_t count = 0;
  for (size_t k = 0; k < s->fallen_count; k++) count += s->fallen[k].cube > cube;
  return count;
}

/* Seen: 1 Pa of the 1,487 that the foam weighs. With faces only shut where a cube would give more
 * than it has, the foam stuck, and the air above stood 14 kPa too high.
 *
 * Air that re-expands pushes the front back by at most one layer a step, leaves no cube less than
 * no foam, and stands at the foam's pressure at last. */
static void foam_that_sinks_lets_its_air_expand_layer_by_layer(void **state) {
  (void)state;
  bench b;
  ul_error err;
  make_column(&b);
  ul_filling *f = b.f;
  const double there = f->part[1].content_j;
  size_t fell = 0;
  for (int k = 0; k < 200; k++) {
    if (k < 10) f->part[1].content_j += 0.02 * there;
    take_step(&b, 0.02);
    const size_t layers = fallen_above(&b.step, (LOW + HIGH) / 2);
    assert_true(layers <= 1 && b.step.fallen_count - layers <= 1); /* of either front */
    fell += layers;
    assert_ok(ul_step_accept(&b.step, &err), &err);
    for (size_t i = 0; i < f->count; i++) assert_true(f->mass[i] > -1e-12 * f->mass[300]);
    assert_int_equal(f->part_count, 2);
  }
  const ul_foam_now now = ul_foam_at(f, f->t);
  const double m = f->charge_kg / 1e-6, p1 = pressure_above(m, now.liquid, now.gas);
  const double p2 = p1 + m * UL_GRAVITY, below = f->part[0].volume_m3 * 1e6;
  size_t top = COLUMN - 1;
  while (!f->full[top]) top--;
  assert_true(fell >= 10);
  assert_near(f->part[1].gauge_pa, p1 - P0, 0.01 * (p2 - p1));
  assert_near(f->part[0].gauge_pa, p2 - P0, 0.01 * (p2 - p1));
  assert_near(below, 0.15 * P0 / p2, 0.05e-3);
  assert_near(f->pressure[top], f->part[1].gauge_pa, 1.5e-3 * 500 * UL_GRAVITY);
  free_bench(&b);
}

/* ---- what a step leaves undone ---- */

/* Sums over a step that has been solved, as shares of the mass that has to move in it. */
typedef struct {
  double excess, most_excess; /* held beyond their volume by cubes not full; the latter one cube's,
                                 as a share of what it holds */
  double misjudged;           /* through faces that should be shut, or open */
  double balance;             /* of full cubes: held + leaves - there was */
  double air;                 /* p V + left - there was, as foam */
} undone;

static double density(const ul_step *s, double gauge) {
  return (1 + 1e-9 * gauge) / (s->now.liquid + s->now.gas / (P0 + gauge));
}

static void add_excess(const ul_step *s, undone *u) {
  const ul_filling *f = s->f;
  for (size_t k = 0; k < s->rim_count; k++) {
    const uint32_t i = s->rim[k];
    if (f->full[i]) continue;
    const double held = f->mass[i] + s->gain[i];
    const double room = f->volume[i] * density(s, s->value[f->count + (size_t)f->air[i]]);
    u->excess += fmax(0, held - room);
    if (held > room) u->most_excess = fmax(u->most_excess, 1 - room / held);
  }
}

/* Flow by the law at the pressures found, kg/s, added to what leaves each full cube. */
static void add_flow(const ul_step *s, double *leaves) {
  const ul_filling *f = s->f;
  const double weight = s->now.density * UL_GRAVITY;
  for (size_t i = 0; i < f->count; i++)
    for (int a = 0; a < 3; a++) {
      const int32_t n = f->cubes->next[i][2 * a + 1];
      if (n == UL_NO_CUBE || !f->full[i] || !f->full[n]) continue;
      const double drive = s->value[i] - s->value[n] - weight * f->rise[2 * a + 1];
      const double donor = density(s, drive > 0 ? s->value[i] : s->value[n]);
      const double flow = donor * f->face[a][i] / s->now.viscosity * drive;
      leaves[i] += flow;
      leaves[n] -= flow;
    }
}

static void add_faces(const ul_step *s, double *leaves, undone *u) {
  for (size_t i = 0; i < s->front_count; i++) {
    const ul_front_face *face = &s->front[i];
    const double air = s->value[s->f->count + (size_t)face->part];
    const double flow = face->conduct * (s->value[face->cube] - air + face->lift);
    const bool pulls = face->one_way && flow < 0;
    if (face->one_way && face->shut == (flow > 0)) u->misjudged += s->dt * fabs(flow);
    leaves[face->cube] += face->shut ? -face->given : pulls ? 0 : flow;
  }
}

static undone look_at(const ul_step *s) {
  const ul_filling *f = s->f;
  undone u = {0};
  double *leaves = calloc(f->count, sizeof *leaves);
  add_excess(s, &u);
  add_flow(s, leaves);
  add_faces(s, leaves, &u);
  for (size_t i = 0; i < f->count; i++)
    if (f->full[i])
      u.balance += fabs(f->volume[i] * density(s, s->value[i]) + s->dt * leaves[i] - f->mass[i]);
  for (size_t a = 0; a < f->part_count; a++) {
    const double gauge = s->value[f->count + a];
    double volume = 0, cubes = 0;
    for (size_t i = 0; i < f->count; i++)
      if (!f->full[i] && f->air[i] == (int32_t)a && ++cubes > 0)
        volume += f->volume[i] - (f->mass[i] + (s->in_rim[i] ? s->gain[i] : 0)) *
                                     (s->now.liquid + s->now.gas / (P0 + gauge));
    if (cubes == 0) continue; /* foam took the last of it */
    const double rest =
        (P0 + gauge) * volume + s->dt * ul_air_vent_w(f, (int32_t)a, gauge) - f->part[a].content_j;
    u.air += fabs(rest) * density(s, gauge) / (P0 + gauge);
  }
  free(leaves);
  u.excess /= s->source_kg;
  u.misjudged /= s->source_kg;
  u.balance /= s->source_kg;
  u.air /= s->source_kg;
  return u;
}

/* A tilted box from cream until it is full: in every step no cube holds more than its volume, foam
 * goes only out of the full ones into the others, not where it is not pressed, and everywhere where
 * it is, and both foam and air are in balance; but for the shares that the step may leave. */
static void a_step_leaves_no_more_undone_than_stated(void **state) {
  (void)state;
  const double size[3] = {60, 30, 40};
  const ul_rise_vent vent[2] = {{{0, 0, 40}, 1.5, 25, false}, {{60, 30, 40}, 3, 25, false}};
  ul_error err;
  bench b = {.opts = ul_rise_opts_default()};
  b.opts.vent = vent;
  b.opts.vent_count = 2;
  make_bench(&b, size, 5, 2);
  ul_filling *f = b.f;
  const double tilt[3] = {sin(0.3), 0, cos(0.3)};
  assert_ok(ul_filling_aim(f, tilt, &err), &err);
  f->t = 25;
  f->charge_kg = 1.25 * 64 * f->volume_m3;
  for (double left = f->charge_kg; left > 0;) { /* lowest cubes first */
    size_t lowest = 0;
    for (size_t i = 0; i < f->count; i++)
      if (!f->mass[i] && (f->mass[lowest] > 0 || f->height[i] < f->height[lowest])) lowest = i;
    f->mass[lowest] = fmin(left, 1080 * f->volume[lowest]);
    f->full[lowest] = f->mass[lowest] >= 1080 * f->volume[lowest];
    left -= f->mass[lowest];
  }
  assert_ok(ul_air_begin(f, &err), &err);
  assert_ok(ul_step_new(f, &b.step, &err), &err);
  undone most = {0};
  int steps = 0;
  for (; f->t < 100; steps++) {
    take_step(&b, f->t < 30 ? 0.2 : 0.5);
    const undone u = look_at(&b.step);
    most.excess = fmax(most.excess, u.excess);
    most.most_excess = fmax(most.most_excess, u.most_excess);
    most.misjudged = fmax(most.misjudged, u.misjudged);
    most.balance = fmax(most.balance, u.balance);
    most.air = fmax(most.air, u.air);
    assert_ok(ul_step_accept(&b.step, &err), &err);
  }
  /* Seen: 1.6, 4.0, 1.7, 3.3 and 1.4 %. The balance is here by the law at the pressures found,
   * which the solve knows only as a straight line and with the links of its begin. */
  assert_true(most.excess > 0 && most.excess <= 0.1 && most.most_excess <= 0.25);
  assert_true(most.misjudged > 0 && most.misjudged <= 0.02);
  assert_true(most.balance <= 0.05 && most.air <= 0.03);
  assert_int_equal(f->part_count, 0);
  free_bench(&b);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(foam_that_sinks_lets_its_air_expand_layer_by_layer),
      cmocka_unit_test(a_step_leaves_no_more_undone_than_stated),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
