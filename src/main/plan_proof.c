#include "main/plan_proof.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/vec.h"
#include "main/show.h"
#include "report/json.h"
#include "report/words.h"

static const char *const words[] = {
#define AS_WORDS(name, text) [name] = text,
    PROOF_ROW_LIST(AS_WORDS)};

const char *proof_words(proof_kind kind) {
  return words[kind];
}

typedef struct {
  const foam_search *search;
  const tried_set *planned;
  plan_proof *out;
  tried_set set[PROOF_ROW_END];
} table;

static tried_set *begin(table *t, proof_kind kind, ul_error *err, ul_status *status) {
  proof_row *row = &t->out->row[t->out->count];
  tried_set *set = &t->set[t->out->count];
  *set = *t->planned;
  set->set.peaks = NULL;
  set->set.vents = NULL;
  *row = (proof_row){.kind = kind};
  if (*status == UL_OK) *status = vent_set_fit(t->search->c, t->search->keep, &set->set, err);
  if (*status != UL_OK) return NULL;
  vent_set_close(&set->set, t->planned->closed);
  for (size_t i = 0; i < set->set.vents->count && i < t->planned->set.vents->count; i++)
    set->set.vents->vent[i].plug = t->planned->set.vents->vent[i].plug;
  t->out->count++;
  return set;
}

static void count_vents(table *t) {
  for (size_t i = 0; i < t->out->count; i++) {
    const vent_set *set = &t->set[i].set;
    t->out->row[i].vents = vent_set_usable(set);
    t->out->row[i].diameter_mm = vent_set_size_mm(t->search->c->opts, set);
  }
}

static ul_status fewer(table *t, ul_error *err) {
  ul_status status = UL_OK;
  const ul_vents *vents = t->planned->set.vents;
  size_t least = SIZE_MAX;
  for (size_t i = 0; i < vents->count; i++) {
    const ul_vent *v = &vents->vent[i];
    if (!v->ok || v->closed) continue;
    if (least == SIZE_MAX || v->air_mm3 < vents->vent[least].air_mm3) least = i;
  }
  if (least == SIZE_MAX) return UL_OK;
  tried_set *set = begin(t, PROOF_FEWER, err, &status);
  if (!set) return status;
  set->set.vents->vent[least].ok = false;
  t->out->row[t->out->count - 1].without = vents->vent[least].id;
  return UL_OK;
}

static ul_status more(table *t, ul_error *err) {
  const tried_set *planned = t->planned;
  if (planned->set.wish_count >= VENTS_MOST) return UL_OK;
  tried_set asked = *planned;
  const double *at = planned->left.voids_mm3 > 0 ? planned->left.worst_at_mm : planned->last_mm;
  ul_vent_wish *wish = &asked.set.wish[asked.set.wish_count++];
  *wish = (ul_vent_wish){.cavity = planned->left.worst_cavity};
  ul_copy3(at, wish->at_mm);
  const tried_set *was = t->planned;
  ul_status status = UL_OK;
  t->planned = &asked;
  tried_set *set = begin(t, PROOF_MORE, err, &status);
  t->planned = was;
  if (!set) return status;
  if (vent_set_usable(&set->set) > vent_set_usable(&planned->set)) {
    ul_copy3(at, t->out->row[t->out->count - 1].more_at_mm);
    return UL_OK;
  }
  vent_set_clear(&set->set); /* there is one already, or none can be made */
  t->out->count--;
  return UL_OK;
}

static ul_status sized(table *t, proof_kind kind, double diameter_mm, ul_error *err) {
  if (!(diameter_mm > 0) || !t->planned->set.wish_count) return UL_OK;
  ul_status status = UL_OK;
  tried_set asked = *t->planned;
  const tried_set *was = t->planned;
  asked.set.diameter_mm = diameter_mm;
  t->planned = &asked;
  begin(t, kind, err, &status);
  t->planned = was;
  return status;
}

static ul_status then(table *t, proof_kind kind, bool plug, ul_error *err) {
  ul_status status = UL_OK;
  if (!vent_set_usable(&t->planned->set)) return UL_OK;
  tried_set *set = begin(t, kind, err, &status);
  for (size_t i = 0; set && i < set->set.vents->count; i++) set->set.vents->vent[i].plug = plug;
  return status;
}

/* The sizes of the set on either side; 0: none, or under what stays open. */
static void sizes_beside(const options *o, double diameter_mm, double *down, double *up) {
  *down = *up = 0;
  for (size_t i = 0; i < ul_drill_count(o->drills); i++) {
    double size = ul_drill_get(o->drills, i).diameter_mm;
    if (size < diameter_mm - 1e-6 && size >= UL_VENT_LEAST_MM) *down = size;
    if (size > diameter_mm + 1e-6 && *up == 0) *up = size;
  }
}

ul_status plan_proof_make(const foam_search *s, const tried_set *planned, plan_proof *out,
                          ul_error *err) {
  table t = {.search = s, .planned = planned, .out = out};
  ul_status status = UL_OK;
  *out = (plan_proof){.cube_mm = s->bed->grid->lattice.cube_mm};
  double mm = vent_set_size_mm(s->c->opts, &planned->set), down, up;
  sizes_beside(s->c->opts, mm, &down, &up);
  begin(&t, PROOF_PLANNED, err, &status);
  if (status == UL_OK) status = fewer(&t, err);
  if (status == UL_OK) status = more(&t, err);
  if (status == UL_OK) status = sized(&t, PROOF_WIDER, up, err);
  if (status == UL_OK) status = sized(&t, PROOF_NARROWER, down, err);
  if (status == UL_OK) status = then(&t, PROOF_LEFT, false, err);
  if (status == UL_OK) status = then(&t, PROOF_PLUGGED, true, err);
  if (status == UL_OK) count_vents(&t);
  if (status == UL_OK) status = search_rise(s, t.set, out->count, "the table", NULL, err);
  for (size_t i = 0; i < out->count; i++) out->row[i].left = t.set[i].left;
  for (size_t i = 0; i < PROOF_ROW_END; i++) vent_set_clear(&t.set[i].set);
  return status;
}

/* ---- told ---- */

static void name_row(const proof_row *r, char out[UL_WORDS]) {
  if (r->kind == PROOF_FEWER)
    snprintf(out, UL_WORDS, "%s (%u)", words[r->kind], r->without);
  else if (r->kind == PROOF_WIDER || r->kind == PROOF_NARROWER)
    snprintf(out, UL_WORDS, "%s, %.3g mm", words[r->kind], r->diameter_mm);
  else
    snprintf(out, UL_WORDS, "%s", words[r->kind]);
}

void plan_proof_show(const plan_proof *p) {
  if (!p->count) return;
  show_line("compare", "%-28s %9s %9s %6s %10s", "in coarse cubes", "voids cm3", "short cm3", "kPa",
            "bled g");
  for (size_t i = 0; i < p->count; i++) {
    const proof_row *r = &p->row[i];
    char name[UL_WORDS], voids[UL_WORDS], missing[UL_WORDS], kpa[UL_WORDS], bled[UL_WORDS];
    name_row(r, name);
    show_line("", "%-28s %9s %9s %6s %10s", name, ul_words_figure(r->left.voids_mm3 * 1e-3, voids),
              ul_words_figure(r->left.short_mm3 * 1e-3, missing),
              ul_words_figure(r->left.peak_kpa, kpa), ul_words_grams(r->left.bled_g, bled));
  }
}

json_t *plan_proof_json(const plan_proof *p) {
  json_t *list = json_array();
  for (size_t i = 0; i < p->count; i++) {
    const proof_row *r = &p->row[i];
    json_array_append_new(
        list,
        json_pack("{s:s,s:I,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "what", words[r->kind], "vents",
                  (json_int_t)r->vents, "diameter_mm", ul_json_number(r->diameter_mm), "without",
                  r->without ? json_integer(r->without) : json_null(), "more_at_mm",
                  r->kind == PROOF_MORE ? ul_json_vector(r->more_at_mm) : json_null(), "voids_cm3",
                  ul_json_number(r->left.voids_mm3 * 1e-3), "largest_cm3",
                  ul_json_number(r->left.worst_mm3 * 1e-3), "short_cm3",
                  ul_json_number(r->left.short_mm3 * 1e-3), "peak_kpa",
                  ul_json_number(r->left.peak_kpa), "bled_g", ul_json_number(r->left.bled_g)));
  }
  return json_pack("{s:o,s:o}", "cube_mm", ul_json_number(p->cube_mm), "rows", list);
}
