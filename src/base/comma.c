#include "base/comma.h"

#include <stdio.h>
#include <string.h>

static const char digits[] = "0123456789";

static bool is_mark(char c) {
  return c == ',' || c == '.';
}

bool ul_comma_is_doubtful(const char *text, char words[UL_COMMA_WORDS]) {
  for (const char *p = text; *p;) {
    const size_t before = strspn(p, digits);
    const char *after = p + before + 1;
    if (before == 0) {
      p++;
      continue;
    }
    const bool first = p == text || !is_mark(p[-1]);
    if (first && before <= 3 && *p != '0' && p[before] == ',' && strspn(after, digits) == 3 &&
        !is_mark(after[3])) {
      size_t decimals = 3;
      while (decimals && after[decimals - 1] == '0') decimals--;
      snprintf(words, UL_COMMA_WORDS, "%.*s%.3s or %.*s%s%.*s", (int)before, p, after, (int)before,
               p, decimals ? "." : "", (int)decimals, after);
      return true;
    }
    p += before;
  }
  return false;
}
