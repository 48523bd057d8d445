#include "rise/foam_curve.h"

#include <ctype.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"

static char *skip_mark(char *line) {
  return strncmp(line, "\xef\xbb\xbf", 3) == 0 ? line + 3 : line;
}

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
    if (end == part[i]) return false;
  }
  return true;
}

static bool has_text(const char *line) {
  while (*line && isspace((unsigned char)*line)) line++;
  return *line != 0;
}

static ul_status read_points(FILE *stream, const char *path, ul_foam *f, ul_error *err) {
  char line[256];
  f->curve_count = 0;
  for (int number = 1; fgets(line, sizeof line, stream); number++) {
    double time, value;
    char *text = skip_mark(line);
    if (!has_text(text)) continue;
    if (!read_pair(text, &time, &value)) {
      if (number == 1) continue; /* the heading */
      return ul_fail(err, UL_E_CARD, "%s, line %d: two numbers are wanted, time and height", path,
                     number);
    }
    if (f->curve_count == UL_FOAM_CURVE)
      return ul_fail(err, UL_E_CARD, "%s has more than %d points: leave some out", path,
                     UL_FOAM_CURVE);
    f->curve_s[f->curve_count] = time;
    f->curve_progress[f->curve_count++] = value;
  }
  return UL_OK;
}

static ul_status heights_to_progress(const char *path, ul_foam *f, ul_error *err) {
  size_t top = 0;
  for (size_t i = 1; i < f->curve_count; i++)
    if (f->curve_progress[i] > f->curve_progress[top]) top = i;
  if (top == 0)
    return ul_fail(err, UL_E_CARD, "%s shows no rise: time and height are wanted, rising", path);
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
  ul_status status = read_points(stream, path, f, err);
  fclose(stream);
  return status == UL_OK ? heights_to_progress(path, f, err) : status;
}
