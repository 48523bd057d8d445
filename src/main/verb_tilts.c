/* ullage tilts - search and compare attitudes. */
#include <stdio.h>

#include "main/cavity_case.h"
#include "main/show.h"
#include "main/verbs.h"
#include "report/json.h"
#include "report/words.h"

static void show(const cavity_case *c, const ul_tilts *found) {
  char label[32], words[UL_WORDS], trapped[UL_WORDS], off[UL_WORDS];
  for (size_t i = 0; i < found->count; i++) {
    const ul_tilt *t = &found->tilt[i];
    snprintf(label, sizeof label, "tilt %zu", i + 1);
    show_line(label, "%s", ul_words_tilt(t->up, c->opts->side_name, words));
    show_line("", "%zu peak%s; vented at the highest only, %s stays (%s if 2 degrees off)",
              t->peaks, t->peaks == 1 ? "" : "s", ul_words_volume(t->trapped_mm3, trapped),
              ul_words_volume(t->trapped_2deg_mm3, off));
    show_line("", "%s", t->why);
  }
  show_line("tried", "%zu attitudes", found->tried);
}

static ul_status tilts(cavity_case *c, const options *opts, ul_error *err) {
  ul_status status = case_open(c, opts, err);
  if (status == UL_OK) status = ul_audit_verdict(c->audit, err);
  if (status == UL_OK) status = case_resolve(c, err);
  if (status != UL_OK) return status;
  ul_tilts_opts search = case_tilts_opts(opts);
  ul_tilts *found;
  status = ul_tilts_search(c->solid, c->heights, &search, &c->job, &found, err);
  progress_end(&c->bar);
  if (status != UL_OK) return status;
  if (opts->json)
    status = show_json(ul_json_tilts(found), err);
  else
    show(c, found);
  ul_tilts_free(found);
  return status;
}

int verb_tilts(const options *opts) {
  cavity_case c;
  ul_error err = {0};
  ul_status status = tilts(&c, opts, &err);
  case_close(&c);
  return status == UL_OK ? 0 : verb_failed(opts, &err);
}
