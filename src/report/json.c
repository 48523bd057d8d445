#include "report/json.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

json_t *ul_json_vector(const double v[3]) {
  return json_pack("[o,o,o]", ul_json_number(v[0]), ul_json_number(v[1]), ul_json_number(v[2]));
}

int ul_json_put(json_t *object, const char *key, json_t *value) {
  return json_object_set_new(object, key, value);
}

int ul_json_take(json_t *object, json_t *more) {
  int sound = object && more && json_object_update(object, more) == 0;
  json_decref(more);
  return sound;
}

char *ul_json_text(const json_t *object) {
  char *text = json_dumps(object, JSON_INDENT(2) | JSON_REAL_PRECISION(15));
  if (!text) return NULL;
  size_t length = strlen(text);
  char *line = realloc(text, length + 2);
  if (!line) {
    free(text);
    return NULL;
  }
  strcpy(line + length, "\n");
  return line;
}

/* A string that may hold any bytes: what is not UTF-8 is replaced, so that a name never costs the
 * whole result. */
static json_t *string(const char *text) {
  json_t *value = json_string(text);
  return value ? value : json_string("?");
}

static json_t *reading(const ul_solid *solid) {
  return solid ? json_string(solid->read_as_block ? "block" : "part") : json_null();
}

json_t *ul_json_file(const ul_import_info *info, const ul_audit *audit, const ul_solid *solid) {
  json_t *faults = json_array(), *holes = json_array(), *notes = json_array();
  for (size_t i = 0; i < audit->fault_count; i++) {
    const ul_fault *f = &audit->fault[i];
    json_array_append_new(faults, json_pack("{s:s,s:I,s:o,s:o,s:b,s:o}", "kind",
                                            ul_fault_word(f->kind), "count", (json_int_t)f->count,
                                            "at_mm", ul_json_vector(f->at_mm), "length_mm",
                                            ul_json_number(f->length_mm), "usable",
                                            ul_fault_usable(f->kind), "remedy", string(f->remedy)));
  }
  for (size_t i = 0; i < audit->hole_count; i++) {
    const ul_hole *h = &audit->hole[i];
    json_array_append_new(holes, json_pack("{s:o,s:o,s:o,s:I}", "at_mm", ul_json_vector(h->at_mm),
                                           "rim_mm", ul_json_number(h->rim_mm), "across_mm",
                                           ul_json_number(h->across_mm), "edges",
                                           (json_int_t)h->edge_count));
  }
  for (size_t i = 0; i < info->note_count; i++) json_array_append_new(notes, string(info->note[i]));
  return json_pack("{s:s,s:b,s:s,s:I,s:I,s:b,s:o,s:b,s:o,s:o,s:o}", "unit", info->unit_word,
                   "unit_from_file", info->unit_from_file, "format", info->format, "triangles",
                   (json_int_t)info->triangles_read, "shells", (json_int_t)audit->shell_count,
                   "closed", audit->closed, "drawn", reading(solid), "drawn_doubtful",
                   solid && solid->reading_doubtful, "faults", faults, "holes", holes, "notes",
                   notes);
}

static int by_size(const void *a, const void *b) {
  float x = *(const float *)a, y = *(const float *)b;
  return x < y ? -1 : x > y;
}

/* Percentiles of one cavity's half-gap, each cube inside counting once; null where it has no cube.
 */
static json_t *half_gap(const ul_grid *grid, size_t cavity) {
  float *gap = ul_new_raw(grid->inside_count, sizeof *gap);
  size_t n = 0;
  for (size_t i = 0; gap && i < grid->cube_count; i++)
    if (grid->inside[i] && grid->cavity[i] == cavity) gap[n++] = grid->half_gap_mm[i];
  double p[3] = {NAN, NAN, NAN};
  if (n) {
    qsort(gap, n, sizeof *gap, by_size);
    for (int i = 0; i < 3; i++)
      p[i] = gap[(size_t)((double)(n - 1) * (const double[]){0.05, 0.5, 0.95}[i])];
  }
  free(gap);
  return json_pack("{s:o,s:o,s:o}", "p5", ul_json_number(p[0]), "p50", ul_json_number(p[1]), "p95",
                   ul_json_number(p[2]));
}

static json_t *cavity(const ul_solid *solid, const ul_grid *grid, size_t i) {
  const ul_measure *m = &solid->cavity[i];
  json_t *box = json_pack("[o,o]", ul_json_vector(m->box_mm[0]), ul_json_vector(m->box_mm[1]));
  json_t *inertia = json_array();
  for (int r = 0; r < 3; r++) {
    double row[3];
    for (int c = 0; c < 3; c++) row[c] = m->inertia_mm5[r][c] * 1e-5;
    json_array_append_new(inertia, ul_json_vector(row));
  }
  return json_pack("{s:I,s:o,s:o,s:o,s:o,s:o,s:o}", "id", (json_int_t)i + 1, "volume_cm3",
                   ul_json_number(m->volume_mm3 * 1e-3), "area_cm2",
                   ul_json_number(m->area_mm2 * 1e-2), "centroid_mm",
                   ul_json_vector(m->centroid_mm), "box_mm", box, "inertia_cm5", inertia,
                   "half_gap_mm", half_gap(grid, i));
}

json_t *ul_json_cavities(const ul_solid *solid, const ul_grid *grid) {
  json_t *list = json_array();
  for (size_t i = 0; i < solid->cavity_count; i++)
    json_array_append_new(list, cavity(solid, grid, i));
  return list;
}

json_t *ul_json_thin(const ul_thin_place *place, size_t count) {
  json_t *list = json_array();
  for (size_t i = 0; i < count; i++)
    json_array_append_new(list, json_pack("{s:o,s:o,s:o}", "at_mm", ul_json_vector(place[i].at_mm),
                                          "thick_mm", ul_json_number(place[i].thick_mm),
                                          "needs_cube_mm", ul_json_number(place[i].needs_cube_mm)));
  return list;
}

json_t *ul_json_tilt(const double up[3]) {
  double x, y;
  ul_raise_from_up(up, &x, &y);
  return json_pack("{s:o,s:{s:o,s:o}}", "up", ul_json_vector(up), "raise_deg", "x",
                   ul_json_number(x), "y", ul_json_number(y));
}

static json_t *peak(const ul_peak *p) {
  static const char *const kind[] = {
      [UL_PEAK_POINT] = "point", [UL_PEAK_EDGE] = "edge", [UL_PEAK_FACE] = "face"};
  json_t *ends = json_array();
  for (size_t i = 0; i < p->end_count; i++)
    json_array_append_new(ends, ul_json_vector(p->end_mm[i]));
  return json_pack("{s:I,s:I,s:o,s:o,s:o,s:o,s:s,s:o,s:o}", "id", (json_int_t)p->id, "cavity",
                   (json_int_t)p->cavity + 1, "at_mm", ul_json_vector(p->at_mm), "height_mm",
                   ul_json_number(p->height_mm), "cut_off_height_mm", ul_json_number(p->cut_off_mm),
                   "pocket_cm3", ul_json_number(p->pocket_mm3 * 1e-3), "kind", kind[p->kind],
                   "extent_mm", ul_json_number(p->extent_mm), "ends_mm", ends);
}

json_t *ul_json_peaks(const ul_peaks *peaks) {
  json_t *list = json_array();
  for (size_t i = 0; i < peaks->count; i++) json_array_append_new(list, peak(&peaks->peak[i]));
  return list;
}

static json_t *tilt(const ul_tilt *t) {
  json_t *object = ul_json_tilt(t->up);
  int sound = ul_json_take(
      object, json_pack("{s:s,s:I,s:o,s:o,s:o,s:I,s:s}", "ease", ul_ease_word(t->ease), "peaks",
                        (json_int_t)t->peaks, "trapped_cm3", ul_json_number(t->trapped_mm3 * 1e-3),
                        "trapped_if_2deg_off_cm3", ul_json_number(t->trapped_2deg_mm3 * 1e-3),
                        "left_if_2deg_off_cm3", ul_json_number(t->left_mm3 * 1e-3), "vents_needed",
                        (json_int_t)t->vents_needed, "why", t->why));
  if (sound) return object;
  json_decref(object);
  return NULL;
}

json_t *ul_json_tilts(const ul_tilts *tilts) {
  json_t *list = json_array();
  for (size_t i = 0; i < tilts->count; i++) json_array_append_new(list, tilt(&tilts->tilt[i]));
  return json_pack("{s:o,s:I}", "tilts", list, "tried", (json_int_t)tilts->tried);
}

json_t *ul_json_outcome(const ul_level *level, size_t cavity) {
  json_t *trapped = json_array();
  for (size_t i = 0; i < level->void_count; i++) {
    const ul_void *v = &level->voids[i];
    if (v->cavity != cavity) continue;
    json_array_append_new(trapped,
                          json_pack("{s:o,s:o,s:o,s:o,s:o}", "at_mm", ul_json_vector(v->at_mm),
                                    "air_cm3", ul_json_number(v->air_mm3 * 1e-3),
                                    "cut_off_fraction", ul_json_number(v->cut_off_fraction),
                                    "void_cm3", ul_json_number(v->void_mm3 * 1e-3), "across_mm",
                                    ul_json_number(v->across_mm)));
  }
  return json_pack("{s:o,s:o,s:o,s:o}", "filled_fraction", ul_json_number(level->filled[cavity]),
                   "trapped", trapped, "last_reached_mm",
                   level->filled[cavity] > 0 ? ul_json_vector(level->last_mm[cavity]) : json_null(),
                   "pour_mm", ul_json_vector(level->pour_mm[cavity]));
}

/* What is 0 where a vent has none of it. */
static json_t *number_or_null(double value) {
  return value > 0 ? ul_json_number(value) : json_null();
}

static json_t *vent(const ul_vent *v) {
  json_t *serves = json_array();
  for (size_t i = 0; i < v->serves_count; i++)
    json_array_append_new(serves, json_integer(v->serves[i]));
  bool groove = v->kind == UL_VENT_GROOVE;
  json_t *object = json_pack(
      "{s:I,s:I,s:o,s:o,s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:b,s:s}", "id", (json_int_t)v->id,
      "cavity", (json_int_t)v->cavity + 1, "at_mm", ul_json_vector(v->at_mm), "axis",
      ul_json_vector(v->axis), "kind", ul_vent_kind_word(v->kind), "diameter_mm",
      ul_json_number(v->diameter_mm), "length_mm", ul_json_number(v->length_mm), "through_mm",
      ul_json_vector(v->through_mm), "back_mm", ul_json_number(v->back_mm), "past_mm",
      ul_json_number(v->past_mm), "serves", serves, "air_cm3", ul_json_number(v->air_mm3 * 1e-3),
      "moved_mm", ul_json_number(v->moved_mm), "can_be_made", v->ok, "note", v->note);
  json_t *made =
      json_pack("{s:o,s:o,s:o,s:o,s:o,s:o,s:s,s:o,s:s,s:o,s:b,s:b}", "land_mm",
                number_or_null(v->land_mm), "relief_mm", number_or_null(v->relief_mm), "width_mm",
                number_or_null(v->width_mm), "depth_mm", number_or_null(v->depth_mm), "face",
                groove ? ul_json_vector(v->face) : json_null(), "half",
                v->half ? json_string(ul_vent_half_word(v->half)) : json_null(), "then",
                v->plug ? "plug" : "leave", "stays_cm3", ul_json_number(v->stays_mm3 * 1e-3),
                "made", ul_vent_made_word(v->made), "case_mm", number_or_null(v->case_mm), "exists",
                v->exists, "closed", v->closed);
  if (ul_json_take(object, made)) return object;
  json_decref(object);
  return NULL;
}

json_t *ul_json_vents(const ul_vents *vents) {
  json_t *list = json_array();
  for (size_t i = 0; i < vents->count; i++) json_array_append_new(list, vent(&vents->vent[i]));
  return list;
}

json_t *ul_json_datum(const ul_datum *datum) {
  return json_pack("{s:o,s:o,s:o}", "at_mm", ul_json_vector(datum->at_mm), "x",
                   ul_json_vector(datum->axis[0]), "y", ul_json_vector(datum->axis[1]));
}

json_t *ul_json_props(const ul_props *props) {
  json_t *blocks = json_array(), *corners = json_array();
  for (int i = 0; i < 4; i++) {
    json_array_append_new(blocks, ul_json_number(props->block_mm[i]));
    json_array_append_new(corners, ul_json_vector(props->corner_mm[i]));
  }
  return json_pack("{s:o,s:o,s:{s:o,s:o}}", "corners_mm", blocks, "corners_at_mm", corners,
                   "level_reads_deg", "x", ul_json_number(props->level_reads_x_deg), "y",
                   ul_json_number(props->level_reads_y_deg));
}
