/* ullage rise - fill it in one attitude, with the vents and pour given. */
#include <stdio.h>
#include <stdlib.h>

#include "base/fail.h"
#include "main/cavity_case.h"
#include "main/show.h"
#include "main/verbs.h"
#include "report/json.h"
#include "report/words.h"

static json_t *given_vents(const options *opts) {
  json_t *list = json_array();
  for (size_t i = 0; i < opts->vent_count; i++)
    json_array_append_new(list, json_pack("{s:I,s:o,s:f}", "id", (json_int_t)i + 1, "at_mm",
                                          ul_json_vector(opts->vent[i].at_mm), "diameter_mm",
                                          opts->vent[i].diameter_mm));
  return list;
}

static json_t *as_json(const cavity_case *c, const ul_level *level) {
  json_t *root = json_object(), *cavities = json_array();
  for (size_t i = 0; i < c->solid->cavity_count; i++)
    json_array_append_new(cavities, json_pack("{s:I,s:o}", "id", (json_int_t)i + 1, "outcome",
                                              ul_json_outcome(level, i)));
  ul_json_put(root, "rise", json_string("level"));
  ul_json_put(root, "tilt", ul_json_tilt(c->opts->up));
  ul_json_put(root, "cube_mm", json_real(c->grid->lattice.cube_mm));
  ul_json_put(root, "cavities", cavities);
  ul_json_put(root, "vents", given_vents(c->opts));
  return root;
}

static void show(const cavity_case *c, const ul_level *level) {
  char label[32], a[UL_WORDS], b[UL_WORDS];
  show_tilt(c, c->opts->up);
  for (size_t i = 0; i < c->solid->cavity_count; i++) {
    snprintf(label, sizeof label, "cavity %zu", i + 1);
    show_line(label, "poured at %s", ul_words_place(level->pour_mm[i], a));
    show_line("", "fills to %s %%, last reached %s", ul_words_figure(level->filled[i] * 100, a),
              ul_words_place(level->last_mm[i], b));
  }
  for (size_t i = 0; i < level->void_count; i++) {
    const ul_void *v = &level->voids[i];
    show_line("air", "%s shut in at %s, %.0f mm across, cut off when %.0f %% full",
              ul_words_volume(v->void_mm3, a), ul_words_place(v->at_mm, b), v->across_mm,
              v->cut_off_fraction * 100);
  }
}

static ul_status rise_level(cavity_case *c, const options *opts, bool *good, ul_error *err) {
  double(*pour)[3];
  ul_status status = case_pours(c, &pour, err);
  if (status != UL_OK) return status;
  ul_level *level;
  status = ul_level_rise(c->grid, c->columns, opts->up, (const double(*)[3])pour, opts->vent,
                         opts->vent_count, &c->job, &level, err);
  free(pour);
  progress_end(&c->bar);
  if (status != UL_OK) return status;
  for (size_t i = 0; i < level->void_count; i++)
    if (level->voids[i].void_mm3 > opts->void_ok_cm3 * 1000) *good = false;
  if (opts->json)
    status = show_json(as_json(c, level), err);
  else
    show(c, level);
  ul_level_free(level);
  return status;
}

static ul_status rise(cavity_case *c, const options *opts, bool *good, ul_error *err) {
  if (!opts->level)
    return ul_fail(err, UL_E_USAGE, "rise needs to know which rise: --level is the one there is");
  ul_status status = case_open(c, opts, err);
  if (status == UL_OK) status = ul_audit_verdict(c->audit, err);
  if (status == UL_OK) status = case_resolve(c, err);
  return status == UL_OK ? rise_level(c, opts, good, err) : status;
}

int verb_rise(const options *opts) {
  cavity_case c = {0};
  ul_error err = {0};
  bool good = true;
  ul_status status = rise(&c, opts, &good, &err);
  case_close(&c);
  if (status != UL_OK) return verb_failed(opts, &err);
  return good ? 0 : 1;
}
