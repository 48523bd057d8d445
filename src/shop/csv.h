/* csv.h - tables as spreadsheets of any country write them. */
#ifndef UL_SHOP_CSV_H
#define UL_SHOP_CSV_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "ullage/status.h"

/* Row 0 is the header. Cells without blanks at either end; a row that is shorter than the header
 * ends in "". */
typedef struct ul_csv {
  size_t rows, columns;
  char **cell;  /* row * columns + column */
  size_t *line; /* on which a row begins, from 1 */
  char *text;   /* where the cells live */
} ul_csv;

/* RFC 4180, and: `;` or a tab between fields where the header has as many of those as commas; a
 * byte order mark, any line end, blank lines and lines that begin with # are passed over. UL_E_READ
 * with the line for a quote that does not end, a row longer than the header, no header, or more
 * than 16 MB. UL_OK: *out is yours, ul_csv_free(). */
ul_status ul_csv_read(FILE *stream, ul_csv **out, ul_error *err);
void ul_csv_free(ul_csv *csv);

static inline const char *ul_csv_cell(const ul_csv *csv, size_t row, size_t column) {
  return csv->cell[row * csv->columns + column];
}

/* A number with a point or a comma, no thousands, under any locale. */
bool ul_csv_number(const char *cell, double *out);

#endif
