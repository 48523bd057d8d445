#include "main/plan.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "main/pours.h"
#include "report/words.h"

/* A shop props a mould to within this: common practice, no source. */
static const double SCATTER_DEG = 2;

/* --- which way up --- */

static ul_status choose_tilt(cavity_case *c, plan *p, ul_error *err) {
  ul_tilts_opts search = case_tilts_opts(c->opts);
  ul_status status = ul_tilts_search(c->solid, c->heights, &search, &c->job, &p->tilts, err);
  if (status != UL_OK) return status;
  ul_copy3(p->tilts->tilt[0].up, p->up);
  if (!c->opts->has_up) return UL_OK;
  /* Obeyed, and judged by the same rule, so that its cost can be told. */
  search.only = &c->opts->up;
  search.only_count = 1;
  ul_copy3(c->opts->up, p->up);
  return ul_tilts_search(c->solid, c->heights, &search, &c->job, &p->given, err);
}

/* --- peaks and vents in it --- */

static ul_status choose_vents(cavity_case *c, plan *p, ul_error *err) {
  ul_peaks_opts find = ul_peaks_opts_default();
  find.void_ok_mm3 = c->opts->void_ok_cm3 * 1000;
  ul_status status = ul_peaks_find(c->heights, p->up, &find, &p->peaks, err);
  if (status != UL_OK) return status;
  ul_vents_opts choose = ul_vents_opts_default();
  choose.void_ok_mm3 = find.void_ok_mm3;
  choose.at_most = (size_t)c->opts->vents_at_most;
  ul_copy3(c->parting.draw, choose.draw);
  choose.parting = &c->parting;
  choose.along = c->opts->along;
  choose.drills = c->opts->drills;
  choose.insert = (const ul_solid *const *)c->in.solid;
  choose.insert_count = c->in.count;
  choose.inserts_are_cores = c->solid != c->bare;
  choose.keep_part = c->opts->keep_part;
  choose.keep_part_count = c->opts->keep_part_count;
  choose.keep_box = (const double(*)[2][3])c->opts->keep_box;
  choose.keep_box_count = c->opts->keep_box_count;
  choose.show_sides = c->opts->show_sides;
  choose.other = (const ul_solid *const *)c->other;
  choose.other_count = c->other_count;
  const ul_material *material = c->opts->hold.material;
  if (material) {
    choose.hole_made = material->hole;
    choose.groove_made = material->groove;
    choose.has_case = material->soft;
  }
  choose.wish = p->wish;
  choose.wish_count = p->wish_count;
  return ul_vents_choose(c->solid, c->heights, p->peaks, &c->tool, &choose, &p->vents, err);
}

/* --- the proof: a rise with exactly those vents --- */

static ul_status prove(cavity_case *c, plan *p, ul_error *err) {
  const options *o = c->opts;
  pours in;
  ul_status status = pours_find(c, c->grid, &in, err);
  ul_vent_at *vent = ul_new(p->vents->count + o->hole_count, sizeof *vent);
  if (!vent && status == UL_OK) status = ul_fail_memory(err);
  size_t count = 0;
  for (size_t i = 0; vent && i < p->vents->count; i++) {
    if (!p->vents->vent[i].ok) continue;
    ul_copy3(p->vents->vent[i].at_mm, vent[count].at_mm);
    vent[count++].diameter_mm = p->vents->vent[i].diameter_mm;
  }
  for (size_t i = 0; vent && i < o->hole_count; i++) vent[count++] = o->hole[i];
  if (status == UL_OK)
    status = ul_level_rise(c->grid, c->columns, p->up, (const double(*)[3])in.at_mm, vent, count,
                           &c->job, &p->level, err);
  free(vent);
  pours_free(&in);
  if (status == UL_OK && p->level->void_count) p->worst_mm3 = p->level->voids[0].void_mm3;
  return status;
}

/* --- how sure: the same vents, propped a little differently each time --- */

/* splitmix64 (Steele, Lea & Flood 2014), uniform in [0,1). */
static double draw(uint64_t *state) {
  uint64_t z = *state += 0x9e3779b97f4a7c15u;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
  return (double)((z ^ (z >> 31)) >> 11) * 0x1p-53;
}

/* `up` turned by up to SCATTER_DEG in any direction, evenly over the disc. */
static void scattered(const double up[3], uint64_t *state, double out[3]) {
  double axis[3] = {0}, a[3], b[3];
  axis[fabs(up[0]) < 0.6 ? 0 : 1] = 1;
  ul_cross(up, axis, a);
  ul_cross(a, up, b);
  double off = SCATTER_DEG * M_PI / 180 * sqrt(draw(state)), round = 2 * M_PI * draw(state);
  double ra = off * cos(round) / ul_norm(a), rb = off * sin(round) / ul_norm(b);
  for (int i = 0; i < 3; i++) out[i] = up[i] + ra * a[i] + rb * b[i];
}

static ul_status scatter(cavity_case *c, plan *p, ul_error *err) {
  size_t count = 0;
  double(*at)[3] = ul_new(p->vents->count + c->opts->hole_count, sizeof *at);
  ul_air *air = NULL;
  ul_status status = at ? ul_air_new(c->heights, &air, err) : ul_fail_memory(err);
  for (size_t i = 0; at && i < p->vents->count; i++)
    if (p->vents->vent[i].ok) ul_copy3(p->vents->vent[i].at_mm, at[count++]);
  for (size_t i = 0; at && i < c->opts->hole_count; i++)
    ul_copy3(c->opts->hole[i].at_mm, at[count++]);
  uint64_t state = 20;
  for (p->tries = 0; p->tries < c->opts->scatter && status == UL_OK; p->tries++) {
    double tilted[3], up[3], trapped;
    scattered(p->up, &state, tilted);
    status = ul_up_normalise(tilted, up, err);
    if (status == UL_OK)
      status = ul_air_trapped_mm3(air, up, (const double(*)[3])at, count, &trapped);
    if (status == UL_OK && trapped <= fmax(c->opts->void_ok_cm3 * 1000, 1e-9)) p->good++;
  }
  ul_air_free(air);
  free(at);
  return status;
}

/* --- one tilt after the other --- */

enum { VENTS_ADDED = 3 }; /* after rises that left air, one by one */
enum { TILTS_TRIED = 3 }; /* with the foam, best first, until one fills */

static void drop_attempt(plan *p) {
  ul_peaks_free(p->peaks);
  ul_vents_free(p->vents);
  ul_level_free(p->level);
  foam_proof_free(&p->foam);
}

/* Everything that hangs on the tilt, for p->up. */
static ul_status attempt(cavity_case *c, plan *p, ul_error *err) {
  ul_status status = choose_vents(c, p, err);
  if (status == UL_OK) status = prove(c, p, err);
  if (status == UL_OK) status = foam_proof_make(c, p->up, p->vents, &p->foam, err);
  return status;
}

static double air_left(const plan *p) {
  return fmax(p->worst_mm3, fmax(p->foam.worst_mm3, p->foam.short_mm3));
}

static void take_over(plan *p, plan *better) {
  drop_attempt(p);
  ul_copy3(better->up, p->up);
  p->peaks = better->peaks;
  p->vents = better->vents;
  p->level = better->level;
  p->foam = better->foam;
  p->worst_mm3 = better->worst_mm3;
  memcpy(p->wish, better->wish, sizeof p->wish);
  p->wish_count = better->wish_count;
}

/* Makes the attempt at other->up with its wishes, and keeps it if it leaves clearly less air. */
static ul_status try_other(cavity_case *c, plan *p, plan *other, bool *better, ul_error *err) {
  ul_status status = attempt(c, other, err);
  *better = status == UL_OK && air_left(other) < 0.9 * air_left(p);
  if (*better)
    take_over(p, other);
  else
    drop_attempt(other);
  return status;
}

/* With a foam card the answers of the search are tried in turn: a tilt that is best by its heights
 * may still shut air in as the foam comes over it. */
static ul_status best_attempt(cavity_case *c, plan *p, ul_error *err) {
  ul_status status = attempt(c, p, err);
  size_t most = p->given || !c->opts->foam ? 1 : TILTS_TRIED;
  bool better;
  for (size_t i = 1; status == UL_OK && i < p->tilts->count && i < most; i++) {
    if (air_left(p) <= c->opts->void_ok_cm3 * 1000) break;
    plan other = {0};
    ul_copy3(p->tilts->tilt[i].up, other.up);
    status = try_other(c, p, &other, &better, err);
  }
  return status;
}

/* A void at a vent's own mouth was shut in by that vent closing; another hole there is the same. */
static bool at_a_vent(const plan *p, const double at_mm[3]) {
  for (size_t i = 0; i < p->vents->count; i++)
    if (ul_distance(p->vents->vent[i].at_mm, at_mm) < 2 * p->vents->vent[i].diameter_mm)
      return true;
  return false;
}

/* While the foam leaves a void over the limit and vents are left: one more where it is, kept if it
 * helps. */
static ul_status add_vents(cavity_case *c, plan *p, ul_error *err) {
  ul_status status = UL_OK;
  bool better = true;
  for (int added = 0; status == UL_OK && better && added < VENTS_ADDED; added++) {
    if (!p->foam.rise || p->vents->count >= (size_t)c->opts->vents_at_most) break;
    if (p->foam.worst_mm3 <= c->opts->void_ok_cm3 * 1000) break;
    if (at_a_vent(p, p->foam.worst_at_mm)) break;
    plan other = {.wish_count = p->wish_count + 1};
    memcpy(other.wish, p->wish, sizeof p->wish);
    ul_vent_wish *wish = &other.wish[p->wish_count];
    *wish = (ul_vent_wish){.cavity = p->foam.worst_cavity, .air_mm3 = p->foam.worst_mm3};
    ul_copy3(p->foam.worst_at_mm, wish->at_mm);
    ul_copy3(p->up, other.up);
    status = try_other(c, p, &other, &better, err);
  }
  return status;
}

/* --- the verdict --- */

static size_t vents_not_made(const ul_vents *vents) {
  size_t count = 0;
  for (size_t i = 0; i < vents->count; i++) count += !vents->vent[i].ok;
  return count;
}

enum { CUBES_TO_TRUST = 3 }; /* across a place, before a void there is believed */

/* What stays, where, and what would help. */
static void say_what_is_left(const cavity_case *c, const plan *p, char *out, size_t room) {
  char volume[UL_WORDS], place[UL_WORDS];
  const char *help = p->given ? "leave out --up and --raise and let a tilt be found"
                              : "search more attitudes (--tries)";
  if (p->foam.short_mm3 > fmax(p->worst_mm3, p->foam.worst_mm3)) {
    snprintf(
        out, room,
        "does not fill: the foam sets with %.60s still empty, though its air could leave; raise "
        "the charge (--pack), pour nearer to it (--pour), or take a slower foam",
        ul_words_volume(p->foam.short_mm3, volume));
    return;
  }
  bool foam = p->foam.worst_mm3 > p->worst_mm3;
  const double *at = foam ? p->foam.worst_at_mm : p->level->voids[0].at_mm;
  double thick_mm = case_thickness_mm(c, at);
  if (foam && thick_mm < CUBES_TO_TRUST * p->foam.cube_mm) {
    snprintf(out, room,
             "not known: the rise shuts %.60s in at %.60s, but its cubes of %.2g mm are too coarse "
             "for the %.2g mm there; ask for --cube %.2g",
             ul_words_volume(p->foam.worst_mm3, volume), ul_words_place(at, place), p->foam.cube_mm,
             thick_mm, thick_mm / CUBES_TO_TRUST);
    return;
  }
  snprintf(out, room,
           "does not fill: %.60s stay shut in at %.60s; allow more vents (--vents-at-most), pour "
           "elsewhere (--pour), or %s",
           ul_words_volume(foam ? p->foam.worst_mm3 : p->worst_mm3, volume),
           ul_words_place(at, place), help);
}

static void judge(const cavity_case *c, plan *p) {
  size_t unmade = vents_not_made(p->vents), room = sizeof p->verdict;
  bool fills = air_left(p) <= c->opts->void_ok_cm3 * 1000;
  bool sure = 2 * p->good >= p->tries;
  p->sound = fills && sure && !unmade && p->shop.good;
  if (!fills)
    say_what_is_left(c, p, p->verdict, room);
  else if (!sure)
    snprintf(p->verdict, room,
             "fills only when it lies just so: propped up to 2 degrees off it fills in %ld of %ld "
             "tries; %s",
             p->good, p->tries,
             p->given ? "leave out --up and --raise and let a tilt be found"
                      : "search more attitudes (--tries) or allow more vents (--vents-at-most)");
  else if (unmade)
    snprintf(p->verdict, room,
             "fills, but %zu of %zu vents cannot be made as holes: see their notes", unmade,
             p->vents->count);
  else if (!p->shop.good)
    snprintf(p->verdict, room, "fills, but %.350s", p->shop.verdict);
  else
    snprintf(p->verdict, room, "fills: %zu %s the air out, %s", p->vents->count,
             p->vents->count == 1 ? "vent lets" : "vents let",
             p->foam.rise ? "with this foam" : "on heights alone (no foam has been risen: --foam)");
}

/* For everything that is handed over: cavities are numbered as in the file. */
static void number_as_in_file(const cavity_case *c, plan *p) {
  for (size_t i = 0; i < p->peaks->count; i++) p->peaks->peak[i].cavity += c->first_cavity;
  for (size_t i = 0; i < p->vents->count; i++) p->vents->vent[i].cavity += c->first_cavity;
}

ul_status plan_make(cavity_case *c, plan *p, ul_error *err) {
  memset(p, 0, sizeof *p);
  ul_status status = choose_tilt(c, p, err);
  if (status == UL_OK) status = best_attempt(c, p, err);
  if (status == UL_OK) status = add_vents(c, p, err);
  if (status == UL_OK) status = scatter(c, p, err);
  if (status == UL_OK) status = opening_find(c, &p->opens, err);
  if (status == UL_OK) status = shop_make(c, p->up, &p->foam, &p->shop, err);
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
  drop_attempt(p);
  shop_free(&p->shop);
  opening_free(&p->opens);
}
