#include "cavity/asset_dae.h"

#include "base/fail.h"
#include "cavity/scan.h"

#include <expat.h>
#include <string.h>

typedef struct {
  XML_Parser parser;
  double metres;
  char up;
  bool in_up_axis, done;
} asset;

static void on_start(void *user, const char *element, const char **attributes) {
  asset *a = user;
  a->in_up_axis = strcmp(element, "up_axis") == 0;
  if (strcmp(element, "unit") != 0) return;
  for (; *attributes; attributes += 2) {
    ul_scan s = {attributes[1], attributes[1] + strlen(attributes[1])};
    if (strcmp(attributes[0], "meter") == 0 && !ul_scan_number(&s, &a->metres)) a->metres = -1;
  }
}

static void on_text(void *user, const char *text, int length) {
  asset *a = user;
  for (int i = 0; i < length && a->in_up_axis; i++) {
    if (text[i] < 'X' || text[i] > 'Z') continue;
    a->up = (char)(text[i] - 'X' + 'x');
    a->in_up_axis = false;
  }
}

/* <asset> comes first in the file by the schema, so the rest need not be read twice. */
static void on_end(void *user, const char *element) {
  asset *a = user;
  a->in_up_axis = false;
  if (strcmp(element, "asset") != 0) return;
  a->done = true;
  XML_StopParser(a->parser, XML_FALSE);
}

ul_status ul_read_dae_asset(ul_draft *d) {
  asset a = {.parser = XML_ParserCreate(NULL), .metres = 1, .up = 'y'};
  if (!a.parser) return ul_draft_no_memory(d);
  XML_SetUserData(a.parser, &a);
  XML_SetElementHandler(a.parser, on_start, on_end);
  XML_SetCharacterDataHandler(a.parser, on_text);
  enum XML_Status ended = XML_STATUS_OK;
  for (size_t at = 0; at < d->size && ended == XML_STATUS_OK; at += 1 << 20) {
    size_t piece = d->size - at < 1 << 20 ? d->size - at : 1 << 20;
    ended = XML_Parse(a.parser, (const char *)d->bytes + at, (int)piece, at + piece == d->size);
  }
  if (ended != XML_STATUS_OK && !a.done)
    ul_fail(&d->err, UL_E_FORMAT, "line %lu: %s: export it again",
            (unsigned long)XML_GetCurrentLineNumber(a.parser),
            XML_ErrorString(XML_GetErrorCode(a.parser)));
  else if (!(a.metres > 0 && a.metres < 1e6))
    ul_fail(&d->err, UL_E_FORMAT, "its unit is %g metres, which is not possible: export it again",
            a.metres);
  XML_ParserFree(a.parser);
  d->mm_per_unit = 1000 * a.metres;
  d->up = a.up;
  return d->err.code;
}
