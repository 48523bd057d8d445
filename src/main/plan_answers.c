#include "main/plan_answers.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "main/rise_verdict.h"
#include "report/words.h"

static bool has_tilt(const ul_tilts *list, const double up[3]) {
  for (size_t i = 0; i < list->count; i++)
    if (ul_dot(list->tilt[i].up, up) > 1 - 1e-9) return true;
  return false;
}

/* Those plain attitudes that hold the charge and are no answers yet. */
static ul_status list_plain(const cavity_case *c, const tilt_liquid *liquid,
                            const ul_tilts *answers, double up[TILTS_PLAIN][3], size_t *count,
                            ul_error *err) {
  double plain[TILTS_PLAIN][3];
  ul_status status = UL_OK;
  *count = 0;
  tilts_plain(c, plain);
  for (size_t i = 0; i < TILTS_PLAIN && status == UL_OK; i++) {
    tilt_pour look;
    status = tilt_pour_look(liquid, plain[i], &look, err);
    if (look.pours != UL_TILT_RUNS_OUT && !has_tilt(answers, plain[i]))
      ul_copy3(plain[i], up[(*count)++]);
  }
  return status;
}

/* In place of the last answers, where there are too many. */
static ul_status append(ul_tilts *answers, const ul_tilts *more, size_t most, ul_error *err) {
  size_t kept = answers->count + more->count > most ? most - more->count : answers->count;
  ul_tilt *list = ul_new(kept + more->count, sizeof *list);
  if (!list) return ul_fail_memory(err);
  memcpy(list, answers->tilt, kept * sizeof *list);
  memcpy(list + kept, more->tilt, more->count * sizeof *list);
  free(answers->tilt);
  answers->tilt = list;
  answers->count = kept + more->count;
  return UL_OK;
}

static ul_status add_plain(cavity_case *c, const ul_tilts_opts *search, const tilt_liquid *liquid,
                           ul_tilts *answers, ul_error *err) {
  double up[TILTS_PLAIN][3];
  ul_tilts_opts only = *search;
  ul_tilts *plain = NULL;
  ul_status status = list_plain(c, liquid, answers, up, &only.only_count, err);
  if (status != UL_OK || !only.only_count) return status;
  only.only = (const double(*)[3])up;
  status = ul_tilts_search(c->solid, c->heights, &only, &c->job, &plain, err);
  if (status == UL_OK) status = append(answers, plain, search->list_at_most, err);
  ul_tilts_free(plain);
  return status;
}

/* Those in which the charge runs out come last: none is worth a rise while another holds it. */
static void leave_out_those_that_run_out(ul_tilts *answers) {
  size_t holding = 0;
  while (holding < answers->count && answers->tilt[holding].pours != UL_TILT_RUNS_OUT) holding++;
  if (holding) answers->count = holding;
}

ul_status plan_answers_find(cavity_case *c, plan *p, ul_error *err) {
  const bool with_foam = c->opts->foam && !c->opts->has_up;
  ul_tilts_opts search = case_tilts_opts(c->opts);
  tilt_liquid liquid;
  ul_status status = tilt_liquid_find(c, &liquid, err);
  if (status != UL_OK) return status;
  if (with_foam) search.list_at_most = TILTS_LOOKED_AT;
  search.pours = tilt_pours;
  search.pours_in = &liquid;
  status = ul_tilts_search(c->solid, c->heights, &search, &c->job, &p->tilts, err);
  if (status == UL_OK && with_foam) leave_out_those_that_run_out(p->tilts);
  if (status == UL_OK && with_foam) status = add_plain(c, &search, &liquid, p->tilts, err);
  if (status != UL_OK) return status;
  ul_copy3(p->tilts->tilt[0].up, p->up);
  if (!c->opts->has_up) return UL_OK;
  search.only = &c->opts->up;
  search.only_count = 1;
  ul_copy3(c->opts->up, p->up);
  return ul_tilts_search(c->solid, c->heights, &search, &c->job, &p->given, err);
}

/* ---- how it is poured ---- */

static ul_status tell_answer(const tilt_liquid *liquid, ul_tilt *t, ul_error *err) {
  tilt_pour look;
  const size_t used = strlen(t->why);
  ul_status status = tilt_pour_look(liquid, t->up, &look, err);
  if (status == UL_OK) tilt_pour_words(liquid->c->opts, &look, t->why + used, sizeof t->why - used);
  return status;
}

static ul_status find_pour(tilt_liquid liquid, plan *p, ul_error *err) {
  const options *o = liquid.c->opts;
  const double *up = o->has_poured_up ? o->poured_up : p->up;
  liquid.turned = false;
  ul_status status = tilt_pour_look(&liquid, up, &p->pour, err);
  if (status != UL_OK || p->pour.pours == UL_TILT_HOLDS) return status;
  return tilt_level_that_holds(&liquid, p->level_up, &p->level_holds, err);
}

ul_status plan_answers_pour(const cavity_case *c, plan *p, ul_error *err) {
  tilt_liquid liquid;
  ul_status status = tilt_liquid_find(c, &liquid, err);
  if (status == UL_OK) status = find_pour(liquid, p, err);
  for (size_t i = 0; !p->looked && i < p->tilts->count && status == UL_OK; i++)
    status = tell_answer(&liquid, &p->tilts->tilt[i], err);
  return status;
}

/* "0,0,1": as the options take it. */
static const char *level_words(const plan *p, char out[UL_WORDS]) {
  snprintf(out, UL_WORDS, "%g,%g,%g", p->level_up[0] + 0.0, p->level_up[1] + 0.0,
           p->level_up[2] + 0.0);
  return out;
}

void plan_say_level(const cavity_case *c, const plan *p, char *verdict, size_t room) {
  char tilt[UL_WORDS], up[UL_WORDS];
  const size_t used = strlen(verdict);
  if (!p->level_holds) return;
  snprintf(verdict + used, room - used, "; lying %.60s (%.20s), the mould holds it",
           ul_words_tilt(p->level_up, c->opts->side_name, tilt), level_words(p, up));
}

void plan_say_opens_low(const cavity_case *c, const plan *p, char *verdict, size_t room) {
  char share[UL_WORDS], place[UL_WORDS], up[UL_WORDS] = "", name[40] = "the rim";
  const size_t used = strlen(verdict);
  if (p->pour.pours != UL_TILT_OPENS_LOW) return;
  const bool hole = p->pour.at.opening == UL_OPENING_HOLE;
  if (hole) rise_vent_name(c->opts, p->pour.at.hole, 0, name);
  if (p->level_holds) level_words(p, up);
  snprintf(verdict + used, room - used,
           "; but poured so, %.20s of the cavity stands over %s at %.60s, and the charge may run "
           "out there: pour it in another attitude and turn it (--poured-up%s%.20s), or through a "
           "hole %s(--pour-hole)",
           tilt_share_over(&p->pour, share), name, ul_words_place(p->pour.at.at_mm, place),
           *up ? " " : "", up, hole ? "higher up " : "");
}
