/* ullage rise - fill it in one attitude, with the vents and pour given. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/vec.h"
#include "main/cavity_case.h"
#include "main/foam_choice.h"
#include "main/show.h"
#include "main/verbs.h"
#include "report/json.h"
#include "report/series_csv.h"
#include "report/words.h"

/* --- level: as a thin liquid would --- */

static json_t *given_vents(const options *opts) {
  json_t *list = json_array();
  for (size_t i = 0; i < opts->vent_count; i++)
    json_array_append_new(list, json_pack("{s:I,s:o,s:f}", "id", (json_int_t)i + 1, "at_mm",
                                          ul_json_vector(opts->vent[i].at_mm), "diameter_mm",
                                          opts->vent[i].diameter_mm));
  return list;
}

static json_t *begin_json(const cavity_case *c, const char *rise) {
  json_t *root = json_object();
  ul_json_put(root, "rise", json_string(rise));
  ul_json_put(root, "tilt", ul_json_tilt(c->opts->up));
  ul_json_put(root, "cube_mm", json_real(c->grid->lattice.cube_mm));
  return root;
}

static json_t *level_json(const cavity_case *c, const ul_level *level) {
  json_t *root = begin_json(c, "level"), *cavities = json_array();
  for (size_t i = 0; i < c->solid->cavity_count; i++)
    json_array_append_new(cavities,
                          json_pack("{s:I,s:o}", "id", (json_int_t)case_cavity_number(c, i),
                                    "outcome", ul_json_outcome(level, i)));
  ul_json_put(root, "cavities", cavities);
  ul_json_put(root, "vents", given_vents(c->opts));
  return root;
}

static void show_level(const cavity_case *c, const ul_level *level) {
  char label[32], a[UL_WORDS], b[UL_WORDS];
  show_tilt(c, c->opts->up);
  for (size_t i = 0; i < c->solid->cavity_count; i++) {
    snprintf(label, sizeof label, "cavity %zu", case_cavity_number(c, i));
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

static ul_status rise_level(cavity_case *c, const double (*pour)[3], bool *good, ul_error *err) {
  const options *opts = c->opts;
  ul_level *level;
  ul_status status = ul_level_rise(c->grid, c->columns, opts->up, pour, opts->vent,
                                   opts->vent_count, &c->job, &level, err);
  progress_end(&c->bar);
  if (status != UL_OK) return status;
  for (size_t i = 0; i < level->void_count; i++)
    if (level->voids[i].void_mm3 > opts->void_ok_cm3 * 1000) *good = false;
  if (opts->json)
    status = show_json(level_json(c, level), err);
  else
    show_level(c, level);
  ul_level_free(level);
  return status;
}

/* --- the foam: expanding, viscous, compressible --- */

typedef struct {
  ul_rise_opts opts;
  ul_rise_vent vent[VENTS_MOST];
  ul_rise *rise;
  ul_meet *meet;
  size_t meet_count;
} foam_rise;

static json_t *foam_json(const cavity_case *c, const foam_rise *f) {
  bool known = c->opts->foam != NULL;
  json_t *root = begin_json(c, "foam"), *cavities = json_array();
  for (size_t i = 0; i < f->rise->cavity_count; i++)
    json_array_append_new(
        cavities, json_pack("{s:I,s:o}", "id", (json_int_t)i + 1, "outcome",
                            ul_json_rise_outcome(f->rise, i, known, c->opts->void_ok_cm3 * 1000)));
  ul_json_put(root, "foam", json_string(f->opts.foam.name));
  ul_json_put(root, "pack", json_real(f->opts.pack));
  ul_json_put(root, "cavities", cavities);
  ul_json_put(root, "vents", ul_json_rise_vents(f->rise, f->vent, known));
  ul_json_put(root, "meets", ul_json_meets(f->meet, f->meet_count, known));
  ul_json_put(root, "events", ul_json_rise_events(f->rise, known));
  return root;
}

static void show_event(const ul_rise_event *e, bool known) {
  char label[32] = "", what[64], place[UL_WORDS] = "";
  if (known) snprintf(label, sizeof label, "%.0f s", e->s);
  if (e->kind == UL_RISE_SHOWS)
    snprintf(what, sizeof what, "foam shows at vent %u", e->vent + 1);
  else if (e->kind == UL_RISE_CLOGS)
    snprintf(what, sizeof what, "vent %u is covered", e->vent + 1);
  else
    snprintf(what, sizeof what, "%s", ul_rise_event_word(e->kind));
  if (e->has_place) ul_words_place(e->at_mm, place);
  show_line(label, "%s%s%s", what, *place ? ", " : "", place);
}

static void show_outcome(const ul_rise_cavity *r, size_t number, bool known, double void_ok_mm3) {
  char label[32], a[UL_WORDS], b[UL_WORDS];
  snprintf(label, sizeof label, "cavity %zu", number);
  show_line(label, "fills to %s %%, last reached %s", ul_words_figure(r->filled_fraction * 100, a),
            ul_words_place(r->last_reached_mm, b));
  if (known)
    show_line("",
              "%s g in, highest pressure %s kPa, mean density %.0f kg/m3 (overall, as in ISO "
              "845; skin not modelled)",
              ul_words_figure(r->mass_in_g, a), ul_words_figure(r->peak_kpa, b), r->density_mean);
  double small = 0;
  for (size_t i = 0; i < r->void_count; i++) {
    const ul_rise_void *v = &r->voids[i];
    if (v->void_mm3 <= void_ok_mm3)
      small += v->void_mm3;
    else
      show_line("air", "%s shut in at %s, %.0f mm across", ul_words_volume(v->void_mm3, a),
                ul_words_place(v->at_mm, b), v->across_mm);
  }
  if (small > 0) show_line("", "%s more in voids too small to matter", ul_words_volume(small, a));
  if (r->short_mm3 > 0)
    show_line("short", "%s stay empty although their air could leave: the foam set first",
              ul_words_volume(r->short_mm3, a));
}

static void show_foam(const cavity_case *c, const foam_rise *f) {
  bool known = c->opts->foam != NULL;
  char pack[UL_WORDS];
  show_tilt(c, c->opts->up);
  if (known)
    show_line("foam", "%s, charge %s times free rise", f->opts.foam.name,
              ul_words_figure(f->opts.pack, pack));
  else
    show_line("foam", "none named: places are those of a middling foam, and grams, seconds and "
                      "pressures are not told; name a card with --foam");
  for (size_t i = 0; i < f->rise->event_count; i++) show_event(&f->rise->event[i], known);
  for (size_t i = 0; i < f->rise->cavity_count; i++)
    show_outcome(&f->rise->cavity[i], i + 1, known, c->opts->void_ok_cm3 * 1000);
  show_seams(f->meet, f->meet_count);
}

/* Voids over the limit, or a part left short. */
static bool fills(const ul_rise *rise, double void_ok_mm3) {
  for (size_t i = 0; i < rise->cavity_count; i++) {
    const ul_rise_cavity *r = &rise->cavity[i];
    if (r->short_mm3 > void_ok_mm3) return false;
    if (r->void_count && r->voids[0].void_mm3 > void_ok_mm3) return false;
  }
  return true;
}

static ul_status prepare_foam(const cavity_case *c, foam_rise *f, ul_error *err) {
  const options *o = c->opts;
  f->opts = ul_rise_opts_default();
  ul_status status = foam_choose(o, &f->opts.foam, &f->opts.pack, err);
  if (status != UL_OK) return status;
  ul_copy3(o->up, f->opts.up);
  f->opts.poured_s = o->mix_s + o->pour_s;
  f->opts.vent = f->vent;
  f->opts.vent_count = o->vent_count;
  for (size_t i = 0; i < o->vent_count; i++) {
    f->vent[i] = (ul_rise_vent){
        .diameter_mm = o->vent[i].diameter_mm, .length_mm = o->wall_mm, .plug = o->vent_plug[i]};
    ul_copy3(o->vent[i].at_mm, f->vent[i].at_mm);
  }
  return UL_OK;
}

static ul_status rise_foam(cavity_case *c, const double (*pour)[3], bool *good, ul_error *err) {
  const options *o = c->opts;
  foam_rise f = {0};
  ul_status status = prepare_foam(c, &f, err);
  if (status != UL_OK) return status;
  f.opts.pour_mm = pour;
  status = ul_rise_run(c->grid, c->columns, &f.opts, &c->job, &f.rise, err);
  progress_end(&c->bar);
  if (status != UL_OK) return status;
  *good = fills(f.rise, o->void_ok_cm3 * 1000);
  status =
      ul_meets_find(c->grid, c->columns, f.rise->arrival_s, INFINITY, &f.meet, &f.meet_count, err);
  if (status == UL_OK && o->series_file)
    status = ul_write_series_csv(f.rise, o->foam != NULL, o->series_file, err);
  if (status == UL_OK && o->json)
    status = show_json(foam_json(c, &f), err);
  else if (status == UL_OK)
    show_foam(c, &f);
  ul_rise_free(f.rise);
  free(f.meet);
  return status;
}

static ul_status rise(cavity_case *c, const options *opts, bool *good, ul_error *err) {
  ul_status status = case_open(c, opts, err);
  if (status == UL_OK) status = ul_audit_verdict(c->audit, err);
  if (!opts->level) case_for_foam(c);
  if (status == UL_OK) status = case_resolve(c, err);
  double(*pour)[3] = NULL;
  if (status == UL_OK) status = case_pours(c, &pour, err);
  if (status == UL_OK)
    status = (opts->level ? rise_level : rise_foam)(c, (const double(*)[3])pour, good, err);
  free(pour);
  return status;
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
