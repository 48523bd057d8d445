#include "rise/mesh_mould.h"

#include "rise/books.h"
#include "rise/pressed.h"
#include "shapes/check.h"

void mesh_mould_make(mesh_mould *m, ul_mesh *mesh, double cube_mm, double x, double y) {
  ul_lattice lattice;
  ul_error err;
  *m = (mesh_mould){.solid = shape_solid(mesh), .pour_mm = {x, y, 0.5 * cube_mm}};
  m->opts = ul_rise_opts_default();
  const ul_measure *c = &m->solid->cavity[0];
  assert_ok(ul_lattice_for_box((const double(*)[3])c->box_mm, cube_mm, &lattice, &err), &err);
  assert_ok(ul_columns_build(m->solid, NULL, 0, &lattice, NULL, &m->columns, &err), &err);
  assert_ok(ul_grid_build(m->solid, NULL, 0, m->columns, NULL, &m->grid, &err), &err);
  m->volume_mm3 = c->volume_mm3;
  m->opts.pack = 1.25;
  m->opts.poured_s = 10;
}

void mesh_mould_free(mesh_mould *m) {
  ul_grid_free(m->grid);
  ul_columns_free(m->columns);
  ul_solid_free(m->solid);
}

void mesh_mould_vent(mesh_mould *m, double x, double y, double z, double diameter_mm) {
  m->vent[m->opts.vent_count++] = (ul_rise_vent){{x, y, z}, diameter_mm, 25, false};
}

ul_rise *mesh_mould_rise(const mesh_mould *m) {
  ul_rise_opts opts = m->opts;
  ul_rise *r = NULL;
  ul_error err;
  opts.vent = m->vent;
  opts.pour_mm = &m->pour_mm;
  assert_ok(ul_rise_run(m->grid, m->columns, &opts, &(ul_job){.threads = 1}, &r, &err), &err);
  books_demand(m->grid, m->columns, r, &opts);
  demand_pockets_pressed(r, m->grid, &opts);
  return r;
}

double rise_trapped_mm3(const ul_rise *r) {
  double sum = 0;
  for (size_t i = 0; i < r->cavity[0].void_count; i++) sum += r->cavity[0].voids[i].void_mm3;
  return sum;
}
