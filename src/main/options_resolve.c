/* options_resolve.c - options that name sides, once all names are known. */
#include <stdio.h>
#include <string.h>

#include "base/fail.h"
#include "main/options.h"
#include "main/values.h"

static ul_status resolve_tilts(options *o, ul_error *err) {
  ul_status status = UL_OK;
  if (o->raise) {
    status = value_raise("--raise", o->raise, o->side_name, o->up, err);
    o->has_up = true;
  }
  const char *rest = o->compare;
  while (rest && status == UL_OK) {
    const char *end = strchr(rest, ';');
    char one[128];
    snprintf(one, sizeof one, "%.*s", (int)(end ? end - rest : (long)strlen(rest)), rest);
    rest = end ? end + 1 : NULL;
    if (!*one && !rest) break; /* a trailing semicolon */
    if (o->compare_count == COMPARE_MOST)
      return ul_fail(err, UL_E_USAGE, "--compare holds more than %d attitudes", COMPARE_MOST);
    status = value_raise("--compare", one, o->side_name, o->compare_up[o->compare_count++], err);
  }
  return status;
}

static ul_status resolve_show_sides(options *o, ul_error *err) {
  for (size_t i = 0; i < o->show_side_count; i++) {
    const char *text = o->show_side[i];
    int side = value_named_side(text, strlen(text), o->side_name);
    if (side < 0)
      return ul_fail(err, UL_E_USAGE,
                     "--show-side %s is not a side: write -z or +x, or a name that --side gives",
                     text);
    o->show_sides |= 1u << side;
  }
  return UL_OK;
}

static ul_status resolve_datum(options *o, ul_error *err) {
  if (!o->datum_axes) return UL_OK;
  double x[3], y[3];
  ul_status status = value_two_directions("--datum-axes", o->datum_axes, o->side_name, x, y, err);
  return status == UL_OK ? ul_datum_set_axes(&o->datum, x, y, err) : status;
}

ul_status options_resolve(options *o, ul_error *err) {
  ul_status status = resolve_tilts(o, err);
  if (status == UL_OK) status = resolve_show_sides(o, err);
  return status == UL_OK ? resolve_datum(o, err) : status;
}
