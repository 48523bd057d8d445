/* drag.c - walls with too little draft. */
#include "ullage/parting.h"

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "cavity/edges.h"

#include <math.h>
#include <stdlib.h>

static const double least_height_mm = 3;
static const double same_wall = 0.7071067811865476; /* cosine of 45 degrees */

typedef struct {
  const ul_mesh *mesh;
  const double *draw;
  ul_edges edges;
  double (*normal)[3]; /* per triangle, of unit length; zeros if it has no area */
  double *area;
  unsigned char *steep; /* 1: too little draft, and on no wall yet */
  uint32_t *wall;       /* the triangles of the wall at hand, from the first found on */
} walls;

static void look_at(walls *w, size_t t, double least_sine) {
  const uint32_t *v = w->mesh->triangle[t];
  double a[3], b[3], n[3];
  ul_sub(w->mesh->vertex_mm[v[1]], w->mesh->vertex_mm[v[0]], a);
  ul_sub(w->mesh->vertex_mm[v[2]], w->mesh->vertex_mm[v[0]], b);
  ul_cross(a, b, n);
  double twice = ul_norm(n);
  w->area[t] = twice / 2;
  for (int c = 0; c < 3; c++) w->normal[t][c] = twice > 0 ? n[c] / twice : 0;
  w->steep[t] = twice > 0 && fabs(ul_dot(w->normal[t], w->draw)) < least_sine;
}

/* The wall that `first` is on, across edges: how many triangles it has. */
static size_t follow(walls *w, uint32_t first) {
  size_t count = 1;
  w->wall[0] = first;
  w->steep[first] = 0;
  for (size_t i = 0; i < count; i++)
    for (uint32_t k = 0; k < 3; k++) {
      uint32_t twin = w->edges.twin[3 * w->wall[i] + k];
      if (twin == UL_NONE || !w->steep[twin / 3]) continue;
      if (ul_dot(w->normal[w->wall[i]], w->normal[twin / 3]) < same_wall) continue;
      w->steep[twin / 3] = 0;
      w->wall[count++] = twin / 3;
    }
  return count;
}

static void middle_of(const ul_mesh *mesh, uint32_t t, double out[3]) {
  const uint32_t *v = mesh->triangle[t];
  for (int c = 0; c < 3; c++)
    out[c] = (mesh->vertex_mm[v[0]][c] + mesh->vertex_mm[v[1]][c] + mesh->vertex_mm[v[2]][c]) / 3;
}

/* The middle of the triangle nearest to the wall's own, which may hang in the air. */
static void place_on(const walls *w, size_t count, const double centre[3], double out[3]) {
  double nearest = INFINITY;
  for (size_t i = 0; i < count; i++) {
    double at[3];
    middle_of(w->mesh, w->wall[i], at);
    double far = ul_distance(at, centre);
    if (far >= nearest) continue;
    nearest = far;
    ul_copy3(at, out);
  }
}

static ul_drag describe(const walls *w, size_t count) {
  ul_drag d = {.draft_deg = 90};
  double lo = INFINITY, hi = -INFINITY, centre[3] = {0};
  for (size_t i = 0; i < count; i++) {
    uint32_t t = w->wall[i];
    double at[3], sine = fabs(ul_dot(w->normal[t], w->draw));
    middle_of(w->mesh, t, at);
    ul_add_scaled(centre, w->area[t], at, centre);
    d.area_mm2 += w->area[t];
    d.draft_deg = fmin(d.draft_deg, asin(sine) * 180 / M_PI);
    for (int k = 0; k < 3; k++) {
      double h = ul_dot(w->draw, w->mesh->vertex_mm[w->mesh->triangle[t][k]]);
      lo = fmin(lo, h);
      hi = fmax(hi, h);
    }
  }
  for (int c = 0; c < 3; c++) centre[c] /= d.area_mm2;
  d.height_mm = hi - lo;
  place_on(w, count, centre, d.at_mm);
  return d;
}

static int largest_first(const void *a, const void *b) {
  const ul_drag *p = a, *q = b;
  if (p->area_mm2 != q->area_mm2) return p->area_mm2 > q->area_mm2 ? -1 : 1;
  for (int c = 0; c < 3; c++)
    if (p->at_mm[c] != q->at_mm[c]) return p->at_mm[c] < q->at_mm[c] ? -1 : 1;
  return 0;
}

static ul_status collect(walls *w, double least_deg, ul_drag **out, size_t *count) {
  size_t room = 0, n = w->mesh->triangle_count;
  for (size_t t = 0; t < n; t++) look_at(w, t, sin(least_deg * M_PI / 180));
  for (size_t t = 0; t < n; t++) {
    if (!w->steep[t]) continue;
    ul_drag here = describe(w, follow(w, (uint32_t)t));
    if (here.height_mm < least_height_mm) continue;
    if (!ul_grow((void **)out, &room, *count + 1, sizeof **out)) return UL_E_MEMORY;
    (*out)[(*count)++] = here;
  }
  return UL_OK;
}

ul_status ul_drags_find(const ul_mesh *mesh, const double draw[3], double least_deg,
                        const ul_job *job, ul_drag **out, size_t *count, ul_error *err) {
  *out = NULL;
  *count = 0;
  size_t n = mesh->triangle_count;
  walls w = {.mesh = mesh,
             .draw = draw,
             .normal = ul_new_raw(n, sizeof *w.normal),
             .area = ul_new_raw(n, sizeof *w.area),
             .steep = ul_new_raw(n, sizeof *w.steep),
             .wall = ul_new_raw(n, sizeof *w.wall)};
  ul_status status = ul_edges_make(mesh, job, &w.edges);
  if (status == UL_OK && !(w.normal && w.area && w.steep && w.wall)) status = UL_E_MEMORY;
  if (status == UL_OK) status = collect(&w, least_deg, out, count);
  ul_edges_free(&w.edges);
  free(w.normal);
  free(w.area);
  free(w.steep);
  free(w.wall);
  if (status == UL_OK) {
    if (*count) qsort(*out, *count, sizeof **out, largest_first);
    return UL_OK;
  }
  free(*out);
  *out = NULL;
  *count = 0;
  return status == UL_E_MEMORY ? ul_fail_memory(err)
                               : ul_fail(err, status, "%s", ul_status_text(status));
}
