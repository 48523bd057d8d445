#include "cavity/holes.h"

#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdlib.h>

typedef struct {
  const uint32_t *corner;
  double (*at)[2];
  size_t *ring; /* corners not cut off yet */
  size_t count;
} polygon;

/* Newell's normal: the polygon has its largest area seen along it. */
static void best_plane(const ul_mesh *mesh, const uint32_t *corner, size_t count, double u[3],
                       double v[3]) {
  const double *origin = mesh->vertex_mm[corner[0]];
  double normal[3] = {0}, a[3], b[3], x[3];
  for (size_t i = 1; i + 1 < count; i++) {
    ul_sub(mesh->vertex_mm[corner[i]], origin, a);
    ul_sub(mesh->vertex_mm[corner[i + 1]], origin, b);
    ul_cross(a, b, x);
    ul_add_scaled(normal, 1, x, normal);
  }
  int thin = fabs(normal[0]) < fabs(normal[1]) ? 0 : 1;
  if (fabs(normal[2]) < fabs(normal[thin])) thin = 2;
  double axis[3] = {thin == 0, thin == 1, thin == 2};
  if (ul_norm(normal) == 0) normal[(thin + 1) % 3] = 1; /* all on one line: any plane will do */
  ul_cross(axis, normal, u);
  ul_cross(normal, u, v);
  double lu = ul_norm(u), lv = ul_norm(v);
  for (int c = 0; c < 3; c++) u[c] /= lu, v[c] /= lv;
}

static double turn(const double a[2], const double b[2], const double c[2]) {
  return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
}

static double turn_at(const polygon *p, size_t i) {
  size_t before = p->ring[(i + p->count - 1) % p->count], after = p->ring[(i + 1) % p->count];
  return turn(p->at[before], p->at[p->ring[i]], p->at[after]);
}

static bool is_ear(const polygon *p, size_t i) {
  size_t before = (i + p->count - 1) % p->count, after = (i + 1) % p->count;
  const double *a = p->at[p->ring[before]], *b = p->at[p->ring[i]], *c = p->at[p->ring[after]];
  if (turn(a, b, c) <= 0) return false;
  for (size_t j = 0; j < p->count; j++) {
    if (j == before || j == i || j == after) continue;
    const double *q = p->at[p->ring[j]];
    if (turn(a, b, q) >= 0 && turn(b, c, q) >= 0 && turn(c, a, q) >= 0) return false;
  }
  return true;
}

/* The first ear; where rounding or a twisted rim leaves none, the sharpest left turn. */
static size_t find_ear(const polygon *p) {
  size_t best = 0;
  for (size_t i = 0; i < p->count; i++) {
    if (is_ear(p, i)) return i;
    if (turn_at(p, i) > turn_at(p, best)) best = i;
  }
  return best;
}

static void clip(polygon *p, uint32_t (*triangle)[3]) {
  while (p->count >= 3) {
    size_t i = find_ear(p);
    uint32_t *t = *triangle++;
    t[0] = p->corner[p->ring[(i + p->count - 1) % p->count]];
    t[1] = p->corner[p->ring[i]];
    t[2] = p->corner[p->ring[(i + 1) % p->count]];
    for (size_t j = i; j + 1 < p->count; j++) p->ring[j] = p->ring[j + 1];
    p->count--;
  }
}

ul_status ul_patch_polygon(const ul_mesh *mesh, const uint32_t *corner, size_t count,
                           uint32_t (*triangle)[3]) {
  polygon p = {corner, ul_new_raw(count, sizeof *p.at), ul_new_raw(count, sizeof *p.ring), count};
  ul_status status = p.at && p.ring ? UL_OK : UL_E_MEMORY;
  if (status == UL_OK) {
    double u[3], v[3], d[3];
    best_plane(mesh, corner, count, u, v);
    for (size_t i = 0; i < count; i++) {
      ul_sub(mesh->vertex_mm[corner[i]], mesh->vertex_mm[corner[0]], d);
      p.at[i][0] = ul_dot(d, u);
      p.at[i][1] = ul_dot(d, v);
      p.ring[i] = i;
    }
    clip(&p, triangle);
  }
  free(p.at);
  free(p.ring);
  return status;
}
