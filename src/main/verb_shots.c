/* ullage shots - what the first parts say. */
#include <errno.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/fail.h"
#include "main/foam_choice.h"
#include "main/show.h"
#include "main/verbs.h"
#include "report/json.h"
#include "report/json_shop.h"
#include "report/words.h"
#include "ullage/foam_card.h"

/* The card of --foam, else the one that the last shot names, if it is there: a file that is no
 * sound card is refused. */
static ul_status find_foam(const options *opts, const ul_shots *shots, ul_foam *foam, bool *given,
                           ul_error *err) {
  const char *named = shots->shot[shots->count - 1].card;
  *given = true;
  if (opts->foam) return foam_load(opts->foam, foam, err);
  *given = false;
  if (!*named) return UL_OK;
  ul_status status = ul_foam_load(named, foam, NULL);
  *given = status == UL_OK;
  const bool missing = status == UL_E_READ && !foam_is_locked(named);
  return status == UL_OK || missing ? UL_OK : foam_load(named, foam, err);
}

static ul_status read_shots(const char *path, ul_shots **shots, ul_error *err) {
  struct stat is;
  FILE *stream = fopen(path, "rb");
  if (!stream)
    return ul_fail(
        err, UL_E_READ,
        "cannot be opened: %s: name the table of shots, a CSV file, and check your rights "
        "to it",
        strerror(errno));
  if (fstat(fileno(stream), &is) == 0 && S_ISDIR(is.st_mode)) {
    fclose(stream);
    return ul_fail(err, UL_E_READ, "is a directory: name the table of shots in it, a CSV file");
  }
  ul_status status = ul_shots_read(stream, shots, err);
  fclose(stream);
  return status;
}

static const char *give_or_take(const ul_mean *m, char out[UL_WORDS]) {
  char value[UL_WORDS], off[UL_WORDS];
  snprintf(out, UL_WORDS, "%.40s, give or take %.40s", ul_words_figure(m->value, value),
           ul_words_figure(m->off, off));
  return out;
}

static void show_causes(const ul_shots *shots, const ul_shots_said *s) {
  if (s->faulty == SIZE_MAX) {
    show_line("faults", "none noted");
    return;
  }
  const ul_shot *shot = &shots->shot[s->faulty];
  show_line("fault", "line %zu: %s%s%s", shot->line, ul_symptom_word(shot->symptom),
            *shot->fault_at ? " at " : "", shot->fault_at);
  for (size_t i = 0; i < s->cause_count; i++) {
    char label[32];
    snprintf(label, sizeof label, "cause %zu", i + 1);
    show_line(label, "%s%s: %s", s->cause[i].cause,
              s->cause[i].shown ? " (the numbers show it)" : "", s->cause[i].remedy);
  }
  show_line("try first", "%s", s->cause[s->first].remedy);
}

static void show_remarks(const ul_shots *shots, const ul_shots_opts *o, const ul_shots_said *s) {
  char remark[UL_SHOTS_REMARKS][UL_SHOTS_REMARK];
  size_t count = ul_shots_remarks(shots, o, s, remark);
  for (size_t i = 0; i < count; i++) show_line(i ? "" : "care", "%s", remark[i]);
}

/* A figure that nobody gave is the program's word for common practice. */
static const char *aim_words(const ul_shots_said *s) {
  switch (s->aim) {
  case UL_AIM_GIVEN:
    return ", as asked for";
  case UL_AIM_CARD:
    return ", the middle of the card's";
  case UL_AIM_TRADE:
    return ", the middle of what is common practice, as no card says another";
  default:
    return "";
  }
}

static void show(const ul_shots *shots, const ul_shots_opts *o, const ul_shots_said *s) {
  char words[UL_WORDS], more[UL_WORDS];
  show_line("shots", "%zu", shots->count);
  if (isnan(s->free_kg_m3.value))
    show_line("free rise", "not known: note cup_g and cup_ml, or give --foam CARD");
  else
    show_line("free rise", "%s kg/m3, from %s", give_or_take(&s->free_kg_m3, words),
              s->from_cups ? "the cups" : "the card");
  if (s->pack.count) show_line("pack", "%s reached", give_or_take(&s->pack, words));
  if (s->lost_g.count)
    show_line("lost", "%s g a shot: cup, bleed and flash", give_or_take(&s->lost_g, words));
  if (!isnan(s->next_charge_g))
    show_line("next", "charge %s g, give or take %s, for pack %.3g%s",
              ul_words_figure(s->next_charge_g, words), ul_words_figure(s->next_off_g, more),
              s->target_pack, aim_words(s));
  else if (!(o->litres > 0))
    show_line("next", "no charge without --litres L, the cavity's volume by ullage check");
  else if (s->lost_g.count == 0)
    show_line("next", "no charge: what is lost on the way is not known");
  show_causes(shots, s);
  show_remarks(shots, o, s);
  show_line("", "Follow the data sheet and local rules; change one thing at a time.");
}

static ul_status shots(const options *opts, ul_shots **read, bool *good, ul_error *err) {
  ul_status status = read_shots(opts->cavity_file, read, err);
  if (status != UL_OK) return status;
  ul_foam foam;
  bool given;
  status = find_foam(opts, *read, &foam, &given, err);
  if (status != UL_OK) return status;
  ul_shots_opts judge = ul_shots_opts_default();
  judge.litres = opts->litres;
  judge.pack = opts->pack;
  judge.want_kg_m3 = opts->want_density_kg_m3;
  judge.card = opts->foam;
  if (given) judge.foam = &foam;
  ul_shots_said said;
  status = ul_shots_judge(*read, &judge, &said, err);
  if (status != UL_OK) return status;
  *good = said.good;
  if (opts->json) return show_json(ul_json_shots(*read, &judge, &said), err);
  show(*read, &judge, &said);
  return UL_OK;
}

int verb_shots(const options *opts) {
  ul_shots *read = NULL;
  ul_error err = {0};
  bool good = false;
  ul_status status = shots(opts, &read, &good, &err);
  ul_shots_free(read);
  if (status != UL_OK) return verb_failed(opts, &err);
  return good ? 0 : 1;
}
