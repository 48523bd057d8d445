#include "base/printable.h"

#include <stdbool.h>
#include <stdint.h>

/* RFC 3629; overlong forms and surrogates, too, would print as something else than they compare
 * to. */
size_t ul_printable_length(const char *text) {
  static const uint32_t least[5] = {0, 0, 0x80, 0x800, 0x10000};
  const unsigned char *s = (const unsigned char *)text;
  if (*s < 0x80) return *s >= 32 && *s != 127;
  size_t n = *s >> 5 == 6 ? 2 : *s >> 4 == 14 ? 3 : *s >> 3 == 30 ? 4 : 0;
  if (!n) return 0;
  uint32_t code = *s & (0x7fu >> n);
  for (size_t i = 1; i < n; i++) {
    if (s[i] >> 6 != 2) return 0;
    code = code << 6 | (s[i] & 0x3f);
  }
  bool valid = code >= least[n] && code <= 0x10ffff && !(code >= 0xd800 && code < 0xe000);
  return valid && code >= 0xa0 ? n : 0;
}

void ul_make_printable(char *text) {
  while (*text) {
    size_t n = ul_printable_length(text);
    if (!n) *text = '?';
    text += n ? n : 1;
  }
}
