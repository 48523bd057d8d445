#include "main/rise_verdict.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/vec.h"
#include "main/mouths.h"
#include "report/words.h"
#include "ullage/packing.h"

typedef struct {
  const cavity_case *c;
  const ul_rise *rise;
  const ul_rise_opts *opts;
  const ul_clock *clock;
  size_t first_hole;
  double void_ok_mm3;
  const uint32_t *id; /* of vents; NULL: counted from 1 */
} told;

const char *rise_vent_name(const options *opts, size_t vent, size_t first_hole, char out[40]) {
  if (vent < first_hole)
    snprintf(out, 40, "vent %zu", vent + 1);
  else if (opts->hole_count == 1)
    snprintf(out, 40, "the pour hole");
  else
    snprintf(out, 40, "pour hole %zu", vent - first_hole + 1);
  return out;
}

bool rise_is_dangerous(double kpa, const char *from, char *out, size_t room) {
  char figure[UL_WORDS];
  if (!(kpa > UL_MOULD_USUAL_MOST_KPA)) return false;
  snprintf(
      out, room,
      "dangerous: %.20s kPa%s, where foam moulds usually see no more than %g; lower --pack, and "
      "have whoever answers for the mould say what it carries",
      ul_words_figure(kpa, figure), from, UL_MOULD_USUAL_MOST_KPA);
  return true;
}

bool rise_is_dangerous_by_card(const ul_foam *foam, double pack, char *out, size_t room) {
  const double kpa = ul_pack_by_card_pa(foam, pack) / 1000;
  if (isfinite(kpa))
    return rise_is_dangerous(kpa, " by the card's free rise, should the cup test be wrong", out,
                             room);
  snprintf(out, room,
           "dangerous: by the card's free rise, should the cup test be wrong, the charge is more "
           "than the cavity holds as liquid; weigh the cup again");
  return true;
}

/* Each of these writes its sentence and returns true when it is what is wrong. */
typedef bool (*finding)(const told *t, char *out, size_t room);

/* Also where the rise saw less because foam left by the holes: they may be blocked. */
static bool may_burst(const told *t, char *out, size_t room) {
  double most = 0;
  if (!t->c->opts->foam) return false;
  for (size_t i = 0; i < t->rise->cavity_count; i++) most = fmax(most, t->rise->cavity[i].peak_kpa);
  return rise_is_dangerous(most, "", out, room) ||
         rise_is_dangerous(ul_pack_gauge_pa(&t->opts->foam, t->opts->pack) / 1000,
                           " by the packing formula, should its holes be blocked", out, room) ||
         rise_is_dangerous_by_card(&t->opts->foam, t->opts->pack, out, room);
}

static bool cannot_reach(const told *t, char *out, size_t room) {
  for (size_t i = 0; i < t->rise->cavity_count; i++) {
    const ul_rise_cavity *r = &t->rise->cavity[i];
    char volume[UL_WORDS], a[UL_WORDS], b[UL_WORDS];
    if (r->unreached_mm3 <= t->void_ok_mm3) continue;
    snprintf(out, room,
             "does not fill: no way leads from the pour at %.60s to %.60s of the cavity, for "
             "instance at %.60s; pour there as well, or look closer with a smaller --cube",
             ul_words_place(r->pour_mm, a), ul_words_volume(r->unreached_mm3, volume),
             ul_words_place(r->unreached_at_mm, b));
    return true;
  }
  return false;
}

static const char *name_of_opening(const told *t, size_t vent, char out[40]) {
  size_t known = t->id && vent < t->first_hole ? t->id[vent] - 1 : vent;
  size_t first = t->id && vent < t->first_hole ? known + 1 : t->first_hole;
  return rise_vent_name(t->c->opts, known, first, out);
}

void rise_say_over_rim(double over_mm, const double at_mm[3], char *out, size_t room) {
  char place[UL_WORDS], figure[UL_WORDS];
  snprintf(out, room,
           "runs out: poured, the liquid stands %.20s mm over the rim at %.60s; pour it in "
           "another attitude (--poured-up) or through a hole (--pour-hole)",
           ul_words_figure(over_mm, figure), ul_words_place(at_mm, place));
}

void rise_say_over_opening(double over_mm, const char *name, const double at_mm[3], char *out,
                           size_t room) {
  char place[UL_WORDS], figure[UL_WORDS];
  snprintf(out, room,
           "runs out: before it creams the liquid stands %.20s mm over %.40s at %.60s; keep that "
           "closed until then, put it higher, or turn the mould another way",
           ul_words_figure(over_mm, figure), name, ul_words_place(at_mm, place));
}

static bool over_an_opening(const told *t, char *out, size_t room) {
  char name[40];
  for (size_t i = 0; i < t->rise->cavity_count; i++) {
    const ul_rise_cavity *r = &t->rise->cavity[i];
    /* Poured through a hole it is over the rim only where the seam gapes: that is told as a leak.
     */
    if (!(r->rim_over_mm > 0) || mouth_is_hole(t->c, i)) continue;
    rise_say_over_rim(r->rim_over_mm, r->rim_at_mm, out, room);
    return true;
  }
  for (size_t i = 0; i < t->rise->vent_count; i++) {
    double over = t->rise->vent[i].liquid_over_mm;
    if (!(over > 0)) continue;
    rise_say_over_opening(over, name_of_opening(t, i, name), t->opts->vent[i].at_mm, out, room);
    return true;
  }
  return false;
}

/* So many whole seconds less will do. */
static double late_s(double margin_s) {
  return ceil(-margin_s - 1e-6);
}

bool clock_missed(const ul_clock *k, char *out, size_t room) {
  char before[UL_CLOCK_WORDS];
  if (k->pour_margin_s < 0)
    snprintf(out, room,
             "too slow for this foam: poured at %.0f s, cream at %.0f s; mix and pour in %.0f s "
             "less (--mix-s, --pour-s), cool the liquids or take a slower foam",
             k->poured_s, k->cream_s, late_s(k->pour_margin_s));
  else if (k->shut_margin_s < 0)
    snprintf(out, room,
             "too slow for this foam: shut at %.0f s, but %s at %.0f s; be %.0f s quicker "
             "(--close-s), or take a slower foam",
             k->shut_s, ul_clock_shut_words(k, before), k->shut_by_s, late_s(k->shut_margin_s));
  else if (k->turn_margin_s < 0)
    snprintf(out, room,
             "too slow for this foam: in its tilt at %.0f s, but %s at %.0f s; be %.0f s quicker "
             "(--turn-s), or take a slower foam",
             k->turned_s, ul_clock_limit_word(k->turn_by), k->turn_by_s, late_s(k->turn_margin_s));
  else
    return false;
  return true;
}

static bool too_slow(const told *t, char *out, size_t room) {
  return t->clock && clock_missed(t->clock, out, room);
}

/* The largest void over the limit; NULL: none. */
static const ul_rise_void *worst_void(const told *t) {
  const ul_rise_void *worst = NULL;
  for (size_t i = 0; i < t->rise->cavity_count; i++) {
    const ul_rise_cavity *r = &t->rise->cavity[i];
    if (!r->void_count || r->voids[0].void_mm3 <= t->void_ok_mm3) continue;
    if (!worst || r->voids[0].void_mm3 > worst->void_mm3) worst = &r->voids[0];
  }
  return worst;
}

/* No hole lets air out from cream on. */
static bool shut_from_the_start(const told *t, char *out, size_t room) {
  const double cream = ul_mid(t->opts->foam.cream_s) * (1 + 1e-9);
  const ul_rise_void *v = worst_void(t);
  size_t open = 0;
  for (size_t i = 0; i < t->rise->vent_count; i++) {
    const ul_rise_vent_seen *seen = &t->rise->vent[i];
    bool plugged = t->opts->vent[i].plug && seen->foam_shows_s <= cream;
    open += !plugged && !(seen->clogs_s <= cream);
  }
  if (open || !v || t->opts->seam_gap_mm > 0) return false;
  char volume[UL_WORDS], place[UL_WORDS];
  if (t->rise->vent_count)
    snprintf(out, room,
             "does not fill: all %zu holes are under the charge when it creams, so no air can "
             "leave, and %.60s stay at %.60s; vent it at its highest places (ullage peaks)",
             t->rise->vent_count, ul_words_volume(v->void_mm3, volume),
             ul_words_place(v->at_mm, place));
  else
    snprintf(out, room,
             "does not fill: there is no vent, so no air can leave, and %.60s stay at %.60s; give "
             "it vents (--vent), or let them be found (ullage plan)",
             ul_words_volume(v->void_mm3, volume), ul_words_place(v->at_mm, place));
  return true;
}

/* A charge is taken a twentieth over the least that fills (pack_choice.c), for what a shop's
 * weighing and losses take off: where the holes take more than that, less than the least is left.
 */
const double rise_lost_most = 0.05;

double rise_left_by_holes_g(const ul_rise *rise, size_t cavity) {
  double sum = 0;
  for (size_t i = 0; i < rise->vent_count; i++)
    if (rise->vent[i].cavity == cavity) sum += rise->vent[i].bled_g;
  return sum;
}

double rise_lost_g(const ul_rise *rise, size_t cavity) {
  return rise_left_by_holes_g(rise, cavity) + rise->cavity[cavity].seam_bled_g;
}

/* The hole of that cavity by which most leaves. */
static size_t worst_hole(const ul_rise *rise, size_t cavity) {
  size_t worst = SIZE_MAX;
  for (size_t i = 0; i < rise->vent_count; i++) {
    if (rise->vent[i].cavity != cavity) continue;
    if (worst == SIZE_MAX || rise->vent[i].bled_g > rise->vent[worst].bled_g) worst = i;
  }
  return worst;
}

/* By which hole, and what to do about it. */
static void say_hole(const told *t, size_t cavity, bool more, char *out, size_t room) {
  const size_t hole = worst_hole(t->rise, cavity);
  const bool many = t->rise->vent[hole].bled_g < 0.99 * rise_lost_g(t->rise, cavity);
  const char *it = many ? "them" : "it";
  char name[40], at[UL_WORDS], plug[60] = "";
  if (!t->opts->vent[hole].plug)
    snprintf(plug, sizeof plug, "plug %s when foam shows (\",plug\"), ", it);
  snprintf(out, room, "%s%s at %.60s; %s%smake %s smaller%s", many ? "its holes, most by " : "",
           name_of_opening(t, hole, name), ul_words_place(t->opts->vent[hole].at_mm, at), plug,
           *plug && !more ? "or " : "", it, more ? ", or weigh more (--pack)" : "");
}

/* `more`: whether weighing more is offered. */
static void say_loss(const told *t, size_t cavity, double share, bool more, char *out,
                     size_t room) {
  const double left_g = rise_lost_g(t->rise, cavity);
  char whose[40] = "its charge", grams[100] = "", way[280], a[UL_WORDS], b[UL_WORDS];
  if (t->rise->cavity_count > 1)
    snprintf(whose, sizeof whose, "the charge of cavity %zu", case_cavity_number(t->c, cavity));
  if (t->c->opts->foam)
    snprintf(grams, sizeof grams, ", %.20s of %.20s g,", ul_words_figure(left_g, a),
             ul_words_figure(t->rise->cavity[cavity].mass_in_g, b));
  if (t->rise->cavity[cavity].seam_bled_g > left_g / 2)
    snprintf(way, sizeof way,
             "its seam; make the faces meet and clamp them tight (--seam-gap is how far they "
             "stand apart)%s",
             more ? ", or weigh more (--pack)" : "");
  else
    say_hole(t, cavity, more, way, sizeof way);
  snprintf(out, room, "loses %.0f %% of %s%s by %s", 100 * share, whose, grams, way);
}

static double worst_loss(const ul_rise *rise, size_t *cavity) {
  double most = 0;
  for (size_t i = 0; i < rise->cavity_count; i++) {
    const double share = rise_lost_g(rise, i) / rise->cavity[i].mass_in_g;
    if (share > most) most = share, *cavity = i;
  }
  return most;
}

/* Of a larger loss, most of what is added leaves, too. The program's own choice. */
static const double ADDED_STAYS = 0.25;

static bool loses_charge(const told *t, char *out, size_t room) {
  size_t worst = 0;
  char danger[RISE_SENTENCE];
  const double share = worst_loss(t->rise, &worst);
  if (share <= rise_lost_most) return false;
  const bool more = share < ADDED_STAYS && !may_burst(t, danger, sizeof danger);
  say_loss(t, worst, share, more, out, room);
  return true;
}

/* How full a cavity was at that moment. */
static double filled_at(const ul_rise *rise, size_t cavity, double s) {
  double filled = 0;
  for (size_t i = 0; i < rise->sample_count; i++)
    if (rise->sample[i].cavity == cavity && rise->sample[i].s <= s * (1 + 1e-9))
      filled = rise->sample[i].filled_fraction;
  return filled;
}

static bool sets_too_early(const told *t, char *out, size_t room) {
  size_t worst = 0;
  for (size_t i = 1; i < t->rise->cavity_count; i++)
    if (t->rise->cavity[i].short_mm3 > t->rise->cavity[worst].short_mm3) worst = i;
  const double empty = t->rise->cavity[worst].short_mm3;
  const ul_rise_void *v = worst_void(t);
  if (empty <= t->void_ok_mm3 || (v && v->void_mm3 > empty)) return false;
  char volume[UL_WORDS], when[80] = "";
  const double gel = ul_mid(t->opts->foam.gel_s);
  if (t->clock)
    snprintf(when, sizeof when, " (it gels at %.0f s, %.0f %% full)", gel,
             100 * filled_at(t->rise, worst, gel));
  snprintf(out, room,
           "does not fill: the foam sets with %.60s still empty, though its air could leave%s; "
           "raise the charge (--pack), pour nearer to it (--pour), or take a slower foam",
           ul_words_volume(empty, volume), when);
  return true;
}

static bool shuts_air_in(const told *t, char *out, size_t room) {
  const ul_rise_void *v = worst_void(t);
  char volume[UL_WORDS], place[UL_WORDS];
  if (!v) return false;
  snprintf(out, room,
           "does not fill: %.60s stay shut in at %.60s; vent it there (--vent), tilt it "
           "another way, or pour elsewhere (--pour)",
           ul_words_volume(v->void_mm3, volume), ul_words_place(v->at_mm, place));
  return true;
}

bool rise_runs_out(const cavity_case *c, const ul_rise *rise, const ul_rise_vent *vent,
                   const uint32_t *id, size_t first_hole, char *out, size_t room) {
  ul_rise_opts opts = ul_rise_opts_default();
  opts.vent = vent;
  const told t = {c, rise, &opts, NULL, first_hole, 0, id};
  return over_an_opening(&t, out, room);
}

bool rise_loses_charge(const cavity_case *c, const ul_rise *rise, const ul_rise_vent *vent,
                       const uint32_t *id, size_t first_hole, char *out, size_t room) {
  ul_rise_opts opts = ul_rise_opts_default();
  opts.vent = vent;
  const told t = {c, rise, &opts, NULL, first_hole, 0, id};
  size_t worst = 0;
  const double share = worst_loss(rise, &worst);
  if (share > rise_lost_most) say_loss(&t, worst, share, false, out, room);
  return share > rise_lost_most;
}

rise_verdict rise_judge(const cavity_case *c, const ul_rise *rise, const ul_rise_opts *opts,
                        const ul_clock *clock, size_t first_hole) {
  /* What may hurt, and what is lost, are said whatever else is; of the rest the first. */
  static const struct {
    finding find;
    bool always;
  } in_order[] = {{may_burst, true},        {cannot_reach, false}, {shut_from_the_start, false},
                  {over_an_opening, false}, {too_slow, false},     {loses_charge, true},
                  {sets_too_early, false},  {shuts_air_in, false}};
  const told t = {c, rise, opts, clock, first_hole, c->opts->void_ok_cm3 * 1000, NULL};
  rise_verdict v = {.good = true};
  bool said = false;
  size_t used = 0;
  for (size_t i = 0; i < sizeof in_order / sizeof *in_order; i++) {
    char text[RISE_SENTENCE];
    if ((said && !in_order[i].always) || !in_order[i].find(&t, text, sizeof text)) continue;
    said |= !in_order[i].always;
    used += (size_t)snprintf(v.text + used, sizeof v.text - used, "%s%s",
                             v.good ? "" : ". Also: ", text);
    v.good = false;
  }
  if (v.good) snprintf(v.text, sizeof v.text, "fills");
  return v;
}
