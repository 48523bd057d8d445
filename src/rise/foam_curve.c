#include "rise/foam_curve.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"

static char *skip_mark(char *line) {
  return strncmp(line, "\xef\xbb\xbf", 3) == 0 ? line + 3 : line;
}

typedef struct {
  const char *path;
  ul_foam *foam;           /* its curve: as measured, until all of it is read */
  int line[UL_FOAM_CURVE]; /* of the file, per point */
  ul_error *err;
} curve;

/* Two numbers of a line; false for a heading or an empty line. */
static bool read_pair(char *line, double *time, double *value) {
  char *split = strpbrk(line, ";\t");
  bool comma_is_decimal = split != NULL;
  if (!split) split = strchr(line, ',');
  if (!split) return false;
  *split = 0;
  char *part[2] = {line, split + 1};
  double *out[2] = {time, value};
  for (int i = 0; i < 2; i++) {
    char *comma = comma_is_decimal ? strchr(part[i], ',') : NULL;
    if (comma) *comma = '.';
    char *end;
    *out[i] = strtod(part[i], &end);
    if (end == part[i] || !isfinite(*out[i])) return false;
  }
  return true;
}

static bool has_text(const char *line) {
  while (*line && isspace((unsigned char)*line)) line++;
  return *line != 0;
}

static bool begins_with_number(const char *text) {
  char *end;
  strtod(text, &end);
  return end != text;
}

static ul_status add_point(curve *c, int line, double time, double value) {
  ul_foam *f = c->foam;
  size_t i = f->curve_count;
  if (i == UL_FOAM_CURVE)
    return ul_fail(c->err, UL_E_CARD, "%s has more than %d points: leave some out", c->path,
                   UL_FOAM_CURVE);
  if (time < 0 || (i > 0 && time <= f->curve_s[i - 1]))
    return ul_fail(
        c->err, UL_E_CARD,
        "rise curve, point %zu (%g s, %g), line %d of %s: times run on from the start of "
        "mixing, 0 s: put the points in order",
        i + 1, time, value, line, c->path);
  c->line[i] = line;
  f->curve_s[i] = time;
  f->curve_progress[i] = value;
  f->curve_count++;
  return UL_OK;
}

static ul_status read_points(FILE *stream, curve *c) {
  char line[256];
  ul_status status = UL_OK;
  c->foam->curve_count = 0;
  for (int number = 1; status == UL_OK && fgets(line, sizeof line, stream); number++) {
    double time, value;
    char *text = skip_mark(line);
    if (!has_text(text)) continue;
    if (read_pair(text, &time, &value))
      status = add_point(c, number, time, value);
    else if (number > 1 || begins_with_number(text)) /* else the heading */
      status = ul_fail(c->err, UL_E_CARD, "%s, line %d: two numbers are wanted, time and height",
                       c->path, number);
  }
  return status;
}

/* Foam that has risen may settle by this share of its rise: the program's own choice. */
static const double may_settle = 0.02;

static ul_status check_rising(const curve *c, size_t top) {
  const ul_foam *f = c->foam;
  double rise = f->curve_progress[top] - f->curve_progress[0];
  for (size_t i = 1; i < f->curve_count; i++) {
    double before = i > top ? f->curve_progress[top] : f->curve_progress[i - 1];
    double may = i > top ? may_settle * rise : 0;
    if (f->curve_progress[i] >= before - may) continue;
    return ul_fail(c->err, UL_E_CARD,
                   "rise curve, point %zu (%g s, %g), line %d of %s: it falls from %g; %s", i + 1,
                   f->curve_s[i], f->curve_progress[i], c->line[i], c->path, before,
                   i > top ? "end it at its highest point" : "leave that point out");
  }
  return UL_OK;
}

static ul_status heights_to_progress(curve *c) {
  ul_foam *f = c->foam;
  size_t top = 0;
  for (size_t i = 1; i < f->curve_count; i++)
    if (f->curve_progress[i] > f->curve_progress[top]) top = i;
  if (top == 0)
    return ul_fail(c->err, UL_E_CARD, "%s shows no rise: time and height are wanted, rising",
                   c->path);
  ul_status status = check_rising(c, top);
  if (status != UL_OK) return status;
  double low = f->curve_progress[0], rise = f->curve_progress[top] - low;
  f->curve_count = top + 1;
  for (size_t i = 0; i <= top; i++) f->curve_progress[i] = (f->curve_progress[i] - low) / rise;
  return UL_OK;
}

ul_status ul_foam_curve_load(const char *folder, const char *file, ul_foam *f, ul_error *err) {
  char path[4400];
  bool whole = *file == '/' || !folder;
  if (snprintf(path, sizeof path, "%s%s", whole ? "" : folder, file) >= (int)sizeof path)
    return ul_fail(err, UL_E_CARD, "the rise curve's path is too long");
  FILE *stream = fopen(path, "r");
  if (!stream) return ul_fail(err, UL_E_CARD, "rise curve %s: %s", path, strerror(errno));
  curve c = {.path = path, .foam = f, .err = err};
  ul_status status = read_points(stream, &c);
  fclose(stream);
  return status == UL_OK ? heights_to_progress(&c) : status;
}
