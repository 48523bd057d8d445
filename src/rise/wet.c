#include "rise/wet.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "rise/flood.h"
#include "ullage/mobility.h"

static const double GROWTH = 0.1;

ul_status ul_wet_new(const ul_filling *f, const ul_rise_opts *opts, ul_wet_mobility *w,
                     ul_error *err) {
  *w = (ul_wet_mobility){.on = opts->wet_mobility};
  if (!w->on) return UL_OK;
  if (!f->cubes->columns)
    return ul_fail(err, UL_E_USAGE, "mobility of the wet part needs the cavity's columns");
  w->wet = ul_new_raw(f->cubes->grid->cube_count, sizeof *w->wet);
  w->k_mm2 = ul_new_raw(f->cubes->grid->cube_count, sizeof *w->k_mm2);
  return w->wet && w->k_mm2 ? UL_OK : ul_fail_memory(err);
}

void ul_wet_free(ul_wet_mobility *w) {
  free(w->wet);
  free(w->k_mm2);
}

/* Foam, and one cube round it: that is how far it gets until the next time. */
static void mark_wet(const ul_filling *f, uint8_t *wet) {
  const ul_cubes *c = f->cubes;
  memset(wet, 0, c->grid->cube_count);
  for (size_t i = 0; i < f->count; i++) {
    if (!(f->mass[i] > 0)) continue;
    int32_t corner[UL_CORNERS];
    int corners = ul_cube_corners(c, i, corner);
    wet[c->at[i]] = 1;
    for (int s = 0; s < UL_SIDES; s++)
      if (c->next[i][s] != UL_NO_CUBE) wet[c->at[c->next[i][s]]] = 1;
    for (int k = 0; k < corners; k++) wet[c->at[corner[k]]] = 1;
  }
}

ul_status ul_wet_follow(ul_filling *f, const ul_rise_opts *opts, ul_wet_mobility *w, size_t *count,
                        ul_error *err) {
  double volume = f->charge_kg / ul_foam_at(f, f->t).density;
  if (!w->on || volume < (1 + GROWTH) * w->solved_m3) return UL_OK;
  const ul_grid *g = f->cubes->grid;
  mark_wet(f, w->wet);
  ul_status status = ul_mobility_of(g, f->cubes->columns, NULL, w->wet, f->job, w->k_mm2, err);
  w->solved_m3 = volume;
  if (status == UL_E_NUMBER) return UL_OK; /* foam that touches no wall: K stays as it is */
  if (status != UL_OK) return status;
  for (size_t i = 0; i < g->cube_count; i++)
    if (!w->wet[i]) w->k_mm2[i] = opts->mobility_mm2[i];
  ul_filling_set_mobility(f, w->k_mm2);
  (*count)++;
  return UL_OK;
}
