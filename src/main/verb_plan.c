/* ullage plan - the main job. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/vec.h"
#include "main/inserts.h"
#include "main/plan.h"
#include "main/plan_air.h"
#include "main/pours.h"
#include "main/show.h"
#include "main/vent_files.h"
#include "main/verbs.h"
#include "report/words.h"

/* Sentences in the order of the hands: which side up, what goes under it, what to drill. */
static void show_hole(const ul_vent *v) {
  char a[UL_WORDS], b[UL_WORDS];
  show_line("", "%s along %s, %.0f mm deep; lets out %s", ul_vent_made_word(v->made),
            ul_words_direction(v->axis, b), v->length_mm, ul_words_volume(v->air_mm3, a));
  if (v->relief_mm > 0)
    show_line("", "open it to %s mm from outside, but for the last %s mm",
              ul_words_figure(v->relief_mm, a), ul_words_figure(v->land_mm, b));
}

static void show_groove(const ul_vent *v) {
  char volume[UL_WORDS], along[UL_WORDS];
  show_line("", "%s along %s, %.0f mm to the outside; lets out %s", ul_vent_made_word(v->made),
            ul_words_direction(v->axis, along), v->length_mm, ul_words_volume(v->air_mm3, volume));
}

/* "hinge side" where the user has named it, else upper or lower half. */
static const char *half_words(const cavity_case *c, int half, char out[UL_WORDS]) {
  const double *n = c->parting.normal;
  for (int side = 0; half && side < 6; side++)
    if ((side % 2 ? 1 : -1) * n[side / 2] * half > 0.999 && c->opts->side_name[side])
      return ul_words_side(side, c->opts->side_name, out);
  snprintf(out, UL_WORDS, "%s%s", ul_vent_half_word(half), half ? " half" : "");
  return out;
}

static void show_vent(const cavity_case *c, const ul_vent *v) {
  char label[16], place[UL_WORDS], figure[UL_WORDS], half[UL_WORDS], whose[32] = "";
  bool groove = v->kind == UL_VENT_GROOVE;
  snprintf(label, sizeof label, "vent %u", v->id);
  half_words(c, v->half, half);
  if (c->solid->cavity_count > 1) snprintf(whose, sizeof whose, ", cavity %u", v->cavity + 1);
  show_line(
      label, "%s mm %s at %s%s%s%s", ul_words_figure(groove ? v->width_mm : v->diameter_mm, figure),
      ul_vent_kind_word(v->kind), ul_words_place(v->at_mm, place), whose, *half ? ", " : "", half);
  if (v->ok && !v->exists && groove)
    show_groove(v);
  else if (v->ok && !v->exists)
    show_hole(v);
  if (v->note[0]) show_line("", "%s", v->note);
}

static void show_pours(const cavity_case *c, const plan *p) {
  char a[UL_WORDS], b[UL_WORDS];
  for (size_t i = 0; i < c->solid->cavity_count; i++)
    show_line("pour", "cavity %zu holds %s; pour at %s", case_cavity_number(c, i),
              ul_words_volume(c->solid->cavity[i].volume_mm3, a),
              ul_words_place(p->level->pour_mm[i], b));
  char how[POUR_WORDS];
  if (*pours_how(c->opts, how)) show_line("", "%s", how);
  if (plan_opening_matters(c, p)) show_line("", "(%s)", plan_opening_words);
}

enum { OTHERS_SHOWN = 3 };

/* The other answers; of a tilt the user fixed, what it costs against the best one found. */
static void show_others(const cavity_case *c, const plan *p) {
  char words[UL_WORDS];
  if (p->given) show_line("as given", "%s", p->given->tilt[0].why);
  size_t shown = 0;
  for (size_t i = 0; i < p->tilts->count && shown < OTHERS_SHOWN; i++) {
    const ul_tilt *t = &p->tilts->tilt[i];
    if (ul_dot(t->up, p->up) > 1 - 1e-9) continue;
    show_line(shown++ ? "" : "or", "%s:\n%s", ul_words_tilt(t->up, c->opts->side_name, words),
              t->why);
  }
}

/* One size for all, and whether so many of it do. */
static void show_size(const cavity_case *c, const plan *p) {
  const ul_vent_size *v = &p->size;
  char rate[UL_WORDS], least[UL_WORDS], most[UL_WORDS];
  ul_drill thinnest;
  if (!(v->drill.diameter_mm > 0)) return;
  const bool wider = ul_drill_at_least(c->opts->drills, UL_VENT_LEAST_MM, &thinnest) &&
                     v->drill.diameter_mm > thinnest.diameter_mm;
  if (v->most_mm <= UL_VENT_LEAST_MM)
    show_line("drill size", "%s for all, %s: it is ample for %s litres/s", v->drill.name,
              wider ? "as less air stays than with the thinnest that stays open"
                    : "the thinnest that stays open",
              ul_words_figure(v->air_mm3_s * 1e-6, rate));
  else
    show_line("drill size",
              "%s for all: %s litres/s leave by %zu hole%s at the fastest moment, %s to %s "
              "mm each keep the pressure that this foam likes",
              v->drill.name, ul_words_figure(v->air_mm3_s * 1e-6, rate), v->holes,
              v->holes == 1 ? "" : "s", ul_words_figure(v->least_mm, least),
              ul_words_figure(v->most_mm, most));
  if (!v->enough)
    show_line("",
              "%zu hole%s cannot do it: this is the thickest drill, and %s kPa build up; more "
              "holes (--vents-at-most), or a slower foam",
              v->holes, v->holes == 1 ? "" : "s", ul_words_figure(v->back_pa * 1e-3, rate));
}

/* When foam showed at that vent; NAN. */
static double shows_s(const foam_proof *foam, uint32_t id) {
  for (size_t i = 0; foam->rise && i < foam->first_hole; i++)
    if (foam->vent_id[i] == id) return foam->rise->vent[i].foam_shows_s;
  return NAN;
}

/* In the order in which foam shows, of the same moment by number; two at nearly the same moment
 * want two people. */
static void show_plugs(const plan *p) {
  double before = -INFINITY;
  uint32_t last = 0;
  for (size_t n = 0; n < p->vents->count; n++) {
    const ul_vent *next = NULL;
    double soonest = INFINITY;
    for (size_t i = 0; i < p->vents->count; i++) {
      const ul_vent *v = &p->vents->vent[i];
      double s = shows_s(&p->foam, v->id);
      bool is_later = s > before || (s == before && v->id > last);
      if (!v->plug || !is_later || s >= soonest) continue;
      soonest = s;
      next = v;
    }
    if (!next) return;
    show_line(isfinite(before) ? "" : "plug", "vent %u when foam shows, at %.0f s%s", next->id,
              soonest, soonest - before < 2 ? ": a second hand, or a peg ready in it" : "");
    before = soonest;
    last = next->id;
  }
}

enum { AIR_SHOWN = 3 };

/* Where air stays, under the numbers of page and card, whatever the verdict is about. */
static ul_status show_air(const cavity_case *c, const plan *p, ul_error *err) {
  size_t count;
  plan_air *air = plan_air_list(c, p, &count);
  if (!air) return ul_fail_memory(err);
  const bool known = foam_proof_needs_cube_mm(c, &p->foam) == INFINITY;
  for (size_t i = 0; i < count && i < AIR_SHOWN; i++) {
    char label[32], volume[UL_WORDS], place[UL_WORDS];
    snprintf(label, sizeof label, "air %u", air[i].id);
    show_line(label, "%s %s shut in at %s", ul_words_volume(air[i].void_mm3, volume),
              known ? "stay" : "may stay", ul_words_place(air[i].at_mm, place));
  }
  if (count > AIR_SHOWN) show_line("", "and %zu smaller: see plan.json", count - AIR_SHOWN);
  free(air);
  return UL_OK;
}

static ul_status show(const cavity_case *c, const plan *p, const char *dir, ul_error *err) {
  char words[UL_WORDS];
  show_line("fills in", "%s", plan_tries_words(p, words));
  show_file(c);
  show_thin(c);
  show_tilt(c, p->up);
  show_line("prop", "%s", ul_words_props(&p->props, c->opts->side_name, words));
  if (c->tool.assumed)
    show_line("", "(a tool wall of %g mm is assumed: --wall MM)", c->tool.wall_mm);
  ul_status status = inserts_show(c, p->up, err);
  if (status != UL_OK) return status;
  show_pours(c, p);
  opening_show(&p->opens);
  show_peaks(p->peaks);
  for (size_t i = 0; i < p->vents->count; i++) show_vent(c, &p->vents->vent[i]);
  show_size(c, p);
  foam_proof_show(c, &p->foam);
  show_plugs(p);
  plan_proof_show(&p->proof);
  if (p->shop.has_foam) shop_show(&p->shop, c->opts);
  shop_show_unused(c->opts);
  show_others(c, p);
  status = show_air(c, p, err);
  if (status != UL_OK) return status;
  show_line("verdict", "%s", p->verdict);
  show_line("files", "in %s: plan.json, report.html, bench-card.pdf, %s", dir, VENT_FILE_NAMES);
  show_line("", "Follow the data sheet and local rules; make a test shot first.");
  return UL_OK;
}

static ul_status make(cavity_case *c, plan *p, const options *opts, ul_error *err) {
  ul_status status = case_open(c, opts, err);
  if (status == UL_OK) status = ul_audit_verdict(c->audit, err);
  if (status == UL_OK) status = case_parting(c, err);
  if (status == UL_OK) status = case_tool(c, err);
  if (status == UL_OK) status = case_resolve(c, err);
  if (status == UL_OK) status = plan_make(c, p, err);
  if (status == UL_OK) status = plan_write(c, p, opts->out_dir, err);
  if (status != UL_OK) return status;
  if (opts->json) return show_json(plan_json(c, p), err);
  return show(c, p, opts->out_dir, err);
}

int verb_plan(const options *opts) {
  cavity_case c = {0};
  plan p = {0};
  ul_error err = {0};
  ul_status status = make(&c, &p, opts, &err);
  bool sound = p.sound;
  plan_free(&p);
  case_close(&c);
  if (status != UL_OK) return verb_failed(opts, &err);
  return sound ? 0 : 1;
}
