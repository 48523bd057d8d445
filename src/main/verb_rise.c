/* ullage rise - fill it in one attitude, with the vents and pour given. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/vec.h"
#include "main/cavity_case.h"
#include "main/foam_choice.h"
#include "main/level_verdict.h"
#include "main/pours.h"
#include "main/rise_verdict.h"
#include "main/show.h"
#include "main/verbs.h"
#include "report/field_vti.h"
#include "report/json.h"
#include "report/json_shop.h"
#include "report/series_csv.h"
#include "report/words.h"
#include "ullage/cautions.h"

enum { HOLES_MOST = VENTS_MOST + POURS_MOST };

/* --- level: as a thin liquid would --- */

static json_t *level_vents(const ul_vent_at *opening, size_t count, size_t first_hole) {
  json_t *list = json_array();
  for (size_t i = 0; i < count; i++)
    json_array_append_new(list, json_pack("{s:I,s:o,s:f,s:s}", "id", (json_int_t)i + 1, "at_mm",
                                          ul_json_vector(opening[i].at_mm), "diameter_mm",
                                          opening[i].diameter_mm, "kind",
                                          i < first_hole ? "vent" : "pour hole"));
  return list;
}

static json_t *begin_json(const cavity_case *c, const char *rise) {
  json_t *root = json_object();
  ul_json_put(root, "rise", json_string(rise));
  ul_json_put(root, "tilt", ul_json_tilt(c->opts->up));
  ul_json_put(root, "cube_mm", json_real(c->grid->lattice.cube_mm));
  return root;
}

static void put_verdict(json_t *root, const rise_verdict *v) {
  ul_json_put(root, "good", json_boolean(v->good));
  ul_json_put(root, "verdict", json_string(v->text));
}

static json_t *level_json(const cavity_case *c, const ul_level *level, const ul_vent_at *opening,
                          size_t count, const rise_verdict *v) {
  json_t *root = begin_json(c, "level"), *cavities = json_array();
  for (size_t i = 0; i < c->solid->cavity_count; i++)
    json_array_append_new(cavities,
                          json_pack("{s:I,s:o}", "id", (json_int_t)case_cavity_number(c, i),
                                    "outcome", ul_json_outcome(level, i)));
  ul_json_put(root, "cavities", cavities);
  ul_json_put(root, "vents", level_vents(opening, count, c->opts->vent_count));
  put_verdict(root, v);
  return root;
}

static void show_level(const cavity_case *c, const ul_level *level, const rise_verdict *verdict) {
  char label[32], a[UL_WORDS], b[UL_WORDS];
  show_tilt(c, c->opts->up);
  for (size_t i = 0; i < c->solid->cavity_count; i++) {
    snprintf(label, sizeof label, "cavity %zu", case_cavity_number(c, i));
    show_line(label, "poured at %s", ul_words_place(level->pour_mm[i], a));
    if (level->filled[i] > 0)
      show_line("", "fills to %s %%, last reached %s", ul_words_figure(level->filled[i] * 100, a),
                ul_words_place(level->last_mm[i], b));
    else
      show_line("", "stays empty");
  }
  for (size_t i = 0; i < level->void_count; i++) {
    const ul_void *v = &level->voids[i];
    show_line("air", "%s shut in at %s, %.0f mm across, cut off when %.0f %% full",
              ul_words_volume(v->void_mm3, a), ul_words_place(v->at_mm, b), v->across_mm,
              v->cut_off_fraction * 100);
  }
  show_line("verdict", "%s", verdict->text);
}

/* Vents and pour holes. */
static size_t list_openings(const options *opts, ul_vent_at out[HOLES_MOST]) {
  size_t count = 0;
  for (size_t i = 0; i < opts->vent_count; i++) out[count++] = opts->vent[i];
  for (size_t i = 0; i < opts->hole_count; i++) out[count++] = opts->hole[i];
  return count;
}

static ul_status rise_level(cavity_case *c, const pours *in, bool *good, ul_error *err) {
  const options *opts = c->opts;
  ul_level *level;
  ul_vent_at opening[HOLES_MOST];
  size_t count = list_openings(opts, opening);
  ul_status status = ul_level_rise(c->grid, c->columns, opts->up, (const double(*)[3])in->at_mm,
                                   opening, count, UL_UNVENTED_SHUT, &c->job, &level, err);
  progress_end(&c->bar);
  if (status != UL_OK) return status;
  const rise_verdict verdict = level_judge(c, level, opening, count);
  *good = verdict.good;
  if (opts->json)
    status = show_json(level_json(c, level, opening, count, &verdict), err);
  else
    show_level(c, level, &verdict);
  ul_level_free(level);
  return status;
}

/* --- the foam: expanding, viscous, compressible --- */

typedef struct {
  ul_rise_opts opts;
  ul_rise_vent vent[HOLES_MOST]; /* those given, then the pour holes */
  size_t first_hole;
  ul_clock clock; /* with a card only */
  rise_verdict verdict;
  ul_rise *rise;
  ul_meet *meet;
  size_t meet_count;
} foam_rise;

static json_t *vents_json(const foam_rise *f, const ul_rise_told *told) {
  json_t *list = ul_json_rise_vents(told, f->vent);
  for (size_t i = 0; i < json_array_size(list); i++)
    ul_json_put(json_array_get(list, i), "kind",
                json_string(i < f->first_hole ? "vent" : UL_POUR_HOLE_KIND));
  return list;
}

/* Of a rise alone: a cup test that is far off its card. */
static bool find_caution(const options *opts, const foam_rise *f, ul_caution *out) {
  return opts->foam && ul_caution_of_cup(&f->opts.foam, out);
}

static json_t *foam_json(const cavity_case *c, const foam_rise *f) {
  const ul_rise_told told = case_rise_told(c, f->rise);
  json_t *root = begin_json(c, "foam"), *cavities = json_array();
  for (size_t i = 0; i < f->rise->cavity_count; i++)
    json_array_append_new(cavities,
                          json_pack("{s:I,s:o}", "id", (json_int_t)case_cavity_number(c, i),
                                    "outcome", ul_json_rise_outcome(&told, i)));
  ul_json_put(root, "foam", json_string(f->opts.foam.name));
  ul_json_put(root, "pack", json_real(f->opts.pack));
  ul_json_put(root, "mobility", json_string(f->opts.wet_mobility ? "wet" : "whole"));
  ul_json_put(root, "cavities", cavities);
  ul_json_put(root, "vents", vents_json(f, &told));
  ul_json_put(root, "clock", told.foam_known ? ul_json_clock(&f->clock) : json_null());
  ul_json_put(root, "meets", ul_json_meets(&told, f->meet, f->meet_count));
  ul_json_put(root, "events", ul_json_rise_events(&told));
  ul_caution cup;
  ul_json_put(root, "cautions", ul_json_cautions(&cup, find_caution(c->opts, f, &cup)));
  put_verdict(root, &f->verdict);
  return root;
}

static void show_event(const cavity_case *c, const foam_rise *f, const ul_rise_event *e) {
  const options *o = c->opts;
  char label[32] = "", cavity[32] = "", what[96], place[UL_WORDS] = "", hole[40] = "the rim";
  bool known = o->foam != NULL;
  if (f->rise->cavity_count > 1)
    snprintf(cavity, sizeof cavity, "cavity %zu: ", case_cavity_number(c, e->cavity));
  if (e->vent != UINT32_MAX) rise_vent_name(o, e->vent, f->first_hole, hole);
  if (known) snprintf(label, sizeof label, "%.0f s", e->s);
  if (e->kind == UL_RISE_SHOWS)
    snprintf(what, sizeof what, "foam shows at %s", hole);
  else if (e->kind == UL_RISE_CLOGS)
    snprintf(what, sizeof what, "%s is covered", hole);
  else if (e->kind == UL_RISE_LIQUID)
    snprintf(what, sizeof what, "liquid stands over %s", hole);
  else
    snprintf(what, sizeof what, "%s%s", ul_rise_event_word(e->kind),
             e->kind == UL_RISE_POURED && known && f->clock.pour_margin_s < 0
                 ? " (taken so by cream; by the clock too late)"
                 : "");
  if (e->has_place) ul_words_place(e->at_mm, place);
  show_line(label, "%s%s%s%s", cavity, what, *place ? ", " : "", place);
}

/* Under a roof foam closes off many bubbles that are let be, and takes them up: those are counted.
 */
static void show_events(const cavity_case *c, const foam_rise *f) {
  const double void_ok_mm3 = c->opts->void_ok_cm3 * 1000;
  size_t let_be = 0;
  char limit[UL_WORDS];
  for (size_t i = 0; i < f->rise->event_count; i++) {
    const ul_rise_event *e = &f->rise->event[i];
    if (e->kind == UL_RISE_CUT_OFF && e->air_mm3 <= void_ok_mm3)
      let_be++;
    else
      show_event(c, f, e);
  }
  if (let_be)
    show_line("", "%zu more %s under %s %s cut off on the way (--json lists %s)", let_be,
              let_be == 1 ? "bubble" : "bubbles", ul_words_volume(void_ok_mm3, limit),
              let_be == 1 ? "is" : "are", let_be == 1 ? "it" : "them");
}

static const char *end_words(const ul_rise_cavity *r, char out[UL_WORDS]) {
  char place[UL_WORDS];
  *out = 0;
  if (!isnan(r->pour_end_mm[0]))
    snprintf(out, UL_WORDS, " to %.100s", ul_words_place(r->pour_end_mm, place));
  return out;
}

static void show_pool(const ul_rise_cavity *r, bool turned) {
  char figure[UL_WORDS];
  if (r->puddle_mm > 0)
    show_line("", "pool: puddle, %s mm: %s before it creams", ul_words_figure(r->puddle_mm, figure),
              turned ? "turned, not all of it gets to where it would lie level"
                     : "it does not get level");
  else
    show_line("", "pool: level");
}

/* By which holes it left, those that took a hundredth of the charge or more. */
static void show_losses(const cavity_case *c, const foam_rise *f, size_t cavity) {
  const double charge_g = f->rise->cavity[cavity].mass_in_g;
  char name[40], grams[UL_WORDS];
  for (size_t i = 0; i < f->rise->vent_count; i++) {
    const ul_rise_vent_seen *seen = &f->rise->vent[i];
    if (seen->cavity != cavity || seen->bled_g < 0.01 * charge_g) continue;
    show_line("", "%s g (%.0f %%) leave by %s", ul_words_figure(seen->bled_g, grams),
              100 * seen->bled_g / charge_g, rise_vent_name(c->opts, i, f->first_hole, name));
  }
}

static void show_masses(const cavity_case *c, const foam_rise *f, size_t cavity) {
  const ul_rise_cavity *r = &f->rise->cavity[cavity];
  const double left_g = rise_left_by_holes_g(f->rise, cavity);
  char a[UL_WORDS], b[UL_WORDS], out[UL_WORDS] = "";
  /* less than a thousandth is no loss that a shop's scale shows */
  if (left_g >= 1e-3 * r->mass_in_g)
    snprintf(out, sizeof out, ", %.20s g of it out by the holes", ul_words_figure(left_g, a));
  show_line("",
            "%s g in%s, highest pressure %s kPa, mean density %.0f kg/m3 (overall, as in ISO 845; "
            "skin not modelled)",
            ul_words_figure(r->mass_in_g, a), out, ul_words_figure(r->peak_kpa, b),
            r->density_mean);
  show_losses(c, f, cavity);
}

static void show_outcome(const cavity_case *c, const foam_rise *f, size_t cavity) {
  const ul_rise_cavity *r = &f->rise->cavity[cavity];
  const bool known = c->opts->foam != NULL;
  const double void_ok_mm3 = c->opts->void_ok_cm3 * 1000;
  char label[32], a[UL_WORDS], b[UL_WORDS];
  snprintf(label, sizeof label, "cavity %zu", case_cavity_number(c, cavity));
  show_line(label, "poured %s%s", ul_words_place(r->pour_mm, a), end_words(r, b));
  show_pool(r, c->opts->has_poured_up);
  show_line("", "fills to %s %%, last reached %s", ul_words_figure(r->filled_fraction * 100, a),
            ul_words_place(r->last_reached_mm, b));
  if (known) show_masses(c, f, cavity);
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
  if (known && r->seam_mm > 0)
    show_line("", "%s g leave along %s mm of seam", ul_words_grams(r->seam_bled_g, a),
              ul_words_figure(r->seam_mm, b));
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
  ul_caution cup;
  if (find_caution(c->opts, f, &cup)) show_line("care", "%s", cup.text);
  pours_show_seam(c->opts);
  show_events(c, f);
  for (size_t i = 0; i < f->rise->cavity_count; i++) show_outcome(c, f, i);
  show_seams(f->meet, f->meet_count);
  if (known) pours_show_clock(&f->clock, &f->opts.foam, c->opts);
  show_line("verdict", "%s", f->verdict.text);
}

static ul_status prepare_foam(const cavity_case *c, foam_rise *f, ul_error *err) {
  const options *o = c->opts;
  f->opts = ul_rise_opts_default();
  ul_status status = foam_choose(o, &f->opts.foam, &f->opts.pack, err);
  if (status != UL_OK) return status;
  ul_copy3(o->up, f->opts.up);
  f->opts.vent = f->vent;
  for (size_t i = 0; i < o->vent_count; i++) {
    f->vent[i] = (ul_rise_vent){
        .diameter_mm = o->vent[i].diameter_mm, .length_mm = o->wall_mm, .plug = o->vent_plug[i]};
    ul_copy3(o->vent[i].at_mm, f->vent[i].at_mm);
  }
  f->opts.vent_count = f->first_hole = o->vent_count;
  pours_holes(o, f->vent, &f->opts.vent_count);
  return UL_OK;
}

static ul_status rise_foam(cavity_case *c, const pours *in, bool *good, ul_error *err) {
  const options *o = c->opts;
  foam_rise f = {0};
  ul_status status = prepare_foam(c, &f, err);
  if (status != UL_OK) return status;
  pours_into(c, in, &f.opts);
  status = ul_rise_run(c->grid, c->columns, &f.opts, &c->job, &f.rise, err);
  progress_end(&c->bar);
  if (status != UL_OK) return status;
  if (o->foam)
    status = pours_clock(c, &f.opts.foam, f.opts.pack, o->up, f.rise, f.first_hole, &f.clock, err);
  f.verdict = rise_judge(c, f.rise, &f.opts, o->foam ? &f.clock : NULL, f.first_hole);
  *good = f.verdict.good;
  if (status == UL_OK)
    status = ul_meets_find(c->grid, c->columns, f.rise->arrival_s, INFINITY, &f.meet, &f.meet_count,
                           err);
  const ul_rise_told told = case_rise_told(c, f.rise);
  if (status == UL_OK && o->series_file) status = ul_write_series_csv(&told, o->series_file, err);
  if (status == UL_OK && o->field_file)
    status = ul_write_field_vti(&told, c->grid, o->field_file, err);
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
  pours in = {0};
  if (status == UL_OK) status = pours_find(c, c->grid, &in, err);
  if (status == UL_OK) status = (opts->level ? rise_level : rise_foam)(c, &in, good, err);
  pours_free(&in);
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
