#include "main/foam_proof.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "main/foam_choice.h"
#include "main/pours.h"
#include "main/show.h"
#include "report/json.h"

static ul_status list_vents(const options *o, const ul_vents *vents, foam_proof *p, ul_error *err) {
  p->vent = ul_new(vents->count + o->hole_count, sizeof *p->vent);
  p->vent_id = ul_new(vents->count + o->hole_count, sizeof *p->vent_id);
  if (!p->vent || !p->vent_id) return ul_fail_memory(err);
  for (size_t i = 0; i < vents->count; i++) {
    const ul_vent *v = &vents->vent[i];
    if (!v->ok) continue;
    p->vent_id[p->vent_count] = v->id;
    ul_rise_vent *hole = &p->vent[p->vent_count++];
    *hole = (ul_rise_vent){.diameter_mm = v->diameter_mm, .length_mm = v->length_mm};
    ul_copy3(v->at_mm, hole->at_mm);
  }
  p->first_hole = p->vent_count;
  pours_holes(o, p->vent, &p->vent_count);
  return UL_OK;
}

static void find_worst(foam_proof *p) {
  for (size_t i = 0; i < p->rise->cavity_count; i++) {
    const ul_rise_cavity *r = &p->rise->cavity[i];
    p->short_mm3 = fmax(p->short_mm3, r->short_mm3);
    p->peak_kpa = fmax(p->peak_kpa, r->peak_kpa);
    if (!r->void_count || r->voids[0].void_mm3 <= p->worst_mm3) continue;
    p->worst_mm3 = r->voids[0].void_mm3;
    p->worst_cavity = (uint32_t)i;
    ul_copy3(r->voids[0].at_mm, p->worst_at_mm);
  }
}

static ul_status rise(const cavity_case *c, const double up[3], const ul_grid *grid,
                      const ul_columns *columns, foam_proof *p, ul_error *err) {
  pours in;
  ul_rise_opts o = ul_rise_opts_default();
  o.foam = p->foam;
  o.pack = p->pack;
  o.vent = p->vent;
  o.vent_count = p->vent_count;
  ul_copy3(up, o.up);
  ul_status status = pours_find(c, grid, &in, err);
  pours_into(c, &in, &o);
  if (status == UL_OK) status = ul_rise_run(grid, columns, &o, &c->job, &p->rise, err);
  pours_free(&in);
  if (status == UL_OK)
    status =
        ul_meets_find(grid, columns, p->rise->arrival_s, INFINITY, &p->meet, &p->meet_count, err);
  return status;
}

ul_status foam_proof_make(const cavity_case *c, const double up[3], const ul_vents *vents,
                          foam_proof *p, ul_error *err) {
  memset(p, 0, sizeof *p);
  if (!c->opts->foam) return UL_OK;
  ul_columns *columns = NULL;
  ul_status status = foam_choose(c->opts, &p->foam, &p->pack, err);
  if (status == UL_OK) status = list_vents(c->opts, vents, p, err);
  if (status == UL_OK) status = case_foam_cubes(c, &columns, &p->grid, err);
  if (status == UL_OK) status = rise(c, up, p->grid, columns, p, err);
  if (status == UL_OK) {
    p->cube_mm = p->grid->lattice.cube_mm;
    find_worst(p);
  }
  ul_columns_free(columns);
  return status;
}

void foam_proof_free(foam_proof *p) {
  free(p->vent);
  free(p->vent_id);
  ul_rise_free(p->rise);
  ul_grid_free(p->grid);
  free(p->meet);
}

static void show_vents(const foam_proof *p) {
  for (size_t i = p->first_hole; i < p->vent_count; i++)
    if (!isnan(p->rise->vent[i].foam_shows_s))
      show_line("", "foam shows at the pour hole after %.0f s", p->rise->vent[i].foam_shows_s);
  for (size_t i = 0; i < p->first_hole; i++) {
    const ul_rise_vent_seen *seen = &p->rise->vent[i];
    if (isnan(seen->foam_shows_s))
      show_line("", "no foam shows at vent %u", p->vent_id[i]);
    else
      show_line("", "foam shows at vent %u after %.0f s", p->vent_id[i], seen->foam_shows_s);
  }
}

void foam_proof_show(const options *opts, const foam_proof *p) {
  if (!p->rise) return;
  show_line("rise", "%s, charge %.3g times free rise, in cubes of %.2g mm", p->foam.name, p->pack,
            p->cube_mm);
  pours_show_seam(opts);
  show_vents(p);
  show_seams(p->meet, p->meet_count);
}

json_t *foam_proof_json(const foam_proof *p) {
  json_t *root = json_object();
  if (!p->rise) return root;
  ul_json_put(root, "rise_cube_mm", json_real(p->cube_mm));
  ul_json_put(root, "events", ul_json_rise_events(p->rise, true));
  ul_json_put(root, "meets", ul_json_meets(p->meet, p->meet_count, true));
  return root;
}
