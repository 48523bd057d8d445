#include "report/text.h"

#include <stdbool.h>
#include <string.h>

enum { REPLACEMENT = 0xFFFD };

static bool unfit(uint32_t c) {
  return c < 0x20 || (c >= 0x7F && c < 0xA0) || (c >= 0xD800 && c < 0xE000) ||
         (c >= 0x2028 && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069) || c > 0x10FFFF ||
         (c & 0xFFFE) == 0xFFFE;
}

/* Continuation bytes and least value of a sequence, by its first byte (RFC 3629). */
uint32_t ul_next_character(const char **text) {
  static const uint32_t least[4] = {0, 0x80, 0x800, 0x10000};
  const unsigned char *at = (const unsigned char *)*text;
  if (!*at) return 0;
  int more = *at < 0x80 ? 0 : (*at & 0xE0) == 0xC0 ? 1 : (*at & 0xF0) == 0xE0 ? 2 : 3;
  ++*text;
  if (*at >= 0xF8 || (*at & 0xC0) == 0x80) return REPLACEMENT;
  uint32_t c = more ? *at & (0x3Fu >> more) : *at;
  for (int i = 1; i <= more; i++) {
    if ((at[i] & 0xC0) != 0x80) return REPLACEMENT;
    c = c << 6 | (at[i] & 0x3F);
  }
  *text += more;
  return c < least[more] || unfit(c) ? REPLACEMENT : c;
}

static size_t encode(uint32_t c, char out[4]) {
  if (c < 0x80) {
    out[0] = (char)c;
    return 1;
  }
  size_t more = c < 0x800 ? 1 : c < 0x10000 ? 2 : 3;
  static const unsigned char mark[4] = {0, 0xC0, 0xE0, 0xF0};
  out[0] = (char)(mark[more] | c >> 6 * more);
  for (size_t i = 1; i <= more; i++) out[i] = (char)(0x80 | (c >> 6 * (more - i) & 0x3F));
  return more + 1;
}

void ul_put_character(FILE *file, uint32_t character) {
  char bytes[4];
  fwrite(bytes, 1, encode(character, bytes), file);
}

const char *ul_clean_text(const char *text, char *out, size_t room) {
  size_t used = 0;
  for (uint32_t c; (c = ul_next_character(&text));) {
    char bytes[4];
    size_t length = encode(c, bytes);
    if (used + length >= room) break;
    memcpy(out + used, bytes, length);
    used += length;
  }
  out[used] = 0;
  return out;
}

void ul_put_xml(FILE *file, const char *text) {
  for (uint32_t c; (c = ul_next_character(&text));) {
    if (c < 0x80 && strchr("&<>\"'", (int)c))
      fprintf(file, "&#%d;", (int)c);
    else
      ul_put_character(file, c);
  }
}
