/* comma.h - numbers whose comma may be of thousands or of decimals. */
#ifndef UL_BASE_COMMA_H
#define UL_BASE_COMMA_H

#include <stdbool.h>

enum { UL_COMMA_WORDS = 64 };

/* A comma is a decimal point wherever people write numbers for us, but 6,500 may be six thousand:
 * one to three digits, the first no 0, a comma, exactly three digits, and no mark behind them.
 * Whether there is such a number in `text`; `words` then holds both ways to write it plainly:
 * "6500 or 6.5". */
bool ul_comma_is_doubtful(const char *text, char words[UL_COMMA_WORDS]);

#endif
