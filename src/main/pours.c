#include "main/pours.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "main/mouths.h"
#include "main/show.h"
#include "report/words.h"

static ul_status find_seam(const cavity_case *c, const ul_grid *grid, pours *p, ul_error *err) {
  const options *o = c->opts;
  double total;
  if (!(o->seam_gap_mm > 0)) return UL_OK;
  p->seam_mm = ul_new(grid->cube_count, sizeof *p->seam_mm);
  if (!p->seam_mm) return ul_fail_memory(err);
  ul_status status = ul_seam_lengths(c->solid->mesh, o->parting_mm, o->parting_normal, grid,
                                     p->seam_mm, &total, err);
  if (status != UL_OK || total > 0) return status;
  return ul_fail(err, UL_E_OUTSIDE,
                 "the parting plane through %.1f, %.1f, %.1f mm does not cut the cavity: there is "
                 "no seam to leak",
                 o->parting_mm[0], o->parting_mm[1], o->parting_mm[2]);
}

static ul_status nobody_said(size_t cavities, pours *p, ul_error *err) {
  p->at_mm = ul_new(cavities, sizeof *p->at_mm);
  p->end_mm = ul_new(cavities, sizeof *p->end_mm);
  p->shut = ul_new(cavities, sizeof *p->shut);
  if (!p->at_mm || !p->end_mm || !p->shut) return ul_fail_memory(err);
  for (size_t i = 0; i < cavities; i++)
    for (int a = 0; a < 3; a++) p->at_mm[i][a] = p->end_mm[i][a] = NAN;
  return UL_OK;
}

static ul_status poured_twice(const cavity_case *c, uint32_t cavity, const double a[3],
                              const double b[3], ul_error *err) {
  return ul_fail(err, UL_E_USAGE,
                 "cavity %zu is poured into at %.4g, %.4g, %.4g and at %.4g, %.4g, %.4g mm: give "
                 "one --pour a cavity, or a line (--pour \"x,y,z;x,y,z\")",
                 case_cavity_number(c, cavity), a[0], a[1], a[2], b[0], b[1], b[2]);
}

ul_status pours_find(const cavity_case *c, const ul_grid *grid, pours *p, ul_error *err) {
  const options *o = c->opts;
  *p = (pours){0};
  ul_status status = find_seam(c, grid, p, err);
  if (status != UL_OK || (!o->pour_count && !o->hole_count)) return status;
  status = nobody_said(c->solid->cavity_count, p, err);
  if (status != UL_OK) return status;
  for (size_t i = 0; i < o->hole_count; i++) {
    const uint32_t cavity = case_cavity_at(c, o->hole[i].at_mm);
    ul_copy3(o->hole[i].at_mm, p->at_mm[cavity]);
    p->shut[cavity] = true;
  }
  for (size_t i = 0; i < o->pour_count; i++) {
    const uint32_t cavity = case_cavity_at(c, o->pour_mm[i]);
    for (size_t k = 0; k < i; k++)
      if (case_cavity_at(c, o->pour_mm[k]) == cavity)
        return poured_twice(c, cavity, o->pour_mm[k], o->pour_mm[i], err);
    ul_copy3(o->pour_mm[i], p->at_mm[cavity]);
    ul_copy3(o->pour_end_mm[i], p->end_mm[cavity]);
  }
  return UL_OK;
}

ul_status pours_as_risen(const ul_rise *rise, pours *p, ul_error *err) {
  ul_status status = p->at_mm ? UL_OK : nobody_said(rise->cavity_count, p, err);
  for (size_t i = 0; status == UL_OK && i < rise->cavity_count; i++)
    if (isnan(p->at_mm[i][0])) ul_copy3(rise->cavity[i].pour_mm, p->at_mm[i]);
  return status;
}

void pours_free(pours *p) {
  free(p->at_mm);
  free(p->end_mm);
  free(p->shut);
  free(p->seam_mm);
}

void pours_into(const cavity_case *c, const pours *p, ul_rise_opts *rise) {
  const options *o = c->opts;
  rise->pour_mm = (const double(*)[3])p->at_mm;
  rise->pour_end_mm = (const double(*)[3])p->end_mm;
  rise->poured_shut = p->shut;
  rise->poured_s = o->mix_s + o->pour_s;
  rise->shut_s = rise->poured_s + o->close_s;
  rise->turned_s = rise->shut_s + o->turn_s;
  if (o->has_poured_up) ul_copy3(o->poured_up, rise->poured_up);
  rise->has_parting = o->has_parting;
  rise->seam_gap_mm = o->seam_gap_mm;
  rise->seam_land_mm = o->wall_mm;
  rise->seam_mm = p->seam_mm;
  rise->wet_mobility = o->wet_mobility;
  ul_copy3(o->parting_mm, rise->parting_mm);
  ul_copy3(o->parting_normal, rise->parting_normal);
}

void pours_holes(const options *o, ul_rise_vent *vent, size_t *count) {
  for (size_t i = 0; i < o->hole_count; i++) {
    ul_rise_vent *hole = &vent[(*count)++];
    *hole = (ul_rise_vent){
        .diameter_mm = o->hole[i].diameter_mm, .length_mm = o->wall_mm, .plug = o->hole_plug[i]};
    ul_copy3(o->hole[i].at_mm, hole->at_mm);
  }
}

/* ---- what the clock has to keep to ---- */

/* The first moment at which a rise found foam at that cavity's opening; NAN: never. */
static double reached(const options *o, const ul_rise *rise, size_t first_hole, size_t cavity,
                      ul_opening opening) {
  if (opening != UL_OPENING_HOLE) return rise->cavity[cavity].rim_s;
  double first = NAN;
  for (size_t i = 0; i < o->hole_count; i++) {
    const ul_rise_vent_seen *hole = &rise->vent[first_hole + i];
    if (hole->cavity == cavity) first = fmin(first, hole->foam_shows_s); /* fmin ignores a NAN */
  }
  return first;
}

ul_status pours_clock(const cavity_case *c, const ul_foam *foam, double pack, const double up[3],
                      const ul_rise *rise, size_t first_hole, ul_clock *out, ul_error *err) {
  const options *o = c->opts;
  const ul_hands hands = {o->mix_s, o->pour_s, o->close_s, o->turn_s};
  const double *poured_up = o->has_poured_up ? o->poured_up : up;
  /* Without a rise the tilt is not known here, and what is poured in another has to be turned. */
  bool lies_so = rise && ul_dot(poured_up, up) > 1 - 1e-9;
  size_t count = c->solid->cavity_count;
  ul_clock_cavity *cavity = ul_new(count, sizeof *cavity);
  mouth *m = NULL;
  ul_status status = cavity ? mouths_find(c, poured_up, &m, err) : ul_fail_memory(err);
  for (size_t i = 0; status == UL_OK && i < count; i++) {
    cavity[i] = (ul_clock_cavity){m[i].opening, m[i].share_below, NAN};
    if (lies_so && m[i].opening != UL_OPENING_UNKNOWN)
      cavity[i].reached_s = reached(o, rise, first_hole, i, m[i].opening);
  }
  const ul_clock_mould mould = {count, cavity, o->has_poured_up && !lies_so};
  if (status == UL_OK) *out = ul_clock_run(foam, pack, &hands, &mould);
  free(cavity);
  free(m);
  return status;
}

const char *pours_how(const options *o, char out[POUR_WORDS]) {
  char a[UL_WORDS], b[UL_WORDS];
  size_t used = 0;
  *out = 0;
  if (o->has_poured_up)
    used += (size_t)snprintf(out, POUR_WORDS, "Pour and shut it lying so: %.100s; then turn it. ",
                             ul_words_tilt(o->poured_up, o->side_name, a));
  for (size_t i = 0; i < o->hole_count && used < POUR_WORDS; i++)
    used += (size_t)snprintf(
        out + used, POUR_WORDS - used, "Pour through the %s mm hole at %.60s%s. ",
        ul_words_figure(o->hole[i].diameter_mm, a), ul_words_place(o->hole[i].at_mm, b),
        o->hole_plug[i] ? ", and plug it when foam shows" : "");
  for (size_t i = 0; i < o->pour_count && used < POUR_WORDS; i++)
    if (!isnan(o->pour_end_mm[i][0]))
      used += (size_t)snprintf(
          out + used, POUR_WORDS - used, "Spread it evenly along the line from %.60s to %.60s. ",
          ul_words_place(o->pour_mm[i], a), ul_words_place(o->pour_end_mm[i], b));
  if (used && used < POUR_WORDS) out[used - 1] = 0; /* the last blank */
  return out;
}

void pours_show_seam(const options *o) {
  if (o->seam_gap_mm > 0)
    show_line("seam", "%g mm high over a land of %g mm%s: air and foam leave there", o->seam_gap_mm,
              o->wall_mm, o->has_wall ? "" : " (assumed: --wall)");
}

void pours_show_clock(const ul_clock *k, const ul_foam *foam, const options *opts) {
  char before[UL_CLOCK_WORDS];
  show_line("clock", "poured at %.0f s, %.0f s %s cream (%.0f s, %.0f at the earliest)",
            k->poured_s, fabs(k->pour_margin_s), k->pour_margin_s < 0 ? "after" : "before",
            k->cream_s, foam->cream_s.lo);
  show_line("", "shut at %.0f s, %.0f s %s %s (%.0f s)", k->shut_s, fabs(k->shut_margin_s),
            k->shut_margin_s < 0 ? "after" : "before", ul_clock_shut_words(k, before),
            k->shut_by_s);
  show_line("", "in its tilt at %.0f s, %.0f s %s %s (%.0f s)", k->turned_s, fabs(k->turn_margin_s),
            k->turn_margin_s < 0 ? "after" : "before", ul_clock_limit_word(k->turn_by),
            k->turn_by_s);
  if (!opts->hands_given)
    show_line("", "(from the start of mixing; mix %g, pour %g, close %g, turn %g s are assumed)",
              opts->mix_s, opts->pour_s, opts->close_s, opts->turn_s);
}
