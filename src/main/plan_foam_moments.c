/* plan_foam_moments.c - the foam's rise as its moments, in words. */
#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "base/vec.h"
#include "main/plan_page.h"

/* Those about a hole or a place name it. */
static const char *const what_happens[UL_RISE_EVENT_END] = {
    [UL_RISE_POURED] = "All of it is poured.",
    [UL_RISE_CREAM] = "It creams: from here on it rises.",
    [UL_RISE_FULL] = "Full.",
    [UL_RISE_GEL] = "It gels: it hardly flows any more.",
    [UL_RISE_SET] = "It sets: what is empty now stays empty.",
};

/* How far a cut-off is from where a void ended; only one of the same moment can have left it. */
static double apart(const ul_rise_void *v, const ul_rise_event *e) {
  bool same = e->kind == UL_RISE_CUT_OFF && e->has_place && fabs(v->cut_off_s - e->s) < 1e-6;
  return same ? ul_distance(v->at_mm, e->at_mm) : INFINITY;
}

/* The void that this cut-off left: the one to which it is the nearest of all cut-offs. NULL when
 * the foam took the air up, or it went into another's void. */
static const ul_rise_void *left_by(const ul_rise *rise, const ul_rise_event *e) {
  const ul_rise_cavity *c = &rise->cavity[e->cavity];
  for (size_t i = 0; i < c->void_count; i++) {
    const ul_rise_event *nearest = NULL;
    for (const ul_rise_event *k = rise->event; k < rise->event + rise->event_count; k++)
      if (k->cavity == e->cavity &&
          apart(&c->voids[i], k) < (nearest ? apart(&c->voids[i], nearest) : INFINITY))
        nearest = k;
    if (nearest == e) return &c->voids[i];
  }
  return NULL;
}

static void say_cut_off(const ul_rise *rise, const ul_rise_event *from, ul_page_event *to) {
  char place[UL_WORDS], volume[UL_WORDS];
  snprintf(to->text, sizeof to->text, "Air is cut off at %s: %s of it stay at set.",
           ul_words_place(from->at_mm, place),
           ul_words_volume(left_by(rise, from)->void_mm3, volume));
}

static void say(const plan *p, const ul_rise_event *from, ul_page_event *to) {
  to->reached = from->s;
  snprintf(to->mark, sizeof to->mark, "%ld s", lround(from->s));
  to->has_place = from->has_place;
  if (from->has_place) ul_copy3(from->at_mm, to->at_mm);
  if (from->vent < p->foam.vent_count) to->vent = p->foam.vent_id[from->vent];
  if (from->kind == UL_RISE_CUT_OFF)
    say_cut_off(p->foam.rise, from, to);
  else if (from->kind == UL_RISE_SHOWS)
    snprintf(to->text, sizeof to->text, "Foam shows at hole %u.", to->vent);
  else if (from->kind == UL_RISE_CLOGS)
    snprintf(to->text, sizeof to->text, "Hole %u is covered: no more air leaves there.", to->vent);
  else
    snprintf(to->text, sizeof to->text, "%s", what_happens[from->kind]);
}

/* Foam closes off many small pockets and takes them up: only air that stays makes a moment. */
static bool is_moment(const cavity_case *c, const ul_rise *rise, const ul_rise_event *e) {
  if (e->kind != UL_RISE_CUT_OFF) return true;
  const ul_rise_void *left = left_by(rise, e);
  return left && left->void_mm3 > c->opts->void_ok_cm3 * 1000;
}

ul_page_event *plan_foam_moments(const cavity_case *c, const plan *p, size_t *count) {
  const ul_rise *rise = p->foam.rise;
  ul_page_event *list = ul_new(rise->event_count, sizeof *list);
  *count = 0;
  for (size_t i = 0; list && i < rise->event_count; i++)
    if (is_moment(c, rise, &rise->event[i])) say(p, &rise->event[i], &list[(*count)++]);
  return list;
}
