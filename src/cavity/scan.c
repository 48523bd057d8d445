#define _GNU_SOURCE /* strtod_l() */
#include "cavity/scan.h"

#include <locale.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { LONGEST_NUMBER = 400 }; /* printf("%f", DBL_MAX) takes 317 */

static bool is_space(char c) {
  return c == ' ' || (c >= '\t' && c <= '\r');
}

void ul_scan_space(ul_scan *s) {
  while (s->at < s->end && is_space(*s->at)) s->at++;
}

const char *ul_scan_word(ul_scan *s, size_t *length) {
  ul_scan_space(s);
  const char *word = s->at;
  while (s->at < s->end && !is_space(*s->at)) s->at++;
  *length = (size_t)(s->at - word);
  return word;
}

bool ul_scan_expect(ul_scan *s, const char *word) {
  ul_scan ahead = *s;
  size_t length;
  const char *found = ul_scan_word(&ahead, &length);
  if (length != strlen(word) || strncasecmp(found, word, length) != 0) return false;
  *s = ahead;
  return true;
}

/* strtod() would read 1,5 or 1.5 as the user's locale has it. */
static bool number_the_long_way(const char *word, size_t length, double *number) {
  static locale_t plain;
  char text[LONGEST_NUMBER], *end;
  if (!plain) plain = newlocale(LC_ALL_MASK, "C", 0);
  if (!plain || length == 0 || length >= sizeof text || memchr(word, 'x', length)) return false;
  memcpy(text, word, length);
  text[length] = 0;
  *number = strtod_l(text, &end, plain);
  return end == text + length;
}

/* Up to 19 digits and a power of ten up to 22: both exact as doubles if the digits stay below 2^53,
 * so that one multiplication or division rounds correctly (W. D. Clinger, 1990). */
static bool number_the_short_way(const char *at, const char *end, double *number) {
  static const double power[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                 1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
  bool minus = *at == '-', minus_ten = false;
  uint64_t digits = 0;
  int count = 0, after_point = 0, ten = 0;
  if (*at == '-' || *at == '+') at++;
  for (; at < end && *at >= '0' && *at <= '9'; at++, count++)
    digits = digits * 10 + (uint64_t)(*at - '0');
  if (at < end && *at == '.')
    for (at++; at < end && *at >= '0' && *at <= '9'; at++, count++, after_point++)
      digits = digits * 10 + (uint64_t)(*at - '0');
  if (count == 0 || count > 19 || digits >> 53) return false;
  if (at < end && (*at | 32) == 'e' && end - at <= 5) {
    if (++at < end && (*at == '-' || *at == '+')) minus_ten = *at++ == '-';
    if (at == end) return false;
    for (; at < end && *at >= '0' && *at <= '9'; at++) ten = ten * 10 + (*at - '0');
  }
  ten = (minus_ten ? -ten : ten) - after_point;
  if (at != end || ten < -22 || ten > 22) return false;
  double size = ten < 0 ? (double)digits / power[-ten] : (double)digits * power[ten];
  *number = minus ? -size : size;
  return true;
}

bool ul_scan_number(ul_scan *s, double *number) {
  ul_scan ahead = *s;
  size_t length;
  const char *word = ul_scan_word(&ahead, &length);
  if (length == 0 || (!number_the_short_way(word, word + length, number) &&
                      !number_the_long_way(word, length, number)))
    return false;
  *s = ahead;
  return true;
}

const char *ul_scan_line(ul_scan *s, size_t *length) {
  while (s->at < s->end && is_space(*s->at) && *s->at != '\n') s->at++;
  const char *line = s->at;
  while (s->at < s->end && *s->at != '\n') s->at++;
  const char *stop = s->at;
  while (stop > line && is_space(stop[-1])) stop--;
  *length = (size_t)(stop - line);
  return line;
}
