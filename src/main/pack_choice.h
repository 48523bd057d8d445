/* pack_choice.h - how much of the foam goes in: as given, as the card says, or as much as fills. */
#ifndef UL_MAIN_PACK_CHOICE_H
#define UL_MAIN_PACK_CHOICE_H

#include "main/foam_bed.h"

/* X(name, word in JSON) */
#define PACK_FROM_LIST(X)                                                                          \
  X(PACK_GIVEN, "given")                                                                           \
  X(PACK_CARD, "card")                                                                             \
  X(PACK_LEAST, "least that fills")
#define PACK_FROM_AS_ENUM(name, word) name,
typedef enum { PACK_FROM_LIST(PACK_FROM_AS_ENUM) PACK_FROM_END } pack_from;
const char *pack_from_word(pack_from from);

typedef struct pack_choice {
  ul_foam foam; /* the card, with today's cup and temperature; without one a middling foam */
  double pack;  /* charge as a multiple of free rise */
  pack_from from;
  bool searched;       /* else nothing below is known */
  ul_least_pack least; /* that fills with its air free to leave, lying as asked */
} pack_choice;

/* The card's foam and pack, without a search. */
ul_status pack_plain(const options *opts, pack_choice *out, ul_error *err);
/* Then: the least pack that fills, by bisection in rises in those cubes at `up`. Where nobody gave
 * a pack and the card's leaves less than a careless twentieth above the least, that much is taken.
 */
ul_status pack_search(const cavity_case *c, const foam_bed *bed, const double up[3],
                      pack_choice *choice, ul_error *err);

#endif
