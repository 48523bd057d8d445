/* packing.h - how much more than a free rise goes into the mould, and the pressure that makes. */
#ifndef ULLAGE_PACKING_H
#define ULLAGE_PACKING_H

#include "ullage/foam.h"

/* Lidded moulds are packed 1.15 to 1.30: common practice, no source. */
#define UL_PACK_TRADE_LO 1.15
#define UL_PACK_TRADE_HI 1.30

/* Reaction-moulded urethane: usually no more than 50 psi gauge (a composites-manufacturing page,
 * unnamed where it was read). What is over that is told as dangerous. */
#define UL_MOULD_USUAL_MOST_KPA 345.0

/* No foam is packed to more than this many times its free rise by hand: the program's own choice.
 */
#define UL_PACK_BY_HAND_MOST 2.0

/* Absolute pressure over atmospheric in a full, vented mould: P (1 - x) e / (1 - P x), of pack P,
 * progress e and x = free-rise over liquid density (mass balance: gas is kept, liquid does not
 * give). Below 1 the foam does not fill; INFINITY when the charge fills the mould as a liquid.
 * Solubility and open cells lower it, exotherm raises it. */
double ul_pack_ratio(double pack, double free_over_liquid, double progress);
/* The same as gauge pressure of that foam at set, Pa; 0 when it does not fill. */
double ul_pack_gauge_pa(const ul_foam *foam, double pack);

/* The same should the cup test that replaced the card's free rise be wrong and the card right: that
 * charge is more of a pack then. 0: no cup has replaced it. */
double ul_pack_by_card_pa(const ul_foam *foam, double pack);

/* The pack that gives a part of that overall density (ISO 845). */
double ul_pack_for_density(const ul_foam *foam, double want_kg_m3);
/* The middle of the card's span, or of the trade's where the card has none. */
double ul_pack_usual(const ul_foam *foam);

/* X(name, word in JSON) */
#define UL_PACK_VERDICT_LIST(X)                                                                    \
  X(UL_PACK_WITHIN, "within the card's range")                                                     \
  X(UL_PACK_SHORT, "does not fill")                                                                \
  X(UL_PACK_UNDER, "under the card's range")                                                       \
  X(UL_PACK_OVER, "over the card's range")                                                         \
  X(UL_PACK_LIQUID, "more than the mould holds as a liquid")
#define UL_PACK_VERDICT_AS_ENUM(name, word) name,
typedef enum { UL_PACK_VERDICT_LIST(UL_PACK_VERDICT_AS_ENUM) UL_PACK_VERDICT_END } ul_pack_verdict;
const char *ul_pack_verdict_word(ul_pack_verdict verdict);

/* Judges a pack against the card; `words` is a sentence with the numbers and what to do. */
ul_pack_verdict ul_pack_judge(const ul_foam *foam, double pack, char words[200]);

#endif
