#include "main/mouths.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

enum { HALVINGS = 60 };

/* ---- how much of a cavity lies below a height ---- */

/* A cube is in between for as long as the height is within its own. */
static double share_of_cubes(const ul_grid *g, size_t cavity, const double up[3],
                             double height_mm) {
  const ul_lattice *l = &g->lattice;
  double below = 0, all = 0, tall = l->cube_mm * (fabs(up[0]) + fabs(up[1]) + fabs(up[2]));
  for (size_t i = 0; i < g->cube_count; i++) {
    if (g->cavity[i] != cavity) continue;
    size_t n0 = (size_t)l->n[0], n1 = (size_t)l->n[1];
    const size_t at[3] = {i % n0, i / n0 % n1, i / (n0 * n1)};
    double height = 0;
    for (int a = 0; a < 3; a++)
      height += up[a] * (l->origin_mm[a] + ((double)at[a] + 0.5) * l->cube_mm);
    all += (double)g->fill[i];
    double part = 0.5 + (height_mm - height) / tall;
    below += fmin(1, fmax(0, part)) * (double)g->fill[i];
  }
  return all > 0 ? below / all : 0;
}

/* By the mesh where that is the cavity's wall. */
static double share_below(const cavity_case *c, size_t cavity, const double up[3],
                          double height_mm) {
  const ul_solid *const *insert;
  if (c->solid->overlapping || case_loose_inserts(c, &insert) > 0)
    return share_of_cubes(c->grid, cavity, up, height_mm);
  double below = ul_solid_below_mm3(c->solid, (uint32_t)cavity, up, height_mm);
  return fmin(1, fmax(0, below / c->solid->cavity[cavity].volume_mm3));
}

/* ---- the openings ---- */

static void take_lower(mouth *m, const double up[3], const double at_mm[3], size_t hole) {
  if (m->opening != UL_OPENING_UNKNOWN && ul_dot(up, at_mm) >= ul_dot(up, m->at_mm)) return;
  m->opening = hole == SIZE_MAX ? UL_OPENING_RIM : UL_OPENING_HOLE;
  m->hole = hole;
  ul_copy3(at_mm, m->at_mm);
}

/* Where the wall meets the parting plane. */
static void find_rims(const ul_solid *solid, const options *o, const double up[3], mouth *mouths) {
  const ul_mesh *mesh = solid->mesh;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    mouth *m = &mouths[solid->cavity_of[t]];
    if (m->opening == UL_OPENING_HOLE) continue;
    for (int k = 0; k < 3; k++) {
      const double *a = mesh->vertex_mm[mesh->triangle[t][k]],
                   *b = mesh->vertex_mm[mesh->triangle[t][(k + 1) % 3]];
      double to[3], way[3], at[3];
      ul_sub(a, o->parting_mm, to);
      ul_sub(b, a, way);
      double off = ul_dot(to, o->parting_normal), along = ul_dot(way, o->parting_normal);
      double share = along != 0 ? -off / along : fabs(off) < 1e-6 ? 0 : NAN;
      if (!(share >= 0 && share <= 1)) continue;
      ul_add_scaled(a, share, way, at);
      take_lower(m, up, at, SIZE_MAX);
    }
  }
}

ul_status mouths_find(const cavity_case *c, const double up[3], mouth **out, ul_error *err) {
  const options *o = c->opts;
  size_t count = c->solid->cavity_count;
  mouth *m = *out = ul_new(count, sizeof *m);
  if (!m) return ul_fail_memory(err);
  for (size_t i = 0; i < o->hole_count; i++)
    take_lower(&m[case_cavity_at(c, o->hole[i].at_mm)], up, o->hole[i].at_mm, i);
  if (o->has_parting) find_rims(c->solid, o, up, m);
  for (size_t i = 0; i < count; i++)
    if (m[i].opening != UL_OPENING_UNKNOWN)
      m[i].share_below = share_below(c, i, up, ul_dot(up, m[i].at_mm));
  return UL_OK;
}

bool mouth_is_hole(const cavity_case *c, size_t cavity) {
  const options *o = c->opts;
  for (size_t i = 0; i < o->hole_count; i++)
    if (case_cavity_at(c, o->hole[i].at_mm) == cavity) return true;
  return false;
}

double mouth_liquid_over_mm(const cavity_case *c, size_t cavity, const double up[3], const mouth *m,
                            double liquid_share) {
  if (m->opening == UL_OPENING_UNKNOWN || m->share_below >= liquid_share) return 0;
  double lo = 0, hi = 1, mouth_mm = ul_dot(up, m->at_mm);
  const ul_measure *v = &c->solid->cavity[cavity];
  double tall = ul_distance(v->box_mm[0], v->box_mm[1]);
  for (int i = 0; i < HALVINGS; i++) {
    double mid = (lo + hi) / 2;
    *(share_below(c, cavity, up, mouth_mm + mid * tall) < liquid_share ? &lo : &hi) = mid;
  }
  return hi * tall;
}
