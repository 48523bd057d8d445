/* json.h - results as JSON; every key is documented in docs/plan-json.md. */
#ifndef UL_REPORT_JSON_H
#define UL_REPORT_JSON_H

#include <jansson.h>
#include <math.h>

#include "report/rise_told.h"
#include "ullage/ullage.h"

/* What a pour hole's `kind` is among the vents of a result. */
#define UL_POUR_HOLE_KIND "pour hole"

/* What is not known is null; no -0. */
static inline json_t *ul_json_number(double value) {
  return isfinite(value) ? json_real(value + 0.0) : json_null();
}

/* Each returns a new reference, or NULL when there is no memory. */
json_t *ul_json_vector(const double v[3]);
/* `solid`: what the audit made of it; NULL: nothing. */
json_t *ul_json_file(const ul_import_info *info, const ul_audit *audit, const ul_solid *solid);
/* One object a cavity, id first; half-gaps from `grid` (percentiles by volume of each cavity). */
json_t *ul_json_cavities(const ul_solid *solid, const ul_grid *grid);
json_t *ul_json_thin(const ul_thin_place *place, size_t count);
json_t *ul_json_tilt(const double up[3]);
json_t *ul_json_peaks(const ul_peaks *peaks);
json_t *ul_json_tilts(const ul_tilts *tilts);
/* The outcome of a level rise for one cavity. */
json_t *ul_json_outcome(const ul_level *level, size_t cavity);
/* The same of an expanding rise (0-based), and what its vents and moments saw. */
json_t *ul_json_rise_outcome(const ul_rise_told *told, size_t cavity);
json_t *ul_json_rise_vents(const ul_rise_told *told, const ul_rise_vent *given);
json_t *ul_json_rise_events(const ul_rise_told *told);
json_t *ul_json_meets(const ul_rise_told *told, const ul_meet *meet, size_t count);
json_t *ul_json_vents(const ul_vents *vents);
json_t *ul_json_datum(const ul_datum *datum);
json_t *ul_json_props(const ul_props *props);

/* Adds every key of `more` to `object` and releases `more`; false when either is NULL. */
int ul_json_take(json_t *object, json_t *more);
/* Sets `key`, taking the reference; 0 when it went in, as jansson has it. */
int ul_json_put(json_t *object, const char *key, json_t *value);

/* The text of `object`, two spaces a level, 15 figures, a newline at the end; malloc'ed, NULL when
 * there is no memory. */
char *ul_json_text(const json_t *object);

#endif
