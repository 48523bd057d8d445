#include "main/plan_off_level.h"

#include <math.h>

#include "base/vec.h"

typedef struct {
  vent_set set;
  plan_sure sure;
} way;

static void way_clear(way *w) {
  vent_set_clear(&w->set);
  plan_sure_free(&w->sure);
}

static void way_take(way *now, way *other) {
  way_clear(now);
  *now = *other;
  *other = (way){0};
}

/* What is asked for, and nothing that came of it. */
static void ask_again(const vent_set *from, way *to) {
  *to = (way){.set = *from};
  to->set.peaks = NULL;
  to->set.vents = NULL;
}

static ul_status fit(const cavity_case *c, way *w, ul_error *err) {
  ul_status status = vent_set_fit(c, NULL, &w->set, err);
  return status == UL_OK ? sure_on_heights(c, &w->set, &w->sure, err) : status;
}

/* On one level with that peak, a place is at the same top. */
static const double LEVEL_MM = 0.25;

static uint32_t peak_at(const vent_set *set, uint32_t cavity, const double at_mm[3]) {
  for (size_t i = 0; i < set->peaks->count; i++) {
    const ul_peak *p = &set->peaks->peak[i];
    const double reach = p->extent_mm + LEVEL_MM;
    if (p->cavity == cavity && fabs(ul_dot(set->up, at_mm) - p->height_mm) <= LEVEL_MM &&
        ul_distance(p->at_mm, at_mm) <= reach)
      return p->id;
  }
  return 0;
}

/* One vent more, where the most stays; *grew false: it cannot be made, or no place is known. */
static ul_status add(const cavity_case *c, way *now, bool *grew, ul_error *err) {
  const double *at_mm = now->sure.most_at_mm;
  way other;
  *grew = false;
  if (isnan(at_mm[0]) || now->set.wish_count == VENTS_MOST) return UL_OK;
  ask_again(&now->set, &other);
  ul_vent_wish *wish = &other.set.wish[other.set.wish_count++];
  *wish = (ul_vent_wish){.cavity = case_cavity_at(c, at_mm), .air_mm3 = now->sure.most_mm3};
  wish->peak = peak_at(&now->set, wish->cavity, at_mm);
  ul_copy3(at_mm, wish->at_mm);
  ul_status status = fit(c, &other, err);
  *grew = status == UL_OK && vent_set_usable(&other.set) > vent_set_usable(&now->set);
  if (*grew) way_take(now, &other);
  way_clear(&other);
  return status;
}

/* The first that can be spared is left out; false: none can. */
static ul_status spare(const cavity_case *c, way *now, bool *spared, ul_error *err) {
  ul_status status = UL_OK;
  *spared = false;
  for (size_t i = 0; i < now->set.wish_count && status == UL_OK && !*spared; i++) {
    way other;
    double left_mm3 = 0;
    ask_again(&now->set, &other);
    vent_set_drop(&other.set, i);
    status = fit(c, &other, err);
    if (status == UL_OK) status = sure_left_on_heights(c, &other.set, &left_mm3, err);
    *spared = status == UL_OK && other.sure.good >= now->sure.good &&
              left_mm3 <= other.sure.limit_mm3 &&
              vent_set_usable(&other.set) < vent_set_usable(&now->set);
    if (*spared) way_take(now, &other);
    way_clear(&other);
  }
  return status;
}

static bool wants_more(const cavity_case *c, const way *w) {
  return !plan_is_sure(w->sure.good, w->sure.tries) &&
         vent_set_usable(&w->set) < (size_t)c->opts->vents_at_most;
}

/* As many more as help, and then those left out that do not. */
static ul_status add_and_spare(const cavity_case *c, way *now, ul_error *err) {
  bool on = true;
  ul_status status = UL_OK;
  while (on && status == UL_OK && wants_more(c, now)) status = add(c, now, &on, err);
  for (on = true; on && status == UL_OK && vent_set_usable(&now->set) > 1;)
    status = spare(c, now, &on, err);
  return status;
}

ul_status off_level_vents(const cavity_case *c, vent_set *set, plan_sure *sure, ul_error *err) {
  way now = {.set = *set, .sure = *sure};
  long before = -1;
  if (vents_not_made(set->vents) || !wants_more(c, &now)) return UL_OK;
  vent_set asked = *set;
  vent_set_settle(&asked);
  ask_again(&asked, &now);
  ul_status status = fit(c, &now, err);
  /* What is spared makes room for others. */
  while (status == UL_OK && now.sure.good > before && wants_more(c, &now)) {
    before = now.sure.good;
    status = add_and_spare(c, &now, err);
  }
  if (status == UL_OK && now.sure.good > sure->good) {
    vent_set_clear(set);
    plan_sure_free(sure);
    *set = now.set;
    *sure = now.sure;
    return UL_OK;
  }
  way_clear(&now);
  return status;
}
