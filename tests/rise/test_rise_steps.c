/* How long the steps of a rise are, seen from its samples. */
#include <math.h>

#include "rise/mask_mould.h"
#include "shapes/check.h"

/* ---- the foam's own limits ---- */

typedef struct {
  double growth, thickening, length; /* the most in a step */
} most;

/* Of foam at atmospheric pressure, as where air leaves everywhere. */
static double volume_of(const ul_foam *f, double s) {
  const double l = 1 / ul_mid(f->liquid_kg_m3);
  return l + (1 / ul_mid(f->free_kg_m3) - l) * ul_foam_progress(f, s);
}

/* Castro-Macosko to the cap, times the gas factor (v/l)^power to its cap. */
static double viscosity_of(const ul_foam *f, double s) {
  const double x = f->cm_gel * s / ul_mid(f->gel_s);
  const double grown =
      x < f->cm_gel ? pow(f->cm_gel / (f->cm_gel - x), f->cm_a + f->cm_b * x) : (double)INFINITY;
  const double gas = pow(volume_of(f, s) * ul_mid(f->liquid_kg_m3), f->gas_power);
  return fmin(grown, f->gel_cap) * fmin(gas, f->gas_cap);
}

static most most_of(const ul_rise *r, const ul_foam *f) {
  most m = {0};
  for (size_t i = 1; i < r->sample_count; i++) {
    const double a = r->sample[i - 1].s, b = r->sample[i].s;
    m.growth = fmax(m.growth, volume_of(f, b) / volume_of(f, a) - 1);
    m.thickening = fmax(m.thickening, log(viscosity_of(f, b) / viscosity_of(f, a)));
    m.length = fmax(m.length, b - a);
  }
  return m;
}

/* Relative growth 0.05, thickening by 0.2 in the logarithm, a fiftieth of the time from cream to
 * set; all of it halved by a step factor of a half. */
static void a_step_grows_and_thickens_the_foam_by_no_more_than_stated(void **state) {
  (void)state;
  for (double factor = 1; factor > 0.3; factor /= 2) {
    mould m;
    make_mould(&m, 60, 60, 40, 20, mask_everything, 20);
    m.opts.open = true;
    m.opts.step_factor = factor;
    ul_rise *r = rise(m.grid, &m.opts);
    const most seen = most_of(r, &m.opts.foam);
    assert_true(seen.growth <= 0.05 * factor * 1.001);
    assert_true(seen.thickening <= 0.2 * factor * 1.001);
    assert_true(seen.length <= factor * (110 - 25) / 50 * (1 + 1e-9));
    /* and each of them is come to */
    assert_true(seen.growth > 0.049 * factor && seen.thickening > 0.19 * factor);
    assert_true(seen.length > 0.99 * factor * (110 - 25) / 50);
    ul_rise_free(r);
    free_mould(&m);
  }
}

/* ---- moments at which a step ends ---- */

static bool ends_at(const ul_rise *r, double s) {
  for (size_t i = 0; i < r->sample_count; i++)
    if (fabs(r->sample[i].s - s) < 1e-6) return true;
  return false;
}

/* Gel, set, and begin and end of a turn after cream, at which the foam's law or gravity has a
 * corner. */
static void a_step_ends_at_gel_at_set_and_with_a_turn(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 60, 60, 40, 10, mask_everything, 20);
  vent_corners(&m, 3);
  m.opts.foam.gel_s = (ul_span){71.7, 71.7};
  m.opts.poured_up[0] = 1;
  m.opts.shut_s = 31.3;
  m.opts.turned_s = 37.9;
  ul_rise *r = rise(m.grid, &m.opts);
  const double moment[] = {25, 31.3, 37.9, 71.7, 110};
  for (size_t i = 0; i < sizeof moment / sizeof *moment; i++) assert_true(ends_at(r, moment[i]));
  assert_rel(r->sample[r->sample_count - 1].s, 110, 1e-9);
  ul_rise_free(r);
  free_mould(&m);
}

/* ---- the air's limits ---- */

static bool with_a_chimney(const double at[3], const void *context) {
  (void)context;
  return at[2] < 40 || (at[0] > 60 && at[0] < 80 && at[1] < 20);
}

static size_t cut_offs_between(const ul_rise *r, double after, double until) {
  size_t count = 0;
  for (size_t i = 0; i < r->event_count; i++)
    count += r->event[i].kind == UL_RISE_CUT_OFF && r->event[i].s > after && r->event[i].s <= until;
  return count;
}

/* A step in which sealed air loses over a quarter, of volume or pressure, is made again shorter,
 * and one in which a vent lets out over five eighths of what it has (volume counts 0.4 there).
 * Bodies under a ten-thousandth of the cavity do not hold it up. */
static void a_step_changes_no_air_by_more_than_a_quarter(void **state) {
  (void)state;
  double most_sealed = 0, most_vented = 0;
  for (int i = 0; i < 3; i++) {
    mould m;
    const double volume = i ? 80 * 60 * 40 + 8000 : 60 * 60 * 40;
    if (i == 0) { /* a sealed box, squeezed to a few hundredths */
      make_mould(&m, 60, 60, 40, 10, mask_everything, 20);
      m.opts.pack = 3;
    } else { /* a pocket that no vent lets out; in the second one it is pressed small */
      make_mould(&m, 80, 60, 60, 5, with_a_chimney, 20);
      add_vent(&m, 0, 0, 40, 4);
      add_vent(&m, 0, 60, 40, 4);
      add_vent(&m, 80, 60, 40, 4);
      m.opts.pack = i == 1 ? 1.1 : 3;
    }
    ul_rise *r = rise(m.grid, &m.opts);
    for (size_t k = 1; k < r->sample_count; k++) {
      const ul_rise_sample *a = &r->sample[k - 1], *b = &r->sample[k];
      if (cut_offs_between(r, a->s, b->s)) continue;
      const double open_before = a->air_mm3 - a->sealed_mm3, open = b->air_mm3 - b->sealed_mm3;
      if (a->sealed_mm3 > 1e-3 * volume) {
        const double lost = 1 - b->sealed_mm3 / a->sealed_mm3;
        assert_true(lost <= 0.25);
        most_sealed = fmax(most_sealed, lost);
      }
      if (open_before > 1e-3 * volume) {
        const double lost = 1 - open / open_before;
        assert_true(lost <= 0.625);
        most_vented = fmax(most_vented, lost);
      }
    }
    ul_rise_free(r);
    free_mould(&m);
  }
  /* Seen: 0.055, as what sealed air loses goes with the foam's growth, and 0.54. */
  assert_true(most_sealed > 0.05 && most_vented > 0.5);
}

/* ---- what a step leaves undone ---- */

/* Largest and mean difference of two arrivals, s, over the cubes that both came to. */
static void compare(const ul_grid *g, const ul_rise *a, const ul_rise *b, double out[2]) {
  size_t count = 0;
  out[0] = out[1] = 0;
  for (size_t i = 0; i < g->cube_count; i++) {
    if (!g->inside[i] || !isfinite(a->arrival_s[i]) || !isfinite(b->arrival_s[i])) continue;
    const double apart = fabs((double)a->arrival_s[i] - (double)b->arrival_s[i]);
    out[0] = fmax(out[0], apart);
    out[1] += apart;
    count++;
  }
  out[1] /= (double)count;
}

/* A tenth of it moves arrivals in a tilted box by no more than half the step does. */
static void what_a_step_leaves_undone_matters_less_than_its_length(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 120, 80, 40, 5, mask_everything, 20);
  m.opts.up[0] = sin(15 * M_PI / 180);
  m.opts.up[2] = cos(15 * M_PI / 180);
  add_vent(&m, 120, 0, 40, 3);
  add_vent(&m, 120, 80, 40, 3);
  ul_rise *r = rise(m.grid, &m.opts);
  m.opts.settle_factor = 0.1;
  ul_rise *settled = rise(m.grid, &m.opts);
  m.opts.settle_factor = 1;
  m.opts.step_factor = 0.5;
  ul_rise *halved = rise(m.grid, &m.opts);
  double by_settling[2], by_halving[2];
  compare(m.grid, r, settled, by_settling);
  compare(m.grid, r, halved, by_halving);
  /* Seen: 0.58 s at most and 0.045 s in the mean, for 1.17 and 0.147 s. */
  assert_true(by_settling[0] <= by_halving[0] && by_settling[1] <= 0.5 * by_halving[1]);
  assert_true(by_settling[1] > 0);
  ul_rise_free(r);
  ul_rise_free(settled);
  ul_rise_free(halved);
  free_mould(&m);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_step_grows_and_thickens_the_foam_by_no_more_than_stated),
      cmocka_unit_test(a_step_ends_at_gel_at_set_and_with_a_turn),
      cmocka_unit_test(a_step_changes_no_air_by_more_than_a_quarter),
      cmocka_unit_test(what_a_step_leaves_undone_matters_less_than_its_length),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
