/* vents_dxf.c - the vents as a drill layout: DXF R12, of which any CAD reads the few entities used.
 */
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "report/atomic_file.h"
#include "report/datum_words.h"
#include "report/numbers.h"
#include "ullage/markers.h"

enum { LAYER_NAME = 32, CORNERS = 8, WHITE = 7, GREY = 8, FIRST_DRILL_COLOUR = 1, COLOURS = 6 };

/* A hole this far off the view, in all of its depth's direction, is still drawn as a circle. */
static const double ALONG = 1 - 1e-6;

/* What is written beside a hole. */
typedef struct {
  char words[UL_WORDS];
  double at[2];
  bool moved; /* from beside its hole: a line leads there */
} label;

/* A rectangle of the drawing that words stand in. */
typedef struct {
  double low[2], high[2];
} patch;

typedef struct {
  const ul_vents *vents;
  const ul_layout *layout;
  double x[3], y[3], eye[3]; /* of the drawing, in the file's axes */
  double text_mm;
  double low[2]; /* the outline's lower left corner */
  label *label;  /* one a vent */
  size_t taken_count;
  patch *taken;
} drawing;

/* --- groups: a code on one line, its value on the next --- */

static void put_text_group(FILE *file, int code, const char *text) {
  fprintf(file, "%3d\n%s\n", code, text);
}

static void put_number_group(FILE *file, int code, double value) {
  fprintf(file, "%3d\n", code);
  ul_put_fixed(file, value, 6);
  fputc('\n', file);
}

static void put_point(FILE *file, int code, const double at[2]) {
  put_number_group(file, code, at[0]);
  put_number_group(file, code + 10, at[1]);
}

static void put_entity(FILE *file, const char *kind, const char *layer) {
  put_text_group(file, 0, kind);
  put_text_group(file, 8, layer);
}

static void put_line(FILE *file, const char *layer, const double a[2], const double b[2]) {
  put_entity(file, "LINE", layer);
  put_point(file, 10, a);
  put_point(file, 11, b);
}

static void put_cross(FILE *file, const char *layer, const double at[2], double reach) {
  for (int c = 0; c < 2; c++) {
    double a[2] = {at[0], at[1]}, b[2] = {at[0], at[1]};
    a[c] -= reach;
    b[c] += reach;
    put_line(file, layer, a, b);
  }
}

static void put_words(FILE *file, const char *layer, const double at[2], double size,
                      const char *words) {
  put_entity(file, "TEXT", layer);
  put_point(file, 10, at);
  put_number_group(file, 40, size);
  put_text_group(file, 1, words);
}

/* --- the view --- */

static void flatten(const drawing *d, const double place_mm[3], double out[2]) {
  double from[3];
  ul_sub(place_mm, d->layout->datum.at_mm, from);
  out[0] = ul_dot(from, d->x);
  out[1] = ul_dot(from, d->y);
}

/* The axis that most holes share, the first of equals: seen along it, the most are circles. NULL
 * when every hole has one of its own. */
static const double *shared_axis(const ul_vents *vents) {
  const double *best = NULL;
  size_t most = 1;
  for (size_t i = 0; i < vents->count; i++) {
    size_t count = 0;
    for (size_t k = 0; vents->vent[i].ok && k < vents->count; k++)
      count += vents->vent[k].ok && ul_dot(vents->vent[i].axis, vents->vent[k].axis) > ALONG;
    if (count > most) most = count, best = vents->vent[i].axis;
  }
  return best;
}

/* The axis of the datum that the holes lie along best, its z before its x and y. */
static const double *likeliest_axis(const ul_vents *vents, const ul_datum *datum) {
  const double *best = datum->axis[2];
  double most = 0;
  for (int c = 2; c >= 0; c--) {
    double along = 0;
    for (size_t i = 0; i < vents->count; i++)
      if (vents->vent[i].ok) along += fabs(ul_dot(vents->vent[i].axis, datum->axis[c]));
    if (along > most + 1e-9) most = along, best = datum->axis[c];
  }
  return best;
}

/* Of the datum's x, y and z, the one that the view is nearest to. */
static int viewed_axis(const ul_datum *datum, const double view[3]) {
  int nearest = 2;
  for (int c = 1; c >= 0; c--)
    if (fabs(ul_dot(view, datum->axis[c])) > fabs(ul_dot(view, datum->axis[nearest])) + 1e-9)
      nearest = c;
  return nearest;
}

/* Where the view is along an axis of the datum, the drawing's x and y are the other two, as they
 * are in the table: so it is seen from +z, -y or +x, whichever way the halves open. */
static void set_view(drawing *d) {
  static const struct { int across, side; } seen[3] = {{1, 1}, {0, -1}, {0, 1}};
  const ul_layout *l = d->layout;
  const double *view = ul_norm(l->view) > 0 ? l->view : shared_axis(d->vents);
  if (!view) view = likeliest_axis(d->vents, &l->datum);
  int along = viewed_axis(&l->datum, view);
  double side = ul_dot(view, l->datum.axis[along]) * seen[along].side < 0 ? -1 : 1;
  for (int c = 0; c < 3; c++) d->eye[c] = side * view[c];
  const double *across = l->datum.axis[seen[along].across];
  ul_add_scaled(across, -ul_dot(across, d->eye), d->eye, d->x);
  double length = ul_norm(d->x);
  for (int c = 0; c < 3; c++) d->x[c] /= length;
  ul_cross(d->eye, d->x, d->y);
  double size = 0;
  for (int c = 0; c < 3; c++) size = fmax(size, l->box_mm[1][c] - l->box_mm[0][c]);
  d->text_mm = fmax(size / 60, 0.1);
}

/* --- layers --- */

/* R12 allows letters, digits, $, - and _ in a name. */
static void layer_of(const ul_vent *vent, char out[LAYER_NAME]) {
  bool groove = vent->kind == UL_VENT_GROOVE;
  long thousandths = lround((groove ? vent->width_mm : vent->diameter_mm) * 1000);
  int length = snprintf(out, LAYER_NAME, "%s-%ld_%03ld", groove ? "GROOVE" : "DRILL",
                        thousandths / 1000, thousandths % 1000);
  while (out[length - 1] == '0' && out[length - 2] != '_') length--;
  snprintf(out + length, (size_t)(LAYER_NAME - length), "-MM");
}

static void put_layer(FILE *file, const char *name, int colour) {
  put_text_group(file, 0, "LAYER");
  put_text_group(file, 2, name);
  fprintf(file, " 70\n0\n 62\n%d\n", colour);
  put_text_group(file, 6, "CONTINUOUS");
}

/* Whether an earlier vent has the same layer. */
static bool seen_before(const ul_vents *vents, size_t i) {
  char mine[LAYER_NAME], other[LAYER_NAME];
  layer_of(&vents->vent[i], mine);
  for (size_t k = 0; k < i; k++) {
    layer_of(&vents->vent[k], other);
    if (vents->vent[k].ok && strcmp(mine, other) == 0) return true;
  }
  return false;
}

static size_t count_sizes(const ul_vents *vents) {
  size_t count = 0;
  for (size_t i = 0; i < vents->count; i++) count += vents->vent[i].ok && !seen_before(vents, i);
  return count;
}

static bool any_moved(const drawing *d) {
  for (size_t i = 0; i < d->vents->count; i++)
    if (d->label[i].moved) return true;
  return false;
}

static void put_tables(FILE *file, const drawing *d) {
  const ul_vents *vents = d->vents;
  fputs("  0\nSECTION\n  2\nTABLES\n", file);
  fputs("  0\nTABLE\n  2\nLTYPE\n 70\n1\n  0\nLTYPE\n  2\nCONTINUOUS\n 70\n0\n  3\nSolid line\n"
        " 72\n65\n 73\n0\n 40\n0.0\n  0\nENDTAB\n",
        file);
  fprintf(file, "  0\nTABLE\n  2\nLAYER\n 70\n%zu\n", 3 + any_moved(d) + count_sizes(vents));
  put_layer(file, "0", WHITE);
  put_layer(file, "OUTLINE", GREY);
  put_layer(file, "DATUM", WHITE);
  if (any_moved(d)) put_layer(file, "LEADER", GREY);
  int size = 0;
  for (size_t i = 0; i < vents->count; i++) {
    if (!vents->vent[i].ok || seen_before(vents, i)) continue;
    char layer[LAYER_NAME];
    layer_of(&vents->vent[i], layer);
    put_layer(file, layer, FIRST_DRILL_COLOUR + size++ % COLOURS);
  }
  fputs("  0\nENDTAB\n  0\nENDSEC\n", file);
}

/* --- what is drawn --- */

static int by_x(const void *a, const void *b) {
  const double *p = a, *q = b;
  if (p[0] != q[0]) return p[0] < q[0] ? -1 : 1;
  return p[1] < q[1] ? -1 : p[1] > q[1];
}

static double turn(const double a[2], const double b[2], const double c[2]) {
  return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
}

/* The hull of a few points (Andrew 1979), counter-clockwise. `hull` has room for twice as many. */
static size_t make_hull(double (*p)[2], size_t n, double (*hull)[2]) {
  qsort(p, n, sizeof *p, by_x);
  size_t count = 0, floor = 2;
  for (size_t step = 0; step < 2 * n - 1; step++) {
    const double *next = p[step < n ? step : 2 * n - 2 - step];
    if (step == n) floor = count + 1;
    while (count >= floor && turn(hull[count - 2], hull[count - 1], next) <= 0) count--;
    hull[count][0] = next[0];
    hull[count++][1] = next[1];
  }
  return count - 1;
}

static void flatten_corners(const drawing *d, double at[CORNERS][2]) {
  for (int i = 0; i < CORNERS; i++) {
    double corner[3];
    for (int c = 0; c < 3; c++) corner[c] = d->layout->box_mm[i >> c & 1][c];
    flatten(d, corner, at[i]);
  }
}

static void put_outline(FILE *file, const drawing *d) {
  double at[CORNERS][2], hull[2 * CORNERS][2];
  flatten_corners(d, at);
  size_t count = make_hull(at, CORNERS, hull);
  for (size_t i = 0; i < count; i++) put_line(file, "OUTLINE", hull[i], hull[(i + 1) % count]);
}

/* Circles that overlap are told apart by where they end in the cavity. */
static bool is_over_another(const drawing *d, const ul_vent *vent) {
  double mine[2], other[2];
  flatten(d, vent->through_mm, mine);
  for (size_t i = 0; i < d->vents->count; i++) {
    const ul_vent *v = &d->vents->vent[i];
    if (v == vent || !v->ok) continue;
    flatten(d, v->through_mm, other);
    if (hypot(mine[0] - other[0], mine[1] - other[1]) < (vent->diameter_mm + v->diameter_mm) / 2)
      return true;
  }
  return false;
}

static void add_words(char words[UL_WORDS], const char *more) {
  strncat(words, more, UL_WORDS - strlen(words) - 1);
}

/* Its size, and how it is made. */
static void size_words(const ul_vent *vent, char words[UL_WORDS]) {
  char size[UL_WORDS], depth[UL_WORDS], along[UL_WORDS];
  const bool groove = vent->kind == UL_VENT_GROOVE;
  int length = groove ? snprintf(words, UL_WORDS, "%u  %s MM WIDE, %s DEEP, %s LONG",
                                 (unsigned)vent->id, ul_words_figure(vent->width_mm, size),
                                 ul_words_figure(vent->depth_mm, depth),
                                 ul_words_figure(vent->length_mm, along))
                      : snprintf(words, UL_WORDS, "%u  %s MM, %s DEEP", (unsigned)vent->id,
                                 ul_words_figure(vent->diameter_mm, size),
                                 ul_words_figure(vent->length_mm, depth));
  if (!groove && vent->relief_mm > vent->diameter_mm)
    snprintf(words + length, UL_WORDS - (size_t)length, ", %s MM FROM OUTSIDE BUT FOR THE LAST %s",
             ul_words_figure(vent->relief_mm, size), ul_words_figure(vent->land_mm, depth));
}

static void hole_words(const drawing *d, const ul_vent *vent, char words[UL_WORDS]) {
  const ul_datum *datum = &d->layout->datum;
  char more[80];
  double axis[3], at[3];
  size_words(vent, words);
  ul_datum_direction(datum, vent->axis, axis);
  if (is_over_another(d, vent)) {
    const int along = viewed_axis(datum, d->eye);
    ul_datum_place(datum, vent->at_mm, at);
    snprintf(more, sizeof more, ", ENDS AT %c %.1f", "XYZ"[along],
             fabs(at[along]) < 0.05 ? 0 : at[along]);
    add_words(words, more);
  }
  if (fabs(ul_dot(vent->axis, d->eye)) <= ALONG) {
    snprintf(more, sizeof more, ", ALONG %.3f %.3f %.3f", axis[0] + 0.0, axis[1] + 0.0,
             axis[2] + 0.0);
    add_words(words, more);
  } else if (ul_dot(vent->axis, d->eye) < 0) {
    add_words(words, ", FROM THE FAR SIDE");
  }
  if (vent->exists) add_words(words, vent->closed ? ", PLUGGED FOR GOOD" : ", IS THERE");
}

static void put_hole(FILE *file, const drawing *d, const ul_vent *vent, const label *l) {
  char layer[LAYER_NAME];
  double mouth[2], out[2], radius = vent->diameter_mm / 2;
  layer_of(vent, layer);
  flatten(d, vent->at_mm, mouth);
  flatten(d, vent->through_mm, out);
  if (fabs(ul_dot(vent->axis, d->eye)) > ALONG) {
    put_entity(file, "CIRCLE", layer);
    put_point(file, 10, out);
    put_number_group(file, 40, radius);
  } else {
    put_line(file, layer, mouth, out);
  }
  put_cross(file, layer, out, 2 * radius);
  put_words(file, layer, l->at, d->text_mm, l->words);
  if (!l->moved) return;
  const double from[2] = {l->at[0] - d->text_mm / 4, l->at[1] + d->text_mm / 2};
  put_line(file, "LEADER", from, out);
}

/* Of the datum's words "0, 0", X, Y and Z the one of that number; false: it is not drawn. */
static bool datum_words(const drawing *d, int number, double at[2], const char **words) {
  static const char *const name[4] = {"0, 0", "X", "Y", "Z"};
  const double t = d->text_mm;
  *words = name[number];
  at[0] = t;
  at[1] = -2 * t;
  if (number == 0) return true;
  const double *axis = d->layout->datum.axis[number - 1];
  at[0] = 7 * t * ul_dot(axis, d->x);
  at[1] = 7 * t * ul_dot(axis, d->y);
  return hypot(at[0], at[1]) >= 0.7 * t;
}

/* A cross at the origin, and the datum's axes from there, but for one that points at the eye. */
static void put_datum(FILE *file, const drawing *d) {
  const double origin[2] = {0, 0};
  put_cross(file, "DATUM", origin, 2 * d->text_mm);
  for (int i = 0; i < 4; i++) {
    const char *words;
    double at[2];
    if (!datum_words(d, i, at, &words)) continue;
    if (i) put_line(file, "DATUM", origin, (double[]){at[0] * 6 / 7, at[1] * 6 / 7});
    put_words(file, "DATUM", at, d->text_mm, words);
  }
}

static void put_side(const drawing *d, char *line, size_t room) {
  static const char *const side[3] = {"+X: Y AND Z", "-Y: X AND Z", "+Z: X AND Y"};
  const ul_datum *datum = &d->layout->datum;
  int along = viewed_axis(datum, d->eye);
  double seen[3];
  ul_datum_direction(datum, d->eye, seen);
  if (fabs(seen[along]) > ALONG)
    snprintf(line, room, "MM. SEEN FROM THE DATUM'S %s ARE THE TABLE'S", side[along]);
  else
    snprintf(line, room, "MM. SEEN WITH %.3f %.3f %.3f TOWARDS THE EYE", seen[0] + 0.0,
             seen[1] + 0.0, seen[2] + 0.0);
}

enum { LEGEND_LINES = 2, LEGEND_WORDS = 2 * UL_WORDS };

static void legend_words(const drawing *d, int number, double at[2], char line[LEGEND_WORDS]) {
  char words[UL_WORDS];
  at[0] = d->low[0];
  at[1] = d->low[1] - (3 + 2 * number) * d->text_mm;
  if (number == 0)
    put_side(d, line, LEGEND_WORDS);
  else
    snprintf(line, LEGEND_WORDS, "MEASURED FROM %s", ul_datum_words(&d->layout->datum, words));
}

static void put_legend(FILE *file, const drawing *d) {
  char line[LEGEND_WORDS];
  double at[2];
  for (int i = 0; i < LEGEND_LINES; i++) {
    legend_words(d, i, at, line);
    put_words(file, "OUTLINE", at, d->text_mm, line);
  }
}

/* --- where words stand --- */

/* As wide as the widest font in use: a letter its height. */
static patch patch_of(const drawing *d, const double at[2], const char *words) {
  const double t = d->text_mm;
  return (patch){{at[0], at[1]}, {at[0] + t * (double)strlen(words), at[1] + t}};
}

/* Nearer than half a letter is too near. */
static bool is_free(const drawing *d, patch p) {
  const double gap = d->text_mm / 2 * (1 - 1e-9);
  for (size_t i = 0; i < d->taken_count; i++) {
    const patch *t = &d->taken[i];
    bool apart = false;
    for (int c = 0; c < 2; c++)
      apart |= p.low[c] - t->high[c] >= gap || t->low[c] - p.high[c] >= gap;
    if (!apart) return false;
  }
  return true;
}

static void take(drawing *d, const double at[2], const char *words) {
  d->taken[d->taken_count++] = patch_of(d, at, words);
}

/* Beside its hole, or as little above or below that as there is room. A line and a half apart, no
 * patch bars more than three of these places, so that one of so many is free. */
static void place_label(drawing *d, const ul_vent *vent, label *l) {
  const int most = 6 * (int)d->taken_count + 1;
  double out[2];
  flatten(d, vent->through_mm, out);
  const double beside = out[1] + d->text_mm / 2;
  l->at[0] = out[0] + vent->diameter_mm + d->text_mm / 2;
  for (int step = 0; step <= most; step++) {
    const int lines = step % 2 ? (step + 1) / 2 : -step / 2;
    l->at[1] = beside + lines * 1.5 * d->text_mm;
    if (is_free(d, patch_of(d, l->at, l->words))) break;
  }
  l->moved = l->at[1] != beside;
  take(d, l->at, l->words);
}

static void place_words(drawing *d) {
  double at[2], corner[CORNERS][2];
  const char *name;
  char line[LEGEND_WORDS];
  d->low[0] = d->low[1] = INFINITY;
  flatten_corners(d, corner);
  for (int i = 0; i < CORNERS; i++)
    for (int c = 0; c < 2; c++) d->low[c] = fmin(d->low[c], corner[i][c]);
  for (int i = 0; i < 4; i++)
    if (datum_words(d, i, at, &name)) take(d, at, name);
  for (int i = 0; i < LEGEND_LINES; i++) {
    legend_words(d, i, at, line);
    take(d, at, line);
  }
  for (size_t i = 0; i < d->vents->count; i++) {
    if (!d->vents->vent[i].ok) continue;
    hole_words(d, &d->vents->vent[i], d->label[i].words);
    place_label(d, &d->vents->vent[i], &d->label[i]);
  }
}

/* --- the file --- */

static bool write_drawing(FILE *file, void *context) {
  const drawing *d = context;
  fputs("999\nvents to drill, millimetres\n  0\nSECTION\n  2\nHEADER\n  9\n$ACADVER\n  1\nAC1009\n"
        "  0\nENDSEC\n",
        file);
  put_tables(file, d);
  fputs("  0\nSECTION\n  2\nENTITIES\n", file);
  put_outline(file, d);
  put_datum(file, d);
  for (size_t i = 0; i < d->vents->count; i++)
    if (d->vents->vent[i].ok) put_hole(file, d, &d->vents->vent[i], &d->label[i]);
  put_legend(file, d);
  fputs("  0\nENDSEC\n  0\nEOF\n", file);
  return true;
}

ul_status ul_write_vents_dxf(const ul_vents *vents, const ul_layout *layout, const char *path,
                             ul_error *err) {
  drawing d = {.vents = vents, .layout = layout};
  if (!count_sizes(vents))
    return ul_fail(err, UL_E_EMPTY, "%.250s: there is no hole to draw", path);
  d.label = ul_new(vents->count, sizeof *d.label);
  d.taken = ul_new(vents->count + 4 + LEGEND_LINES, sizeof *d.taken);
  ul_status status = d.label && d.taken ? UL_OK : ul_fail_memory(err);
  if (status == UL_OK) {
    set_view(&d);
    place_words(&d);
    status = ul_write_whole(path, write_drawing, &d, err);
  }
  free(d.label);
  free(d.taken);
  return status;
}
