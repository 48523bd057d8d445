/* plan_foam_moments.c - the foam's rise as its moments, in words. What a rise reports twenty times
 * is told a few times: air cut off one after the other is one moment, and so are holes at which
 * foam shows together. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/vec.h"
#include "main/plan_air.h"
#include "main/plan_page.h"

/* Foam at two holes within this is one moment; and a hole that foam shows at and covers. */
static const double TOGETHER_S = 1.5;
enum { AIR_NAMED = 3 }; /* in one moment; how many more is said */

typedef enum { TELL_OTHER, TELL_SHUT, TELL_HALF, TELL_AIR, TELL_SHOWS, TELL_CLOGS } telling;

/* What is to be told, before it is put together. */
typedef struct happening {
  telling how;
  double s;
  const ul_rise_event *event; /* NULL: TELL_SHUT, TELL_HALF */
  const plan_air *air;        /* TELL_AIR: what it leaves */
  uint32_t vent;              /* TELL_SHOWS, TELL_CLOGS: its id */
} happening;

/* --- which air a cut-off leaves --- */

/* How far a cut-off is from where a void ended; only one of the same moment can have left it. */
static double apart(const ul_rise_void *v, const ul_rise_event *e) {
  bool same = e->kind == UL_RISE_CUT_OFF && e->has_place && fabs(v->cut_off_s - e->s) < 1e-6;
  return same ? ul_distance(v->at_mm, e->at_mm) : INFINITY;
}

/* The air that this cut-off left: that to which it is the nearest of all cut-offs. NULL when the
 * foam took the air up, or it is small enough to be let be. */
static const plan_air *left_by(const ul_rise *rise, const ul_rise_event *e, const plan_air *air,
                               size_t count) {
  for (size_t i = 0; i < count; i++) {
    const ul_rise_event *nearest = NULL;
    for (const ul_rise_event *k = rise->event; k < rise->event + rise->event_count; k++)
      if (apart(air[i].from, k) < (nearest ? apart(air[i].from, nearest) : INFINITY)) nearest = k;
    if (nearest == e) return &air[i];
  }
  return NULL;
}

/* --- what happens, in order --- */

/* Covered as it shows is no news of its own. */
static bool is_covered_at_once(const happening *list, size_t count, const happening *h) {
  for (size_t i = 0; i < count; i++)
    if (list[i].how == TELL_SHOWS && list[i].vent == h->vent && h->s - list[i].s <= TOGETHER_S)
      return true;
  return false;
}

static int by_time(const void *a, const void *b) {
  const happening *x = a, *y = b;
  if (x->s != y->s) return x->s < y->s ? -1 : 1;
  return (x->event > y->event) - (x->event < y->event);
}

/* Of the first cavity; NAN if it never is. */
static double half_full_s(const ul_rise *rise) {
  for (size_t i = 0; i < rise->sample_count; i++)
    if (rise->sample[i].cavity == 0 && rise->sample[i].filled_fraction >= 0.5)
      return rise->sample[i].s;
  return NAN;
}

/* `list` has room for all events, the shutting and the half. */
static size_t list_happenings(const plan *p, const plan_air *air, size_t air_count,
                              happening *list) {
  const ul_rise *rise = p->foam.rise;
  size_t count = 0;
  for (size_t i = 0; i < rise->event_count; i++) {
    const ul_rise_event *e = &rise->event[i];
    happening h = {.how = TELL_OTHER, .s = e->s, .event = e};
    if (e->vent < p->foam.vent_count) h.vent = p->foam.vent_id[e->vent];
    if (e->kind == UL_RISE_CUT_OFF) {
      h.how =
          TELL_AIR; /* foam closes off many small pockets and takes them up: those are not told */
      if (!(h.air = left_by(rise, e, air, air_count))) continue;
    }
    bool of_vent = e->vent < p->foam.first_hole; /* else of a pour hole */
    if (e->kind == UL_RISE_SHOWS && of_vent) h.how = TELL_SHOWS;
    if (e->kind == UL_RISE_CLOGS && of_vent) {
      h.how = TELL_CLOGS;
      if (is_covered_at_once(list, count, &h)) continue;
    }
    list[count++] = h;
  }
  list[count++] = (happening){.how = TELL_SHUT, .s = p->shop.clock.shut_s};
  double half_s = half_full_s(rise);
  if (isfinite(half_s)) list[count++] = (happening){.how = TELL_HALF, .s = half_s};
  qsort(list, count, sizeof *list, by_time);
  return count;
}

/* --- in words --- */

/* "hole 2", or "holes 1, 2 and 5" */
static void list_holes(const uint32_t *id, size_t count, char *out, size_t room) {
  size_t used = (size_t)snprintf(out, room, "hole%s ", count > 1 ? "s" : "");
  for (size_t i = 0; i < count && used < room; i++)
    used += (size_t)snprintf(out + used, room - used, "%s%u",
                             !i              ? ""
                             : i + 1 < count ? ", "
                                             : " and ",
                             id[i]);
}

void plan_say_shows(const plan *p, const uint32_t *id, size_t count, char text[400]) {
  char holes[300];
  size_t plugged = 0;
  for (size_t i = 0; i < count; i++) plugged += p->vents->vent[id[i] - 1].plug;
  list_holes(id, count, holes, sizeof holes);
  snprintf(text, 400, "Foam shows at %s%s.", holes,
           !plugged          ? ""
           : plugged < count ? ": plug those that are to be plugged"
           : count > 1       ? ": plug each as it shows"
                             : ": plug it");
}

static void say_vents(const plan *p, const happening *h, size_t count, ul_page_event *to) {
  uint32_t id[VENTS_MOST];
  char holes[300];
  if (count > VENTS_MOST) count = VENTS_MOST;
  for (size_t i = 0; i < count; i++) id[i] = h[i].vent;
  to->vent = h->vent;
  if (h->how == TELL_SHOWS) {
    plan_say_shows(p, id, count, to->text);
    return;
  }
  list_holes(id, count, holes, sizeof holes);
  snprintf(to->text, sizeof to->text, "Foam covers %s: no more air leaves there.", holes);
}

static void say_air(const happening *h, size_t count, ul_page_event *to) {
  size_t used = 0;
  double sum = 0;
  char volume[UL_WORDS], place[UL_WORDS];
  if (count == 1) {
    snprintf(to->text, sizeof to->text, "Air %u is cut off at %s: %s of it stay.", h->air->id,
             ul_words_place(h->air->at_mm, place), ul_words_volume(h->air->void_mm3, volume));
    return;
  }
  for (size_t i = 0; i < count; i++) {
    sum += h[i].air->void_mm3;
    if (i < AIR_NAMED)
      used += (size_t)snprintf(to->text + used, sizeof to->text - used, "%s%u",
                               !i              ? "Air "
                               : i + 1 < count ? ", "
                                               : " and ",
                               h[i].air->id);
  }
  if (count > AIR_NAMED)
    used += (size_t)snprintf(to->text + used, sizeof to->text - used, " and %zu more",
                             count - AIR_NAMED);
  snprintf(to->text + used, sizeof to->text - used,
           " are cut off one after the other: %s stay in all.", ul_words_volume(sum, volume));
}

/* Liquid over any opening; foam at a pour hole. */
static void say_liquid(const plan *p, const ul_rise_event *e, ul_page_event *to) {
  if (e->vent < p->foam.first_hole)
    snprintf(to->text, sizeof to->text, "Liquid stands over hole %u: it runs out there.",
             p->foam.vent_id[e->vent]);
  else
    snprintf(to->text, sizeof to->text, "Liquid stands over the %s: it runs out there.",
             e->vent == UINT32_MAX ? "rim" : "pour hole");
}

/* A rise has all of its charge by cream; the clock may say otherwise. */
static void say_poured(const plan *p, ul_page_event *to) {
  const ul_clock *k = &p->shop.clock;
  if (k->pour_margin_s < 0)
    snprintf(to->text, sizeof to->text,
             "The rise takes all of it as poured by now, as it creams; poured at %.0f s it would "
             "be %.0f s too late.",
             k->poured_s, -k->pour_margin_s);
  else
    snprintf(to->text, sizeof to->text, "All of it is poured.");
}

/* " of cavity 2", where there are several. */
static const char *of_which(const cavity_case *c, const ul_rise_event *e, char out[48]) {
  *out = 0;
  if (c->solid->cavity_count > 1)
    snprintf(out, 48, " of cavity %zu", case_cavity_number(c, e->cavity));
  return out;
}

/* Foam at the hole it was poured through. */
static void say_pour_hole(const cavity_case *c, const ul_rise_event *e, ul_page_event *to) {
  char whose[48];
  of_which(c, e, whose);
  if (e->kind == UL_RISE_SHOWS)
    snprintf(to->text, sizeof to->text, "Foam shows at the pour hole%s.", whose);
  else
    snprintf(to->text, sizeof to->text, "Foam covers the pour hole%s: no more air leaves there.",
             whose);
}

/* Whose it is is said where it is not of all cavities together. */
static void say_other(const cavity_case *c, const plan *p, const ul_rise_event *e, size_t count,
                      ul_page_event *to) {
  static const char *const what[UL_RISE_EVENT_END] = {
      [UL_RISE_TURNED] = "It lies in its tilt.",
      [UL_RISE_CREAM] = "It creams: from here on it rises.",
      [UL_RISE_SEAM] = "Foam shows at the seam: it begins to flash there.",
      [UL_RISE_FULL] = "Full.",
      [UL_RISE_GEL] = "It gels: it hardly flows any more.",
      [UL_RISE_SET] = "It sets: what is empty now stays empty.",
  };
  if (e->kind == UL_RISE_LIQUID)
    say_liquid(p, e, to);
  else if (e->kind == UL_RISE_POURED)
    say_poured(p, to);
  else if (e->kind == UL_RISE_SHOWS || e->kind == UL_RISE_CLOGS)
    say_pour_hole(c, e, to);
  else if (count == c->solid->cavity_count)
    snprintf(to->text, sizeof to->text, "%s", what[e->kind]);
  else
    snprintf(to->text, sizeof to->text, "Cavity %zu: %c%s", case_cavity_number(c, e->cavity),
             tolower((unsigned char)what[e->kind][0]), what[e->kind] + 1);
}

static void say_shut(const plan *p, ul_page_event *to) {
  const ul_clock *k = &p->shop.clock;
  if (k->turned_s > k->shut_s)
    snprintf(to->text, sizeof to->text, "The mould is shut; it lies as it must by %.0f s.",
             k->turned_s);
  else
    snprintf(to->text, sizeof to->text, "The mould is shut.");
}

/* The half is the first cavity's. */
static const char *half_words(const cavity_case *c, char out[48]) {
  if (c->solid->cavity_count == 1) return strcpy(out, "Half full");
  snprintf(out, 48, "Cavity %zu is half full", case_cavity_number(c, 0));
  return out;
}

/* `count` happenings of one kind as a moment, which shows how the foam stands at the last. */
static void say(const cavity_case *c, const plan *p, const happening *h, size_t count,
                ul_page_event *to) {
  const happening *last = &h[count - 1];
  long from = lround(h->s), until = lround(last->s);
  char half[48];
  to->reached = last->s;
  if (from == until)
    snprintf(to->mark, sizeof to->mark, "%ld s", until);
  else
    snprintf(to->mark, sizeof to->mark, "%ld to %ld s", from, until);
  if (h->event && h->event->has_place && count == 1) {
    to->has_place = true;
    ul_copy3(h->event->at_mm, to->at_mm);
  }
  if (h->how == TELL_AIR) to->air = h->air->id;
  if (h->how == TELL_HALF)
    snprintf(to->text, sizeof to->text, "%s: foam stands %.0f mm above the bench.",
             half_words(c, half),
             plan_stands_mm(p, p->foam.grid, p->foam.rise->arrival_s, last->s));
  else if (h->how == TELL_SHUT)
    say_shut(p, to);
  else if (h->how == TELL_AIR)
    say_air(h, count, to);
  else if (h->how == TELL_OTHER)
    say_other(c, p, h->event, count, to);
  else
    say_vents(p, h, count, to);
}

/* The same of another cavity, at the same moment. */
static bool is_shared(const happening *h, const happening *next) {
  return next->how == TELL_OTHER && h->event->kind == next->event->kind && h->s == next->s &&
         h->event->vent == UINT32_MAX && h->event->kind != UL_RISE_LIQUID;
}

/* How many from `h` on are one moment. */
static size_t run_of(const happening *h, size_t left) {
  size_t count = 1;
  while (h->how == TELL_OTHER && count < left && is_shared(h, &h[count])) count++;
  if (h->how == TELL_OTHER || h->how == TELL_SHUT || h->how == TELL_HALF) return count;
  while (count < left && h[count].how == h->how &&
         (h->how == TELL_AIR || h[count].s - h->s <= TOGETHER_S))
    count++;
  return count;
}

ul_page_event *plan_foam_moments(const cavity_case *c, const plan *p, size_t *count) {
  size_t most = p->foam.rise->event_count + 2, air_count;
  ul_page_event *list = ul_new(most, sizeof *list);
  happening *all = ul_new(most, sizeof *all);
  plan_air *air = plan_air_list(c, p, &air_count);
  *count = 0;
  bool good = list && all && air;
  size_t happenings = good ? list_happenings(p, air, air_count, all) : 0;
  for (size_t i = 0; i < happenings;) {
    size_t run = run_of(&all[i], happenings - i);
    say(c, p, &all[i], run, &list[(*count)++]);
    i += run;
  }
  free(all);
  free(air);
  if (good) return list;
  free(list);
  return NULL;
}
