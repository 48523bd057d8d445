#include "report/json_shop.h"

#include <math.h>

#include "report/json.h"
#include "ullage/foam_card.h"

static json_t *number(double value) {
  return isfinite(value) ? json_real(value) : json_null();
}

/* Grams as weighed: sums of tenths carry noise in the last digits that no scale shows. */
static json_t *weighed(double grams) {
  return json_real(round(grams * 1e4) / 1e4);
}

static json_t *span(ul_span s) {
  return json_pack("[o,o]", number(s.lo), number(s.hi));
}

json_t *ul_json_foam(const ul_foam *f) {
  return json_pack("{s:s,s:s,s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "name", f->name,
                   "note", f->note, "class", ul_foam_class_word(f->foam_class), "liquid_kg_m3",
                   span(f->liquid_kg_m3), "free_kg_m3", span(f->free_kg_m3), "viscosity_pa_s",
                   span(f->viscosity_pa_s), "a_parts", span(f->a_parts), "cream_s",
                   span(f->cream_s), "gel_s", span(f->gel_s), "rise_s", span(f->rise_s),
                   "tack_free_s", span(f->tack_free_s), "demould_s", span(f->demould_s), "pack",
                   span(f->pack), "temperature_c", number(f->temperature_c));
}

json_t *ul_json_charge(size_t cavity, const ul_charge *c) {
  const ul_cup *each = &c->each;
  json_t *cup =
      json_pack("{s:o,s:o,s:o,s:o}", "total_g", weighed(each->total_g), "a_g", weighed(each->a_g),
                "b_g", weighed(each->b_g), "pigment_g", weighed(each->pigment_g));
  return json_pack("{s:I,s:o,s:o,s:o,s:o,s:o,s:o,s:I,s:o,s:o,s:o,s:o,s:o,s:o}", "cavity",
                   (json_int_t)cavity, "total_g", weighed(c->total_g), "a_g", weighed(c->a_g),
                   "b_g", weighed(c->b_g), "pigment_g", weighed(c->pigment_g), "bleed_g",
                   number(c->bleed_g), "cup_g", number(c->cup_g), "cups", (json_int_t)c->cups,
                   "each", cup, "litres", number(c->litres), "in_cavity_g", number(c->in_cavity_g),
                   "pack", number(c->pack), "part_kg_m3", number(c->part_kg_m3), "scale_g",
                   number(c->scale_g));
}

json_t *ul_json_litres(size_t cavity, double volume_mm3) {
  return json_pack("{s:I,s:n,s:n,s:n,s:n,s:n,s:n,s:n,s:n,s:o,s:n,s:n,s:n,s:n}", "cavity",
                   (json_int_t)cavity, "total_g", "a_g", "b_g", "pigment_g", "bleed_g", "cup_g",
                   "cups", "each", "litres", number(volume_mm3 * 1e-6), "in_cavity_g", "pack",
                   "part_kg_m3", "scale_g");
}

json_t *ul_json_clock(const ul_clock *c) {
  json_t *margins = json_pack("{s:o,s:o,s:o}", "pour", number(c->pour_margin_s), "shut",
                              number(c->shut_margin_s), "turn", number(c->turn_margin_s));
  return json_pack(
      "{s:o,s:o,s:o,s:o,s:o,s:s,s:o,s:o,s:s,s:o,s:o}", "cream_s", number(c->cream_s), "poured_s",
      number(c->poured_s), "shut_s", number(c->shut_s), "turned_s", number(c->turned_s),
      "half_full_s", number(c->half_full_s), "shut_before", ul_clock_limit_word(c->shut_by),
      "shut_cavity", c->shut_cavity ? json_integer((json_int_t)c->shut_cavity) : json_null(),
      "shut_by_s", number(c->shut_by_s), "turn_before", ul_clock_limit_word(c->turn_by),
      "turn_by_s", number(c->turn_by_s), "margins_s", margins);
}

static json_t *bent(const ul_plate_state *s) {
  return json_pack("{s:o,s:o}", "stress_mpa", number(s->stress_pa * 1e-6), "deflection_mm",
                   number(s->deflection_m * 1e3));
}

static json_t *lid(const ul_hold *h) {
  if (!h->has_lid) return json_null();
  const ul_lid *l = &h->lid;
  return json_pack("{s:o,s:o,s:o,s:o,s:b,s:b}", "resting", bent(&l->supported), "held",
                   bent(&l->clamped), "allowed_mpa", number(l->allowed_pa * 1e-6),
                   "allowed_deflection_mm", number(l->open_mm), "strong", l->strong, "stiff",
                   l->stiff);
}

json_t *ul_json_hold(const ul_hold *h, double projected_mm2, const double direction[3]) {
  json_t *area = number(projected_mm2 * 1e-2), *along = ul_json_vector(direction);
  if (!h)
    return json_pack("{s:n,s:n,s:n,s:o,s:o,s:n,s:n,s:n,s:n,s:n,s:n,s:n}", "peak_kpa", "packing_kpa",
                     "rise_kpa", "projected_cm2", area, "along", along, "opening_n", "clamp_n",
                     "bolts_m6", "bolts_m8", "toggles_n", "mould_holds", "lid");
  json_t *holds = h->has_material ? json_boolean(h->material_holds) : json_null();
  return json_pack("{s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:I,s:I,s:o,s:o,s:o}", "peak_kpa",
                   number(h->peak_kpa), "packing_kpa", number(h->packing_kpa), "rise_kpa",
                   number(h->rise_kpa), "projected_cm2", area, "along", along, "opening_n",
                   number(h->opening_n), "clamp_n", number(h->clamp_n), "bolts_m6",
                   (json_int_t)h->bolts_m6, "bolts_m8", (json_int_t)h->bolts_m8, "toggles_n",
                   number(h->toggles_n), "mould_holds", holds, "lid", lid(h));
}

json_t *ul_json_air(size_t cavity, const ul_vent_size *s, double at_s) {
  return json_pack("{s:I,s:o,s:o,s:I,s:o,s:o,s:s,s:o,s:o}", "cavity", (json_int_t)cavity,
                   "litres_s", number(s->air_mm3_s * 1e-6), "at_s", number(at_s), "holes",
                   (json_int_t)s->holes, "least_mm", number(s->least_mm), "most_mm",
                   number(s->most_mm), "drill", s->drill.name, "drill_mm",
                   number(s->drill.diameter_mm), "back_kpa", number(s->back_pa * 1e-3));
}

json_t *ul_json_cautions(const ul_caution *caution, size_t count) {
  json_t *list = json_array();
  for (size_t i = 0; i < count; i++)
    json_array_append_new(list, json_pack("{s:s,s:s}", "when", ul_when_word(caution[i].when),
                                          "text", caution[i].text));
  return list;
}

static json_t *mean(const ul_mean *m) {
  return json_pack("{s:I,s:o,s:o}", "count", (json_int_t)m->count, "value", number(m->value),
                   "give_or_take", number(m->off));
}

/* Text from a file may hold any bytes. */
static json_t *text(const char *from) {
  json_t *value = json_string(from);
  return value ? value : json_string("?");
}

static json_t *shot(const ul_shot *s, size_t vents, const ul_shots_said *said,
                    const ul_shots_opts *opts) {
  json_t *shown = json_array();
  for (size_t v = 0; v < vents; v++) json_array_append_new(shown, number(s->vent_s[v]));
  return json_pack("{s:I,s:o,s:o,s:o,s:o,s:o,s:o,s:b,s:o,s:s,s:o}", "line", (json_int_t)s->line,
                   "date", text(s->date), "charge_g", number(s->charge_g), "part_g",
                   number(s->part_g), "cup_kg_m3", number(ul_shot_cup_kg_m3(s)), "pack",
                   number(ul_shot_pack(s, said, opts)), "lost_g", number(s->charge_g - s->part_g),
                   "lost_counts", !ul_shot_loss_is_doubted(s, said), "vent_s", shown, "symptom",
                   ul_symptom_word(s->symptom), "fault_at", text(s->fault_at));
}

static json_t *cause(const ul_cause *c) {
  return json_pack("{s:s,s:s,s:s,s:b}", "cause", c->cause, "try", c->remedy, "kind",
                   ul_try_word(c->kind), "shown", c->shown);
}

static json_t *remarks(const ul_shots *shots, const ul_shots_opts *opts,
                       const ul_shots_said *said) {
  char remark[UL_SHOTS_REMARKS][UL_SHOTS_REMARK];
  size_t count = ul_shots_remarks(shots, opts, said, remark);
  json_t *list = json_array();
  for (size_t i = 0; i < count; i++) json_array_append_new(list, text(remark[i]));
  return list;
}

json_t *ul_json_shots(const ul_shots *shots, const ul_shots_opts *opts, const ul_shots_said *said) {
  json_t *list = json_array(), *causes = json_array();
  for (size_t i = 0; i < shots->count; i++)
    json_array_append_new(list, shot(&shots->shot[i], shots->vent_count, said, opts));
  for (size_t i = 0; i < said->cause_count; i++)
    json_array_append_new(causes, cause(&said->cause[i]));
  json_t *next =
      json_pack("{s:o,s:o,s:o,s:s,s:o}", "charge_g", number(said->next_charge_g), "give_or_take_g",
                number(said->next_off_g), "pack", number(said->target_pack), "pack_from",
                ul_aim_word(said->aim), "most_kpa", number(said->next_most_kpa));
  return json_pack("{s:o,s:o,s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "shots", list, "free_kg_m3",
                   mean(&said->free_kg_m3), "free_from", said->from_cups ? "cups" : "card", "pack",
                   mean(&said->pack), "lost_g", mean(&said->lost_g), "next", next, "causes", causes,
                   "try_first", said->cause_count ? cause(&said->cause[said->first]) : json_null(),
                   "remarks", remarks(shots, opts, said), "good", json_boolean(said->good));
}
