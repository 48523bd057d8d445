/* ullage check - is it a usable cavity? */
#include <stdio.h>
#include <stdlib.h>

#include "base/fail.h"
#include "main/inserts.h"
#include "main/opening.h"
#include "main/show.h"
#include "main/verbs.h"
#include "report/json.h"
#include "report/words.h"

static void show_cavity(const cavity_case *c, size_t i) {
  char label[32], a[UL_WORDS], b[UL_WORDS];
  const ul_measure *m = &c->solid->cavity[i];
  snprintf(label, sizeof label, "cavity %zu", case_cavity_number(c, i));
  show_line(label, "%s, surface %s cm2", ul_words_volume(m->volume_mm3, a),
            ul_words_figure(m->area_mm2 / 100, b));
  show_line("", "centre of volume %s", ul_words_place(m->centroid_mm, a));
}

static void show_gaps(const cavity_case *c) {
  char a[UL_WORDS], b[UL_WORDS], d[UL_WORDS];
  show_line("half-gap", "%s mm where it is thin, %s in the middle, %s where it is thick",
            ul_words_figure(c->grid->half_gap_p5_mm, a),
            ul_words_figure(c->grid->half_gap_p50_mm, b),
            ul_words_figure(c->grid->half_gap_p95_mm, d));
}

static json_t *as_json(const cavity_case *c, const opening *o) {
  json_t *root = json_object();
  ul_json_put(root, "file", ul_json_file(&c->info, c->audit, c->solid));
  ul_json_put(root, "cavities", c->solid ? case_cavities_json(c) : json_array());
  if (c->grid) {
    ul_json_put(root, "cube_mm", json_real(c->grid->lattice.cube_mm));
    ul_json_put(root, "thin", ul_json_thin(c->thin, c->thin_count));
  }
  if (c->in.count) ul_json_put(root, "inserts", inserts_json(c, c->opts->up));
  json_t *opens = opening_json(o);
  if (opens) ul_json_put(root, "opening", opens);
  return root;
}

static ul_status check(cavity_case *c, opening *o, const options *opts, ul_error *err) {
  ul_status status = case_open(c, opts, err);
  if (status != UL_OK) return status;
  ul_status verdict = ul_audit_verdict(c->audit, err);
  if (verdict == UL_OK) {
    status = case_parting(c, err);
    if (status == UL_OK) status = case_resolve(c, err);
    if (status == UL_OK) status = opening_find(c, o, err);
    if (status != UL_OK) return status;
  }
  if (opts->json) {
    status = show_json(as_json(c, o), err);
    return status == UL_OK ? verdict : status;
  }
  show_file(c);
  if (verdict != UL_OK) return verdict;
  for (size_t i = 0; i < c->solid->cavity_count; i++) show_cavity(c, i);
  show_gaps(c);
  status = inserts_show(c, opts->up, err);
  if (status != UL_OK) return status;
  show_thin(c);
  opening_show(o);
  bool remarks = c->audit->fault_count || o->undercut_count || o->drag_count;
  show_line("verdict", remarks ? "usable, with the remarks above" : "usable");
  return UL_OK;
}

int verb_check(const options *opts) {
  cavity_case c;
  opening o = {0};
  ul_error err = {0};
  ul_status status = check(&c, &o, opts, &err);
  opening_free(&o);
  case_close(&c);
  return status == UL_OK ? 0 : verb_failed(opts, &err);
}
