#include "report/numbers.h"

#include <inttypes.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* Made of whole numbers, which printf writes the same in every locale. */
void ul_put_fixed(FILE *file, double value, int places) {
  double scale = pow(10, places), scaled = round(fabs(value) * scale);
  if (!(scaled < 9e15)) return;
  int64_t all = (int64_t)scaled, whole = all / (int64_t)scale, rest = all % (int64_t)scale;
  fprintf(file, "%s%" PRId64, value < 0 && all > 0 ? "-" : "", whole);
  if (places > 0) fprintf(file, ".%0*" PRId64, places, rest);
}

void ul_put_exact(FILE *file, double value) {
  char text[64];
  snprintf(text, sizeof text, "%.15g", value + 0.0);
  if (strtod(text, NULL) != value) snprintf(text, sizeof text, "%.17g", value);
  bool marked = false; /* a locale's decimal mark may be several bytes */
  for (const char *c = text; *c; c++) {
    bool mark = !strchr("0123456789+-e", *c);
    if (!mark || !marked) fputc(mark ? '.' : *c, file);
    marked = mark;
  }
}
