/* foam_card.h - a foam as a small text file that a shop edits by hand.
 *
 * One `key = value unit` a line, `#` or `;` begins a comment. A value may be a span: `30-36 s`,
 * `30 to 36 s`, `36 +- 4 s`. Units: kg/m3, g/cm3, g/l, pcf; cP, mPa s, Pa s; s, min, h; C, F. A
 * decimal comma is understood, and so is any case of the keys. `rise curve = FILE.csv` names a
 * measured curve beside the card: time in s, then height or volume. */
#ifndef ULLAGE_FOAM_CARD_H
#define ULLAGE_FOAM_CARD_H

#include <stdio.h>

#include "ullage/foam.h"

/* Reads a card. `folder`, with its slash, is put before the name of a rise curve's file (NULL:
 * nothing is). What the card does not say stays as in ul_foam_middling(), but name, densities,
 * viscosity, A to B, cream, gel and rise must be there. UL_E_CARD: the line, the key and the remedy
 * are in the text. */
ul_status ul_foam_read(FILE *stream, const char *folder, ul_foam *out, ul_error *err);
/* A generic card by name, else a card file by path. UL_E_READ when it is neither. */
ul_status ul_foam_load(const char *name_or_path, ul_foam *out, ul_error *err);
/* Writes a card that ul_foam_read() understands, every constant of the model included; a measured
 * curve is written as a comment, since it lives in a file of its own. False on a write error. */
bool ul_foam_print(const ul_foam *foam, FILE *stream);

/* The six generic cards: two densities each of rigid, cushion and self-skinning foam. Made-up round
 * values, for trying things out: every one says "use your own data sheet". */
size_t ul_foam_generic_count(void);
const ul_foam *ul_foam_generic(size_t number);

#endif
