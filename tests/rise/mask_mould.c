#include "rise/mask_mould.h"

#include <stdlib.h>

#include "rise/books.h"
#include "rise/pressed.h"
#include "shapes/check.h"

ul_rise *rise(const ul_grid *grid, const ul_rise_opts *opts) {
  ul_rise *r = NULL;
  ul_error err;
  assert_ok(ul_rise_run(grid, NULL, opts, &(ul_job){.threads = 1}, &r, &err), &err);
  books_demand(grid, NULL, r, opts);
  demand_pressed(r, grid, opts);
  return r;
}

void make_mould(mould *m, double x, double y, double z, double cube, mask_fn inside,
                double half_gap) {
  *m = (mould){.size = {x, y, z}, .pour = {x / 2, y / 2, cube / 2}, .opts = ul_rise_opts_default()};
  m->grid = mask_grid(m->size, cube, inside, NULL);
  m->mobility = mask_mobility(m->grid, half_gap);
  m->opts.mobility_mm2 = m->mobility;
  m->opts.pour_mm = (const double(*)[3])m->pour;
  m->opts.vent = m->vent;
  m->opts.pack = 1.25;
  m->opts.poured_s = 10;
}

void free_mould(mould *m) {
  free(m->mobility);
  mask_free(m->grid);
}

void add_vent(mould *m, double x, double y, double z, double diameter) {
  m->vent[m->opts.vent_count++] = (ul_rise_vent){{x, y, z}, diameter, 25, false};
}

void vent_corners(mould *m, double diameter) {
  for (int i = 0; i < 4; i++)
    add_vent(m, i % 2 ? m->size[0] : 0, i / 2 ? m->size[1] : 0, m->size[2], diameter);
}

double trapped(const ul_rise *r) {
  double sum = 0;
  for (size_t i = 0; i < r->cavity[0].void_count; i++) sum += r->cavity[0].voids[i].void_mm3;
  return sum;
}
