#include "rise/filling.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "rise/flood.h"
#include "rise/seam.h"

void ul_filling_free(ul_filling *f) {
  if (!f) return;
  ul_solver_free(f->solver);
  ul_stairs_free(&f->stairs);
  free(f->volume);
  free(f->height);
  for (int a = 0; a < 3; a++) free(f->face[a]);
  free(f->mass);
  free(f->pressure);
  free(f->full);
  free(f->air);
  free(f->part);
  for (size_t i = 0; i < f->mouth_count; i++) {
    free(f->mouth[i].cube);
    free(f->mouth[i].share);
  }
  free(f->mouth);
  free(f->arrival_s);
  free(f);
}

static bool allocate(ul_filling *f, size_t vents) {
  size_t n = f->count;
  f->volume = ul_new_raw(n, sizeof *f->volume);
  for (int a = 0; a < 3; a++) f->face[a] = ul_new(n, sizeof *f->face[a]);
  f->mass = ul_new(n, sizeof *f->mass);
  f->pressure = ul_new(n, sizeof *f->pressure);
  f->full = ul_new(n, 1);
  f->air = ul_new(n, sizeof *f->air);
  f->mouth = ul_new(vents + 1, sizeof *f->mouth); /* and a seam */
  f->arrival_s = ul_new_raw(n, sizeof *f->arrival_s);
  return f->volume && f->face[0] && f->face[1] && f->face[2] && f->mass && f->pressure && f->full &&
         f->air && f->mouth && f->arrival_s;
}

/* Mobility of a face: in series through both half cubes. */
static double series(double a, double b) {
  return a + b > 0 ? 2 * a * b / (a + b) : 0;
}

void ul_filling_set_mobility(ul_filling *f, const float *mobility_mm2) {
  const ul_cubes *c = f->cubes;
  for (size_t i = 0; i < f->count; i++) {
    for (int a = 0; a < 3; a++) {
      int32_t next = c->next[i][2 * a + 1];
      if (next == UL_NO_CUBE) continue;
      double k = series((double)mobility_mm2[c->at[i]], (double)mobility_mm2[c->at[next]]);
      f->face[a][i] = k * 1e-6 * f->cube_m;
    }
  }
}

static void measure(ul_filling *f, const float *mobility_mm2) {
  for (size_t i = 0; i < f->count; i++) {
    f->volume[i] = f->cubes->volume_mm3[i] * 1e-9;
    f->volume_m3 += f->volume[i];
    f->arrival_s[i] = INFINITY;
  }
  ul_filling_set_mobility(f, mobility_mm2);
}

/* The solver's own numbering is ours: cubes inside in the order of the lattice. */
static ul_status new_solver(ul_filling *f, ul_error *err) {
  const ul_cubes *c = f->cubes;
  const ul_lattice *l = &c->grid->lattice;
  const size_t stride[3] = {1, (size_t)l->n[0], (size_t)l->n[0] * (size_t)l->n[1]};
  uint8_t *inside = ul_new(c->grid->cube_count, 1), *shut = ul_new(f->count, 1);
  ul_status status = inside && shut ? UL_OK : ul_fail_memory(err);
  if (status == UL_OK) {
    for (size_t i = 0; i < f->count; i++) inside[c->at[i]] = 1;
    for (size_t i = 0; i < f->count; i++)
      for (int a = 0; a < 3; a++) {
        size_t beside = c->at[i] + stride[a];
        bool wall = c->next[i][2 * a + 1] == UL_NO_CUBE;
        if (wall && beside < c->grid->cube_count && inside[beside]) shut[i] |= (uint8_t)(1 << a);
      }
    status = ul_solver_new(l->n, inside, shut, f->job, &f->solver, err);
  }
  free(inside);
  free(shut);
  return status;
}

/* ---- mouths ---- */

static bool at_wall(const ul_cubes *c, size_t cube) {
  for (int side = 0; side < UL_SIDES; side++)
    if (c->next[cube][side] == UL_NO_CUBE) return true;
  return false;
}

/* Its mouth: the cube nearest to it, and those at the wall within its radius. */
static ul_status open_mouth(ul_filling *f, const ul_rise_vent *vent, size_t given, size_t nearest,
                            ul_error *err) {
  ul_mouth *m = &f->mouth[f->mouth_count];
  *m = (ul_mouth){.given = given, .plug = vent->plug, .shows_s = NAN, .clogs_s = NAN};
  m->bore = ul_bore_of(vent->diameter_mm * 1e-3, vent->length_mm * 1e-3);
  size_t room = 0;
  for (size_t i = 0; i < f->count; i++) {
    double centre[3];
    ul_cube_centre_mm(f->cubes, i, centre);
    const bool within = ul_distance(centre, vent->at_mm) <= vent->diameter_mm / 2;
    if (i != nearest && !(within && at_wall(f->cubes, i))) continue;
    if (!ul_grow((void **)&m->cube, &room, m->count + 1, sizeof *m->cube)) {
      free(m->cube);
      return ul_fail_memory(err);
    }
    m->cube[m->count++] = (uint32_t)i;
  }
  f->mouth_count++;
  return UL_OK;
}

static ul_status open_mouths(ul_filling *f, const ul_rise_opts *opts, ul_error *err) {
  for (size_t v = 0; v < opts->vent_count; v++) {
    const ul_rise_vent *vent = &opts->vent[v];
    size_t cube;
    if (!(vent->diameter_mm > 0) || !(vent->length_mm >= 0))
      return ul_fail(err, UL_E_USAGE, "vent %zu is %g mm wide and %g mm long: give both", v + 1,
                     vent->diameter_mm, vent->length_mm);
    /* Another cavity's vent is not in these cubes; whether it is anywhere has been asked before. */
    if (ul_cubes_find(f->cubes, vent->at_mm, "vent", &cube, NULL) != UL_OK) continue;
    if (!ul_cubes_own(f->cubes, vent->at_mm, cube)) continue;
    ul_status status = open_mouth(f, vent, v, cube, err);
    if (status != UL_OK) return status;
  }
  return UL_OK;
}

ul_status ul_filling_new(const ul_cubes *cubes, const ul_rise_opts *opts, const double up[3],
                         const ul_job *job, ul_filling **out, ul_error *err) {
  ul_filling *f = *out = ul_new(1, sizeof *f);
  if (!f) return ul_fail_memory(err);
  *f = (ul_filling){.cubes = cubes, .foam = &opts->foam, .job = job, .open = opts->open};
  f->count = cubes->count;
  f->mean_pa = UL_ATMOSPHERE_PA;
  f->into_front = 1;
  f->cube_m = cubes->grid->lattice.cube_mm * 1e-3;
  ul_status status = ul_filling_aim(f, up, err);
  if (status == UL_OK && !allocate(f, opts->vent_count)) status = ul_fail_memory(err);
  if (status == UL_OK) {
    measure(f, opts->mobility_mm2);
    f->smallest_m3 = 2e-6 * f->volume_m3;
    status = open_mouths(f, opts, err);
    if (status == UL_OK) status = ul_seam_open(f, opts, err);
  }
  if (status == UL_OK) status = ul_stairs_new(cubes, &f->stairs, err);
  if (status == UL_OK) status = new_solver(f, err);
  if (status == UL_OK) return UL_OK;
  ul_filling_free(f);
  *out = NULL;
  return status;
}

ul_status ul_filling_aim(ul_filling *f, const double up[3], ul_error *err) {
  double *height = ul_cube_heights(f->cubes, up);
  if (!height) return ul_fail_memory(err);
  for (size_t i = 0; i < f->count; i++) height[i] *= 1e-3;
  free(f->height);
  f->height = height;
  f->layer_m = 0;
  for (int s = 0; s < UL_SIDES; s++) {
    f->rise[s] = (s % 2 ? 1 : -1) * f->cube_m * up[s / 2];
    f->layer_m = fmax(f->layer_m, f->rise[s]);
  }
  return UL_OK;
}

/* ---- the foam now ---- */

ul_foam_now ul_foam_at(const ul_filling *f, double t) {
  ul_foam_now now;
  double e = ul_foam_progress(f->foam, t);
  now.liquid = 1 / ul_mid(f->foam->liquid_kg_m3);
  now.gas = (ul_foam_volume_m3_kg(f->foam, e, UL_ATMOSPHERE_PA) - now.liquid) * UL_ATMOSPHERE_PA;
  double v = now.liquid + now.gas / f->mean_pa;
  now.density = 1 / v;
  now.viscosity = ul_foam_liquid_viscosity(f->foam, t) * ul_foam_gas_factor(f->foam, v);
  return now;
}
