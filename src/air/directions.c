#include "air/directions.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/vec.h"

enum {
  RAISE_STEP_DEG =
      5, /* what a shop sets with a wedge or an angle gauge: common practice, no source */
  RAISE_MOST_DEG = 45,
  FLATS_AT_MOST = 32,
};

static const double RADIAN = 0.017453292519943295; /* of a degree */

static bool add(directions *d, const double up[3]) {
  double length = ul_norm(up);
  if (!ul_grow((void **)&d->up, &d->room, d->count + 1, sizeof *d->up)) return false;
  for (int c = 0; c < 3; c++) d->up[d->count][c] = up[c] / length + 0.0; /* no -0 */
  d->count++;
  return true;
}

static bool add_sphere(directions *d, size_t tries) {
  const double turn = 3.14159265358979323846 * (3 - sqrt(5)); /* the golden angle */
  for (size_t i = 0; i < tries; i++) {
    double z = 1 - (2 * (double)i + 1) / (double)tries;
    double r = sqrt(1 - z * z), a = turn * (double)i;
    if (!add(d, (double[3]){r * cos(a), r * sin(a), z})) return false;
  }
  return true;
}

/* 6 faces, 12 edges, 8 corners. */
static bool add_box(directions *d) {
  for (int i = 0; i < 27; i++) {
    double up[3] = {i % 3 - 1, i / 3 % 3 - 1, i / 9 - 1};
    if (ul_norm(up) > 0 && !add(d, up)) return false;
  }
  return true;
}

static bool add_one_side_raised(directions *d) {
  for (int face = 0; face < 6; face++)
    for (int side = 0; side < 4; side++)
      for (int deg = RAISE_STEP_DEG; deg <= RAISE_MOST_DEG; deg += RAISE_STEP_DEG) {
        double up[3] = {0};
        up[face / 2] = (face & 1 ? 1 : -1) * cos(deg * RADIAN);
        up[(face / 2 + 1 + side / 2) % 3] = (side & 1 ? 1 : -1) * sin(deg * RADIAN);
        if (!add(d, up)) return false;
      }
  return true;
}

/* A direction in which faces look, coarsened so that one plane's triangles fall together. */
typedef struct {
  int32_t key[3];
  double area; /* of the faces, twice, mm2 */
  double normal[3];
} facing;

static int by_key(const void *a, const void *b) {
  return memcmp(((const facing *)a)->key, ((const facing *)b)->key, sizeof((facing *)0)->key);
}

static int by_area(const void *a, const void *b) {
  double x = ((const facing *)a)->area, y = ((const facing *)b)->area;
  return x > y ? -1 : x < y ? 1 : by_key(a, b);
}

static size_t list_facings(const ul_mesh *mesh, facing *f) {
  size_t n = 0;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    const uint32_t *v = mesh->triangle[t];
    double e[3], g[3], *normal = f[n].normal;
    ul_sub(mesh->vertex_mm[v[1]], mesh->vertex_mm[v[0]], e);
    ul_sub(mesh->vertex_mm[v[2]], mesh->vertex_mm[v[0]], g);
    ul_cross(e, g, normal);
    f[n].area = ul_norm(normal);
    if (!(f[n].area > 0)) continue;
    for (int c = 0; c < 3; c++) f[n].key[c] = (int32_t)lround(normal[c] / f[n].area * 1000);
    n++;
  }
  return n;
}

static size_t merge_facings(facing *f, size_t n) {
  qsort(f, n, sizeof *f, by_key);
  size_t kept = 0;
  for (size_t i = 0; i < n; i++) {
    if (kept && by_key(&f[kept - 1], &f[i]) == 0) {
      f[kept - 1].area += f[i].area;
      ul_add_scaled(f[kept - 1].normal, 1, f[i].normal, f[kept - 1].normal);
    } else {
      f[kept++] = f[i];
    }
  }
  qsort(f, kept, sizeof *f, by_area);
  return kept;
}

static bool add_flats(directions *d, const ul_mesh *mesh) {
  facing *f = ul_new(mesh->triangle_count, sizeof *f);
  if (!f) return false;
  size_t n = merge_facings(f, list_facings(mesh, f));
  double all = 0;
  for (size_t i = 0; i < n; i++) all += f[i].area;
  bool room = true;
  for (size_t i = 0; i < n && i < FLATS_AT_MOST && f[i].area > 0.01 * all && room; i++) {
    double down[3] = {-f[i].normal[0], -f[i].normal[1], -f[i].normal[2]};
    room = add(d, f[i].normal) && add(d, down);
  }
  free(f);
  return room;
}

ul_status ul_directions_make(const ul_solid *solid, size_t tries, directions *out) {
  memset(out, 0, sizeof *out);
  if (add_sphere(out, tries) && add_box(out) && add_one_side_raised(out) &&
      add_flats(out, solid->mesh))
    return UL_OK;
  free(out->up);
  memset(out, 0, sizeof *out);
  return UL_E_MEMORY;
}

void ul_direction_to_shop(const double up[3], double out[3]) {
  int stands = 2; /* of equals z, as ul_props_for() has it */
  for (int c = 1; c >= 0; c--)
    if (fabs(up[c]) > fabs(up[stands]) + 1e-9) stands = c;
  double sines = 0;
  for (int c = 0; c < 3; c++) {
    if (c == stands) continue;
    double deg = asin(fmax(-1, fmin(1, up[c]))) / RADIAN;
    out[c] = sin(RAISE_STEP_DEG * round(deg / RAISE_STEP_DEG) * RADIAN) + 0.0;
    sines += out[c] * out[c];
  }
  out[stands] = copysign(sqrt(fmax(0, 1 - sines)), up[stands]);
}

void ul_direction_beside(const double up[3], double deg, int eighth, double out[3]) {
  int least = 0;
  for (int c = 1; c < 3; c++)
    if (fabs(up[c]) < fabs(up[least])) least = c;
  double axis[3] = {0}, across[3], along[3];
  axis[least] = 1;
  ul_cross(up, axis, across);
  double length = ul_norm(across);
  for (int c = 0; c < 3; c++) across[c] /= length;
  ul_cross(across, up, along);
  double a = eighth * 45 * RADIAN, s = sin(deg * RADIAN);
  for (int c = 0; c < 3; c++)
    out[c] = up[c] * cos(deg * RADIAN) + s * (along[c] * cos(a) + across[c] * sin(a));
}
