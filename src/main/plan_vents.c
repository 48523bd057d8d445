#include "main/plan_vents.h"

#include <stdio.h>
#include <string.h>

#include "base/vec.h"

static void made_as(const ul_material *material, ul_vents_opts *choose) {
  if (!material) return;
  choose->hole_made = material->hole;
  choose->groove_made = material->groove;
  choose->has_case = material->soft;
}

double vent_set_size_mm(const options *o, const vent_set *set) {
  if (set->diameter_mm > 0) return set->diameter_mm;
  double usual = ul_vents_opts_default().diameter_mm;
  ul_drill drill;
  return ul_drill_at_least(o->drills, usual, &drill) ? drill.diameter_mm : usual;
}

static ul_vents_opts opts_for(const cavity_case *c, const ul_vents *keep, const vent_set *set) {
  const options *o = c->opts;
  ul_vents_opts choose = ul_vents_opts_default();
  choose.void_ok_mm3 = o->void_ok_cm3 * 1000;
  choose.at_most = (size_t)o->vents_at_most;
  ul_copy3(c->parting.draw, choose.draw);
  choose.parting = &c->parting;
  choose.along = o->along;
  choose.drills = o->drills;
  choose.insert = (const ul_solid *const *)c->in.solid;
  choose.insert_count = c->in.count;
  choose.inserts_are_cut = c->solid != c->bare;
  choose.keep_part = o->keep_part;
  choose.keep_part_count = o->keep_part_count;
  choose.keep_box = (const double(*)[2][3])o->keep_box;
  choose.keep_box_count = o->keep_box_count;
  choose.show_sides = o->show_sides;
  choose.other = (const ul_solid *const *)c->other;
  choose.other_count = c->other_count;
  made_as(o->hold.material, &choose);
  choose.diameter_mm = vent_set_size_mm(o, set);
  choose.only_wishes = set->only_wishes;
  choose.wish = set->wish;
  choose.wish_count = set->wish_count;
  choose.keep = keep ? keep->vent : NULL;
  choose.keep_count = keep ? keep->count : 0;
  choose.hole = o->hole;
  choose.hole_count = o->hole_count;
  return choose;
}

static void forget(vent_set *set) {
  ul_peaks_free(set->peaks);
  ul_vents_free(set->vents);
  set->peaks = NULL;
  set->vents = NULL;
}

ul_status vent_set_fit(const cavity_case *c, const ul_vents *keep, vent_set *set, ul_error *err) {
  forget(set);
  ul_peaks_opts find = ul_peaks_opts_default();
  find.void_ok_mm3 = c->opts->void_ok_cm3 * 1000;
  ul_status status = ul_peaks_find(c->heights, set->up, &find, &set->peaks, err);
  if (status != UL_OK) return status;
  ul_vents_opts choose = opts_for(c, keep, set);
  return ul_vents_choose(c->solid, c->heights, set->peaks, &c->tool, &choose, &set->vents, err);
}

void vent_set_clear(vent_set *set) {
  forget(set);
  *set = (vent_set){0};
}

void vent_set_settle(vent_set *set) {
  set->only_wishes = true;
  set->wish_count = 0;
  for (size_t i = 0; i < set->vents->count && set->wish_count < VENTS_MOST; i++) {
    const ul_vent *v = &set->vents->vent[i];
    if (v->exists) continue;
    ul_vent_wish *wish = &set->wish[set->wish_count++];
    *wish = (ul_vent_wish){
        .cavity = v->cavity, .peak = v->serves_count ? v->serves[0] : 0, .air_mm3 = v->air_mm3};
    ul_copy3(v->for_mm, wish->at_mm);
  }
}

void vent_set_close(vent_set *set, const bool *closed) {
  for (size_t i = 0; i < set->vents->count; i++) {
    ul_vent *v = &set->vents->vent[i];
    if (!v->exists || !closed[i] || v->closed) continue;
    v->closed = true;
    snprintf(v->note, sizeof v->note, "is there already; plug it for good: less air stays then");
  }
}

size_t vent_set_usable(const vent_set *set) {
  size_t count = 0;
  for (size_t i = 0; i < set->vents->count; i++)
    count += set->vents->vent[i].ok && !set->vents->vent[i].closed;
  return count;
}

size_t vents_not_made(const ul_vents *vents) {
  size_t count = 0;
  for (size_t i = 0; i < vents->count; i++) count += !vents->vent[i].ok;
  return count;
}

size_t vent_set_least_two(const vent_set *set, size_t which[2]) {
  size_t count = 0;
  for (size_t i = 0; i < set->wish_count; i++) {
    size_t here = i;
    for (size_t k = 0; k < count; k++)
      if (set->wish[here].air_mm3 < set->wish[which[k]].air_mm3) {
        size_t was = which[k];
        which[k] = here;
        here = was;
      }
    if (count < 2) which[count++] = here;
  }
  return count;
}

void vent_set_drop(vent_set *set, size_t wish) {
  const ul_vent_wish gone = set->wish[wish];
  ul_vent_wish *heir = NULL;
  set->wish_count--;
  memmove(&set->wish[wish], &set->wish[wish + 1], (set->wish_count - wish) * sizeof *set->wish);
  for (size_t i = 0; i < set->wish_count; i++) {
    ul_vent_wish *w = &set->wish[i];
    if (w->cavity == gone.cavity &&
        (!heir || ul_distance(w->at_mm, gone.at_mm) < ul_distance(heir->at_mm, gone.at_mm)))
      heir = w;
  }
  if (heir) heir->air_mm3 += gone.air_mm3;
}
