#include "rise/creep.h"

#include <math.h>
#include <stdlib.h>

#include "shapes/check.h"

ul_rise_opts creep_opts(double viscosity) {
  ul_rise_opts o = ul_rise_opts_default();
  o.foam.viscosity_pa_s = (ul_span){viscosity, viscosity};
  o.foam.gel_s = (ul_span){7000, 7000};
  o.foam.gas_power = 0;
  o.open = true;
  o.poured_s = 24;
  return o;
}

ul_rise *creep_rise(const ul_grid *grid, const ul_columns *columns, const ul_rise_opts *opts) {
  ul_rise *r = NULL;
  ul_error err;
  assert_ok(ul_rise_run(grid, columns, opts, &(ul_job){.threads = 1}, &r, &err), &err);
  assert_near(r->cavity[0].mass_error, 0, 1e-9);
  assert_near(r->cavity[0].air_error, 0, 1e-9);
  assert_int_equal(r->cavity[0].rough_steps, 0);
  return r;
}

float *creep_even_mobility(const ul_grid *g, double k_mm2) {
  float *k = malloc(g->cube_count * sizeof *k);
  assert_non_null(k);
  for (size_t i = 0; i < g->cube_count; i++) k[i] = g->inside[i] ? (float)k_mm2 : 0;
  return k;
}

creep_fit creep_ratios(const ul_rise *r, const ul_rise_opts *o, double cavity_mm3,
                       const double between_mm3[2], creep_law law, double section_mm2) {
  const double charge = o->pack * ul_mid(o->foam.free_kg_m3) * cavity_mm3; /* kg/m3 mm3 */
  creep_fit fit = {0};
  double before_it = NAN;
  int count = 0;
  for (size_t i = 1; i < r->sample_count; i++) {
    const ul_rise_sample *a = &r->sample[i - 1], *b = &r->sample[i];
    const double before = a->filled_fraction * cavity_mm3, now = b->filled_fraction * cavity_mm3;
    if (now < between_mm3[0] || now > between_mm3[1]) continue;
    const double rate = (now / before - 1) / (b->s - a->s);
    const double weight = charge / now * 9.80665 * now / section_mm2 * 1e-3;
    const double viscosity = ul_foam_liquid_viscosity(&o->foam, b->s);
    const double ratio = (b->peak_kpa * 1e3 - weight) / (viscosity * rate * law(now));
    fit.mean += ratio;
    fit.worst = fmax(fit.worst, fabs(ratio - 1));
    if (count) fit.worst_of_two = fmax(fit.worst_of_two, fabs((ratio + before_it) / 2 - 1));
    before_it = ratio;
    count++;
  }
  assert_true(count > 40);
  fit.mean /= count;
  return fit;
}

double creep_volume_mm3(const ul_rise *r, double cavity_mm3, double t) {
  size_t i = 1;
  while (i + 1 < r->sample_count && r->sample[i].s < t) i++;
  const ul_rise_sample *a = &r->sample[i - 1], *b = &r->sample[i];
  const double along = (t - a->s) / (b->s - a->s);
  return cavity_mm3 * (a->filled_fraction + along * (b->filled_fraction - a->filled_fraction));
}
