#include <locale.h>
#include <stdlib.h>
#include <string.h>

#include "rise/foam_keys.h"
#include "ullage/foam_card.h"

static const char *unit_of(ul_dimension dimension) {
  size_t i = 0;
  while (ul_card_units[i].dimension != dimension) i++;
  return ul_card_units[i].name;
}

/* The shortest decimal that reads back as the same double. */
static void shortest(double value, char text[32]) {
  for (int digits = 6; digits <= 17; digits++) {
    snprintf(text, 32, "%.*g", digits, value);
    if (strtod(text, NULL) == value) return;
  }
}

static void print_quantity(ul_span span, ul_dimension dimension, char *text, size_t size) {
  const char *unit = unit_of(dimension), *space = *unit && *unit != ':' ? " " : "";
  char lo[32], hi[32];
  shortest(span.lo, lo);
  shortest(span.hi, hi);
  if (span.lo == span.hi)
    snprintf(text, size, "%s%s%s", lo, space, unit);
  else
    snprintf(text, size, "%s to %s%s%s", lo, hi, space, unit);
}

static void print_value(const ul_foam *f, const ul_foam_key *key, char *text, size_t size) {
  const char *field = (const char *)f + key->offset;
  ul_span span;
  if (key->kind == UL_KEY_TEXT) {
    snprintf(text, size, "%s", field);
  } else if (key->kind == UL_KEY_CLASS) {
    snprintf(text, size, "%s", ul_foam_class_word(f->foam_class));
  } else if (key->kind == UL_KEY_SPAN) {
    memcpy(&span, field, sizeof span);
    print_quantity(span, key->dimension, text, size);
  } else {
    memcpy(&span.lo, field, sizeof span.lo);
    span.hi = span.lo;
    print_quantity(span, key->dimension, text, size);
  }
}

static void print_curve(const ul_foam *f, FILE *out) {
  if (!f->curve_count) return;
  fputs("# rise curve in use (time s, progress); name its file to keep it:\n", out);
  for (size_t i = 0; i < f->curve_count; i++)
    fprintf(out, "#   %.6g, %.6g\n", f->curve_s[i], f->curve_progress[i]);
}

bool ul_foam_print(const ul_foam *f, FILE *out) {
  locale_t c = newlocale(LC_ALL_MASK, "C", (locale_t)0);
  locale_t before = c ? uselocale(c) : (locale_t)0;
  if (*f->note) fprintf(out, "# %s\n", f->note);
  for (size_t i = 0; i < ul_foam_key_count; i++) {
    const ul_foam_key *key = &ul_foam_keys[i];
    char text[200];
    if (key->kind == UL_KEY_CURVE) continue;
    print_value(f, key, text, sizeof text);
    if (key->kind == UL_KEY_TEXT || !*key->meaning)
      fprintf(out, "%s = %s\n", key->name, text);
    else
      fprintf(out, "%-18s = %-20s # %s\n", key->name, text, key->meaning);
  }
  print_curve(f, out);
  if (c) {
    uselocale(before);
    freelocale(c);
  }
  return fflush(out) == 0 && !ferror(out);
}
