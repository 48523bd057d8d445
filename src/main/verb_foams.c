/* ullage foams - the generic foam cards, or one card to edit. */
#include <stdio.h>

#include "main/foam_choice.h"
#include "main/show.h"
#include "main/verbs.h"
#include "report/json.h"
#include "report/json_shop.h"
#include "report/words.h"
#include "ullage/foam_card.h"

static ul_status print_json(const ul_foam *one, ul_error *err) {
  json_t *root = json_object(), *list = json_array();
  for (size_t i = 0; !one && i < ul_foam_generic_count(); i++)
    json_array_append_new(list, ul_json_foam(ul_foam_generic(i)));
  if (one) json_array_append_new(list, ul_json_foam(one));
  ul_json_put(root, "foams", list);
  return show_json(root, err);
}

static void print_list(void) {
  puts("name               class          free rise   cream  gel    rise   pack");
  for (size_t i = 0; i < ul_foam_generic_count(); i++) {
    const ul_foam *f = ul_foam_generic(i);
    char density[UL_WORDS];
    printf("%-18s %-14s %4s kg/m3  %3.0f s  %3.0f s  %3.0f s  %g to %g\n", f->name,
           ul_foam_class_word(f->foam_class), ul_words_figure(ul_mid(f->free_kg_m3), density),
           ul_mid(f->cream_s), ul_mid(f->gel_s), ul_mid(f->rise_s), f->pack.lo, f->pack.hi);
  }
  puts("Round, made-up values to try things out with: use your own data sheet.\n"
       "`ullage foams NAME > FILE` writes one to edit; `--foam FILE` uses it.");
}

static ul_status foams(const options *opts, ul_error *err) {
  ul_foam card;
  const char *name = opts->cavity_file;
  ul_status status = name ? foam_load(name, &card, err) : UL_OK;
  if (status != UL_OK) return status;
  if (opts->json) return print_json(name ? &card : NULL, err);
  if (name)
    ul_foam_print(&card, stdout);
  else
    print_list();
  return UL_OK;
}

int verb_foams(const options *opts) {
  ul_error err = {0};
  options nameless = *opts; /* an error names the card itself */
  nameless.cavity_file = NULL;
  return foams(opts, &err) == UL_OK ? 0 : verb_failed(&nameless, &err);
}
