/* page_text.c - text of any bytes as a browser may be handed it. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "report/page_parts.h"

/* Bytes of the UTF-8 character that begins here; 0 where none does (RFC 3629: no surrogates, no
 * overlong forms, nothing above U+10FFFF). */
static int character(const unsigned char *c) {
  if (c[0] < 0x80) return 1;
  int more = c[0] >= 0xC2 && c[0] < 0xE0   ? 1
             : (c[0] & 0xF0) == 0xE0       ? 2
             : c[0] >= 0xF0 && c[0] < 0xF5 ? 3
                                           : 0;
  for (int i = 1; i <= more; i++)
    if ((c[i] & 0xC0) != 0x80) return 0;
  if ((c[0] == 0xE0 && c[1] < 0xA0) || (c[0] == 0xED && c[1] > 0x9F)) return 0;
  if ((c[0] == 0xF0 && c[1] < 0x90) || (c[0] == 0xF4 && c[1] > 0x8F)) return 0;
  return more ? more + 1 : 0;
}

static void put_character(FILE *file, const char *c, int bytes) {
  static const char *const escaped[128] = {
      ['&'] = "&amp;", ['<'] = "&lt;", ['>'] = "&gt;", ['"'] = "&quot;", ['\''] = "&#39;"};
  unsigned char first = (unsigned char)*c;
  if (bytes == 1 && escaped[first])
    fputs(escaped[first], file);
  else if (!bytes || first < ' ' || first == 0x7F)
    fputs("\xEF\xBF\xBD", file); /* control characters are no HTML */
  else
    fwrite(c, 1, (size_t)bytes, file);
}

/* "-z" as people set it, with a minus sign, after which no line is broken. */
static bool is_axis(const char *text, char before) {
  return text[0] == '-' && before == ' ' && text[1] >= 'x' && text[1] <= 'z' && text[2] == ' ';
}

static void put_piece(FILE *file, const char *text, size_t length) {
  const char *end = text + length;
  char before = ' ';
  while (text < end) {
    int bytes = character((const unsigned char *)text);
    if (is_axis(text, before))
      fputs("\xE2\x88\x92", file);
    else
      put_character(file, text, bytes);
    before = *text;
    text += bytes ? bytes : 1;
  }
}

void ul_page_text(FILE *file, const char *text) {
  put_piece(file, text, strlen(text));
}

/* An option of the program stays in one piece: "--cube 6.5" is not broken after its dashes. */
void ul_page_sentence(FILE *file, const char *text) {
  for (const char *option; (option = strstr(text, "--"));) {
    size_t length = strcspn(option, " :;,)");
    if (option[length] == ' ') length += 1 + strcspn(option + length + 1, " :;,)");
    put_piece(file, text, (size_t)(option - text));
    fputs("<span class=\"option\">", file);
    put_piece(file, option, length);
    fputs("</span>", file);
    text = option + length;
  }
  ul_page_text(file, text);
}

char *ul_page_utf8(const char *text) {
  char *out = ul_new(3 * strlen(text) + 1, 1), *to = out;
  if (!out) return NULL;
  while (*text) {
    int bytes = character((const unsigned char *)text);
    memcpy(to, bytes ? text : "\xEF\xBF\xBD", bytes ? (size_t)bytes : 3);
    to += bytes ? bytes : 3;
    text += bytes ? bytes : 1;
  }
  return out;
}
