#include "main/foam_bed.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"

/* Rises by the dozen take under a second of a processor each at this many; a cavity that is thin
 * for so few gets more, to the second limit. */
enum { COARSE = 3000, COARSE_MOST = 6000 };
enum { FINE = 20000, FINE_MOST = 60000 };

static ul_status make(const cavity_case *c, double cubes, double most, foam_bed *out,
                      ul_error *err) {
  *out = (foam_bed){0};
  ul_status status = case_cut_beside(c, cubes, most, &out->columns, &out->grid, err);
  if (status != UL_OK) return status;
  out->mobility_mm2 = ul_new(out->grid->cube_count, sizeof *out->mobility_mm2);
  if (!out->mobility_mm2) return ul_fail_memory(err);
  return ul_mobility(out->grid, out->columns, NULL, &c->job, out->mobility_mm2, err);
}

ul_status foam_bed_fine(const cavity_case *c, foam_bed *out, ul_error *err) {
  double volume = 0, limit = fmax(c->opts->void_ok_cm3 * 1000, 1e-3);
  for (size_t i = 0; i < c->solid->cavity_count; i++) volume += c->solid->cavity[i].volume_mm3;
  double cubes = fmin(fmax(2 * volume / limit, FINE), FINE_MOST);
  return make(c, cubes, FINE_MOST, out, err);
}

/* Whatever resolution the options ask for is for the fine one. */
ul_status foam_bed_coarse(const cavity_case *c, foam_bed *out, ul_error *err) {
  options opts = *c->opts;
  cavity_case plain = *c;
  opts.cube_mm = 0;
  if (!(opts.cubes > 0 && opts.cubes < COARSE)) opts.cubes = 0;
  plain.opts = &opts;
  return make(&plain, COARSE, COARSE_MOST, out, err);
}

void foam_bed_free(foam_bed *bed) {
  free(bed->mobility_mm2);
  ul_grid_free(bed->grid);
  ul_columns_free(bed->columns);
  *bed = (foam_bed){0};
}

double foam_bed_cube_mm3(const foam_bed *bed) {
  return pow(bed->grid->lattice.cube_mm, 3);
}
