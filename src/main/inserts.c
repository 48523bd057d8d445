#include "main/inserts.h"

#include <stdio.h>
#include <string.h>

#include "base/fail.h"
#include "main/show.h"
#include "report/json.h"
#include "report/words.h"

/* Less than this share of a cavity is rounding. */
static const double NOTHING = 1e-9;

/* The error of one file among several. */
static ul_status of_file(const char *file, ul_status status, ul_error *err) {
  char text[sizeof err->text];
  snprintf(text, sizeof text, "%s", err->text);
  return ul_fail(err, status, "the insert %s: %s", file, text);
}

static ul_status open_one(cavity_case *c, size_t i, ul_error *err) {
  const char *file = c->opts->insert[i];
  ul_import_opts import = ul_import_opts_default();
  import.unit = c->opts->unit;
  ul_import_info info;
  ul_mesh *mesh;
  ul_status status = ul_import(file, &import, &c->job, &mesh, &info, err);
  if (status != UL_OK) return of_file(file, status, err);
  ul_solid_opts opts = ul_solid_opts_default();
  opts.drawn = UL_DRAWN_PART;
  ul_audit *audit = NULL;
  status = ul_audit_mesh(mesh, &opts, &c->job, &audit, &c->in.solid[i], err);
  ul_mesh_free(mesh);
  if (status == UL_OK) {
    c->in.count = i + 1;
    status = ul_audit_verdict(audit, err);
  }
  ul_audit_free(audit);
  return status == UL_OK ? UL_OK : of_file(file, status, err);
}

static double volume_of(const ul_solid *solid) {
  double mm3 = 0;
  for (size_t i = 0; i < solid->cavity_count; i++) mm3 += solid->cavity[i].volume_mm3;
  return mm3;
}

static ul_status must_reach_in(cavity_case *c, size_t i, ul_error *err) {
  double in[2][3], cavity[2][3];
  ul_status status =
      ul_insert_displaces_mm3(c->bare, c->in.solid[i], &c->job, &c->in.displaced_mm3[i], err);
  if (status != UL_OK || c->in.displaced_mm3[i] > NOTHING * volume_of(c->bare)) return status;
  ul_mesh_box_mm(c->in.solid[i]->mesh, in);
  ul_mesh_box_mm(c->bare->mesh, cavity);
  return ul_fail(
      err, UL_E_OUTSIDE,
      "the insert %s lies outside the cavity: it spans x %.1f to %.1f, y %.1f to %.1f, z "
      "%.1f to %.1f mm, the cavity x %.1f to %.1f, y %.1f to %.1f, z %.1f to %.1f mm: "
      "give both in the same axes and unit",
      c->opts->insert[i], in[0][0], in[1][0], in[0][1], in[1][1], in[0][2], in[1][2], cavity[0][0],
      cavity[1][0], cavity[0][1], cavity[1][1], cavity[0][2], cavity[1][2]);
}

ul_status inserts_fill_it(const cavity_case *c, ul_error *err) {
  return ul_fail(err, UL_E_FLAT,
                 "the insert%s the cavity: no place in it is left for foam: look at --insert's "
                 "file, unit and axes",
                 c->in.count == 1 ? " fills" : "s fill");
}

/* The cavities' measures less what inserts take up that stay bodies of their own. */
static ul_status take_out(cavity_case *c, ul_error *err) {
  double volume = volume_of(c->bare);
  ul_status status = ul_inserts_measure(c->bare, (const ul_solid *const *)c->in.solid, c->in.count,
                                        &c->job, c->bare->cavity, err);
  if (status != UL_OK) return status;
  return volume_of(c->bare) > NOTHING * volume ? UL_OK : inserts_fill_it(c, err);
}

ul_status inserts_open(cavity_case *c, ul_error *err) {
  ul_status status = UL_OK;
  for (size_t i = 0; status == UL_OK && i < c->opts->insert_count; i++) {
    status = open_one(c, i, err);
    if (status == UL_OK) status = must_reach_in(c, i, err);
  }
  if (status != UL_OK || c->in.count == 0) return status;
  ul_solid *cut;
  status = ul_inserts_cut(c->bare, (const ul_solid *const *)c->in.solid, c->in.count, &c->job, &cut,
                          err);
  if (status != UL_OK) return status;
  if (!cut) return take_out(c, err);
  c->solid = cut;
  return UL_OK;
}

void inserts_close(cavity_case *c) {
  for (size_t i = 0; i < c->in.count; i++) ul_solid_free(c->in.solid[i]);
}

size_t case_loose_inserts(const cavity_case *c, const ul_solid *const **insert) {
  *insert = (const ul_solid *const *)c->in.solid;
  return c->solid == c->bare ? c->in.count : 0;
}

static ul_status area_from_below(const cavity_case *c, size_t i, const double up[3], double *mm2,
                                 ul_error *err) {
  return ul_shadow_mm2(c->in.solid[i]->mesh, up, mm2, err);
}

ul_status inserts_show(const cavity_case *c, const double up[3], ul_error *err) {
  for (size_t i = 0; i < c->in.count; i++) {
    double mm2;
    ul_status status = area_from_below(c, i, up, &mm2, err);
    if (status != UL_OK) return status;
    char label[32], volume[UL_WORDS], area[UL_WORDS], push[UL_WORDS];
    snprintf(label, sizeof label, "insert %zu", i + 1);
    show_line(label, "%s takes up %s of the cavity", c->opts->insert[i],
              ul_words_volume(c->in.displaced_mm3[i], volume));
    show_line("",
              "hold it down: it floats with the weight of that much foam, and measures %s cm2 "
              "from below, so each kPa under it alone lifts with %s N",
              ul_words_figure(mm2 / 100, area), ul_words_figure(mm2 / 1000, push));
  }
  return UL_OK;
}

json_t *inserts_json(const cavity_case *c, const double up[3]) {
  json_t *list = json_array();
  for (size_t i = 0; i < c->in.count; i++) {
    double mm2;
    if (area_from_below(c, i, up, &mm2, NULL) != UL_OK) {
      json_decref(list);
      return NULL;
    }
    json_array_append_new(list, json_pack("{s:s,s:f,s:f,s:f}", "file", c->opts->insert[i],
                                          "displaced_cm3", c->in.displaced_mm3[i] * 1e-3,
                                          "area_from_below_cm2", mm2 * 1e-2, "lift_n_per_kpa",
                                          mm2 * 1e-3));
  }
  return list;
}
