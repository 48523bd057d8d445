/* Mobility of the part that holds foam. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "rise/cut.h"
#include "rise/mask.h"
#include "rise/mesh_mould.h"
#include "shapes/check.h"
#include "ullage/mobility.h"
#include "ullage/rise.h"

static bool between_plates(const double at[3], const void *context) {
  (void)context;
  return fabs(at[2]) < 8.45;
}

/* A film of depth d on a wall, free above, moves as y (2 d - y) / 2 (Nusselt 1916): four times as
 * easily in the mean as the same depth between two walls, and the dry part is left alone. */
static void a_film_on_a_floor_has_the_mobility_of_a_free_surface(void **state) {
  (void)state;
  const int32_t n[3] = {6, 6, 24};
  const double shift[3] = {0.3, 0.1, 0.2};
  const ul_job job = {.threads = 1};
  cut c;
  cut_make(between_plates, NULL, n, 1, shift, 8.45, &c);
  uint8_t *wet = calloc(c.grid.cube_count, 1);
  float *k = calloc(c.grid.cube_count, sizeof *k);
  double top = -INFINITY;
  for (size_t i = 0; i < c.grid.cube_count; i++) {
    double at[3];
    cut_centre(&c, i, at);
    k[i] = 77;
    wet[i] = at[2] < 0;
    if (wet[i]) top = fmax(top, at[2] + 0.5);
  }
  ul_error err;
  assert_ok(ul_mobility_of(&c.grid, &c.columns, NULL, wet, &job, k, &err), &err);
  double film = top + 8.45;
  for (size_t i = 0; i < c.grid.cube_count; i++) {
    double at[3], y;
    cut_centre(&c, i, at);
    if (!c.grid.inside[i]) continue;
    y = at[2] + 8.45;
    if (wet[i])
      assert_rel((double)k[i], fmax(y * (2 * film - y) / 2, 0.015 * 8.45 * 8.45), 1e-4);
    else
      assert_rel((double)k[i], 77, 0);
  }
  free(wet);
  free(k);
  cut_free(&c);
}

static void without_columns_it_is_refused(void **state) {
  (void)state;
  const double size[3] = {60, 60, 40};
  ul_grid *grid = mask_grid(size, 10, mask_everything, NULL);
  float *mobility = mask_mobility(grid, 20);
  ul_rise_opts o = ul_rise_opts_default();
  ul_rise *r;
  ul_error err;
  o.mobility_mm2 = mobility;
  o.wet_mobility = true;
  assert_int_equal(ul_rise_run(grid, NULL, &o, NULL, &r, &err), UL_E_USAGE);
  assert_non_null(strstr(err.text, "columns"));
  free(mobility);
  mask_free(grid);
}

/* Found at the start, and each time the foam has grown by a tenth since. It is looked at between
 * steps, in which the foam grows by at most a twentieth of the step factor: that bounds how often.
 */
static void it_is_found_anew_with_each_tenth_that_the_foam_grows(void **state) {
  (void)state;
  for (double factor = 1; factor > 0.05; factor /= 10) {
    mesh_mould m;
    mesh_mould_make(&m, shape_box(40, 30, 20), 5, 20, 15);
    mesh_mould_vent(&m, 0, 0, 20, 3);
    mesh_mould_vent(&m, 40, 30, 20, 3);
    m.opts.wet_mobility = true;
    m.opts.step_factor = factor;
    ul_rise *r = mesh_mould_rise(&m);
    const ul_rise_cavity *c = &r->cavity[0];
    const double grown = log(c->filled_fraction * m.volume_mm3 / (c->mass_in_g / 1080e-6));
    const double most = 1 + floor(grown / log(1.1));
    const double least = floor(grown / log(1.1 * (1 + 0.05 * factor)));
    assert_true((double)c->wet_mobilities >= least && (double)c->wet_mobilities <= most);
    ul_rise_free(r);
    mesh_mould_free(&m);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_film_on_a_floor_has_the_mobility_of_a_free_surface),
      cmocka_unit_test(it_is_found_anew_with_each_tenth_that_the_foam_grows),
      cmocka_unit_test(without_columns_it_is_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
