#include "ullage/packing.h"

#include <math.h>
#include <stdio.h>

const char *ul_pack_verdict_word(ul_pack_verdict verdict) {
#define AS_WORD(name, word) [name] = word,
  static const char *const words[] = {UL_PACK_VERDICT_LIST(AS_WORD)};
  return (unsigned)verdict < UL_PACK_VERDICT_END ? words[verdict] : "?";
}

double ul_pack_ratio(double pack, double x, double progress) {
  double gas_room = 1 - pack * x;
  return gas_room > 0 ? pack * (1 - x) * progress / gas_room : INFINITY;
}

double ul_pack_gauge_pa(const ul_foam *f, double pack) {
  double x = ul_mid(f->free_kg_m3) / ul_mid(f->liquid_kg_m3);
  double ratio = ul_pack_ratio(pack, x, ul_foam_progress(f, ul_foam_set_s(f)));
  return fmax(0, ratio - 1) * UL_ATMOSPHERE_PA;
}

double ul_pack_by_card_pa(const ul_foam *f, double pack) {
  if (!(f->card_kg_m3.hi > 0)) return 0;
  ul_foam card = *f;
  card.free_kg_m3 = f->card_kg_m3;
  return ul_pack_gauge_pa(&card, pack * ul_mid(f->free_kg_m3) / ul_mid(f->card_kg_m3));
}

double ul_pack_for_density(const ul_foam *f, double want_kg_m3) {
  return want_kg_m3 / ul_mid(f->free_kg_m3);
}

static ul_span advised(const ul_foam *f) {
  if (f->pack.hi > 0) return f->pack;
  return (ul_span){UL_PACK_TRADE_LO, UL_PACK_TRADE_HI};
}

double ul_pack_usual(const ul_foam *f) {
  return ul_mid(advised(f));
}

ul_pack_verdict ul_pack_judge(const ul_foam *f, double pack, char words[200]) {
  enum { ROOM = 200 };
  ul_span span = advised(f);
  double most = ul_mid(f->liquid_kg_m3) / ul_mid(f->free_kg_m3);
  if (pack >= most) {
    snprintf(words, ROOM,
             "%.3g is more than the mould holds even as a liquid (%.3g): lower --pack or "
             "--want-density",
             pack, most);
    return UL_PACK_LIQUID;
  }
  if (pack < 1) {
    snprintf(words, ROOM,
             "%.3g is under 1: even in the open this charge would not fill the mould; take "
             "%.3g to %.3g, or %.3g to %.3g kg/m3",
             pack, span.lo, span.hi, span.lo * ul_mid(f->free_kg_m3),
             span.hi * ul_mid(f->free_kg_m3));
    return UL_PACK_SHORT;
  }
  if (pack < span.lo - 1e-9 || pack > span.hi + 1e-9) {
    bool under = pack < span.lo;
    snprintf(words, ROOM, "%.3g is %s the card's %.3g to %.3g: %s", pack, under ? "under" : "over",
             span.lo, span.hi,
             under ? "thin and far places may stay short" : "pressure and weight go up with it");
    return under ? UL_PACK_UNDER : UL_PACK_OVER;
  }
  snprintf(words, ROOM, "%.3g, within the card's %.3g to %.3g", pack, span.lo, span.hi);
  return UL_PACK_WITHIN;
}
