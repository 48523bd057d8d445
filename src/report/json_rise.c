/* The expanding rise as JSON. Without a foam card it tells places and shares, and neither grams,
 * nor clock, nor pressure: those of a foam that nobody has would be believed. */
#include "report/json.h"

/* What only a known foam has. */
static json_t *of_foam(const ul_rise_told *t, double value) {
  return t->foam_known ? ul_json_number(value) : json_null();
}

/* Of one of the rise's cavities: the number that people know it by. */
static json_t *number_of(const ul_rise_told *t, size_t cavity) {
  return json_integer((json_int_t)(t->first_cavity + cavity + 1));
}

static json_t *trapped(const ul_rise_told *t, const ul_rise_cavity *c) {
  json_t *list = json_array();
  for (size_t i = 0; i < c->void_count; i++) {
    const ul_rise_void *v = &c->voids[i];
    if (v->void_mm3 <= t->void_ok_mm3) continue;
    json_array_append_new(
        list, json_pack("{s:o,s:o,s:o,s:o,s:o,s:o}", "at_mm", ul_json_vector(v->at_mm), "air_cm3",
                        ul_json_number(v->air_mm3 * 1e-3), "cut_off_s", of_foam(t, v->cut_off_s),
                        "void_cm3", ul_json_number(v->void_mm3 * 1e-3), "across_mm",
                        ul_json_number(v->across_mm), "kpa", of_foam(t, v->pressure_kpa)));
  }
  return list;
}

static double small_voids_mm3(const ul_rise_told *t, const ul_rise_cavity *c) {
  double sum = 0;
  for (size_t i = 0; i < c->void_count; i++)
    if (c->voids[i].void_mm3 <= t->void_ok_mm3) sum += c->voids[i].void_mm3;
  return sum;
}

/* How the charge lay when it creamed. */
static json_t *pool(const ul_rise_cavity *c) {
  bool level = !(c->puddle_mm > 0);
  return json_pack("{s:s,s:o}", "kind", level ? "level" : "puddle", "reach_mm",
                   level ? json_null() : ul_json_number(c->puddle_mm));
}

static json_t *pour_end(const ul_rise_cavity *c) {
  return isnan(c->pour_end_mm[0]) ? json_null() : ul_json_vector(c->pour_end_mm);
}

static json_t *seam(const ul_rise_told *t, const ul_rise_cavity *c) {
  if (!(c->seam_mm > 0)) return json_null();
  return json_pack("{s:o,s:o,s:o}", "length_mm", ul_json_number(c->seam_mm), "foam_shows_s",
                   of_foam(t, c->seam_shows_s), "bled_g", of_foam(t, c->seam_bled_g));
}

static json_t *outcome(const ul_rise_told *t, const ul_rise_cavity *c) {
  json_t *density = json_pack("{s:o,s:o,s:o}", "mean", of_foam(t, c->density_mean), "min",
                              of_foam(t, c->density_min), "max", of_foam(t, c->density_max));
  json_t *object =
      json_pack("{s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "end_s", of_foam(t, c->end_s),
                "filled_fraction", ul_json_number(c->filled_fraction), "trapped", trapped(t, c),
                "short_cm3", ul_json_number(c->short_mm3 * 1e-3), "last_reached_mm",
                ul_json_vector(c->last_reached_mm), "pour_mm", ul_json_vector(c->pour_mm),
                "peak_kpa", of_foam(t, c->peak_kpa), "density_kg_m3", density);
  int sound = ul_json_take(
      object,
      json_pack("{s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:I}", "seam", seam(t, c), "pool",
                pool(c), "pour_end_mm", pour_end(c), "unreached_cm3",
                ul_json_number(c->unreached_mm3 * 1e-3), "rim_over_mm",
                ul_json_number(c->rim_over_mm), "small_voids_cm3",
                ul_json_number(small_voids_mm3(t, c) * 1e-3), "end_kpa", of_foam(t, c->end_kpa),
                "mass_in_g", of_foam(t, c->mass_in_g), "mass_out_g", of_foam(t, c->mass_out_g),
                "mass_error", ul_json_number(c->mass_error), "air_error",
                ul_json_number(c->air_error), "rough_steps", (json_int_t)c->rough_steps));
  if (sound) return object;
  json_decref(object);
  return NULL;
}

json_t *ul_json_rise_vents(const ul_rise_told *t, const ul_rise_vent *given) {
  json_t *list = json_array();
  for (size_t i = 0; i < t->rise->vent_count; i++) {
    const ul_rise_vent_seen *v = &t->rise->vent[i];
    json_array_append_new(list, json_pack("{s:I,s:o,s:o,s:o,s:s,s:o,s:o,s:o,s:o}", "id",
                                          (json_int_t)i + 1, "cavity", number_of(t, v->cavity),
                                          "at_mm", ul_json_vector(given[i].at_mm), "diameter_mm",
                                          ul_json_number(given[i].diameter_mm), "then",
                                          given[i].plug ? "plug" : "leave", "foam_shows_s",
                                          of_foam(t, v->foam_shows_s), "clogs_s",
                                          of_foam(t, v->clogs_s), "bled_g", of_foam(t, v->bled_g),
                                          "liquid_over_mm", ul_json_number(v->liquid_over_mm)));
  }
  return list;
}

json_t *ul_json_rise_events(const ul_rise_told *t) {
  json_t *list = json_array();
  for (size_t i = 0; i < t->rise->event_count; i++) {
    const ul_rise_event *e = &t->rise->event[i];
    json_array_append_new(
        list, json_pack("{s:o,s:s,s:o,s:o,s:o}", "s", of_foam(t, e->s), "what",
                        ul_rise_event_word(e->kind), "cavity", number_of(t, e->cavity), "vent",
                        e->vent == UINT32_MAX ? json_null() : json_integer((json_int_t)e->vent + 1),
                        "at_mm", e->has_place ? ul_json_vector(e->at_mm) : json_null()));
  }
  return list;
}

json_t *ul_json_rise_outcome(const ul_rise_told *told, size_t cavity) {
  return outcome(told, &told->rise->cavity[cavity]);
}

json_t *ul_json_meets(const ul_rise_told *t, const ul_meet *meet, size_t count) {
  json_t *list = json_array();
  for (size_t i = 0; i < count; i++)
    json_array_append_new(
        list, json_pack("{s:o,s:o,s:o,s:o,s:o}", "at_mm", ul_json_vector(meet[i].at_mm),
                        "angle_deg", ul_json_number(meet[i].angle_deg), "s",
                        of_foam(t, meet[i].arrival), "cavity", number_of(t, meet[i].cavity),
                        "area_cm2", ul_json_number(meet[i].area_mm2 / 100)));
  return list;
}
