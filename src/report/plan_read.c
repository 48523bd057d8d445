#include "report/plan_read.h"

#include <errno.h>
#include <fcntl.h>
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "report/json.h"

enum { BYTES_MOST = 64 << 20, VENTS_MOST = 100000 };

/* Where in the file a value is looked for: "vents[2]", or "" for the top. */
typedef struct {
  const json_t *object;
  char name[64];
} place;

/* --- values, each of the kind that it must be --- */

static ul_status wrong(const place *at, const char *key, const char *should_be, ul_error *err) {
  return ul_fail(err, UL_E_FORMAT,
                 "%s%s%s is not %s: this is no plan.json that plan wrote; make it again", at->name,
                 *at->name ? "." : "", key, should_be);
}

static ul_status read_number(const place *at, const char *key, double least, double *out,
                             ul_error *err) {
  const json_t *value = json_object_get(at->object, key);
  *out = json_number_value(value);
  if (json_is_number(value) && *out >= least && *out <= 1e9) return UL_OK;
  return wrong(at, key, "a number in its range", err);
}

static bool three_numbers(const json_t *list, double out[3]) {
  if (json_array_size(list) != 3) return false;
  for (size_t c = 0; c < 3; c++) {
    const json_t *value = json_array_get(list, c);
    out[c] = json_number_value(value);
    if (!json_is_number(value) || fabs(out[c]) > 1e9) return false;
  }
  return true;
}

static ul_status read_place(const place *at, const char *key, double out[3], ul_error *err) {
  if (three_numbers(json_object_get(at->object, key), out)) return UL_OK;
  return wrong(at, key, "three numbers", err);
}

static ul_status read_unit_vector(const place *at, const char *key, double out[3], ul_error *err) {
  if (three_numbers(json_object_get(at->object, key), out) && fabs(ul_norm(out) - 1) < 1e-6)
    return UL_OK;
  return wrong(at, key, "a direction of length 1", err);
}

static ul_status read_count(const place *at, const char *key, uint32_t *out, ul_error *err) {
  const json_t *value = json_object_get(at->object, key);
  json_int_t n = json_integer_value(value);
  if (!json_is_integer(value) || n < 1 || n > UINT32_MAX)
    return wrong(at, key, "a whole number from 1", err);
  *out = (uint32_t)n;
  return UL_OK;
}

/* --- one vent --- */

static ul_status read_serves(const place *at, ul_vent *v, ul_error *err) {
  const json_t *list = json_object_get(at->object, "serves");
  const size_t most = sizeof v->serves / sizeof v->serves[0];
  if (!json_is_array(list) || json_array_size(list) > most)
    return wrong(at, "serves", "a list of peaks", err);
  for (size_t i = 0; i < json_array_size(list); i++) {
    json_int_t peak = json_integer_value(json_array_get(list, i));
    if (peak < 1 || peak > UINT32_MAX) return wrong(at, "serves", "a list of peaks", err);
    v->serves[v->serves_count++] = (uint32_t)peak;
  }
  return UL_OK;
}

/* A number that is null, or missing from an older plan, where there is none: 0. */
static ul_status read_if_any(const place *at, const char *key, double *out, ul_error *err) {
  const json_t *value = json_object_get(at->object, key);
  *out = 0;
  return value && !json_is_null(value) ? read_number(at, key, 0, out, err) : UL_OK;
}

/* true or false; missing from an older plan: false. */
static ul_status read_bool(const place *at, const char *key, bool *out, ul_error *err) {
  const json_t *value = json_object_get(at->object, key);
  *out = json_is_true(value);
  return !value || json_is_boolean(value) ? UL_OK : wrong(at, key, "true or false", err);
}

/* Which of two words: 0 the first, 1 the second; -1 where it is null, or missing from an older
 * plan. */
static ul_status read_word(const place *at, const char *key, const char *first, const char *second,
                           int *out, ul_error *err) {
  const json_t *value = json_object_get(at->object, key);
  const char *word = json_string_value(value);
  char should_be[64];
  *out = -1;
  if (!value || json_is_null(value)) return UL_OK;
  if (word && (strcmp(word, first) == 0 || strcmp(word, second) == 0)) {
    *out = strcmp(word, second) == 0;
    return UL_OK;
  }
  snprintf(should_be, sizeof should_be, "%.20s or %.20s", first, second);
  return wrong(at, key, should_be, err);
}

static ul_status read_kind(const place *at, ul_vent *v, ul_error *err) {
  const char *kind = json_string_value(json_object_get(at->object, "kind"));
  for (int k = 0; kind && k < UL_VENT_KIND_END; k++)
    if (strcmp(kind, ul_vent_kind_word((ul_vent_kind)k)) == 0) {
      v->kind = (ul_vent_kind)k;
      return UL_OK;
    }
  return wrong(at, "kind", "hole or groove", err);
}

/* Of an older plan, which does not say, drilled. */
static void read_made(const place *at, ul_vent *v) {
  const char *made = json_string_value(json_object_get(at->object, "made"));
  for (int m = 0; made && m < UL_VENT_MADE_END; m++)
    if (strcmp(made, ul_vent_made_word((ul_vent_made)m)) == 0) v->made = (ul_vent_made)m;
}

/* How it is made: land, relief, half; a groove's section. */
static ul_status read_making(const place *at, ul_vent *v, ul_error *err) {
  int half, then;
  double stays_cm3;
  ul_status status = read_word(at, "half", "lower", "upper", &half, err);
  if (status == UL_OK) status = read_word(at, "then", "leave", "plug", &then, err);
  if (status != UL_OK) return status;
  v->half = half < 0 ? 0 : half ? 1 : -1;
  v->plug = then == 1;
  read_made(at, v);
  status = read_bool(at, "exists", &v->exists, err);
  if (status == UL_OK) status = read_bool(at, "closed", &v->closed, err);
  if (status == UL_OK) status = read_kind(at, v, err);
  if (status == UL_OK) status = read_if_any(at, "case_mm", &v->case_mm, err);
  if (status == UL_OK) status = read_if_any(at, "land_mm", &v->land_mm, err);
  if (status == UL_OK) status = read_if_any(at, "relief_mm", &v->relief_mm, err);
  if (status == UL_OK) status = read_if_any(at, "stays_cm3", &stays_cm3, err);
  if (status != UL_OK) return status;
  v->stays_mm3 = stays_cm3 * 1000;
  if (v->kind != UL_VENT_GROOVE) return UL_OK;
  status = read_number(at, "width_mm", 1e-6, &v->width_mm, err);
  if (status == UL_OK) status = read_number(at, "depth_mm", 1e-6, &v->depth_mm, err);
  if (status == UL_OK) status = read_unit_vector(at, "face", v->face, err);
  return status;
}

/* What a hole needs; a vent that cannot be made has none of it. */
static ul_status read_hole(const place *at, ul_vent *v, ul_error *err) {
  ul_status status = read_unit_vector(at, "axis", v->axis, err);
  if (status == UL_OK) status = read_number(at, "length_mm", 0, &v->length_mm, err);
  if (status == UL_OK) status = read_number(at, "back_mm", 0, &v->back_mm, err);
  if (status == UL_OK) status = read_number(at, "past_mm", 0, &v->past_mm, err);
  if (status == UL_OK) status = read_place(at, "through_mm", v->through_mm, err);
  if (status == UL_OK) status = read_number(at, "moved_mm", 0, &v->moved_mm, err);
  return status;
}

static ul_status read_vent(const place *at, ul_vent *v, ul_error *err) {
  const json_t *ok = json_object_get(at->object, "can_be_made");
  const char *note = json_string_value(json_object_get(at->object, "note"));
  if (!json_is_boolean(ok)) return wrong(at, "can_be_made", "true or false", err);
  if (!note) return wrong(at, "note", "text", err);
  v->ok = json_is_true(ok);
  snprintf(v->note, sizeof v->note, "%s", note);
  ul_status status = read_count(at, "id", &v->id, err);
  if (status == UL_OK) status = read_count(at, "cavity", &v->cavity, err);
  if (status == UL_OK) status = read_place(at, "at_mm", v->at_mm, err);
  if (status == UL_OK) status = read_number(at, "diameter_mm", 1e-6, &v->diameter_mm, err);
  if (status == UL_OK) status = read_number(at, "air_cm3", 0, &v->air_mm3, err);
  if (status == UL_OK) status = read_serves(at, v, err);
  if (status == UL_OK) status = read_making(at, v, err);
  if (status == UL_OK && v->ok) status = read_hole(at, v, err);
  if (status == UL_OK && v->ok && v->relief_mm > 0 && !(v->land_mm <= v->length_mm))
    status = wrong(at, "land_mm", "within length_mm", err);
  if (status == UL_OK && v->relief_mm > 0 && !(v->relief_mm >= v->diameter_mm))
    status = wrong(at, "relief_mm", "diameter_mm or more", err);
  v->cavity -= status == UL_OK;
  v->air_mm3 *= 1000;
  return status;
}

/* A hole to pour through is nothing to drill from here. */
static bool is_pour_hole(const json_t *vent) {
  const char *kind = json_string_value(json_object_get(vent, "kind"));
  return kind && strcmp(kind, UL_POUR_HOLE_KIND) == 0;
}

static ul_status read_vents(const json_t *root, ul_vents **out, ul_error *err) {
  const json_t *list = json_object_get(root, "vents");
  const place top = {root, ""};
  size_t count = json_array_size(list);
  if (!json_is_array(list) || count > VENTS_MOST) return wrong(&top, "vents", "a list", err);
  ul_vents *vents = ul_new(1, sizeof *vents);
  ul_vent *vent = ul_new(count, sizeof *vent);
  if (!vents || !vent) {
    free(vents);
    free(vent);
    return ul_fail_memory(err);
  }
  *vents = (ul_vents){.vent = vent};
  ul_status status = UL_OK;
  for (size_t i = 0; i < count && status == UL_OK; i++) {
    place at = {json_array_get(list, i), ""};
    snprintf(at.name, sizeof at.name, "vents[%zu]", i);
    if (is_pour_hole(at.object)) continue;
    status = read_vent(&at, &vent[vents->count++], err);
    if (status == UL_OK && vents->count > 1 &&
        vent[vents->count - 1].id <= vent[vents->count - 2].id)
      status = wrong(&at, "id", "above that of the vent before", err);
  }
  if (status == UL_OK)
    *out = vents;
  else
    ul_vents_free(vents);
  return status;
}

/* --- how they were drawn --- */

static ul_status read_layout(const json_t *root, ul_layout *out, ul_error *err) {
  const place opening = {json_object_get(root, "opening"), "opening"};
  const place tool = {json_object_get(root, "tool"), "tool"};
  const place datum = {json_object_get(root, "datum"), "datum"};
  const json_t *box = json_object_get(tool.object, "box_mm");
  *out = (ul_layout){.datum = ul_datum_default()};
  if (!three_numbers(json_array_get(box, 0), out->box_mm[0]) ||
      !three_numbers(json_array_get(box, 1), out->box_mm[1]))
    return wrong(&tool, "box_mm", "two corners", err);
  for (int c = 0; c < 3; c++)
    if (!(out->box_mm[0][c] < out->box_mm[1][c]))
      return wrong(&tool, "box_mm", "a lowest and a highest corner", err);
  double x[3], y[3];
  ul_status status = UL_OK;
  if (opening.object) status = read_unit_vector(&opening, "draw", out->view, err);
  if (status == UL_OK) status = read_place(&datum, "at_mm", out->datum.at_mm, err);
  if (status == UL_OK) status = read_unit_vector(&datum, "x", x, err);
  if (status == UL_OK) status = read_unit_vector(&datum, "y", y, err);
  if (status == UL_OK && ul_datum_set_axes(&out->datum, x, y, NULL) != UL_OK)
    return wrong(&datum, "y", "at a right angle to datum.x", err);
  return status;
}

/* --- the file --- */

static ul_status cannot_read(int reason, ul_error *err) {
  return ul_fail(err, UL_E_READ, "cannot be read: %s: name a plan.json", strerror(reason));
}

/* A plain file of a bearable size; what is not (a pipe, a folder) could be waited for in vain. */
static ul_status open_plain(const char *path, int *out, ul_error *err) {
  *out = -1;
  int file = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
  if (file < 0) return cannot_read(errno, err);
  struct stat is;
  ul_status status = UL_OK;
  if (fstat(file, &is) != 0)
    status = cannot_read(errno, err);
  else if (!S_ISREG(is.st_mode))
    status = ul_fail(err, UL_E_READ, "not a plain file: name a plan.json");
  else if (is.st_size > BYTES_MOST)
    status = ul_fail(err, UL_E_LIMIT, "%lld bytes, a plan has at most %d: name a plan.json",
                     (long long)is.st_size, BYTES_MOST);
  if (status != UL_OK)
    close(file);
  else
    *out = file;
  return status;
}

/* What some editors put in front of UTF-8, and JSON does not know. */
static void skip_byte_order_mark(int file) {
  unsigned char first[3];
  if (pread(file, first, 3, 0) == 3 && memcmp(first, "\xef\xbb\xbf", 3) == 0)
    (void)lseek(file, 3, SEEK_SET);
}

ul_status ul_plan_read(const char *path, ul_plan_vents *out, ul_error *err) {
  *out = (ul_plan_vents){0};
  int file;
  ul_status status = open_plain(path, &file, err);
  if (status != UL_OK) return status;
  json_error_t at;
  skip_byte_order_mark(file);
  json_t *root = json_loadfd(file, JSON_REJECT_DUPLICATES, &at);
  close(file);
  if (!root)
    return ul_fail(err, UL_E_FORMAT, "line %d, column %d: not JSON: %.150s: name a plan.json",
                   at.line, at.column, at.text);
  const place tilt = {json_object_get(root, "tilt"), "tilt"};
  status = read_layout(root, &out->layout, err);
  if (status == UL_OK) status = read_unit_vector(&tilt, "up", out->up, err);
  if (status == UL_OK) status = read_vents(root, &out->vents, err);
  json_decref(root);
  return status;
}
