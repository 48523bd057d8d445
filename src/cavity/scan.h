/* scan.h - words and numbers of a text that need not end in a zero, in any locale. */
#ifndef UL_CAVITY_SCAN_H
#define UL_CAVITY_SCAN_H

#include <stdbool.h>
#include <stddef.h>

typedef struct ul_scan {
  const char *at, *end;
} ul_scan;

/* Skips white space, line ends too. */
void ul_scan_space(ul_scan *s);
/* Takes the next word; its length is 0 at the end of the text. */
const char *ul_scan_word(ul_scan *s, size_t *length);
/* Takes the next word if it is this one, in either case. */
bool ul_scan_expect(ul_scan *s, const char *word);
/* Takes the next word if all of it is a decimal number, correctly rounded; "nan" and "inf" are
 * numbers too, as printf() writes them. */
bool ul_scan_number(ul_scan *s, double *number);
/* Takes the rest of the line, without white space around it. */
const char *ul_scan_line(ul_scan *s, size_t *length);

#endif
