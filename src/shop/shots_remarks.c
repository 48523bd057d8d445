/* shots_remarks.c - what should be told with what the shots say. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>

#include "ullage/shots.h"

typedef struct {
  const ul_shots *shots;
  const ul_shots_opts *opts;
  const ul_shots_said *said;
} told;

/* Three figures, never an exponent. */
enum { FIGURE = 32 };
static const char *figure(double value, char out[FIGURE]) {
  double step = value >= 1000 ? pow(10, floor(log10(value)) - 2) : 1;
  if (value >= 1000)
    snprintf(out, FIGURE, "%.0f", round(value / step) * step);
  else
    snprintf(out, FIGURE, "%.3g", value);
  return out;
}

/* Each writes its sentence and returns true when there is one. */
typedef bool (*remark_fn)(const told *t, char text[UL_SHOTS_REMARK]);

/* The charge is no cause, or nobody can tell. */
static bool say_charge(const told *t, char *text) {
  const ul_shots_said *s = t->said;
  char had[FIGURE], next[FIGURE];
  if (!s->charge_wants || !isnan(s->held_back_g)) return false;
  const ul_shot *shot = &t->shots->shot[s->faulty];
  if (!(t->opts->litres > 0))
    snprintf(text, UL_SHOTS_REMARK, "Whether it is the charge cannot be told without --litres L.");
  else if (isnan(s->next_charge_g))
    snprintf(text, UL_SHOTS_REMARK,
             "Whether it is the charge cannot be told: note cup_g and cup_ml, or give --foam "
             "CARD.");
  else
    snprintf(
        text, UL_SHOTS_REMARK,
        "It is not the charge: line %zu had %s g (pack %.3g reached), and the next, %s g, is no "
        "%s.",
        shot->line, figure(shot->charge_g, had), ul_shot_pack(shot, s, t->opts),
        figure(s->next_charge_g, next), s->charge_wants < 0 ? "less" : "more");
  return true;
}

static bool bursts(const told *t) {
  if (t->said->faulty == SIZE_MAX) return false;
  ul_symptom symptom = t->shots->shot[t->said->faulty].symptom;
  return symptom == UL_SYMPTOM_SPLIT || symptom == UL_SYMPTOM_LEAK;
}

static bool say_held_back(const told *t, char *text) {
  char usual[FIGURE], most[FIGURE];
  if (isnan(t->said->held_back_g)) return false;
  snprintf(text, UL_SHOTS_REMARK,
           "It is not the charge: the usual pack would take %s g. After a %s no more than %s g is "
           "advised until its cause is found.",
           figure(t->said->held_back_g, usual),
           t->shots->shot[t->said->faulty].symptom == UL_SYMPTOM_SPLIT ? "split" : "leak",
           figure(t->said->next_charge_g, most));
  return true;
}

/* Asked for all the same. */
static bool say_more_than_burst(const told *t, char *text) {
  char had[FIGURE];
  if (!bursts(t) || !(t->opts->pack > 0)) return false;
  const ul_shot *shot = &t->shots->shot[t->said->faulty];
  if (!(t->said->next_charge_g > shot->charge_g)) return false;
  snprintf(text, UL_SHOTS_REMARK,
           "Careful: the pack asked for wants more than the %s g of line %zu (%s); find that "
           "cause first.",
           figure(shot->charge_g, had), shot->line, ul_symptom_word(shot->symptom));
  return true;
}

size_t ul_shots_remarks(const ul_shots *shots, const ul_shots_opts *opts, const ul_shots_said *said,
                        char remark[UL_SHOTS_REMARKS][UL_SHOTS_REMARK]) {
  static const remark_fn all[] = {say_held_back, say_more_than_burst, say_charge};
  const told t = {shots, opts, said};
  size_t count = 0;
  for (size_t i = 0; i < sizeof all / sizeof *all; i++) count += all[i](&t, remark[count]);
  return count;
}
