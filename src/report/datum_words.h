/* datum_words.h - what a place is measured from, in words. */
#ifndef UL_REPORT_DATUM_WORDS_H
#define UL_REPORT_DATUM_WORDS_H

#include <stdbool.h>

#include "report/words.h"
#include "ullage/datum.h"

/* Nothing but the file's own origin and axes (NULL too). */
bool ul_datum_is_file(const ul_datum *datum);
/* "the file's origin and axes", or "datum at 10.000 0.000 0.000; x along +y; y along -x", in the
 * file's coordinates. */
const char *ul_datum_words(const ul_datum *datum, char out[UL_WORDS]);

#endif
