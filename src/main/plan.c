#include "main/plan.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "air/stays.h"
#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "main/plan_answers.h"
#include "main/plan_foam.h"
#include "main/plan_heights.h"
#include "main/pours.h"
#include "main/rise_verdict.h"
#include "main/shown.h"
#include "report/plan_read.h"
#include "report/words.h"

/* --- what exists already --- */

static ul_status read_kept(const cavity_case *c, plan *p, ul_error *err) {
  ul_plan_vents kept;
  ul_error why = {0};
  ul_status status = ul_plan_read(c->opts->keep_file, &kept, &why);
  if (status != UL_OK)
    return ul_fail(err, status, "the plan %.80s: %.300s", c->opts->keep_file, why.text);
  size_t count = 0;
  for (size_t i = 0; i < kept.vents->count; i++) {
    ul_vent *v = &kept.vents->vent[i];
    if (!v->ok || v->cavity < c->first_cavity) continue;
    v->cavity -= c->first_cavity;
    if (v->cavity >= c->solid->cavity_count) continue;
    kept.vents->vent[count++] = *v;
  }
  kept.vents->count = count;
  p->keep = kept.vents;
  ul_copy3(kept.up, p->keep_up);
  if (count < VENTS_MOST) return UL_OK;
  return ul_fail(err, UL_E_LIMIT, "the plan %.80s: %zu vents, of at most %d: make it anew",
                 c->opts->keep_file, count, VENTS_MOST - 1);
}

/* --- the proof: a rise with exactly those vents --- */

/* What the holes leave by where they are, cubes or not: a tenth of the limit counts on a face that
 * shows. */
static ul_status tell_what_stays(const cavity_case *c, plan *p, const ul_vent_at *vent,
                                 size_t count, ul_error *err) {
  const double let_be = c->opts->void_ok_cm3 * 1000;
  double(*at)[3] = ul_new_raw(count, sizeof *at);
  ul_status status = at ? UL_OK : UL_E_MEMORY;
  for (size_t i = 0; at && i < count; i++) ul_copy3(vent[i].at_mm, at[i]);
  if (at)
    status = ul_stays_tell(c->heights, c->grid, p->up, (const double(*)[3])at, count,
                           c->opts->show_sides ? SHOWN_SHARE * let_be : let_be, p->level);
  free(at);
  return status == UL_E_MEMORY ? ul_fail_memory(err) : status;
}

static ul_status prove(cavity_case *c, plan *p, ul_error *err) {
  const options *o = c->opts;
  pours in;
  ul_status status = pours_find(c, c->grid, &in, err);
  if (status == UL_OK && p->foam.rise) status = pours_as_risen(p->foam.rise, &in, err);
  ul_vent_at *vent = ul_new(p->vents->count + o->hole_count, sizeof *vent);
  if (!vent && status == UL_OK) status = ul_fail_memory(err);
  size_t count = 0;
  for (size_t i = 0; vent && i < p->vents->count; i++) {
    if (!p->vents->vent[i].ok || p->vents->vent[i].closed) continue;
    ul_copy3(p->vents->vent[i].at_mm, vent[count].at_mm);
    vent[count++].diameter_mm = p->vents->vent[i].diameter_mm;
  }
  for (size_t i = 0; vent && i < o->hole_count; i++) vent[count++] = o->hole[i];
  if (status == UL_OK)
    status = ul_level_rise(c->grid, c->columns, p->up, (const double(*)[3])in.at_mm, vent, count,
                           UL_UNVENTED_SHUT, &c->job, &p->level, err);
  if (status == UL_OK && !p->foam.rise) status = tell_what_stays(c, p, vent, count, err);
  free(vent);
  pours_free(&in);
  if (status == UL_OK && p->level->void_count) p->worst_mm3 = p->level->voids[0].void_mm3;
  return status;
}

static double air_left(const plan *p) {
  return p->foam.rise ? fmax(p->foam.worst_mm3, p->foam.short_mm3) : p->worst_mm3;
}

/* --- the verdict --- */

static void say_too_coarse(const cavity_case *c, const plan *p, double needs_mm, char *out,
                           size_t room) {
  char volume[UL_WORDS], place[UL_WORDS], needs[UL_WORDS];
  const foam_proof *f = &p->foam;
  const double thick_mm = case_thickness_mm(c, f->worst_at_mm);
  ul_words_volume(f->worst_mm3, volume);
  ul_words_place(f->worst_at_mm, place);
  ul_words_at_most(needs_mm, needs);
  if (thick_mm < THIN_CUBES * f->cube_mm)
    snprintf(out, room,
             "not known: the rise shuts %.60s in at %.60s, but its cubes of %.2g mm are too coarse "
             "for the %.2g mm there; ask for --cube %.20s, or let it be (--void-ok)",
             volume, place, f->cube_mm, thick_mm, needs);
  else
    snprintf(out, room,
             "not known: the rise shuts %.60s in at %.60s, less than one of its cubes of %.2g mm; "
             "ask for --cube %.20s, or let it be (--void-ok)",
             volume, place, f->cube_mm, needs);
}

static bool vent_count_is_most(const cavity_case *c, const plan *p) {
  return p->vents->count >= (size_t)c->opts->vents_at_most;
}

/* What would help, as far as the plan's own comparisons tell. */
static void say_help(const cavity_case *c, const plan *p, char *out, size_t room) {
  double best = INFINITY;
  const proof_row *row = NULL;
  for (size_t i = 1; i < p->proof.count; i++) {
    const foam_left *left = &p->proof.row[i].left;
    if (left->voids_mm3 + left->short_mm3 >= best) continue;
    best = left->voids_mm3 + left->short_mm3;
    row = &p->proof.row[i];
  }
  const foam_left *now = &p->proof.row[0].left;
  if (p->keep)
    snprintf(out, room, "make a shot with the one new vent, then plan again (--keep)");
  else if (row && best < 0.8 * (now->voids_mm3 + now->short_mm3))
    snprintf(out, room, "%s leaves less in coarse cubes (--vents-at-most, --drills)",
             proof_words(row->kind));
  else if (p->given)
    snprintf(out, room, "leave out --up and --raise and let a tilt be found");
  else
    snprintf(out, room, "pour elsewhere (--pour), search more attitudes (--tries), %s",
             vent_count_is_most(c, p) ? "allow more vents (--vents-at-most)"
                                      : "or take a slower foam");
}

/* What stays, where, and what would help. */
static void say_what_is_left(const cavity_case *c, const plan *p, char *out, size_t room) {
  char volume[UL_WORDS], place[UL_WORDS], help[160];
  if (p->foam.rise && p->foam.short_mm3 > p->foam.worst_mm3) {
    snprintf(
        out, room,
        "does not fill: the foam sets with %.60s still empty, though its air could leave; raise "
        "the charge (--pack), pour nearer to it (--pour), or take a slower foam",
        ul_words_volume(p->foam.short_mm3, volume));
    return;
  }
  const double needs_mm = foam_proof_needs_cube_mm(c, &p->foam);
  if (needs_mm < INFINITY) {
    say_too_coarse(c, p, needs_mm, out, room);
    return;
  }
  const double *at = p->foam.rise ? p->foam.worst_at_mm : p->level->voids[0].at_mm;
  say_help(c, p, help, sizeof help);
  snprintf(out, room, "does not fill: %.60s stay shut in at %.60s; %s",
           ul_words_volume(air_left(p), volume), ul_words_place(at, place), help);
}

static void say_not_sure(const plan *p, char *out, size_t room) {
  const char *help = p->given ? "leave out --up and --raise and let a tilt be found"
                              : "search more attitudes (--tries) or allow more vents "
                                "(--vents-at-most)";
  if (p->sure.repeats)
    snprintf(out, room,
             "fills when all goes as planned, but only in %ld of %ld tries with what a shop is "
             "off by; %s",
             p->sure.good, p->sure.tries, help);
  else
    snprintf(out, room,
             "fills only when it lies just so: propped up to 2 degrees off it fills in %ld of %ld "
             "tries; %s",
             p->sure.good, p->sure.tries, help);
}

static void say_shown(double mm3, const double at_mm[3], char *out, size_t room) {
  char volume[UL_WORDS], place[UL_WORDS];
  snprintf(out, room,
           "fills, but %.60s stay at %.60s, on a face that shows (--show-side), where a tenth of "
           "--void-ok is let be: turn that face down, or vent beside it",
           ul_words_volume(mm3, volume), ul_words_place(at_mm, place));
}

/* Of a cavity: less of it hardly presses the foam. The program's own choice. */
static const double PRESSES_SHARE = 0.01;

/* The air shut in where the pressure is highest, when it has a part in that; NULL: the charge alone
 * is too much for the mould. */
static const ul_rise_void *air_that_presses(const cavity_case *c, const plan *p) {
  const ul_rise *rise = p->foam.rise;
  const ul_hold *hold = &p->shop.hold;
  if (!rise || !(hold->rise_kpa > hold->packing_kpa)) return NULL;
  size_t most = 0;
  for (size_t i = 1; i < rise->cavity_count; i++)
    if (rise->cavity[i].peak_kpa > rise->cavity[most].peak_kpa) most = i;
  const ul_rise_cavity *r = &rise->cavity[most];
  const double least_mm3 =
      fmax(c->opts->void_ok_cm3 * 1000, PRESSES_SHARE * c->solid->cavity[most].volume_mm3);
  return r->void_count && r->voids[0].void_mm3 > least_mm3 ? r->voids : NULL;
}

/* It is not only the mould that is to be changed. */
static void say_dangerous(const cavity_case *c, plan *p, size_t room) {
  const ul_rise_void *v = air_that_presses(c, p);
  char volume[UL_WORDS], place[UL_WORDS];
  int used = snprintf(p->verdict, room, v ? "%.270s" : "%.390s", p->shop.verdict);
  if (v)
    snprintf(p->verdict + used, room - (size_t)used,
             "; %.60s shut in at %.60s raise it: another vent lowers it%s",
             ul_words_volume(v->void_mm3, volume), ul_words_place(v->at_mm, place),
             vent_count_is_most(c, p) ? " (--vents-at-most)" : "");
}

/* `loss`: what its holes lose, though that is made good; NULL: little. */
static void say_fills(const cavity_case *c, const plan *p, const char *loss, char *out,
                      size_t room) {
  const size_t vents = p->vents->count;
  char what[40] = "the pour hole lets";
  if (vents || !c->opts->hole_count)
    snprintf(what, sizeof what, "%zu vent%s", vents, vents == 1 ? " lets" : "s let");
  snprintf(out, room, "fills: %s the air out, %s%s%.300s%s", what,
           p->foam.rise ? "with this foam" : "on heights alone (no foam has been risen: --foam)",
           loss ? "; " : "", loss ? loss : "", loss ? " (what leaves is weighed besides)" : "");
}

/* Whether a cavity ends with less foam than is meant, its holes having lost more than was weighed
 * besides; and then what its part comes to. */
static bool is_light(const plan *p, char *out, size_t room) {
  const ul_rise *rise = p->foam.rise;
  for (size_t i = 0; i < rise->cavity_count; i++) {
    const ul_charge *meant = &p->shop.cavity[i].charge;
    const double stays_g = rise->cavity[i].mass_in_g - rise_lost_g(rise, i);
    const double share = stays_g / meant->in_cavity_g;
    if (share >= 1 - rise_lost_most) continue;
    snprintf(out, room, "the part comes to %.0f for %.0f kg/m3", share * meant->part_kg_m3,
             meant->part_kg_m3);
    return true;
  }
  return false;
}

static void judge(const cavity_case *c, plan *p) {
  size_t unmade = vents_not_made(p->vents), room = sizeof p->verdict;
  p->fills = air_left(p) <= c->opts->void_ok_cm3 * 1000;
  bool sure = 2 * p->sure.good >= p->sure.tries;
  const foam_proof *foam = &p->foam;
  bool runs_out = foam->rise && rise_runs_out(c, foam->rise, foam->vent, foam->vent_id,
                                              foam->first_hole, p->verdict, room);
  char loss[RISE_SENTENCE];
  const bool loses = foam->rise && rise_loses_charge(c, foam->rise, foam->vent, foam->vent_id,
                                                     foam->first_hole, loss, sizeof loss);
  char part[80];
  const bool light = loses && is_light(p, part, sizeof part);
  double shown_at[3];
  const double shown_mm3 = shown_void_mm3(c, p, shown_at);
  p->sound = p->fills && sure && !unmade && p->shop.good && !runs_out && !light && !(shown_mm3 > 0);
  if (!p->shop.good && p->shop.dangerous)
    say_dangerous(c, p, room);
  else if (p->shop.odd_size)
    snprintf(p->verdict, room, "%.390s", p->shop.verdict);
  else if (runs_out)
    plan_say_level(c, p, p->verdict, room);
  else if (unmade && !p->fills)
    snprintf(p->verdict, room,
             "does not fill: %zu of %zu vents cannot be made as holes: see their notes", unmade,
             p->vents->count);
  else if (!p->fills)
    say_what_is_left(c, p, p->verdict, room);
  else if (!sure)
    say_not_sure(p, p->verdict, room);
  else if (light)
    snprintf(p->verdict, room, "fills, but %.380s: %s", loss, part);
  else if (shown_mm3 > 0)
    say_shown(shown_mm3, shown_at, p->verdict, room);
  else if (unmade)
    snprintf(p->verdict, room,
             "fills, but %zu of %zu vents cannot be made as holes: see their notes", unmade,
             p->vents->count);
  else if (!p->shop.good)
    snprintf(p->verdict, room, "fills, but %.350s", p->shop.verdict);
  else
    say_fills(c, p, loses ? loss : NULL, p->verdict, room);
  if (!foam->rise) plan_say_opens_low(c, p, p->verdict, room);
}

/* For everything that is handed over: cavities are numbered as in the file. */
static void number_as_in_file(const cavity_case *c, plan *p) {
  for (size_t i = 0; i < p->peaks->count; i++) p->peaks->peak[i].cavity += c->first_cavity;
  for (size_t i = 0; i < p->vents->count; i++) p->vents->vent[i].cavity += c->first_cavity;
}

static ul_status finish_shop(cavity_case *c, plan *p, ul_error *err) {
  ul_status status = c->opts->foam ? UL_OK : pack_plain(c->opts, &p->choice, err);
  return status == UL_OK ? shop_make(c, &p->choice, p->up, &p->foam, &p->shop, err) : status;
}

ul_status plan_make(cavity_case *c, plan *p, ul_error *err) {
  memset(p, 0, sizeof *p);
  ul_status status = plan_answers_find(c, p, err);
  if (status == UL_OK && c->opts->keep_file) status = read_kept(c, p, err);
  if (status == UL_OK)
    status = c->opts->foam ? plan_with_foam(c, p, err) : plan_on_heights(c, p, err);
  if (status == UL_OK) status = prove(c, p, err);
  if (status == UL_OK) plan_tell_given(c, p);
  if (status == UL_OK) status = plan_answers_pour(c, p, err);
  if (status == UL_OK) status = opening_find(c, &p->opens, err);
  if (status == UL_OK) status = finish_shop(c, p, err);
  progress_end(&c->bar);
  if (status != UL_OK) return status;
  ul_props_for(&c->tool, p->up, &p->props);
  judge(c, p);
  number_as_in_file(c, p);
  return UL_OK;
}

void plan_free(plan *p) {
  ul_tilts_free(p->tilts);
  ul_tilts_free(p->given);
  ul_vents_free(p->keep);
  ul_peaks_free(p->peaks);
  ul_vents_free(p->vents);
  ul_level_free(p->level);
  foam_proof_free(&p->foam);
  foam_bed_free(&p->coarse);
  foam_bed_free(&p->fine);
  plan_sure_free(&p->sure);
  shop_free(&p->shop);
  opening_free(&p->opens);
}
