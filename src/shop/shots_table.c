/* shots_table.c - a table of shots as the shop keeps it. */
#include <ctype.h>
#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/comma.h"
#include "base/fail.h"
#include "base/memory.h"
#include "shop/csv.h"
#include "ullage/shots.h"

typedef enum { TEXT, NUMBER, SYMPTOM } cell_kind;

/* What a table may hold. A column that is not needed may be left out. */
static const struct {
  const char *name, *meaning;
  cell_kind kind;
  bool needed; /* in every row */
  double least, most;
  size_t offset, size;
} columns[] = {
    {"date", "any text", TEXT, false, 0, 0, offsetof(ul_shot, date), sizeof((ul_shot *)0)->date},
    {"card", "the foam", TEXT, false, 0, 0, offsetof(ul_shot, card), sizeof((ul_shot *)0)->card},
    {"charge_g", "all that was weighed in", NUMBER, true, 0.01, 1e7, offsetof(ul_shot, charge_g),
     0},
    {"liquid_c", "temperature of the liquids", NUMBER, false, -10, 90, offsetof(ul_shot, liquid_c),
     0},
    {"mould_c", "temperature of the mould", NUMBER, false, -10, 150, offsetof(ul_shot, mould_c), 0},
    {"part_g", "the part without flash", NUMBER, true, 0.01, 1e7, offsetof(ul_shot, part_g), 0},
    {"cup_g", "mix in a cup beside it", NUMBER, false, 0.01, 1e6, offsetof(ul_shot, cup_g), 0},
    {"cup_ml", "volume it rose to", NUMBER, false, 0.01, 1e7, offsetof(ul_shot, cup_ml), 0},
    {"fault_at", "place of a fault", TEXT, false, 0, 0, offsetof(ul_shot, fault_at),
     sizeof((ul_shot *)0)->fault_at},
    {"symptom", "of that fault, or none", SYMPTOM, false, 0, 0, offsetof(ul_shot, symptom), 0},
};
enum { COLUMNS = sizeof columns / sizeof *columns };

typedef struct {
  const ul_csv *csv;
  size_t at[COLUMNS];
  size_t vent_at[UL_SHOT_VENTS]; /* SIZE_MAX: no such column */
  size_t vent_count;
} layout;

/* Equal but for case and all that is no letter or digit: "Charge (g)" is charge_g. */
static bool same_word(const char *a, const char *b) {
  for (;; a++, b++) {
    while (*a && !isalnum((unsigned char)*a)) a++;
    while (*b && !isalnum((unsigned char)*b)) b++;
    if (tolower((unsigned char)*a) != tolower((unsigned char)*b)) return false;
    if (!*a) return true;
  }
}

/* The first of that name; *again is the one after it, SIZE_MAX: none. */
static size_t find_column(const ul_csv *csv, const char *name, size_t *again) {
  size_t found = *again = SIZE_MAX;
  for (size_t i = 0; i < csv->columns; i++) {
    if (!same_word(ul_csv_cell(csv, 0, i), name)) continue;
    if (found != SIZE_MAX) {
      *again = i;
      break;
    }
    found = i;
  }
  return found;
}

/* The first that must be there and is not; COLUMNS: none. */
static size_t missing_column(const layout *l) {
  size_t k = 0;
  while (k < COLUMNS && (l->at[k] != SIZE_MAX || !columns[k].needed)) k++;
  return k;
}

/* The needed ones are there, and none is there twice. */
static ul_status check_columns(const layout *l, const size_t again[COLUMNS], ul_error *err) {
  size_t missing = missing_column(l), twice = 0;
  while (twice < COLUMNS && again[twice] == SIZE_MAX) twice++;
  if (missing == COLUMNS && twice == COLUMNS) return UL_OK;
  if (missing == COLUMNS)
    return ul_fail(err, UL_E_READ, "%s stands twice in the first line: keep one",
                   columns[twice].name);
  return ul_fail(err, UL_E_READ,
                 "%s%sno column %s (%s): the first line names date, card, charge_g, liquid_c, "
                 "mould_c, part_g, cup_g, cup_ml, fault_at, symptom, and vent_1_s... if any; "
                 "charge_g and part_g must be there",
                 twice < COLUMNS ? columns[twice].name : "",
                 twice < COLUMNS ? " stands twice, and " : "", columns[missing].name,
                 columns[missing].meaning);
}

/* Names that are none of ours: a misspelt one would be missed without a word. */
static void list_unknown(const layout *l, char *text, size_t room) {
  size_t used = 0;
  for (size_t i = 0; i < l->csv->columns; i++) {
    const char *name = ul_csv_cell(l->csv, 0, i);
    bool known = same_word(name, "");
    for (size_t k = 0; k < COLUMNS && !known; k++) known = l->at[k] == i;
    for (size_t v = 0; v < UL_SHOT_VENTS && !known; v++) known = l->vent_at[v] == i;
    if (!known && used < room)
      used += (size_t)snprintf(text + used, room - used, "%s%.40s", used ? ", " : "", name);
  }
}

static ul_status lay_out(layout *l, ul_error *err) {
  size_t again[COLUMNS];
  for (size_t k = 0; k < COLUMNS; k++) l->at[k] = find_column(l->csv, columns[k].name, &again[k]);
  ul_status status = check_columns(l, again, err);
  for (unsigned v = 0; v < UL_SHOT_VENTS && status == UL_OK; v++) {
    char name[24];
    size_t twice;
    snprintf(name, sizeof name, "vent_%u_s", v + 1);
    l->vent_at[v] = find_column(l->csv, name, &twice);
    if (twice != SIZE_MAX)
      status = ul_fail(err, UL_E_READ, "%s stands twice in the first line: keep one", name);
    if (l->vent_at[v] != SIZE_MAX) l->vent_count = v + 1;
  }
  return status;
}

static ul_status read_number(const layout *l, size_t row, size_t column, double least, double most,
                             double *out, ul_error *err) {
  const char *cell = ul_csv_cell(l->csv, row, column), *name = ul_csv_cell(l->csv, 0, column);
  *out = NAN;
  if (!*cell) return UL_OK;
  char plain[UL_COMMA_WORDS];
  if (ul_comma_is_doubtful(cell, plain))
    return ul_fail(err, UL_E_READ,
                   "line %zu: %.40s = %.40s: a comma of thousands or a decimal one? write %s",
                   l->csv->line[row], name, cell, plain);
  if (!ul_csv_number(cell, out))
    return ul_fail(err, UL_E_READ, "line %zu: %.40s = %.40s is no number: write it without a unit",
                   l->csv->line[row], name, cell);
  if (*out < least || *out > most)
    return ul_fail(err, UL_E_READ, "line %zu: %.40s = %.40s is out of range (%g to %g)",
                   l->csv->line[row], name, cell, least, most);
  return UL_OK;
}

static ul_status read_symptom(const layout *l, size_t row, size_t column, ul_symptom *out,
                              ul_error *err) {
  const char *cell = ul_csv_cell(l->csv, row, column);
  char list[160] = "";
  *out = UL_SYMPTOM_NONE;
  if (!*cell || same_word(cell, "") || same_word(cell, "ok") || same_word(cell, "good"))
    return UL_OK;
  for (int i = 0; i < UL_SYMPTOM_END; i++) {
    *out = (ul_symptom)i;
    if (same_word(cell, ul_symptom_word(*out))) return UL_OK;
    size_t used = strlen(list);
    snprintf(list + used, sizeof list - used, "%s%s", i ? ", " : "", ul_symptom_word(*out));
  }
  return ul_fail(err, UL_E_READ, "line %zu: symptom %.60s is not known: use one of %s",
                 l->csv->line[row], cell, list);
}

static ul_status read_cell(const layout *l, size_t row, size_t k, ul_shot *shot, ul_error *err) {
  char *field = (char *)shot + columns[k].offset;
  if (l->at[k] == SIZE_MAX) {
    if (columns[k].kind == NUMBER) *(double *)(void *)field = NAN;
    return UL_OK;
  }
  const char *cell = ul_csv_cell(l->csv, row, l->at[k]);
  if (columns[k].needed && !*cell)
    return ul_fail(err, UL_E_READ, "line %zu: no %s (%s): fill it in, or take the line out",
                   l->csv->line[row], columns[k].name, columns[k].meaning);
  switch (columns[k].kind) {
  case TEXT:
    snprintf(field, columns[k].size, "%s", cell);
    return UL_OK;
  case SYMPTOM:
    return read_symptom(l, row, l->at[k], (ul_symptom *)(void *)field, err);
  default:
    return read_number(l, row, l->at[k], columns[k].least, columns[k].most, (double *)(void *)field,
                       err);
  }
}

static ul_status read_shot(const layout *l, size_t row, ul_shot *shot, ul_error *err) {
  ul_status status = UL_OK;
  shot->line = l->csv->line[row];
  for (size_t k = 0; k < COLUMNS && status == UL_OK; k++) status = read_cell(l, row, k, shot, err);
  for (size_t v = 0; v < UL_SHOT_VENTS && status == UL_OK; v++) {
    shot->vent_s[v] = NAN;
    if (l->vent_at[v] != SIZE_MAX)
      status = read_number(l, row, l->vent_at[v], 0, 1e5, &shot->vent_s[v], err);
  }
  if (status == UL_OK && shot->part_g > shot->charge_g)
    status = ul_fail(err, UL_E_READ,
                     "line %zu: a part of %g g from a charge of %g g: are the two swapped?",
                     shot->line, shot->part_g, shot->charge_g);
  return status;
}

static ul_status read_all(const ul_csv *csv, ul_shots *shots, ul_error *err) {
  layout l = {.csv = csv};
  ul_status status = lay_out(&l, err);
  if (status != UL_OK) return status;
  if (csv->rows < 2) return ul_fail(err, UL_E_READ, "no shot yet: one line each under the names");
  shots->vent_count = l.vent_count;
  list_unknown(&l, shots->unknown, sizeof shots->unknown);
  shots->shot = ul_new(csv->rows - 1, sizeof *shots->shot);
  if (!shots->shot) return ul_fail_memory(err);
  for (size_t row = 1; row < csv->rows && status == UL_OK; row++)
    status = read_shot(&l, row, &shots->shot[shots->count++], err);
  return status;
}

ul_status ul_shots_read(FILE *stream, ul_shots **out, ul_error *err) {
  *out = NULL;
  ul_csv *csv;
  ul_status status = ul_csv_read(stream, &csv, err);
  if (status != UL_OK) return status;
  ul_shots *shots = ul_new(1, sizeof *shots);
  status = shots ? read_all(csv, shots, err) : ul_fail_memory(err);
  ul_csv_free(csv);
  if (status == UL_OK)
    *out = shots;
  else
    ul_shots_free(shots);
  return status;
}

void ul_shots_free(ul_shots *shots) {
  if (!shots) return;
  free(shots->shot);
  free(shots);
}
