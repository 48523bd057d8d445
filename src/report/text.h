/* text.h - names from outside, made safe to write into any file. */
#ifndef UL_REPORT_TEXT_H
#define UL_REPORT_TEXT_H

#include <stdint.h>
#include <stdio.h>

/* The next character of a string that should be UTF-8; *text moves past it. U+FFFD for a byte that
 * is not, and for what no text file should hold: controls, marks that turn the direction of
 * writing, noncharacters. 0 at the end. */
uint32_t ul_next_character(const char **text);
/* In UTF-8. */
void ul_put_character(FILE *file, uint32_t character);
/* All of `text` so, cut to whole characters that fit in `room` bytes with the 0. */
const char *ul_clean_text(const char *text, char *out, size_t room);
/* Text or attribute of an XML file: & < > " ' escaped. */
void ul_put_xml(FILE *file, const char *text);

#endif
