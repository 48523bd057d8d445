/* foam_keys.h - the lines of a foam card: what each is called, what it means, where it goes. */
#ifndef UL_RISE_FOAM_KEYS_H
#define UL_RISE_FOAM_KEYS_H

#include "ullage/foam.h"

typedef enum { UL_DENSITY, UL_VISCOSITY, UL_TIME, UL_TEMPERATURE, UL_PARTS, UL_PLAIN } ul_dimension;

typedef enum { UL_KEY_TEXT, UL_KEY_CLASS, UL_KEY_SPAN, UL_KEY_NUMBER, UL_KEY_CURVE } ul_key_kind;

typedef struct ul_foam_key {
  const char *name;
  const char *meaning;
  ul_key_kind kind;
  ul_dimension dimension;
  size_t offset; /* into ul_foam */
  size_t size;   /* of a text */
  bool needed;
} ul_foam_key;

extern const ul_foam_key ul_foam_keys[];
extern const size_t ul_foam_key_count;

/* A unit of one dimension: base = scale * value + shift. The first of a dimension is the one cards
 * are printed in. */
typedef struct ul_card_unit {
  ul_dimension dimension;
  const char *name;
  double scale, shift;
} ul_card_unit;

extern const ul_card_unit ul_card_units[];
extern const size_t ul_card_unit_count;

#endif
