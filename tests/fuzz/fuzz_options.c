/* Command lines: words parted by line ends, the first one's first letter picks the verb. */
#include "fuzz/fuzz.h"

#include "main/options.h"

#include <math.h>
#include <string.h>

enum { WORDS = 64 };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  static const int verbs[] = {VERB_CHECK,  VERB_PEAKS, VERB_TILTS, VERB_RISE,   VERB_PLAN,
                              VERB_CHARGE, VERB_SHOTS, VERB_FOAMS, VERB_MARKERS};
  if (size < 1) return 0;
  int verb = verbs[data[0] % (sizeof verbs / sizeof *verbs)], count = 0;
  char *text = malloc(size), *word[WORDS];
  if (!text) abort();
  memcpy(text, data + 1, size - 1);
  text[size - 1] = 0;
  for (char *at = text; at && count < WORDS;) {
    word[count++] = at;
    at = strchr(at, '\n');
    if (at) *at++ = 0;
  }
  options o;
  ul_error err = {0};
  ul_status status = options_parse(verb, count, word, &o, &err);
  must(status == UL_OK || (memchr(err.text, 0, sizeof err.text) && err.text[0]));
  if (status == UL_OK)
    for (int c = 0; c < 3; c++) must(isfinite(o.up[c]));
  free(text);
  return 0;
}
