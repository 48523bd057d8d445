/* ullage peaks - the high points and pockets of one tilt. */
#include <stdio.h>

#include "main/cavity_case.h"
#include "main/show.h"
#include "main/verbs.h"
#include "report/json.h"

static json_t *as_json(const cavity_case *c, const ul_peaks *peaks) {
  json_t *root = json_object(), *notes = json_array();
  ul_json_put(root, "tilt", ul_json_tilt(peaks->up));
  ul_json_put(root, "cube_mm", json_real(c->grid->lattice.cube_mm));
  ul_json_put(root, "peaks", ul_json_peaks(peaks));
  ul_json_put(root, "thin", ul_json_thin(c->thin, c->thin_count));
  for (size_t i = 0; i < peaks->note_count; i++)
    json_array_append_new(notes, json_string(peaks->note[i]));
  ul_json_put(root, "notes", notes);
  return root;
}

static ul_status peaks(cavity_case *c, const options *opts, ul_error *err) {
  ul_status status = case_open(c, opts, err);
  if (status == UL_OK) status = ul_audit_verdict(c->audit, err);
  if (status == UL_OK) status = case_resolve(c, err);
  if (status != UL_OK) return status;
  ul_peaks_opts find = ul_peaks_opts_default();
  find.void_ok_mm3 = opts->void_ok_cm3 * 1000;
  ul_peaks *found;
  status = ul_peaks_find(c->heights, opts->up, &find, &found, err);
  if (status != UL_OK) return status;
  for (size_t i = 0; i < found->count; i++) found->peak[i].cavity += c->first_cavity;
  if (opts->json) {
    status = show_json(as_json(c, found), err);
  } else {
    show_file(c);
    show_tilt(c, found->up);
    show_peaks(found);
    show_thin(c);
  }
  ul_peaks_free(found);
  return status;
}

int verb_peaks(const options *opts) {
  cavity_case c;
  ul_error err = {0};
  ul_status status = peaks(&c, opts, &err);
  case_close(&c);
  return status == UL_OK ? 0 : verb_failed(opts, &err);
}
