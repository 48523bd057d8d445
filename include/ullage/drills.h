/* drills.h - the sizes a hole can have: what stands in the drill stand. */
#ifndef ULLAGE_DRILLS_H
#define ULLAGE_DRILLS_H

#include <stdbool.h>
#include <stddef.h>

/* X(name, word on the command line) */
#define UL_DRILL_SET_LIST(X)                                                                       \
  X(UL_DRILLS_SHOP, "shop")     /* 1.5 2 2.5 3 4 5 6 mm */                                         \
  X(UL_DRILLS_METRIC, "metric") /* 0.2 to 25 mm */                                                 \
  X(UL_DRILLS_INCH, "inch")     /* 64ths, to 1 in */                                               \
  X(UL_DRILLS_NUMBER, "number") /* #80 to #1, then A to Z */
#define UL_DRILL_SET_AS_ENUM(name, word) name,
typedef enum { UL_DRILL_SET_LIST(UL_DRILL_SET_AS_ENUM) UL_DRILL_SET_END } ul_drill_set;
const char *ul_drill_set_word(ul_drill_set set);

typedef struct ul_drill {
  double diameter_mm;
  char name[24]; /* "3 mm", "1/8 in", "#30", "letter F" */
} ul_drill;

/* Number `i` of the set, thinnest first. Metric sizes by the rule of BS 328, number and letter
 * sizes by ANSI B94.11 (from memory but for a few), fractions by definition. */
size_t ul_drill_count(ul_drill_set set);
ul_drill ul_drill_get(ul_drill_set set, size_t i);

/* The thinnest of at least that diameter (a millionth of a mm less will do); false when the set has
 * none so thick. */
bool ul_drill_at_least(ul_drill_set set, double diameter_mm, ul_drill *out);

#endif
