/* vents_csv.c - the vents as a table: RFC 4180, with a point in any locale. */
#include "report/atomic_file.h"
#include "report/datum_words.h"
#include "report/numbers.h"
#include "ullage/markers.h"

#include <inttypes.h>
#include <string.h>

typedef struct {
  const ul_vents *vents;
  const ul_datum *datum;
} table;

static void put_number(FILE *file, double value, int places) {
  fputc(',', file);
  ul_put_fixed(file, value, places);
}

/* Empty for none. */
static void put_if_any(FILE *file, double value) {
  if (value > 0)
    put_number(file, value, 3);
  else
    fputc(',', file);
}

static void put_place(FILE *file, const double at[3], int places) {
  for (int c = 0; c < 3; c++) put_number(file, at[c], places);
}

/* Quoted where RFC 4180 asks for it. A spreadsheet takes text that begins like a formula for one:
 * an apostrophe in front keeps it text. */
static void put_text(FILE *file, const char *text) {
  fputc(',', file);
  bool formula = *text && strchr("=+-@\t\r", *text), quote = strpbrk(text, ",\"\r\n") != NULL;
  if (quote) fputc('"', file);
  if (formula) fputc('\'', file);
  for (; *text; text++) {
    if (*text == '"') fputc('"', file);
    fputc(*text, file);
  }
  if (quote) fputc('"', file);
}

static void put_vent(FILE *file, const ul_vent *vent, const ul_datum *datum) {
  double at[3], axis[3], through[3];
  char words[UL_WORDS];
  ul_datum_place(datum, vent->at_mm, at);
  ul_datum_direction(datum, vent->axis, axis);
  ul_datum_place(datum, vent->through_mm, through);
  fprintf(file, "%" PRIu32 ",%" PRIu32, vent->id, vent->cavity + 1);
  put_place(file, at, 3);
  put_place(file, axis, 6);
  put_number(file, vent->diameter_mm, 3);
  put_number(file, vent->length_mm, 3);
  put_place(file, through, 3);
  put_number(file, vent->air_mm3 / 1000, 4);
  put_number(file, vent->moved_mm, 3);
  fputc(',', file);
  for (size_t i = 0; i < vent->serves_count; i++)
    fprintf(file, "%s%" PRIu32, i ? " " : "", vent->serves[i]);
  put_text(file, vent->ok ? "yes" : "no");
  put_text(file, vent->note);
  put_text(file, ul_datum_words(datum, words));
  put_text(file, ul_vent_kind_word(vent->kind));
  put_if_any(file, vent->width_mm);
  put_if_any(file, vent->depth_mm);
  put_if_any(file, vent->land_mm);
  put_if_any(file, vent->relief_mm);
  put_text(file, ul_vent_half_word(vent->half));
  put_text(file, vent->closed ? "plugged" : vent->plug ? "plug" : "leave");
  put_number(file, vent->stays_mm3 / 1000, 4);
  fputs("\r\n", file);
}

static bool write_table(FILE *file, void *context) {
  const table *t = context;
  fputs("id,cavity,at_x_mm,at_y_mm,at_z_mm,axis_x,axis_y,axis_z,diameter_mm,length_mm,"
        "through_x_mm,through_y_mm,through_z_mm,air_cm3,moved_mm,serves_peaks,ok,note,"
        "measured_from,kind,width_mm,depth_mm,land_mm,relief_mm,half,then,stays_cm3\r\n",
        file);
  for (size_t i = 0; i < t->vents->count; i++) put_vent(file, &t->vents->vent[i], t->datum);
  return true;
}

ul_status ul_write_vents_csv(const ul_vents *vents, const ul_datum *datum, const char *path,
                             ul_error *err) {
  table t = {vents, datum};
  return ul_write_whole(path, write_table, &t, err);
}
