/* printable.h - a stranger's text ends on a terminal: no control characters, and UTF-8 only. */
#ifndef UL_BASE_PRINTABLE_H
#define UL_BASE_PRINTABLE_H

#include <stddef.h>

/* Length of the printable UTF-8 character at `s`; 0: a control character, or none at all. */
size_t ul_printable_length(const char *s);

/* Has '?' for every byte that is none. */
void ul_make_printable(char *text);

#endif
