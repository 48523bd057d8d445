#include "main/values.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "ullage/attitude.h"

/* One number at *text, which moves past it. The program never leaves the C locale, so the decimal
 * mark is a point everywhere. */
static bool take_number(const char **text, double *out) {
  char *end;
  errno = 0;
  *out = strtod(*text, &end);
  /* strtod takes blanks before a number, inf, and hexadecimal digits: none is what a user means. */
  if (end == *text || !isfinite(*out) || isspace((unsigned char)**text)) return false;
  if (memchr(*text, 'x', (size_t)(end - *text)) || memchr(*text, 'X', (size_t)(end - *text)))
    return false;
  *text = end;
  return true;
}

ul_status value_number(const char *option, const char *text, double least, double most, double *out,
                       ul_error *err) {
  const char *rest = text;
  double number;
  if (!take_number(&rest, &number) || *rest)
    return ul_fail(err, UL_E_USAGE, "%s %s is not a number", option, text);
  if (number < least || number > most)
    return ul_fail(err, UL_E_USAGE, "%s %s is out of range: give %g to %g", option, text, least,
                   most);
  *out = number;
  return UL_OK;
}

ul_status value_count(const char *option, const char *text, long least, long most, long *out,
                      ul_error *err) {
  double number;
  ul_status status = value_number(option, text, (double)least, (double)most, &number, err);
  if (status != UL_OK) return status;
  if (number != floor(number))
    return ul_fail(err, UL_E_USAGE, "%s %s is not a whole number", option, text);
  *out = (long)number;
  return UL_OK;
}

ul_status value_number_list(const char *option, const char *text, size_t least, size_t most,
                            double *out, size_t *count, ul_error *err) {
  const char *rest = text;
  size_t n = 0;
  bool sound = true;
  while (sound && n < most) {
    sound = take_number(&rest, &out[n]);
    if (sound) n++;
    if (!sound || *rest != ',') break;
    rest++;
    sound = n < most;
  }
  if (!sound || *rest || n < least)
    return ul_fail(err, UL_E_USAGE,
                   least == most ? "%s %s is not %zu numbers: write them with commas, no spaces"
                                 : "%s %s is not %zu numbers or more: write them with commas",
                   option, text, least);
  *count = n;
  return UL_OK;
}

ul_status value_numbers(const char *option, const char *text, size_t n, double *out,
                        ul_error *err) {
  size_t count;
  return value_number_list(option, text, n, n, out, &count, err);
}

ul_status value_within_mm(const char *option, const char *text, const double *number, size_t n,
                          ul_error *err) {
  for (size_t i = 0; i < n; i++)
    if (fabs(number[i]) > VALUE_MOST_MM)
      return ul_fail(err, UL_E_USAGE, "%s %s: %g mm is out of range: give -%.0f to %.0f mm", option,
                     text, number[i], VALUE_MOST_MM, VALUE_MOST_MM);
  return UL_OK;
}

ul_status value_place(const char *option, const char *text, size_t n, double *out, ul_error *err) {
  ul_status status = value_numbers(option, text, n, out, err);
  return status == UL_OK ? value_within_mm(option, text, out, n, err) : status;
}

ul_status value_plane(const char *option, const char *text, double at_mm[3], double normal[3],
                      ul_error *err) {
  double number[6] = {0}; /* the point, then the normal */
  const char *rest = text;
  bool sound = true;
  if (text[0] >= 'x' && text[0] <= 'z' && text[1] == '=') {
    rest = text + 2;
    sound = take_number(&rest, &number[text[0] - 'x']);
    number[3 + text[0] - 'x'] = 1;
  } else {
    for (int i = 0; sound && i < 6; i++)
      sound = take_number(&rest, &number[i]) && (i == 5 || *rest++ == (i == 2 ? ';' : ','));
  }
  if (!sound || *rest)
    return ul_fail(err, UL_E_USAGE,
                   "%s \"%s\" is not a plane: write z=12 or x,y,z;nx,ny,nz, a point and a normal",
                   option, text);
  ul_status status = value_within_mm(option, text, number, 3, err);
  if (status != UL_OK) return status;
  for (int c = 0; c < 3; c++) at_mm[c] = number[c];
  if (ul_up_normalise(number + 3, normal, NULL) == UL_OK) return UL_OK;
  return ul_fail(err, UL_E_USAGE, "%s \"%s\" has a normal without length: give one such as 0,0,1",
                 option, text);
}

int value_side(const char *text) {
  if ((text[0] != '+' && text[0] != '-') || text[1] < 'x' || text[1] > 'z') return -1;
  return (text[1] - 'x') * 2 + (text[0] == '+');
}

int value_named_side(const char *text, size_t length, const char *const side_name[6]) {
  if (length == 2) {
    int side = value_side(text);
    if (side >= 0) return side;
  }
  for (int i = 0; i < 6; i++)
    if (side_name[i] && strlen(side_name[i]) == length && memcmp(side_name[i], text, length) == 0)
      return i;
  return -1;
}

ul_status value_raise(const char *option, const char *text, const char *const side_name[6],
                      double up[3], ul_error *err) {
  double raise[2] = {0};
  bool given[2] = {false, false};
  const char *rest = text;
  for (;;) {
    const char *equals = strchr(rest, '=');
    int side = equals ? value_named_side(rest, (size_t)(equals - rest), side_name) : -1;
    double deg = 0;
    if (equals) rest = equals + 1;
    if (side < 0 || side > 3 || !take_number(&rest, &deg) || (*rest && *rest != ','))
      return ul_fail(err, UL_E_USAGE,
                     "%s \"%s\" is not sides and degrees: write +x=15 or +x=15,-y=5", option, text);
    if (fabs(deg) > 90)
      return ul_fail(err, UL_E_USAGE, "%s \"%s\": %g degrees is past on edge: give -90 to 90",
                     option, text, deg);
    if (given[side / 2])
      return ul_fail(err, UL_E_USAGE, "%s \"%s\" says twice what a level reads along %c: give one",
                     option, text, "xy"[side / 2]);
    given[side / 2] = true;
    raise[side / 2] = side & 1 ? deg : -deg;
    if (!*rest) break;
    rest++;
  }
  return ul_up_from_raise(raise[0], raise[1], up, err);
}

/* A side or its name, or three numbers: all of `text`. */
static bool read_direction(const char *text, const char *const side_name[6], double out[3]) {
  int side = value_named_side(text, strlen(text), side_name);
  for (int c = 0; c < 3; c++) out[c] = side < 0 || c != side / 2 ? 0 : side & 1 ? 1 : -1;
  return side >= 0 || value_numbers("", text, 3, out, NULL) == UL_OK;
}

ul_status value_two_directions(const char *option, const char *text, const char *const side_name[6],
                               double first[3], double second[3], ul_error *err) {
  char one[128];
  const char *end = strchr(text, ';');
  if (end && (size_t)(end - text) < sizeof one) {
    snprintf(one, sizeof one, "%.*s", (int)(end - text), text);
    if (read_direction(one, side_name, first) && read_direction(end + 1, side_name, second))
      return UL_OK;
  }
  return ul_fail(err, UL_E_USAGE, "%s \"%s\" is not two directions: write +y;-x or 0,1,0;-1,0,0",
                 option, text);
}
