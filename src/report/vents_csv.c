/* vents_csv.c - the vents as a table: RFC 4180, with a point in any locale. */
#include "report/atomic_file.h"
#include "ullage/markers.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

/* Fixed decimals made of whole numbers, which printf writes the same in every locale. What rounds
 * to nothing has no sign; what is no number leaves the field empty. */
static void put_number(FILE *file, double value, int places) {
  fputc(',', file);
  double scale = pow(10, places), scaled = round(fabs(value) * scale);
  if (!(scaled < 9e15)) return;
  int64_t all = (int64_t)scaled, whole = all / (int64_t)scale, rest = all % (int64_t)scale;
  fprintf(file, "%s%" PRId64 ".%0*" PRId64, value < 0 && all > 0 ? "-" : "", whole, places, rest);
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

static void put_vent(FILE *file, const ul_vent *vent) {
  fprintf(file, "%" PRIu32 ",%" PRIu32, vent->id, vent->cavity + 1);
  put_place(file, vent->at_mm, 3);
  put_place(file, vent->axis, 6);
  put_number(file, vent->diameter_mm, 3);
  put_number(file, vent->length_mm, 3);
  put_place(file, vent->through_mm, 3);
  put_number(file, vent->air_mm3 / 1000, 4);
  put_number(file, vent->moved_mm, 3);
  fputc(',', file);
  for (size_t i = 0; i < vent->serves_count; i++)
    fprintf(file, "%s%" PRIu32, i ? " " : "", vent->serves[i]);
  put_text(file, vent->ok ? "yes" : "no");
  put_text(file, vent->note);
  fputs("\r\n", file);
}

static bool write_table(FILE *file, void *context) {
  const ul_vents *vents = context;
  fputs("id,cavity,at_x_mm,at_y_mm,at_z_mm,axis_x,axis_y,axis_z,diameter_mm,length_mm,"
        "through_x_mm,through_y_mm,through_z_mm,air_cm3,moved_mm,serves_peaks,ok,note\r\n",
        file);
  for (size_t i = 0; i < vents->count; i++) put_vent(file, &vents->vent[i]);
  return true;
}

ul_status ul_write_vents_csv(const ul_vents *vents, const char *path, ul_error *err) {
  return ul_write_whole(path, write_table, (void *)vents, err);
}
