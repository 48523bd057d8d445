#include "main/opening.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/vec.h"
#include "main/show.h"
#include "report/json.h"
#include "report/words.h"

enum { SHOWN = 6 };

/* Less draft than this drags on a rigid part: common practice, no source. */
static const double LEAST_DRAFT_DEG = 1;

static bool is_known(const opening *o) {
  return ul_norm(o->parting.draw) > 0;
}

ul_status opening_find(const cavity_case *c, opening *o, ul_error *err) {
  memset(o, 0, sizeof *o);
  o->parting = c->parting;
  if (!is_known(o)) return UL_OK;
  const double *draw = o->parting.draw;
  ul_status status = ul_shadow_mm2(c->bare->mesh, draw, &o->projected_mm2, err);
  if (status == UL_OK)
    status = ul_undercuts_find(c->bare, &o->parting, c->grid->lattice.cube_mm, &c->job,
                               &o->undercut, &o->undercut_count, err);
  if (status == UL_OK)
    status =
        ul_drags_find(c->bare->mesh, draw, LEAST_DRAFT_DEG, &c->job, &o->drag, &o->drag_count, err);
  return status;
}

void opening_free(opening *o) {
  free(o->undercut);
  free(o->drag);
}

static const char *half_word(int half) {
  return half > 0 ? "upper" : half < 0 ? "lower" : "either";
}

static void show_undercut(const ul_undercut *u) {
  char place[UL_WORDS], area[UL_WORDS], depth[UL_WORDS];
  show_line("undercut", "of %s half at %s, %s cm2", u->half ? half_word(u->half) : "either",
            ul_words_place(u->at_mm, place), ul_words_figure(u->area_mm2 / 100, area));
  if (u->hangs)
    show_line(
        "",
        "a closed core hangs there: nothing of the tool holds it as foam rises, and it stays in "
        "the part; join it to a half, or hang it on pins to be cast in");
  else if (isnan(u->depth_mm))
    show_line("", "the part has no way out past it: move the parting plane, or a loose piece");
  else
    show_line("",
              "a rigid part will not come out: move the parting plane, or use a loose piece; a "
              "flexible one must strip over %s mm",
              ul_words_figure(u->depth_mm, depth));
}

static void show_drag(const ul_drag *d) {
  char place[UL_WORDS], draft[UL_WORDS], area[UL_WORDS];
  show_line("draft", "%s degrees at %s: a wall of %s cm2, %.0f mm high, will drag",
            ul_words_figure(round(d->draft_deg * 100) / 100, draft),
            ul_words_place(d->at_mm, place), ul_words_figure(d->area_mm2 / 100, area),
            d->height_mm);
}

static void show_more(size_t count, const char *what) {
  if (count > SHOWN) show_line("", "and %zu more %s", count - SHOWN, what);
}

void opening_show(const opening *o) {
  if (!is_known(o)) return;
  char area[UL_WORDS];
  const double *d = o->parting.draw;
  show_line("opens", "along %.3g %.3g %.3g; across that the cavity measures %s cm2", d[0] + 0.0,
            d[1] + 0.0, d[2] + 0.0, ul_words_figure(o->projected_mm2 / 100, area));
  if (!o->parting.has_plane)
    show_line("", "(no --parting given: only what no parting plane would free is an undercut)");
  for (size_t i = 0; i < o->undercut_count && i < SHOWN; i++) show_undercut(&o->undercut[i]);
  show_more(o->undercut_count, "undercuts");
  for (size_t i = 0; i < o->drag_count && i < SHOWN; i++) show_drag(&o->drag[i]);
  show_more(o->drag_count, "walls with under 1 degree of draft");
}

/* A quantity that is not known is null. */
static json_t *number(double value) {
  return isfinite(value) ? json_real(value + 0.0) : json_null();
}

static json_t *undercut_json(const ul_undercut *u) {
  return json_pack("{s:o,s:s,s:o,s:b,s:o,s:o}", "at_mm", ul_json_vector(u->at_mm), "half",
                   half_word(u->half), "depth_mm", number(u->depth_mm), "core_hangs", u->hangs,
                   "area_cm2", number(u->area_mm2 * 1e-2), "in_the_way_cm3",
                   number(u->volume_mm3 * 1e-3));
}

static json_t *drag_json(const ul_drag *d) {
  return json_pack("{s:o,s:o,s:o,s:o}", "at_mm", ul_json_vector(d->at_mm), "draft_deg",
                   number(d->draft_deg), "area_cm2", number(d->area_mm2 * 1e-2), "height_mm",
                   number(d->height_mm));
}

json_t *opening_json(const opening *o) {
  if (!is_known(o)) return NULL;
  json_t *undercuts = json_array(), *drags = json_array(), *plane = json_null();
  for (size_t i = 0; i < o->undercut_count; i++)
    json_array_append_new(undercuts, undercut_json(&o->undercut[i]));
  for (size_t i = 0; i < o->drag_count; i++) json_array_append_new(drags, drag_json(&o->drag[i]));
  if (o->parting.has_plane)
    plane = json_pack("{s:o,s:o}", "at_mm", ul_json_vector(o->parting.at_mm), "normal",
                      ul_json_vector(o->parting.normal));
  return json_pack("{s:o,s:o,s:o,s:o,s:o}", "draw", ul_json_vector(o->parting.draw), "parting",
                   plane, "projected_cm2", number(o->projected_mm2 * 1e-2), "undercuts", undercuts,
                   "little_draft", drags);
}
