/* plan_page.c - the plan's own words for report.html. */
#include "main/plan_page.h"
#include "main/pours.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "main/plan_air.h"
#include "report/words.h"

enum { LINES_MOST = 48, TILTS_ON_PAGE = 8 };

typedef struct page_lines {
  ul_page_line line[LINES_MOST];
  size_t count;
} page_lines;

/* What does not fit is left out; the files hold all of it. */
static void tell(page_lines *lines, const char *label, const char *format, ...) UL_PRINTF(3, 4);
static void tell(page_lines *lines, const char *label, const char *format, ...) {
  if (lines->count == LINES_MOST) return;
  ul_page_line *line = &lines->line[lines->count++];
  line->label = label;
  va_list args;
  va_start(args, format);
  vsnprintf(line->text, sizeof line->text, format, args);
  va_end(args);
}

/* --- the first screen, in the order of the hands --- */

/* "Cavity 2: ", where there are several. */
static const char *of_cavity(const cavity_case *c, size_t i, char out[UL_WORDS]) {
  *out = 0;
  if (c->solid->cavity_count > 1) snprintf(out, UL_WORDS, "Cavity %zu: ", case_cavity_number(c, i));
  return out;
}

static void tell_remark(page_lines *lines, const char *whose, const char *remark) {
  const int first = *whose ? *remark : toupper((unsigned char)*remark);
  tell(lines, "", "%s%c%s.", whose, first, remark + 1);
}

static void tell_weights(page_lines *lines, const cavity_case *c, const plan *p) {
  for (size_t i = 0; i < p->shop.cavity_count; i++) {
    const ul_charge *g = &p->shop.cavity[i].charge;
    const int decimals = ul_scale_decimals(g->scale_g);
    char whose[UL_WORDS], cups[UL_CHARGE_REMARK], remark[UL_CHARGE_REMARKS][UL_CHARGE_REMARK];
    of_cavity(c, i, whose);
    if (g->pigment_g > 0)
      tell(lines, i ? "" : "Weigh",
           "%sA %.*f g, B %.*f g, and %.*f g of pigment stirred into the B: together %.*f g.",
           whose, decimals, g->a_g, decimals, g->b_g, decimals, g->pigment_g, decimals, g->total_g);
    else
      tell(lines, i ? "" : "Weigh", "%sA %.*f g, B %.*f g: together %.*f g.", whose, decimals,
           g->a_g, decimals, g->b_g, decimals, g->total_g);
    if (ul_charge_cups(&p->shop.foam, g, &c->opts->charge, cups)) tell_remark(lines, whose, cups);
    size_t count = ul_charge_remarks(&p->shop.foam, g, &c->opts->charge, remark);
    for (size_t k = 0; k < count; k++) tell_remark(lines, whose, remark[k]);
  }
}

static void tell_charge(page_lines *lines, const cavity_case *c, const plan *p) {
  if (p->shop.has_foam) tell_weights(lines, c, p);
  for (size_t i = 0; i < c->solid->cavity_count; i++) {
    const double *pour = p->level->pour_mm[i];
    char whose[UL_WORDS], volume[UL_WORDS], place[UL_WORDS];
    tell(lines, i ? "" : "It holds", "%s%s, poured at %s.", of_cavity(c, i, whose),
         ul_words_volume(c->solid->cavity[i].volume_mm3, volume), ul_words_place(pour, place));
  }
  char how[POUR_WORDS];
  if (*pours_how(c->opts, how)) tell(lines, "", "%s", how);
  if (plan_opening_matters(c, p))
    tell(lines, "", "%c%s.", toupper((unsigned char)plan_opening_words[0]), plan_opening_words + 1);
}

static void tell_attitude(page_lines *lines, const cavity_case *c, const plan *p) {
  char words[UL_WORDS];
  double x, y;
  ul_raise_from_up(p->up, &x, &y);
  tell(lines, "Lay it", "%s.", ul_words_tilt(p->up, c->opts->side_name, words));
  tell(lines, "", "%s.", ul_words_props(&p->props, c->opts->side_name, words));
  tell(lines, "", "A level along its edges then reads x %.3g, y %.3g degrees.",
       round(x * 10) / 10 + 0.0, round(y * 10) / 10 + 0.0);
}

static void tell_holes(page_lines *lines, const cavity_case *c, const plan *p) {
  if (!p->vents->count)
    tell(lines, "Holes", "None is needed%s.", c->opts->hole_count ? " but the pour hole" : "");
  for (size_t i = 0; i < p->vents->count && i < 8; i++) {
    const ul_vent *v = &p->vents->vent[i];
    char figure[UL_WORDS], place[UL_WORDS], whose[32] = "";
    if (c->solid->cavity_count > 1) snprintf(whose, sizeof whose, ", cavity %u", v->cavity + 1);
    bool groove = v->kind == UL_VENT_GROOVE;
    tell(lines, i ? "" : "Holes", "%u: %s mm%s at %s%s%s", v->id,
         ul_words_figure(groove ? v->width_mm : v->diameter_mm, figure), groove ? " groove" : "",
         ul_words_place(v->at_mm, place), whose,
         !v->ok      ? ", which cannot be made as a hole: see its note."
         : v->closed ? ", which is there: plugged for good."
         : v->exists ? ", which is there already."
                     : ".");
  }
  if (p->vents->count > 8) tell(lines, "", "And %zu more, listed below.", p->vents->count - 8);
}

/* The three margins; one below nothing is missed. */
static void tell_clock(page_lines *lines, const plan *p) {
  const ul_clock *k = &p->shop.clock;
  char before[UL_CLOCK_WORDS];
  const struct {
    const char *done;
    double at_s, spare_s;
    const char *before;
  } row[] = {{"Poured", k->poured_s, k->pour_margin_s, "it creams"},
             {"Shut", k->shut_s, k->shut_margin_s, ul_clock_shut_words(k, before)},
             {"Turned", k->turned_s, k->turn_margin_s, ul_clock_limit_word(k->turn_by)}};
  for (int i = 0; i < 3; i++)
    tell(lines, i ? "" : "Time", "%s at %.0f s, %.0f s %s %s.", row[i].done, row[i].at_s,
         fabs(row[i].spare_s), row[i].spare_s < 0 ? "too late: after" : "to spare before",
         row[i].before);
}

static void tell_time(page_lines *lines, const plan *p) {
  if (p->shop.has_foam)
    tell_clock(lines, p);
  else
    tell(lines, "Time",
         "Not known: no foam was given, so it rises here as a liquid would, and "
         "moments are shares of the filling, not seconds.");
}

/* What the tool's opening holds: the deepest undercut, and how many more. */
static const char *tell_undercut(page_lines *lines, const plan *p, const char *label) {
  char place[UL_WORDS], depth[UL_WORDS], area[UL_WORDS], more[48] = "";
  const ul_undercut *u = p->opens.undercut;
  if (!p->opens.undercut_count) return label;
  if (p->opens.undercut_count > 1)
    snprintf(more, sizeof more, "; and %zu more", p->opens.undercut_count - 1);
  ul_words_place(u->at_mm, place);
  ul_words_figure(u->area_mm2 / 100, area);
  if (isfinite(u->depth_mm))
    tell(lines, label,
         "Undercut of %s cm2 at %s: a rigid part is locked in, a flexible one strips over %s mm%s.",
         area, place, ul_words_figure(u->depth_mm, depth), more);
  else if (u->hangs)
    tell(lines, label,
         "A closed core of %s cm2 hangs in the cavity at %s: nothing of the tool holds it, and it "
         "stays in the part%s.",
         area, place, more);
  else
    tell(lines, label, "Undercut of %s cm2 at %s: no way out for any part%s.", area, place, more);
  return "";
}

static void tell_cautions(page_lines *lines, const cavity_case *c, const plan *p) {
  const char *label = tell_undercut(lines, p, "Mind");
  if (c->tool.assumed) {
    tell(lines, label, "A tool wall of %g mm is assumed.", c->tool.wall_mm);
    label = "";
  }
  if (c->thin_count) {
    char thick[UL_WORDS], place[UL_WORDS], more[48] = "";
    if (c->thin_count > 1)
      snprintf(more, sizeof more, ", and %zu more such places", c->thin_count - 1);
    tell(lines, label, "Only %s mm thick at %s: thinner than these cubes can follow%s.",
         ul_words_figure(c->thin[0].thick_mm, thick), ul_words_place(c->thin[0].at_mm, place),
         more);
    label = "";
  }
  for (size_t i = 0; i < p->peaks->note_count; i++, label = "")
    tell(lines, label, "%s", p->peaks->note[i]);
  for (size_t i = 0; i < c->info.note_count; i++, label = "")
    tell(lines, label, "%s", c->info.note[i]);
  if (c->solid->reading_doubtful)
    tell(lines, label, "The file was read as a part, with the cavity inside it.");
}

static void tell_first(page_lines *lines, const cavity_case *c, const plan *p) {
  char tries[UL_WORDS];
  char *rest = strpbrk(plan_tries_words(p, tries), ",;");
  if (rest) *rest++ = 0; /* how many, large; of what kind, below */
  tell(lines, "Fills in", "%s.", tries);
  if (rest) tell(lines, "", "%s.", rest + strspn(rest, " "));
  tell_charge(lines, c, p);
  tell_attitude(lines, c, p);
  tell_holes(lines, c, p);
  tell_time(lines, p);
  tell_cautions(lines, c, p);
}

/* What to be careful of, under the act it belongs to. */
static void tell_care(page_lines *lines, const plan *p) {
  for (size_t i = 0; i < p->shop.caution_count; i++) {
    const ul_caution *now = &p->shop.caution[i];
    bool again = i && now->when == now[-1].when;
    tell(lines, again ? "" : ul_when_word(now->when), "%s", now->text);
  }
}

/* --- the attitudes compared --- */

/* What words tell apart, a twentieth of a degree: the tilt given is often among those found. */
static bool is_listed(const ul_page_tilt *list, size_t count, const double up[3]) {
  static const double apart = 1e-3;
  for (size_t i = 0; i < count; i++)
    if (ul_distance(list[i].up, up) < apart) return true;
  return false;
}

static size_t list_tilts(const cavity_case *c, const plan *p, ul_page_tilt *out) {
  size_t count = 0;
  const ul_tilts *both[2] = {p->given, p->tilts};
  for (int set = 0; set < 2; set++)
    for (size_t i = 0; both[set] && i < both[set]->count && count < TILTS_ON_PAGE; i++) {
      if (is_listed(out, count, both[set]->tilt[i].up)) continue;
      ul_page_tilt *t = &out[count++];
      ul_copy3(both[set]->tilt[i].up, t->up);
      ul_words_tilt(t->up, c->opts->side_name, t->name);
      t->why = both[set]->tilt[i].why;
      t->chosen = ul_distance(t->up, p->up) < 1e-9;
    }
  return count;
}

/* --- the rise it tells of: the foam's, or else the level one --- */

typedef struct told_rise {
  ul_page_event *event;
  ul_page_air *air;
  ul_page_sample *sample;
  size_t event_count, air_count, sample_count;
} told_rise;

static bool list_air(const cavity_case *c, const plan *p, told_rise *t) {
  plan_air *air = plan_air_list(c, p, &t->air_count);
  t->air = air ? ul_new(t->air_count, sizeof *t->air) : NULL;
  for (size_t i = 0; t->air && i < t->air_count; i++) {
    ul_page_air *to = &t->air[i];
    char volume[UL_WORDS], place[UL_WORDS];
    *to = (ul_page_air){.id = air[i].id, .cut_off = air[i].cut_off};
    ul_copy3(air[i].at_mm, to->at_mm);
    int used =
        snprintf(to->text, sizeof to->text, "%.60s stay at %.80s, ",
                 ul_words_volume(air[i].void_mm3, volume), ul_words_place(air[i].at_mm, place));
    snprintf(to->text + used, sizeof to->text - (size_t)used,
             air[i].from ? "cut off after %.0f s." : "cut off when it is %.0f %% full.",
             air[i].from ? air[i].cut_off : 100 * air[i].cut_off);
  }
  free(air);
  return t->air != NULL;
}

static bool list_samples(const ul_rise *rise, told_rise *t) {
  t->sample = ul_new(rise->sample_count, sizeof *t->sample);
  if (!t->sample) return false;
  for (size_t i = 0; i < rise->sample_count && rise->sample[i].cavity == 0; i++)
    t->sample[t->sample_count++] = (ul_page_sample){
        rise->sample[i].s, rise->sample[i].filled_fraction, rise->sample[i].peak_kpa};
  return true;
}

static bool tell_rise(const cavity_case *c, const plan *p, told_rise *t) {
  t->event = p->foam.rise ? plan_foam_moments(c, p, &t->event_count)
                          : plan_level_moments(c, p, &t->event_count);
  return t->event && list_air(c, p, t) && (!p->foam.rise || list_samples(p->foam.rise, t));
}

static void set_rise(const cavity_case *c, const plan *p, const told_rise *t, ul_page *page) {
  page->event = t->event;
  page->event_count = t->event_count;
  page->air = t->air;
  page->air_count = t->air_count;
  page->sample = t->sample;
  page->sample_count = t->sample_count;
  page->seconds = p->foam.rise != NULL;
  page->grid = page->seconds ? p->foam.grid : c->grid;
  page->arrival = page->seconds ? p->foam.rise->arrival_s : p->level->arrival;
  page->arrival_end = page->seconds ? 0 : 1;
  for (size_t i = 0; page->seconds && i < p->foam.rise->cavity_count; i++)
    page->arrival_end = fmax(page->arrival_end, p->foam.rise->cavity[i].end_s);
}

static const char *file_name(const char *path) {
  const char *slash = strrchr(path, '/');
  return slash ? slash + 1 : path;
}

/* Those that lie free are cores of the mesh already; they are drawn all the same. */
static size_t list_inserts(const cavity_case *c, ul_page_insert *out) {
  for (size_t i = 0; i < c->in.count; i++)
    out[i] = (ul_page_insert){file_name(c->opts->insert[i]), c->in.solid[i]->mesh};
  return c->in.count;
}

ul_status plan_write_page(const cavity_case *c, const plan *p, const char *path, ul_error *err) {
  page_lines *lines = ul_new(1, sizeof *lines), *care = ul_new(1, sizeof *care);
  ul_page_tilt tilt[TILTS_ON_PAGE];
  ul_page_insert insert[INSERTS_MOST];
  told_rise told = {0};
  bool good = tell_rise(c, p, &told);
  ul_status status = UL_OK;
  if (lines && care && good) {
    tell_first(lines, c, p);
    tell_care(care, p);
    ul_page page = {.name = file_name(c->opts->cavity_file),
                    .verdict = p->verdict,
                    .sound = p->sound,
                    .line_count = lines->count,
                    .line = lines->line,
                    .care_count = care->count,
                    .care = care->line,
                    .mesh = c->solid->mesh,
                    .insert_count = list_inserts(c, insert),
                    .insert = insert,
                    .tool = &c->tool,
                    .props = &p->props,
                    .side_name = c->opts->side_name,
                    .vents = p->vents,
                    .tilt_count = list_tilts(c, p, tilt),
                    .tilt = tilt};
    ul_copy3(p->up, page.up);
    set_rise(c, p, &told, &page);
    status = ul_write_page(&page, path, err);
  } else {
    status = ul_fail_memory(err);
  }
  free(lines);
  free(care);
  free(told.event);
  free(told.air);
  free(told.sample);
  return status;
}
