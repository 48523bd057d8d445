/* The plan as files. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/vec.h"
#include "main/inserts.h"
#include "main/plan_air.h"
#include "main/plan_card.h"
#include "main/plan_page.h"
#include "main/pours.h"
#include "main/vent_files.h"
#include "report/atomic_file.h"
#include "report/json.h"

/* check's cavities, each with its outcome. */
static json_t *cavities(const cavity_case *c, const plan *p) {
  const ul_rise_told told = case_rise_told(c, p->foam.rise);
  json_t *list = case_cavities_json(c);
  for (size_t i = 0; list && i < c->solid->cavity_count; i++)
    ul_json_put(json_array_get(list, i), "outcome",
                p->foam.rise ? ul_json_rise_outcome(&told, i) : ul_json_outcome(p->level, i));
  plan_air_number(list, c->opts->void_ok_cm3);
  return list;
}

static json_t *notes(const ul_peaks *peaks) {
  json_t *list = json_array();
  for (size_t i = 0; i < peaks->note_count; i++)
    json_array_append_new(list, json_string(peaks->note[i]));
  return list;
}

/* The pour holes, after the plan's vents; with what they saw of the foam, if one was risen. */
static void add_pour_holes(const options *o, const foam_proof *foam, const json_t *seen,
                           json_t *list) {
  ul_rise_vent hole[POURS_MOST];
  size_t count = 0;
  pours_holes(o, hole, &count);
  for (size_t i = 0; i < count; i++) {
    json_t *entry =
        seen ? json_deep_copy(json_array_get(seen, foam->first_hole + i))
             : json_pack("{s:o,s:o,s:s,s:n,s:n,s:n}", "at_mm", ul_json_vector(hole[i].at_mm),
                         "diameter_mm", ul_json_number(hole[i].diameter_mm), "then",
                         hole[i].plug ? "plug" : "leave", "foam_shows_s", "clogs_s", "bled_g");
    ul_json_put(entry, "id", json_integer((json_int_t)json_array_size(list) + 1));
    ul_json_put(entry, "kind", json_string(UL_POUR_HOLE_KIND));
    json_array_append_new(list, entry);
  }
}

/* In the order in which foam shows at those to be plugged. */
static void number_plugs(json_t *vents) {
  size_t i, k;
  json_t *vent, *other;
  json_array_foreach(vents, i, vent) {
    json_t *shows = json_object_get(vent, "foam_shows_s");
    bool plug = strcmp(json_string_value(json_object_get(vent, "then")), "plug") == 0;
    json_int_t before = 0;
    json_array_foreach(vents, k, other) {
      json_t *his = json_object_get(other, "foam_shows_s");
      bool plugged = strcmp(json_string_value(json_object_get(other, "then")), "plug") == 0;
      double apart = json_number_value(his) - json_number_value(shows);
      before += plugged && json_is_number(his) && (apart < 0 || (apart == 0 && k < i));
    }
    json_object_set_new(vent, "plug_order",
                        plug && json_is_number(shows) ? json_integer(before + 1) : json_null());
  }
}

/* The plan's vents, each with what it saw of the foam: null where none was risen, or the vent is
 * not made. */
static json_t *vents(const cavity_case *c, const plan *p) {
  static const char *const key[] = {"foam_shows_s", "clogs_s", "bled_g"};
  const size_t keys = sizeof key / sizeof key[0];
  const foam_proof *foam = &p->foam;
  json_t *list = ul_json_vents(p->vents);
  for (size_t i = 0; i < p->vents->count; i++)
    for (size_t k = 0; k < keys; k++) ul_json_put(json_array_get(list, i), key[k], json_null());
  const ul_rise_told told = case_rise_told(c, foam->rise);
  json_t *seen = foam->rise ? ul_json_rise_vents(&told, foam->vent) : NULL;
  for (size_t i = 0; seen && i < foam->first_hole; i++)
    for (size_t k = 0; k < keys; k++)
      json_object_set(json_array_get(list, foam->vent_id[i] - 1), key[k],
                      json_object_get(json_array_get(seen, i), key[k]));
  plan_sure_vents(&p->sure, list);
  number_plugs(list);
  add_pour_holes(c->opts, foam, seen, list);
  json_decref(seen);
  return list;
}

static json_t *vent_size(const plan *p) {
  const ul_vent_size *v = &p->size;
  if (!(v->drill.diameter_mm > 0)) return json_null();
  return json_pack("{s:o,s:s,s:I,s:o,s:o,s:o,s:o,s:o,s:b}", "diameter_mm",
                   ul_json_number(v->drill.diameter_mm), "drill", v->drill.name, "holes",
                   (json_int_t)v->holes, "litres_s", ul_json_number(v->air_mm3_s * 1e-6),
                   "least_mm", ul_json_number(v->least_mm), "most_mm", ul_json_number(v->most_mm),
                   "back_kpa", ul_json_number(v->back_pa * 1e-3), "air_m_s",
                   ul_json_number(v->air_m_s), "enough", v->enough);
}

/* The answers, each with what the foam leaves in it, where it was looked at. */
static json_t *tilts(const plan *p) {
  json_t *root = ul_json_tilts(p->tilts), *list = json_object_get(root, "tilts"), *tilt;
  size_t i;
  json_array_foreach(list, i, tilt) {
    const tilt_look *look = &p->look[i];
    ul_json_put(tilt, "with_foam",
                i < p->looked ? json_pack("{s:I,s:o}", "vents", (json_int_t)look->vents, "left_cm3",
                                          ul_json_number(look->left_mm3 * 1e-3))
                              : json_null());
  }
  return root;
}

json_t *plan_json(const cavity_case *c, const plan *p) {
  json_t *root = json_object();
  json_t *given = p->given ? ul_json_tilts(p->given) : NULL;
  ul_json_put(root, "version", json_string(UL_VERSION));
  ul_json_put(root, "verdict", json_string(p->verdict));
  ul_json_put(root, "good", json_boolean(p->sound));
  ul_json_put(root, "fills_in", plan_sure_json(&p->sure));
  ul_json_put(root, "rise", json_string(p->foam.rise ? "foam" : "level"));
  ul_json_put(root, "file", ul_json_file(&c->info, c->audit, c->solid));
  ul_json_put(root, "cube_mm", json_real(c->grid->lattice.cube_mm));
  ul_json_put(root, "thin", ul_json_thin(c->thin, c->thin_count));
  ul_json_put(root, "cavities", cavities(c, p));
  ul_json_put(root, "tilt", ul_json_tilt(p->up));
  ul_json_take(root, tilts(p));
  if (p->given)
    ul_json_put(root, "tilt_given",
                json_incref(json_array_get(json_object_get(given, "tilts"), 0)));
  ul_json_put(root, "peaks", ul_json_peaks(p->peaks));
  ul_json_put(root, "notes", notes(p->peaks));
  ul_json_put(root, "vents", vents(c, p));
  ul_json_take(root, foam_proof_json(c, &p->foam));
  ul_json_put(root, "proof", p->foam.rise ? plan_proof_json(&p->proof) : json_null());
  ul_json_put(root, "vent_size", vent_size(p));
  ul_json_take(root, shop_json(&p->shop));
  ul_json_put(root, "props", ul_json_props(&p->props));
  ul_json_put(root, "tool",
              json_pack("{s:o,s:f,s:b}", "box_mm",
                        json_pack("[o,o]", ul_json_vector(c->tool.box_mm[0]),
                                  ul_json_vector(c->tool.box_mm[1])),
                        "wall_mm", c->tool.wall_mm, "assumed", c->tool.assumed));
  if (c->in.count) ul_json_put(root, "inserts", inserts_json(c, p->up));
  json_t *opens = opening_json(&p->opens);
  if (opens) ul_json_put(root, "opening", opens);
  ul_json_put(root, "datum", ul_json_datum(&c->opts->datum));
  json_decref(given);
  return root;
}

/* --- one writer a file --- */

static bool write_json(FILE *file, void *context) {
  char *text = ul_json_text(context);
  if (!text) return false;
  fputs(text, file);
  free(text);
  return true;
}

/* A plan with what it was made from, and where it goes. */
typedef struct {
  const cavity_case *c;
  const plan *p;
  const char *dir;
} made;

static ul_status write_plan_json(const void *what, const char *path, ul_error *err) {
  const made *m = what;
  json_t *root = plan_json(m->c, m->p);
  ul_status status = root ? ul_write_whole(path, write_json, root, err) : ul_fail_memory(err);
  json_decref(root);
  return status;
}

static ul_status write_page(const void *what, const char *path, ul_error *err) {
  const made *m = what;
  return plan_write_page(m->c, m->p, path, err);
}

static ul_status write_all(void *what, ul_error *err) {
  const made *m = what;
  const cavity_case *c = m->c;
  const plan *p = m->p;
  vent_files files = {.vents = p->vents, .cavity = c->solid->mesh};
  files.layout.datum = c->opts->datum;
  ul_copy3(c->parting.draw, files.layout.view);
  memcpy(files.layout.box_mm, c->tool.box_mm, sizeof files.layout.box_mm);
  ul_status status = vent_files_write(&files, m->dir, err);
  if (status == UL_OK) status = plan_write_card(c, p, m->dir, err);
  if (status == UL_OK) status = write_in(m->dir, "report.html", write_page, m, err);
  /* last: when it is there, all of them are */
  return status == UL_OK ? write_in(m->dir, "plan.json", write_plan_json, m, err) : status;
}

ul_status plan_write(const cavity_case *c, const plan *p, const char *dir, ul_error *err) {
  made m = {c, p, dir};
  size_t folder;
  ul_status status = make_folder(dir, &folder, err);
  if (status != UL_OK) return status;
  status = ul_write_together(write_all, &m, err);
  if (status != UL_OK) unmake_folder(dir, folder);
  return status;
}
