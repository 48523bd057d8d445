#include "air/bed.h"

#include "base/vec.h"
#include "shapes/check.h"
#include "shapes/shapes.h"

#include <string.h>

bed bed_lay(ul_mesh *mesh, const ul_solid *const *insert, size_t inserts, double cube_mm,
            const double up[3]) {
  bed b = {.solid = shape_solid(mesh)};
  ul_error err = {0};
  ul_lattice lattice;
  double box[2][3];
  ul_mesh_box_mm(b.solid->mesh, box);
  assert_ok(ul_lattice_for_box((const double(*)[3])box, cube_mm, &lattice, &err), &err);
  assert_ok(ul_columns_build(b.solid, insert, inserts, &lattice, NULL, &b.columns, &err), &err);
  assert_ok(ul_heights_new(b.solid, b.columns, NULL, &b.heights, &err), &err);
  ul_peaks_opts find = ul_peaks_opts_default();
  assert_ok(ul_peaks_find(b.heights, up, &find, &b.peaks, &err), &err);
  b.tool = ul_tool_wall(b.solid, 25, true);
  return b;
}

void bed_clear(bed *b, ul_vents *vents) {
  ul_vents_free(vents);
  ul_peaks_free(b->peaks);
  ul_heights_free(b->heights);
  ul_columns_free(b->columns);
  ul_solid_free(b->solid);
}

ul_vents *bed_choose(const bed *b, const ul_vents_opts *opts) {
  ul_error err = {0};
  ul_vents *vents;
  assert_ok(ul_vents_choose(b->solid, b->heights, b->peaks, &b->tool, opts, &vents, &err), &err);
  for (size_t i = 0; i < vents->count; i++) assert_int_equal(vents->vent[i].id, i + 1);
  return vents;
}

void bed_part_across(bed *b, const double normal[3], double at_mm) {
  ul_error err = {0};
  double at[3];
  for (int c = 0; c < 3; c++) at[c] = at_mm * normal[c];
  assert_ok(ul_parting_make(b->solid, at, normal, NULL, &b->parting, &err), &err);
}

void bed_part(bed *b, double z) {
  bed_part_across(b, (double[3]){0, 0, 1}, z);
}

ul_vents_opts bed_opts(const bed *b) {
  ul_vents_opts opts = ul_vents_opts_default();
  opts.parting = &b->parting;
  ul_copy3(b->parting.draw, opts.draw);
  return opts;
}

ul_vents *bed_wished(const bed *b, ul_vents_opts opts, const ul_vent_wish *wish) {
  opts.only_wishes = true;
  opts.wish = wish;
  opts.wish_count = 1;
  ul_vents *vents = bed_choose(b, &opts);
  assert_int_equal(vents->count, 1);
  return vents;
}

bool vent_says(const ul_vent *vent, const char *words) {
  bool does = strstr(vent->note, words) != NULL;
  if (!does) print_error("\"%s\" does not say \"%s\"\n", vent->note, words);
  return does;
}
