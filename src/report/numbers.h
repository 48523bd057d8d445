/* numbers.h - numbers in text files: a point as decimal mark in any locale. */
#ifndef UL_REPORT_NUMBERS_H
#define UL_REPORT_NUMBERS_H

#include <stdio.h>

/* With so many decimals; what rounds to nothing has no sign. What is no number, or too large to
 * have them, writes nothing. */
void ul_put_fixed(FILE *file, double value, int places);
/* The fewest figures, 15 at least, that read back as the same double. */
void ul_put_exact(FILE *file, double value);

#endif
