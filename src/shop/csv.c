#include "shop/csv.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"

enum { MOST_BYTES = 16 << 20 };

typedef struct {
  const char *in; /* what is still to be read */
  char *out;      /* where the next cell goes */
  char separator;
  size_t line;
  ul_csv *csv;
  size_t cells, cell_room, line_room;
} reader;

static ul_status slurp(FILE *stream, char **text, ul_error *err) {
  size_t used = 0, room = 0;
  *text = NULL;
  do {
    if (!ul_grow((void **)text, &room, used + 65536, 1)) return ul_fail_memory(err);
    used += fread(*text + used, 1, room - used - 1, stream);
    if (used > MOST_BYTES)
      return ul_fail(err, UL_E_READ, "more than %d MB: is this a table?", MOST_BYTES >> 20);
  } while (!feof(stream) && !ferror(stream));
  if (ferror(stream)) return ul_fail(err, UL_E_READ, "the file cannot be read to its end");
  if (memchr(*text, 0, used)) return ul_fail(err, UL_E_READ, "zero bytes: this is no text table");
  (*text)[used] = 0;
  return UL_OK;
}

/* The most frequent one of the first line; a comma when it has none of them. */
static char find_separator(const char *text) {
  static const char known[] = {',', ';', '\t'};
  size_t count[3] = {0}, best = 0;
  bool quoted = false;
  for (; *text && (quoted || (*text != '\n' && *text != '\r')); text++) {
    quoted ^= *text == '"';
    for (size_t i = 0; i < 3; i++) count[i] += !quoted && *text == known[i];
  }
  for (size_t i = 1; i < 3; i++)
    if (count[i] && count[i] >= count[best]) best = i;
  return known[best];
}

static bool ends_cell(const reader *r) {
  char c = *r->in;
  return c == 0 || c == '\n' || c == '\r' || c == r->separator;
}

static void skip_blanks(reader *r) {
  while (*r->in == ' ' || (*r->in == '\t' && r->separator != '\t')) r->in++;
}

static ul_status take_quoted(reader *r, ul_error *err) {
  size_t began = r->line;
  for (r->in++; *r->in != '"' || r->in[1] == '"'; r->in++) {
    if (*r->in == 0)
      return ul_fail(err, UL_E_READ, "line %zu: a quote begins here and does not end: close it",
                     began);
    if (*r->in == '"') r->in++; /* doubled */
    if (*r->in == '\n') r->line++;
    *r->out++ = *r->in;
  }
  r->in++;
  skip_blanks(r);
  if (ends_cell(r)) return UL_OK;
  return ul_fail(err, UL_E_READ, "line %zu: text after a closing quote: double the quotes inside",
                 r->line);
}

static ul_status take_cell(reader *r, ul_error *err) {
  if (!ul_grow((void **)&r->csv->cell, &r->cell_room, r->cells + 1, sizeof *r->csv->cell))
    return ul_fail_memory(err);
  char *begin = r->csv->cell[r->cells++] = r->out;
  skip_blanks(r);
  ul_status status = UL_OK;
  if (*r->in == '"') {
    status = take_quoted(r, err);
  } else {
    while (!ends_cell(r)) *r->out++ = *r->in++;
    while (r->out > begin && isblank((unsigned char)r->out[-1])) r->out--;
  }
  *r->out++ = 0;
  return status;
}

/* A short row is filled up with what ends the last cell: "". */
static ul_status fill_row(reader *r, size_t taken, ul_error *err) {
  ul_csv *csv = r->csv;
  if (csv->rows == 0) csv->columns = taken;
  if (taken > csv->columns)
    return ul_fail(
        err, UL_E_READ,
        "line %zu has %zu fields but the first line %zu names: if a comma is your decimal "
        "mark, put ; between the fields or quotes round the numbers",
        csv->line[csv->rows], taken, csv->columns);
  for (; taken < csv->columns; taken++) {
    if (!ul_grow((void **)&csv->cell, &r->cell_room, r->cells + 1, sizeof *csv->cell))
      return ul_fail_memory(err);
    csv->cell[r->cells++] = r->out - 1;
  }
  csv->rows++;
  return UL_OK;
}

static ul_status take_row(reader *r, ul_error *err) {
  if (!ul_grow((void **)&r->csv->line, &r->line_room, r->csv->rows + 1, sizeof *r->csv->line))
    return ul_fail_memory(err);
  r->csv->line[r->csv->rows] = r->line;
  size_t taken = 0;
  for (bool more = true; more; taken++) {
    ul_status status = take_cell(r, err);
    if (status != UL_OK) return status;
    more = *r->in == r->separator;
    r->in += more;
  }
  return fill_row(r, taken, err);
}

/* Past line ends, comments and lines that hold nothing, not even a separator. */
static void skip_idle_lines(reader *r) {
  for (;;) {
    const char *p = r->in + strspn(r->in, " ");
    if (*p == '#') p += strcspn(p, "\r\n");
    if (*p != '\n' && *p != '\r') {
      if (*p == 0) r->in = p;
      return;
    }
    if (p[0] == '\r' && p[1] == '\n') p++;
    r->in = p + 1;
    r->line++;
  }
}

static ul_status read_rows(reader *r, ul_error *err) {
  ul_status status = UL_OK;
  skip_idle_lines(r);
  r->separator = find_separator(r->in);
  while (*r->in && status == UL_OK) {
    status = take_row(r, err);
    skip_idle_lines(r);
  }
  if (status == UL_OK && r->csv->rows == 0)
    status = ul_fail(err, UL_E_READ, "the table is empty: its first line names the columns");
  return status;
}

ul_status ul_csv_read(FILE *stream, ul_csv **out, ul_error *err) {
  *out = NULL;
  char *raw;
  ul_status status = slurp(stream, &raw, err);
  ul_csv *csv = status == UL_OK ? ul_new(1, sizeof *csv) : NULL;
  size_t bytes = csv ? strlen(raw) : 0;
  if (csv) csv->text = ul_new_raw(2 * bytes + 2, 1); /* every cell ends in a zero of its own */
  if (status == UL_OK && (!csv || !csv->text)) status = ul_fail_memory(err);
  if (status == UL_OK) {
    reader r = {.in = raw, .out = csv->text, .line = 1, .csv = csv};
    if (strncmp(raw, "\xef\xbb\xbf", 3) == 0) r.in += 3;
    status = read_rows(&r, err);
  }
  free(raw);
  if (status == UL_OK)
    *out = csv;
  else
    ul_csv_free(csv);
  return status;
}

void ul_csv_free(ul_csv *csv) {
  if (!csv) return;
  free(csv->cell);
  free(csv->line);
  free(csv->text);
  free(csv);
}

bool ul_csv_number(const char *cell, double *out) {
  const char *p = cell + (*cell == '-' || *cell == '+');
  double value = 0, unit = 1;
  size_t digits = 0;
  for (bool after = false; *p; p++) {
    if (!after && (*p == '.' || *p == ',')) {
      after = true;
    } else if (isdigit((unsigned char)*p)) {
      value = value * 10 + (*p - '0');
      if (after) unit *= 10;
      digits++;
    } else {
      return false;
    }
  }
  *out = (*cell == '-' ? -value : value) / unit;
  return digits > 0 && digits < 300;
}
