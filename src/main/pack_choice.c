#include "main/pack_choice.h"

#include <math.h>

#include "base/vec.h"
#include "main/foam_choice.h"
#include "main/pours.h"
#include "ullage/packing.h"

/* What a shop's weighing and losses take off: common practice, no source. */
static const double spare = 1.05;

const char *pack_from_word(pack_from from) {
#define AS_WORD(name, word) [name] = word,
  static const char *const words[] = {PACK_FROM_LIST(AS_WORD)};
  return words[from];
}

ul_status pack_plain(const options *opts, pack_choice *out, ul_error *err) {
  *out = (pack_choice){.from =
                           opts->pack > 0 || opts->want_density_kg_m3 > 0 ? PACK_GIVEN : PACK_CARD};
  return foam_choose(opts, &out->foam, &out->pack, err);
}

ul_status pack_search(const cavity_case *c, const foam_bed *bed, const double up[3], pack_choice *p,
                      ul_error *err) {
  double liquid = ul_mid(p->foam.liquid_kg_m3) / ul_mid(p->foam.free_kg_m3);
  double most = fmin(fmax(UL_PACK_BY_HAND_MOST, 1.2 * p->pack), 0.95 * liquid);
  if (most <= 1) return UL_OK;
  pours in;
  ul_rise_opts o = ul_rise_opts_default();
  o.foam = p->foam;
  o.open = true;
  o.mobility_mm2 = bed->mobility_mm2;
  ul_copy3(up, o.up);
  ul_status status = pours_find(c, bed->grid, &in, err);
  pours_into(c, &in, &o);
  if (status == UL_OK)
    status = ul_least_pack_find(bed->grid, bed->columns, &o, most, &c->job, &p->least, err);
  pours_free(&in);
  if (status != UL_OK) return status;
  p->searched = true;
  double want = ceil(p->least.pack * spare * 100 - 1e-6) / 100;
  if (p->from == PACK_GIVEN || !p->least.fills || want <= p->pack || want >= liquid) return UL_OK;
  p->pack = want;
  p->from = PACK_LEAST;
  return UL_OK;
}
