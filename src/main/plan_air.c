#include "main/plan_air.h"

#include <stdlib.h>

#include "base/memory.h"
#include "base/vec.h"

static size_t count_most(const plan *p) {
  size_t count = p->level->void_count;
  for (size_t i = 0; p->foam.rise && i < p->foam.rise->cavity_count; i++)
    count += p->foam.rise->cavity[i].void_count;
  return count;
}

static void list_foam(const cavity_case *c, const ul_rise *rise, plan_air *list, size_t *count) {
  for (size_t i = 0; i < rise->cavity_count; i++)
    for (size_t k = 0; k < rise->cavity[i].void_count; k++) {
      const ul_rise_void *v = &rise->cavity[i].voids[k];
      if (v->void_mm3 <= c->opts->void_ok_cm3 * 1000) continue;
      plan_air *air = &list[(*count)++];
      *air = (plan_air){.void_mm3 = v->void_mm3, .cut_off = v->cut_off_s, .from = v};
      ul_copy3(v->at_mm, air->at_mm);
    }
}

static void list_level(const cavity_case *c, const ul_level *level, plan_air *list, size_t *count) {
  for (size_t i = 0; i < c->solid->cavity_count; i++)
    for (size_t k = 0; k < level->void_count; k++) {
      const ul_void *v = &level->voids[k];
      if (v->cavity != i || v->void_mm3 <= c->opts->void_ok_cm3 * 1000) continue;
      plan_air *air = &list[(*count)++];
      *air = (plan_air){.void_mm3 = v->void_mm3, .cut_off = v->cut_off_fraction};
      ul_copy3(v->at_mm, air->at_mm);
    }
}

static int larger_first(const void *a, const void *b) {
  const plan_air *x = a, *y = b;
  if (x->void_mm3 != y->void_mm3) return x->void_mm3 < y->void_mm3 ? 1 : -1;
  return x->id < y->id ? -1 : 1;
}

plan_air *plan_air_list(const cavity_case *c, const plan *p, size_t *count) {
  plan_air *list = ul_new(count_most(p), sizeof *list);
  *count = 0;
  if (!list) return NULL;
  if (p->foam.rise)
    list_foam(c, p->foam.rise, list, count);
  else
    list_level(c, p->level, list, count);
  for (size_t i = 0; i < *count; i++) list[i].id = (uint32_t)i + 1;
  if (*count) qsort(list, *count, sizeof *list, larger_first);
  return list;
}

void plan_air_number(json_t *cavities, double void_ok_cm3) {
  json_int_t id = 0;
  size_t i, k;
  json_t *cavity, *air;
  json_array_foreach(cavities, i, cavity) {
    json_t *trapped = json_object_get(json_object_get(cavity, "outcome"), "trapped");
    json_array_foreach(trapped, k, air) {
      bool told = json_number_value(json_object_get(air, "void_cm3")) > void_ok_cm3;
      json_object_set_new(air, "id", told ? json_integer(++id) : json_null());
    }
  }
}
