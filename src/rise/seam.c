#include "ullage/seam.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "rise/seam.h"

/* ---- where the plane cuts the wall ---- */

/* No two halves are ground to this; a file's single precision is finer up to 10 m. */
static const double ON_PLANE_MM = 1e-3;

/* Which side a corner is on: `keep` +1 takes those in the plane as above, -1 as below. */
static bool is_above(double off, double keep) {
  return keep > 0 ? off > -ON_PLANE_MM : off > ON_PLANE_MM;
}

/* The ends of the line in which the plane cuts the triangle; false when it does not. */
static bool cut_triangle(const double corner[3][3], const double off[3], double keep,
                         double end[2][3]) {
  int found = 0;
  for (int k = 0; k < 3 && found < 2; k++) {
    int n = (k + 1) % 3;
    if (is_above(off[k], keep) == is_above(off[n], keep)) continue;
    double share = fmin(1, fmax(0, off[k] / (off[k] - off[n]))), way[3];
    ul_sub(corner[n], corner[k], way);
    ul_add_scaled(corner[k], share, way, end[found++]);
  }
  return found == 2;
}

/* The cube of the lattice that holds the point and is inside; SIZE_MAX: none. */
static size_t cube_inside(const ul_grid *g, const double at[3]) {
  const ul_lattice *l = &g->lattice;
  size_t number = 0, stride = 1;
  for (int a = 0; a < 3; a++) {
    double x = floor((at[a] - l->origin_mm[a]) / l->cube_mm);
    if (!(x >= 0 && x < l->n[a])) return SIZE_MAX;
    number += (size_t)x * stride;
    stride *= (size_t)l->n[a];
  }
  return g->inside[number] ? number : SIZE_MAX;
}

/* A piece of the line on the wall belongs to the first cube inside that is met from there inwards,
 * or a little up or down from that. */
static size_t cube_of_piece(const ul_grid *g, const double at[3], const double inwards[3],
                            const double normal[3]) {
  const double h = g->lattice.cube_mm;
  for (int in = 1; in <= 6; in++)
    for (int off = 0; off < 3; off++) {
      double p[3];
      ul_add_scaled(at, in * h / 4, inwards, p);
      ul_add_scaled(p, (off == 0 ? 0 : off == 1 ? -0.5 : 0.5) * h, normal, p);
      size_t cube = cube_inside(g, p);
      if (cube != SIZE_MAX) return cube;
    }
  return SIZE_MAX;
}

typedef struct {
  const ul_grid *grid;
  const ul_mesh *mesh;
  const double *at_mm, *normal;
  float *length_mm;
  double total, placed;
  size_t *flat; /* triangles that lie in the plane: floors, lids and ledges */
  size_t flats;
} seam;

/* ---- where walls end in the plane ---- */

static void corners_of(const seam *s, size_t triangle, double corner[3][3], double off[3]) {
  for (int k = 0; k < 3; k++) {
    double to[3];
    ul_copy3(s->mesh->vertex_mm[s->mesh->triangle[triangle][k]], corner[k]);
    ul_sub(corner[k], s->at_mm, to);
    off[k] = ul_dot(to, s->normal);
  }
}

static ul_status find_flats(seam *s, ul_error *err) {
  s->flat = ul_new_raw(s->mesh->triangle_count, sizeof *s->flat);
  if (!s->flat) return ul_fail_memory(err);
  for (size_t t = 0; t < s->mesh->triangle_count; t++) {
    double corner[3][3], off[3];
    corners_of(s, t, corner, off);
    if (fmax(fabs(off[0]), fmax(fabs(off[1]), fabs(off[2]))) <= ON_PLANE_MM)
      s->flat[s->flats++] = t;
  }
  return UL_OK;
}

/* Seen along the normal, its edges too. */
static bool is_in_triangle(const double corner[3][3], const double normal[3], const double at[3]) {
  bool left = false, right = false;
  for (int k = 0; k < 3; k++) {
    double along[3], to[3], across[3];
    ul_sub(corner[(k + 1) % 3], corner[k], along);
    ul_sub(at, corner[k], to);
    ul_cross(along, to, across);
    const double side = ul_dot(across, normal);
    left |= side > 0;
    right |= side < 0;
  }
  return !(left && right);
}

static bool is_flat_at(const seam *s, const double at[3]) {
  for (size_t i = 0; i < s->flats; i++) {
    double corner[3][3], off[3];
    corners_of(s, s->flat[i], corner, off);
    if (is_in_triangle((const double(*)[3])corner, s->normal, at)) return true;
  }
  return false;
}

/* The halves meet outside of what either has cut into its face. At a ledge the two edges lie apart:
 * an edge of the lower half (`keep` +1) is the outer one unless a ledge goes on outwards; one of
 * the upper half is, where a ledge comes to it from inwards, and else it is the lower one's too. */
static bool is_outer(const seam *s, double keep, const double at[3], const double inwards[3]) {
  static const double beside_mm = 0.01;
  double p[3];
  ul_add_scaled(at, keep > 0 ? -beside_mm : beside_mm, inwards, p);
  return is_flat_at(s, p) == (keep < 0);
}

static void put_segment(seam *s, double keep, const double end[2][3], const double outwards[3]) {
  double way[3], inwards[3], length = ul_distance(end[0], end[1]);
  double flat = ul_dot(outwards, s->normal), size;
  for (int a = 0; a < 3; a++) inwards[a] = -(outwards[a] - flat * s->normal[a]);
  size = ul_norm(inwards);
  if (length == 0 || size < 1e-12) return;
  for (int a = 0; a < 3; a++) inwards[a] /= size;
  ul_sub(end[1], end[0], way);
  int pieces = (int)ceil(2 * length / s->grid->lattice.cube_mm);
  for (int i = 0; i < pieces; i++) {
    double at[3];
    ul_add_scaled(end[0], (i + 0.5) / pieces, way, at);
    if (!is_outer(s, keep, at, inwards)) continue;
    size_t cube = cube_of_piece(s->grid, at, inwards, s->normal);
    s->total += length / pieces;
    if (cube == SIZE_MAX) continue;
    s->length_mm[cube] += (float)(length / pieces);
    s->placed += length / pieces;
  }
}

static void cut_mesh(seam *s, double keep) {
  for (size_t t = 0; t < s->mesh->triangle_count; t++) {
    double corner[3][3], off[3], end[2][3], a[3], b[3], outwards[3];
    corners_of(s, t, corner, off);
    if (!cut_triangle((const double(*)[3])corner, off, keep, end)) continue;
    ul_sub(corner[1], corner[0], a);
    ul_sub(corner[2], corner[0], b);
    ul_cross(a, b, outwards);
    double size = ul_norm(outwards);
    if (size == 0) continue;
    for (int k = 0; k < 3; k++) outwards[k] /= size;
    put_segment(s, keep, (const double(*)[3])end, outwards);
  }
}

ul_status ul_seam_lengths(const ul_mesh *mesh, const double at_mm[3], const double normal[3],
                          const ul_grid *grid, float *length_mm, double *total_mm, ul_error *err) {
  seam s = {.grid = grid, .mesh = mesh, .at_mm = at_mm, .normal = normal, .length_mm = length_mm};
  for (size_t i = 0; i < grid->cube_count; i++) length_mm[i] = 0;
  ul_status status = find_flats(&s, err);
  if (status != UL_OK) return status;
  cut_mesh(&s, 1);
  cut_mesh(&s, -1);
  for (size_t i = 0; s.placed > 0 && i < grid->cube_count; i++)
    length_mm[i] *= (float)(s.total / s.placed); /* what found no cube is shared out */
  *total_mm = s.total;
  free(s.flat);
  return UL_OK;
}

/* ---- as a mouth ---- */

ul_status ul_seam_open(ul_filling *f, const ul_rise_opts *opts, ul_error *err) {
  double total = 0;
  size_t count = 0, k = 0;
  if (!opts->seam_mm || !(opts->seam_gap_mm > 0)) return UL_OK;
  for (size_t i = 0; i < f->count; i++) {
    double length = (double)opts->seam_mm[f->cubes->at[i]];
    count += length > 0;
    total += length;
  }
  if (!count) return UL_OK;
  ul_mouth *m = &f->mouth[f->mouth_count++];
  *m = (ul_mouth){.seam = true, .count = count, .shows_s = NAN, .clogs_s = NAN};
  m->slot = ul_slot_of(opts->seam_gap_mm * 1e-3, total * 1e-3, opts->seam_land_mm * 1e-3);
  m->cube = ul_new_raw(count, sizeof *m->cube);
  m->share = ul_new_raw(count, sizeof *m->share);
  if (!m->cube || !m->share) return ul_fail_memory(err);
  for (size_t i = 0; i < f->count; i++) {
    double length = (double)opts->seam_mm[f->cubes->at[i]];
    if (length <= 0) continue;
    m->cube[k] = (uint32_t)i;
    m->share[k++] = length / total;
  }
  return UL_OK;
}
