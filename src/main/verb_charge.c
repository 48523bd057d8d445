/* ullage charge - what to weigh, the clock, what must be held shut. */
#include "main/shop_case.h"
#include "main/show.h"
#include "main/verbs.h"
#include "report/json.h"

static json_t *as_json(const shop_case *s) {
  json_t *root = shop_json(s);
  ul_json_put(root, "good", json_boolean(s->good));
  ul_json_put(root, "verdict", json_string(s->verdict));
  return root;
}

/* Lying as --up says, with its air free to leave. */
static ul_status choose_pack(const cavity_case *c, pack_choice *choice, ul_error *err) {
  ul_status status = pack_plain(c->opts, choice, err);
  if (status != UL_OK || !c->opts->foam) return status;
  foam_bed bed;
  status = foam_bed_coarse(c, &bed, err);
  if (status == UL_OK) status = pack_search(c, &bed, c->opts->up, choice, err);
  foam_bed_free(&bed);
  return status;
}

static ul_status charge(cavity_case *c, shop_case *s, const options *opts, ul_error *err) {
  pack_choice choice;
  ul_status status = case_open(c, opts, err);
  if (status == UL_OK) status = ul_audit_verdict(c->audit, err);
  if (status == UL_OK) status = case_parting(c, err);
  if (status == UL_OK) status = case_cubes(c, err); /* for how thick the part is */
  if (status == UL_OK) status = choose_pack(c, &choice, err);
  progress_end(&c->bar);
  if (status == UL_OK) status = shop_make(c, &choice, opts->up, NULL, s, err);
  if (status != UL_OK) return status;
  if (opts->json) return show_json(as_json(s), err);
  show_file(c);
  shop_show(s, opts);
  show_line("verdict", "%s", s->verdict);
  return UL_OK;
}

int verb_charge(const options *opts) {
  cavity_case c = {0};
  shop_case s = {0};
  ul_error err = {0};
  ul_status status = charge(&c, &s, opts, &err);
  bool good = s.good;
  shop_free(&s);
  case_close(&c);
  if (status != UL_OK) return verb_failed(opts, &err);
  return good ? 0 : 1;
}
