#include "ullage/datum.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/fail.h"
#include "base/vec.h"
#include "report/datum_words.h"

static const double SQUARE_DEG = 0.01;

ul_datum ul_datum_default(void) {
  return (ul_datum){.axis = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}};
}

ul_status ul_datum_set_axes(ul_datum *datum, const double x[3], const double y[3], ul_error *err) {
  double lx = ul_norm(x), ly = ul_norm(y);
  if (!(lx > 0 && ly > 0 && isfinite(lx) && isfinite(ly)))
    return ul_fail(err, UL_E_USAGE, "a datum's axis has no length: give two directions");
  double off = ul_dot(x, y) / lx / ly, off_deg = asin(fmax(-1, fmin(1, off))) * 180 / M_PI;
  if (fabs(off_deg) > SQUARE_DEG)
    return ul_fail(err, UL_E_USAGE,
                   "a datum's x and y are %.4g degrees off a right angle: give square ones",
                   fabs(off_deg));
  for (int c = 0; c < 3; c++) {
    datum->axis[0][c] = x[c] / lx + 0.0;
    datum->axis[1][c] = y[c] / ly - off * (x[c] / lx) + 0.0;
  }
  ul_cross(datum->axis[0], datum->axis[1], datum->axis[2]);
  return UL_OK;
}

void ul_datum_direction(const ul_datum *datum, const double in[3], double out[3]) {
  double at[3];
  ul_copy3(in, at);
  for (int c = 0; c < 3; c++) out[c] = datum ? ul_dot(datum->axis[c], at) : at[c];
}

void ul_datum_place(const ul_datum *datum, const double in[3], double out[3]) {
  double from[3];
  ul_copy3(in, from);
  if (datum) ul_sub(in, datum->at_mm, from);
  ul_datum_direction(datum, from, out);
}

bool ul_datum_is_file(const ul_datum *datum) {
  const ul_datum file = ul_datum_default();
  for (int c = 0; datum && c < 3; c++) {
    if (datum->at_mm[c] != 0) return false;
    for (int k = 0; k < 3; k++)
      if (datum->axis[c][k] != file.axis[c][k]) return false;
  }
  return true;
}

const char *ul_datum_words(const ul_datum *datum, char out[UL_WORDS]) {
  if (ul_datum_is_file(datum)) return strcpy(out, "the file's origin and axes");
  char x[UL_WORDS], y[UL_WORDS];
  snprintf(out, UL_WORDS, "datum at %.3f %.3f %.3f; x along %.40s; y along %.40s",
           datum->at_mm[0] + 0.0, datum->at_mm[1] + 0.0, datum->at_mm[2] + 0.0,
           ul_words_direction(datum->axis[0], x), ul_words_direction(datum->axis[1], y));
  return out;
}
