#include "main/foam_proof.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "main/show.h"
#include "report/json.h"
#include "ullage/repeats.h"

/* ---- a shot ---- */

static ul_status list_vents(const options *o, const ul_vents *vents, foam_shot *s, ul_error *err) {
  s->vent = ul_new(vents->count + o->hole_count, sizeof *s->vent);
  s->vent_id = ul_new(vents->count + o->hole_count, sizeof *s->vent_id);
  if (!s->vent || !s->vent_id) return ul_fail_memory(err);
  for (size_t i = 0; i < vents->count; i++) {
    const ul_vent *v = &vents->vent[i];
    if (!v->ok || v->closed) continue;
    s->vent_id[s->vent_count] = v->id;
    ul_rise_vent *hole = &s->vent[s->vent_count++];
    double narrow_mm = v->relief_mm > 0 ? v->land_mm : v->length_mm;
    *hole = (ul_rise_vent){.diameter_mm = v->diameter_mm, .length_mm = narrow_mm, .plug = v->plug};
    ul_copy3(v->at_mm, hole->at_mm);
  }
  s->first_hole = s->vent_count;
  pours_holes(o, s->vent, &s->vent_count);
  return UL_OK;
}

ul_status foam_shot_make(const cavity_case *c, const pack_choice *choice, const foam_bed *bed,
                         const double up[3], const ul_vents *vents, foam_shot *s, ul_error *err) {
  *s = (foam_shot){.opts = ul_rise_opts_default()};
  ul_status status = pours_find(c, bed->grid, &s->in, err);
  if (status == UL_OK && vents) status = list_vents(c->opts, vents, s, err);
  pours_into(c, &s->in, &s->opts);
  s->opts.foam = choice->foam;
  s->opts.pack = choice->pack;
  s->opts.mobility_mm2 = bed->mobility_mm2;
  s->opts.vent = s->vent;
  s->opts.vent_count = s->vent_count;
  s->opts.open = !vents;
  ul_copy3(up, s->opts.up);
  return status;
}

void foam_shot_free(foam_shot *s) {
  pours_free(&s->in);
  free(s->vent);
  free(s->vent_id);
}

foam_left foam_left_by(const ul_rise *rise, double void_ok_mm3) {
  foam_left left = {0};
  for (size_t i = 0; i < rise->cavity_count; i++) {
    const ul_rise_cavity *r = &rise->cavity[i];
    left.short_mm3 = fmax(left.short_mm3, r->short_mm3);
    left.peak_kpa = fmax(left.peak_kpa, r->peak_kpa);
    left.bled_g += r->seam_bled_g;
    left.over_mm = fmax(left.over_mm, r->rim_over_mm);
    for (size_t k = 0; k < r->void_count && r->voids[k].void_mm3 > void_ok_mm3; k++)
      left.voids_mm3 += r->voids[k].void_mm3;
    if (!r->void_count || r->voids[0].void_mm3 <= left.worst_mm3) continue;
    left.worst_mm3 = r->voids[0].void_mm3;
    left.worst_cavity = (uint32_t)i;
    ul_copy3(r->voids[0].at_mm, left.worst_at_mm);
  }
  for (size_t i = 0; i < rise->vent_count; i++) {
    left.bled_g += rise->vent[i].bled_g;
    left.over_mm = fmax(left.over_mm, rise->vent[i].liquid_over_mm);
  }
  return left;
}

/* ---- the one that is handed over ---- */

static void take_over(foam_shot *s, foam_proof *p) {
  p->vent_count = s->vent_count;
  p->vent = s->vent;
  p->vent_id = s->vent_id;
  p->first_hole = s->first_hole;
  s->vent = NULL;
  s->vent_id = NULL;
}

static void look(foam_proof *p, double void_ok_mm3) {
  foam_left left = foam_left_by(p->rise, void_ok_mm3);
  p->worst_mm3 = left.worst_mm3;
  p->worst_cavity = left.worst_cavity;
  p->voids_mm3 = left.voids_mm3;
  p->short_mm3 = left.short_mm3;
  p->peak_kpa = left.peak_kpa;
  ul_copy3(left.worst_at_mm, p->worst_at_mm);
}

static ul_status run(const cavity_case *c, const foam_bed *bed, const ul_rise_opts *opts,
                     size_t count, ul_rise **rise, ul_error *err) {
  if (count > 1)
    return ul_rises_run(bed->grid, bed->columns, opts, count, &c->job, "proving", rise, err);
  return count ? ul_rise_run(bed->grid, bed->columns, opts, &c->job, rise, err) : UL_OK;
}

static ul_status finish(const cavity_case *c, const foam_bed *bed, foam_proof *p, ul_error *err) {
  ul_status status = ul_meets_find(bed->grid, bed->columns, p->rise->arrival_s, INFINITY, &p->meet,
                                   &p->meet_count, err);
  if (status == UL_OK) look(p, c->opts->void_ok_cm3 * 1000);
  return status;
}

ul_status foam_proofs_make(const cavity_case *c, const pack_choice *choice, const foam_bed *bed,
                           const foam_asked *asked, size_t count, foam_proof *proof,
                           ul_error *err) {
  foam_shot shot[FOAM_PROOFS_MOST];
  ul_rise_opts opts[FOAM_PROOFS_MOST];
  ul_rise *rise[FOAM_PROOFS_MOST] = {NULL};
  size_t made = 0;
  ul_status status = UL_OK;
  for (size_t i = 0; i < count; i++)
    proof[i] = (foam_proof){.foam = choice->foam,
                            .pack = choice->pack,
                            .grid = bed->grid,
                            .cube_mm = bed->grid->lattice.cube_mm};
  for (; made < count && status == UL_OK; made++) {
    status = foam_shot_make(c, choice, bed, asked[made].up, asked[made].vents, &shot[made], err);
    opts[made] = shot[made].opts;
    opts[made].more_g = asked[made].more_g;
  }
  if (status == UL_OK) status = run(c, bed, opts, count, rise, err);
  for (size_t i = 0; i < made; i++) {
    proof[i].rise = rise[i];
    take_over(&shot[i], &proof[i]);
    foam_shot_free(&shot[i]);
  }
  for (size_t i = 0; i < count && status == UL_OK; i++) status = finish(c, bed, &proof[i], err);
  return status;
}

void foam_proof_free(foam_proof *p) {
  free(p->vent);
  free(p->vent_id);
  ul_rise_free(p->rise);
  free(p->meet);
  *p = (foam_proof){0};
}

/* Where a place is thin, a void of fewer cubes is the lattice's own roughness. */
static const double across = THIN_CUBES, across_thin = 1, of_thin_void = 8;

bool foam_proof_believes(const cavity_case *c, const foam_proof *p, const double at_mm[3],
                         double void_mm3) {
  const double thick = case_thickness_mm(c, at_mm) / p->cube_mm;
  return thick >= across || (thick >= across_thin && void_mm3 >= of_thin_void * pow(p->cube_mm, 3));
}

double foam_proof_needs_cube_mm(const cavity_case *c, const foam_proof *p) {
  static const double of_void = 0.8; /* two cubes make it then */
  const double *at = p->worst_at_mm, mm3 = p->worst_mm3;
  if (!p->rise || mm3 < p->short_mm3 || mm3 <= c->opts->void_ok_cm3 * 1000) return INFINITY;
  if (foam_proof_believes(c, p, at, mm3))
    return mm3 < pow(p->cube_mm, 3) ? of_void * cbrt(mm3) : INFINITY;
  const double thick_mm = case_thickness_mm(c, at);
  return fmax(thick_mm / across, fmin(thick_mm / across_thin, cbrt(mm3 / of_thin_void)));
}

static void show_vents(const cavity_case *c, const foam_proof *p) {
  for (size_t i = p->first_hole; i < p->vent_count; i++) {
    char whose[48] = "";
    if (c->solid->cavity_count > 1)
      snprintf(whose, sizeof whose, " of cavity %zu",
               case_cavity_number(c, p->rise->vent[i].cavity));
    if (!isnan(p->rise->vent[i].foam_shows_s))
      show_line("", "foam shows at the pour hole%s after %.0f s", whose,
                p->rise->vent[i].foam_shows_s);
  }
  for (size_t i = 0; i < p->first_hole; i++) {
    const ul_rise_vent_seen *seen = &p->rise->vent[i];
    if (isnan(seen->foam_shows_s))
      show_line("", "no foam shows at vent %u", p->vent_id[i]);
    else
      show_line("", "foam shows at vent %u after %.0f s", p->vent_id[i], seen->foam_shows_s);
  }
}

void foam_proof_show(const cavity_case *c, const foam_proof *p) {
  if (!p->rise) return;
  show_line("rise", "%s, charge %.3g times free rise, in cubes of %.2g mm", p->foam.name, p->pack,
            p->cube_mm);
  pours_show_seam(c->opts);
  show_vents(c, p);
  show_seams(p->meet, p->meet_count);
}

json_t *foam_proof_json(const cavity_case *c, const foam_proof *p) {
  json_t *root = json_object();
  if (!p->rise) return root;
  ul_json_put(root, "rise_cube_mm", json_real(p->cube_mm));
  const ul_rise_told told = case_rise_told(c, p->rise);
  ul_json_put(root, "events", ul_json_rise_events(&told));
  ul_json_put(root, "meets", ul_json_meets(&told, p->meet, p->meet_count));
  return root;
}
