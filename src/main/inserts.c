#include "main/inserts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
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

/* A hollow that is closed all round gets no foam: without the shell round it, the insert is full.
 */
static ul_status fill_hollows(cavity_case *c, size_t i, ul_error *err) {
  const ul_solid *with = c->in.solid[i];
  size_t kept = 0;
  ul_mesh *mesh;
  ul_status status = ul_mesh_copy(with->mesh, &mesh, err);
  if (status != UL_OK) return status;
  for (size_t t = 0; t < with->mesh->triangle_count; t++)
    if (with->shell[with->shell_of[t]].depth % 2 == 0)
      memcpy(mesh->triangle[kept++], with->mesh->triangle[t], sizeof *mesh->triangle);
  const bool some = kept < mesh->triangle_count;
  mesh->triangle_count = kept;
  ul_solid_opts opts = ul_solid_opts_default();
  opts.drawn = UL_DRAWN_PART;
  ul_audit *audit = NULL;
  ul_solid *full = NULL;
  if (some) status = ul_audit_mesh(mesh, &opts, &c->job, &audit, &full, err);
  if (full) {
    ul_solid_free(c->in.solid[i]);
    c->in.solid[i] = full;
  }
  ul_audit_free(audit);
  ul_mesh_free(mesh);
  return status;
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
  opts.patch_mm = c->opts->patch_mm;
  ul_audit *audit = NULL;
  status = ul_audit_mesh(mesh, &opts, &c->job, &audit, &c->in.solid[i], err);
  ul_mesh_free(mesh);
  if (status == UL_OK) {
    c->in.count = i + 1;
    status = ul_audit_verdict(audit, err);
  }
  ul_audit_free(audit);
  if (status == UL_OK) status = fill_hollows(c, i, err);
  return status == UL_OK ? UL_OK : of_file(file, status, err);
}

static double volume_of(const ul_solid *solid) {
  double mm3 = 0;
  for (size_t i = 0; i < solid->cavity_count; i++) mm3 += solid->cavity[i].volume_mm3;
  return mm3;
}

/* With --cavity: whether it is another cavity's, and so no fault of the file or the axes. */
static ul_status reaches_another(const cavity_case *c, size_t i, bool *does, ul_error *err) {
  ul_status status = UL_OK;
  *does = false;
  for (size_t k = 0; status == UL_OK && !*does && k < c->other_count; k++) {
    double mm3 = 0;
    status = ul_insert_displaces_mm3(c->other[k], c->in.solid[i], &c->job, &mm3, err);
    *does = mm3 > NOTHING * volume_of(c->other[k]);
  }
  return status;
}

static bool may_overlap(const ul_mesh *a, const ul_mesh *b) {
  double one[2][3], other[2][3];
  ul_mesh_box_mm(a, one);
  ul_mesh_box_mm(b, other);
  for (int k = 0; k < 3; k++)
    if (one[0][k] >= other[1][k] || other[0][k] >= one[1][k]) return false;
  return true;
}

/* Of the cavities, by the first `count` inserts together. */
static ul_status left_by(const cavity_case *c, size_t count, double *mm3, ul_error *err) {
  ul_measure *left = ul_new(c->bare->cavity_count, sizeof *left);
  if (!left) return ul_fail_memory(err);
  ul_status status =
      ul_inserts_measure(c->bare, (const ul_solid *const *)c->in.solid, count, &c->job, left, err);
  *mm3 = 0;
  for (size_t i = 0; i < c->bare->cavity_count; i++) *mm3 += left[i].volume_mm3;
  free(left);
  return status;
}

/* Given twice, or in one that is larger. */
static void say_nothing_more(cavity_case *c, size_t i) {
  if (c->info.note_count == UL_IMPORT_NOTES) return;
  snprintf(c->info.note[c->info.note_count++], sizeof *c->info.note,
           "The insert %.80s lies all in those before it and takes up nothing more: is it given "
           "twice?",
           c->opts->insert[i]);
}

/* What it shares with those before it is theirs: together they take what the cavity loses. */
static ul_status share_out(cavity_case *c, size_t i, ul_error *err) {
  const double alone = c->in.displaced_mm3[i];
  bool apart = true;
  for (size_t k = 0; k < i && apart; k++)
    apart = !may_overlap(c->in.solid[k]->mesh, c->in.solid[i]->mesh);
  if (apart) return UL_OK;
  double before = 0, after = 0;
  ul_status status = left_by(c, i, &before, err);
  if (status == UL_OK) status = left_by(c, i + 1, &after, err);
  if (status != UL_OK) return status;
  c->in.displaced_mm3[i] = fmin(fmax(before - after, 0), alone);
  if (c->in.displaced_mm3[i] > NOTHING * volume_of(c->bare)) return UL_OK;
  c->in.displaced_mm3[i] = 0;
  say_nothing_more(c, i);
  return UL_OK;
}

static ul_status must_reach_in(cavity_case *c, size_t i, ul_error *err) {
  double in[2][3], cavity[2][3];
  ul_status status =
      ul_insert_displaces_mm3(c->bare, c->in.solid[i], &c->job, &c->in.displaced_mm3[i], err);
  if (status != UL_OK) return status;
  c->in.is_here[i] = c->in.displaced_mm3[i] > NOTHING * volume_of(c->bare);
  if (c->in.is_here[i]) return share_out(c, i, err);
  bool elsewhere;
  status = reaches_another(c, i, &elsewhere, err);
  if (status != UL_OK || elsewhere) return status;
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

ul_status inserts_all_but_fill_it(const cavity_case *c, double cube_mm, ul_status status,
                                  ul_error *err) {
  double area = 0;
  for (size_t i = 0; i < c->solid->cavity_count; i++) area += c->solid->cavity[i].area_mm2;
  const double gap = area > 0 ? 2 * volume_of(c->solid) / area : 0;
  if (c->in.count == 0 || c->opts->cube_mm > 0 || !(gap < cube_mm)) return status;
  return ul_fail(err, UL_E_FLAT,
                 "the insert%s the cavity but for a gap about %.3g mm wide: no foam gets in there: "
                 "look at --insert's file, unit and scale",
                 c->in.count == 1 ? " fills" : "s fill", gap);
}

/* The cavities' measures less what inserts take up that stay bodies of their own; their boxes are
 * what is drawn, which the tool goes round. */
static ul_status take_out(cavity_case *c, ul_error *err) {
  const size_t count = c->bare->cavity_count;
  ul_measure *left = ul_new(count, sizeof *left);
  if (!left) return ul_fail_memory(err);
  double volume = volume_of(c->bare);
  ul_status status = ul_inserts_measure(c->bare, (const ul_solid *const *)c->in.solid, c->in.count,
                                        &c->job, left, err);
  for (size_t i = 0; status == UL_OK && i < count; i++) {
    memcpy(left[i].box_mm, c->bare->cavity[i].box_mm, sizeof left[i].box_mm);
    c->bare->cavity[i] = left[i];
  }
  free(left);
  if (status != UL_OK) return status;
  return volume_of(c->bare) > NOTHING * volume ? UL_OK : inserts_fill_it(c, err);
}

/* A mould cut in two fills from two cups. */
static void say_rooms(cavity_case *c, const ul_solid *cut) {
  if (c->info.note_count == UL_IMPORT_NOTES) return;
  snprintf(
      c->info.note[c->info.note_count++], sizeof *c->info.note,
      "The inserts cut what is drawn as %zu cavit%s into %zu rooms without a way between them: "
      "each is told as a cavity, with a pour and a charge of its own.",
      c->bare->cavity_count, c->bare->cavity_count == 1 ? "y" : "ies", cut->cavity_count);
}

/* Of one cavity picked from several, rooms would take the others' numbers. */
static ul_status rooms_of_one(const cavity_case *c, ul_error *err) {
  return ul_fail(err, UL_E_USAGE,
                 "the inserts cut cavity %zu into %zu rooms, and with --cavity these would have no "
                 "numbers of their own: leave --cavity out",
                 case_cavity_number(c, 0), c->solid->cavity_count);
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
  if (cut->cavity_count > c->bare->cavity_count) {
    if (c->whole) return rooms_of_one(c, err);
    say_rooms(c, cut);
  }
  return UL_OK;
}

void inserts_close(cavity_case *c) {
  for (size_t i = 0; i < c->in.count; i++) ul_solid_free(c->in.solid[i]);
}

size_t case_loose_inserts(const cavity_case *c, const ul_solid *const **insert) {
  *insert = (const ul_solid *const *)c->in.solid;
  return c->solid == c->bare ? c->in.count : 0;
}

/* What foam finds of the insert's underside; where it was not cut out, its whole shadow. */
static ul_status area_from_below(const cavity_case *c, size_t i, const double up[3], double *mm2,
                                 ul_error *err) {
  const ul_mesh *mesh = c->solid->mesh;
  if (c->solid == c->bare) return ul_shadow_mm2(c->in.solid[i]->mesh, up, mm2, err);
  size_t first = c->bare->mesh->part_count;
  for (size_t k = 0; k < i; k++) first += c->in.solid[k]->mesh->part_count;
  const size_t end = first + c->in.solid[i]->mesh->part_count;
  double sum = 0, length = ul_norm(up);
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    if (mesh->part[t] < first || mesh->part[t] >= end) continue;
    const double *a = mesh->vertex_mm[mesh->triangle[t][0]];
    double ab[3], ac[3], normal[3];
    ul_sub(mesh->vertex_mm[mesh->triangle[t][1]], a, ab);
    ul_sub(mesh->vertex_mm[mesh->triangle[t][2]], a, ac);
    ul_cross(ab, ac, normal);
    sum += fmax(0, ul_dot(normal, up)) / (2 * length); /* out of the cavity, so into the insert */
  }
  *mm2 = sum;
  return UL_OK;
}

ul_status inserts_show(const cavity_case *c, const double up[3], ul_error *err) {
  for (size_t i = 0; i < c->in.count; i++) {
    double mm2;
    ul_status status = area_from_below(c, i, up, &mm2, err);
    if (status != UL_OK) return status;
    char label[32], volume[UL_WORDS], area[UL_WORDS], push[UL_WORDS];
    snprintf(label, sizeof label, "insert %zu", i + 1);
    if (!c->in.is_here[i]) {
      show_line(label, "%s is in another cavity", c->opts->insert[i]);
      continue;
    }
    show_line(label, "%s takes up %s of the cavity", c->opts->insert[i],
              ul_words_volume(c->in.displaced_mm3[i], volume));
    if (mm2 < 1)
      show_line("", "foam gets nowhere under it: it is not lifted");
    else
      show_line("",
                "hold it down: it floats with the weight of that much foam, and offers it %s cm2 "
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
