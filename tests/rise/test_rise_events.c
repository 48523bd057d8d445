/* What a rise tells of itself as it goes: its events, and where its fronts meet. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "rise/creep.h"
#include "rise/mask_mould.h"
#include "shapes/check.h"
#include "ullage/meets.h"

/* ---- events ---- */

/* The only one of its kind. */
static const ul_rise_event *the(const ul_rise *r, ul_rise_event_kind kind) {
  const ul_rise_event *found = NULL;
  for (size_t i = 0; i < r->event_count; i++) {
    if (r->event[i].kind != kind) continue;
    assert_null(found);
    found = &r->event[i];
  }
  assert_non_null(found);
  return found;
}

static void demand_event(const ul_rise *r, ul_rise_event_kind kind, double s) {
  assert_near(the(r, kind)->s, s, 1e-9 * s);
  assert_false(the(r, kind)->has_place);
  assert_true(the(r, kind)->vent == UINT32_MAX);
}

static void demand_placed(const ul_rise *r, ul_rise_event_kind kind, double s, uint32_t vent,
                          const double at[3], double within) {
  const ul_rise_event *e = the(r, kind);
  assert_near(e->s, s, 1e-9 * s);
  assert_int_equal(e->vent, vent);
  assert_true(e->has_place);
  for (int a = 0; a < 3; a++) assert_near(e->at_mm[a], at[a], within);
}

/* A column of single cubes, 120 mm, poured upside down over the vent in its top and turned before
 * cream; another vent is half way up, and a seam beside the first. */
static void a_mould_that_fills_tells_each_moment_once(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 120, 5, 5, 5, mask_everything, 20);
  const double top[3] = {117.5, 2.5, 2.5};
  float *seam = calloc(m.grid->cube_count, sizeof *seam);
  seam[mask_cube(m.grid, top[0], top[1], top[2])] = 5;
  memcpy(m.opts.up, (double[]){1, 0, 0}, sizeof m.opts.up);
  memcpy(m.opts.poured_up, (double[]){-1, 0.3, 0}, sizeof m.opts.poured_up);
  memcpy(m.pour, top, sizeof m.pour);
  m.opts.shut_s = 12;
  m.opts.turned_s = 18;
  m.opts.foam.viscosity_pa_s = (ul_span){0.1, 0.1};
  m.opts.seam_mm = seam;
  m.opts.seam_gap_mm = 0.1;
  m.opts.seam_land_mm = 25;
  add_vent(&m, 120, 2.5, 2.5, 3);
  add_vent(&m, 57.5, 2.5, 5, 3);
  ul_rise *r = rise(m.grid, &m.opts);
  const ul_rise_cavity *c = &r->cavity[0];
  size_t last = 0;
  while (r->sample[last].air_mm3 > 0) last++;
  demand_placed(r, UL_RISE_POURED, 10, UINT32_MAX, m.pour, 2.5);
  demand_placed(r, UL_RISE_LIQUID, the(r, UL_RISE_LIQUID)->s, 0, m.vent[0].at_mm, 1e-9);
  assert_true(the(r, UL_RISE_LIQUID)->s >= 10 && the(r, UL_RISE_LIQUID)->s < 18);
  /* 1.25 x 64/1080 of 120 mm, to the half cube that its middle is off */
  assert_near(r->vent[0].liquid_over_mm, 120 * 1.25 * 64 / 1080, 2.5);
  demand_event(r, UL_RISE_TURNED, 18);
  demand_event(r, UL_RISE_CREAM, 25);
  demand_event(r, UL_RISE_GEL, 80);
  demand_event(r, UL_RISE_SET, c->end_s);
  demand_event(r, UL_RISE_FULL, r->sample[last].s);
  demand_placed(r, UL_RISE_SEAM, c->seam_shows_s, UINT32_MAX, top, 1e-9);
  size_t of_vents = 0;
  for (size_t i = 0; i < r->event_count; i++) {
    const ul_rise_event *e = &r->event[i];
    if (e->kind != UL_RISE_SHOWS && e->kind != UL_RISE_CLOGS) continue;
    const ul_rise_vent_seen *v = &r->vent[e->vent];
    assert_rel(e->s, e->kind == UL_RISE_SHOWS ? v->foam_shows_s : v->clogs_s, 0);
    for (int k = 0; k < 3; k++) assert_near(e->at_mm[k], m.vent[e->vent].at_mm[k], 5);
    of_vents++;
  }
  assert_int_equal(of_vents, 4);
  assert_int_equal(r->event_count, 12);
  ul_rise_free(r);
  free(seam);
  free_mould(&m);
}

static void air_that_is_cut_off_is_told_when_and_where(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 130, 90, 40, 10, mask_everything, 20);
  add_vent(&m, 65, 45, 40, 3);
  ul_rise *r = rise(m.grid, &m.opts);
  const ul_rise_event *cut = the(r, UL_RISE_CUT_OFF);
  assert_int_equal(r->cavity[0].void_count, 1);
  assert_rel(cut->s, r->cavity[0].voids[0].cut_off_s, 0);
  assert_rel(cut->s, the(r, UL_RISE_CLOGS)->s, 0); /* the vent is in one cube */
  assert_true(cut->has_place);
  assert_int_equal(r->void_id[mask_cube(m.grid, cut->at_mm[0], cut->at_mm[1], cut->at_mm[2])], 1);
  demand_placed(r, UL_RISE_SHOWS, r->vent[0].foam_shows_s, 0, m.vent[0].at_mm, 5 + 1e-9);
  ul_rise_free(r);
  free_mould(&m);
}

/* ---- where fronts meet ---- */

static bool round_a_core(const double at[3], const void *context) {
  (void)context;
  return !(at[0] > 60 && at[0] < 70 && at[1] > 20 && at[1] < 82);
}

/* A gap of 2 mm, 140 x 102, poured on its midline: the foam goes round a core of 10 x 62 and meets
 * itself behind its middle. Without the core it meets itself nowhere. */
static void foam_meets_itself_behind_a_core_and_nowhere_else(void **state) {
  (void)state;
  const double size[3] = {140, 102, 2}, pour[3] = {30, 51, 1};
  for (int core = 0; core < 2; core++) {
    ul_grid *g = mask_grid(size, 2, core ? round_a_core : mask_everything, NULL);
    float *k = creep_even_mobility(g, 4.0 / 12);
    ul_rise_opts o = creep_opts(3);
    o.mobility_mm2 = k;
    o.pour_mm = &pour;
    o.pack = 0.9;
    ul_rise *r = creep_rise(g, NULL, &o);
    ul_meet *meet;
    size_t count;
    ul_error err;
    assert_ok(ul_meets_find(g, NULL, r->arrival_s, r->cavity[0].end_s, &meet, &count, &err), &err);
    assert_int_equal(count, core);
    if (core) { /* head on at first, then ever less: 138 degrees in the mean seen */
      const double behind[3] = {71, 51, 1};
      for (int a = 0; a < 3; a++) assert_near(meet->at_mm[a], behind[a], 1e-9);
      assert_rel(meet->arrival, (double)r->arrival_s[mask_cube(g, 71, 51, 1)], 1e-6);
      assert_true(meet->angle_deg > 120);
    }
    free(meet);
    ul_rise_free(r);
    free(k);
    mask_free(g);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_mould_that_fills_tells_each_moment_once),
      cmocka_unit_test(air_that_is_cut_off_is_told_when_and_where),
      cmocka_unit_test(foam_meets_itself_behind_a_core_and_nowhere_else),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
