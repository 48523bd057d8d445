/* words.h - numbers, places and attitudes as a moulder reads them. */
#ifndef UL_REPORT_WORDS_H
#define UL_REPORT_WORDS_H

#include <stdbool.h>
#include <stddef.h>

#include "ullage/attitude.h"

enum { UL_WORDS = 256 };

/* A place as "x 41.2  y 7.9  z 0.0 mm". Returns `out`, as all of these do. */
const char *ul_words_place(const double at_mm[3], char out[UL_WORDS]);
/* Three figures, never an exponent: 1230, 12.3, 0.0123. */
const char *ul_words_figure(double value, char out[UL_WORDS]);
/* Grams, but none that no scale shows: "under 0.01" for what is less. */
const char *ul_words_grams(double g, char out[UL_WORDS]);
/* Likewise, of a positive number, rounded down: for a limit that must be kept as it is written. */
const char *ul_words_at_most(double value, char out[UL_WORDS]);
/* "0.42 cm3" or "2.35 litres (2350 cm3)" from 100 cm3 on. */
const char *ul_words_volume(double volume_mm3, char out[UL_WORDS]);
/* "+x" along an axis of the file, else "(0.600 0.800 0.000)". */
const char *ul_words_direction(const double axis[3], char out[UL_WORDS]);
/* The name of side 0 -x to 5 +z: the one given, else "+x side". */
const char *ul_words_side(int side, const char *const side_name[6], char out[UL_WORDS]);
/* "flat, +z up", "on its -x side, +x up", "+x side raised 15 degrees", ... */
const char *ul_words_tilt(const double up[3], const char *const side_name[6], char out[UL_WORDS]);
/* No block is half a millimetre high. */
bool ul_props_flat(const ul_props *props);
/* "no blocks", "block 137 mm under both corners of the hinge side", or "blocks 52 mm where +x side
 * and -y side meet, 69 mm where ..." */
const char *ul_words_props(const ul_props *props, const char *const side_name[6],
                           char out[UL_WORDS]);
/* The same, in inches where `inch`. */
const char *ul_words_props_in(const ul_props *props, const char *const side_name[6], bool inch,
                              char out[UL_WORDS]);

/* A block's height as a hand cuts it: whole millimetres, or hundredths of an inch. */
const char *ul_words_block(double mm, bool inch, char out[UL_WORDS]);

#endif
