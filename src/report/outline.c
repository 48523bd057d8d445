#include "report/outline.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "cavity/edges.h"

enum { RASTER = 700 };
static const double SHARP_COS = 0.819; /* 35 degrees */

/* Seen from the eye: x right, y up, z towards it. The raster holds the nearest z. */
typedef struct {
  const ul_mesh *mesh;
  double (*at)[3];     /* per vertex */
  double (*normal)[3]; /* per triangle, unit; zeros for one without area */
  double low[2], dot_mm, near_mm;
  int width, height;
  float *nearest;
} picture;

/* --- the raster --- */

static void find_extent(picture *p) {
  double high[3] = {-INFINITY, -INFINITY, -INFINITY}, low[3] = {INFINITY, INFINITY, INFINITY};
  for (size_t v = 0; v < p->mesh->vertex_count; v++)
    for (int c = 0; c < 3; c++) {
      low[c] = fmin(low[c], p->at[v][c]);
      high[c] = fmax(high[c], p->at[v][c]);
    }
  p->dot_mm = fmax(fmax(high[0] - low[0], high[1] - low[1]) / RASTER, 1e-9);
  p->near_mm = 2 * p->dot_mm;
  p->low[0] = low[0] - p->dot_mm;
  p->low[1] = low[1] - p->dot_mm;
  p->width = (int)((high[0] - low[0]) / p->dot_mm) + 3;
  p->height = (int)((high[1] - low[1]) / p->dot_mm) + 3;
}

static ul_status project(picture *p, const ul_view *view, ul_error *err) {
  const ul_mesh *mesh = p->mesh;
  p->at = ul_new_raw(mesh->vertex_count, sizeof *p->at);
  p->normal = ul_new(mesh->triangle_count, sizeof *p->normal);
  if (!p->at || !p->normal) return ul_fail_memory(err);
  for (size_t v = 0; v < mesh->vertex_count; v++) {
    p->at[v][0] = ul_dot(mesh->vertex_mm[v], view->right);
    p->at[v][1] = ul_dot(mesh->vertex_mm[v], view->up);
    p->at[v][2] = ul_dot(mesh->vertex_mm[v], view->eye);
  }
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    const uint32_t *k = mesh->triangle[t];
    double a[3], b[3], *n = p->normal[t];
    ul_sub(p->at[k[1]], p->at[k[0]], a);
    ul_sub(p->at[k[2]], p->at[k[0]], b);
    ul_cross(a, b, n);
    double length = ul_norm(n);
    for (int c = 0; c < 3; c++) n[c] = length > 0 ? n[c] / length : 0;
  }
  find_extent(p);
  size_t dots = (size_t)p->width * (size_t)p->height;
  p->nearest = ul_new_raw(dots, sizeof *p->nearest);
  if (!p->nearest) return ul_fail_memory(err);
  for (size_t i = 0; i < dots; i++) p->nearest[i] = -INFINITY;
  return UL_OK;
}

static int column_of(const picture *p, double x) {
  return (int)((x - p->low[0]) / p->dot_mm);
}
static int row_of(const picture *p, double y) {
  return (int)((y - p->low[1]) / p->dot_mm);
}

/* Every dot whose centre the triangle covers takes its z where that is nearer. */
static void cover(picture *p, const double *a, const double *b, const double *c) {
  double area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
  if (area == 0) return;
  int x0 = column_of(p, fmin(a[0], fmin(b[0], c[0]))),
      x1 = column_of(p, fmax(a[0], fmax(b[0], c[0])));
  int y0 = row_of(p, fmin(a[1], fmin(b[1], c[1]))), y1 = row_of(p, fmax(a[1], fmax(b[1], c[1])));
  for (int y = y0; y <= y1; y++)
    for (int x = x0; x <= x1; x++) {
      double at[2] = {p->low[0] + (x + 0.5) * p->dot_mm, p->low[1] + (y + 0.5) * p->dot_mm};
      double u = ((b[0] - at[0]) * (c[1] - at[1]) - (b[1] - at[1]) * (c[0] - at[0])) / area;
      double v = ((c[0] - at[0]) * (a[1] - at[1]) - (c[1] - at[1]) * (a[0] - at[0])) / area;
      double w = 1 - u - v;
      if (u < 0 || v < 0 || w < 0) continue;
      float z = (float)(u * a[2] + v * b[2] + w * c[2]);
      float *dot = &p->nearest[(size_t)y * (size_t)p->width + (size_t)x];
      if (z > *dot) *dot = z;
    }
}

/* Seen unless all dots round it are nearer: an outline lies between what hides and what does not.
 */
static bool is_seen(const picture *p, const double at[3]) {
  int x = column_of(p, at[0]), y = row_of(p, at[1]);
  for (int dy = -1; dy <= 1; dy++)
    for (int dx = -1; dx <= 1; dx++) {
      int i = x + dx, k = y + dy;
      if (i < 0 || k < 0 || i >= p->width || k >= p->height) return true;
      if (p->nearest[(size_t)k * (size_t)p->width + (size_t)i] <= at[2] + p->near_mm) return true;
    }
  return false;
}

/* --- the lines --- */

typedef struct {
  ul_outline_line *line;
  size_t count, room;
} lines;

static bool add_line(lines *l, const double from[3], const double to[3]) {
  if (!ul_grow((void **)&l->line, &l->room, l->count + 1, sizeof *l->line)) return false;
  l->line[l->count++] = (ul_outline_line){{from[0], from[1]}, {to[0], to[1]}};
  return true;
}

static void between(const double a[3], const double b[3], double share, double out[3]) {
  for (int c = 0; c < 3; c++) out[c] = a[c] + share * (b[c] - a[c]);
}

/* The seen stretches of an edge, looked at once a dot. */
static bool add_seen(const picture *p, const double a[3], const double b[3], lines *l) {
  int steps = (int)(hypot(b[0] - a[0], b[1] - a[1]) / p->dot_mm) + 1;
  double begin[3], at[3], end[3];
  bool open = false;
  for (int i = 0; i <= steps; i++) {
    between(a, b, (double)i / steps, end);
    between(a, b, (i + 0.5) / steps, at);
    bool seen = i < steps && is_seen(p, at);
    if (seen && !open) ul_copy3(end, begin);
    if (!seen && open && !add_line(l, begin, end)) return false;
    open = seen;
  }
  return true;
}

static bool is_drawn(const double n[3], const double m[3]) {
  if (ul_norm(n) == 0 || ul_norm(m) == 0) return false;
  bool turns = (n[2] > 0) != (m[2] > 0);
  return turns || ul_dot(n, m) < SHARP_COS;
}

static ul_status draw_edges(const picture *p, const ul_edges *edges, lines *l, ul_error *err) {
  const ul_mesh *mesh = p->mesh;
  for (uint32_t half = 0; half < 3 * mesh->triangle_count; half++) {
    uint32_t twin = edges->twin[half];
    if (twin != UL_NONE && (twin < half || !is_drawn(p->normal[half / 3], p->normal[twin / 3])))
      continue;
    if (!add_seen(p, p->at[ul_half_from(mesh, half)], p->at[ul_half_to(mesh, half)], l))
      return ul_fail_memory(err);
  }
  return UL_OK;
}

ul_status ul_outline(const ul_mesh *mesh, const ul_view *view, ul_outline_line **out, size_t *count,
                     ul_error *err) {
  picture p = {.mesh = mesh};
  lines l = {0};
  ul_edges edges = {0};
  ul_status status = project(&p, view, err);
  if (status == UL_OK && ul_edges_make(mesh, NULL, &edges) != UL_OK) status = ul_fail_memory(err);
  for (size_t t = 0; t < mesh->triangle_count && status == UL_OK; t++) {
    const uint32_t *k = mesh->triangle[t];
    cover(&p, p.at[k[0]], p.at[k[1]], p.at[k[2]]);
  }
  if (status == UL_OK) status = draw_edges(&p, &edges, &l, err);
  ul_edges_free(&edges);
  free(p.at);
  free(p.normal);
  free(p.nearest);
  if (status != UL_OK) {
    free(l.line);
    l = (lines){0};
  }
  *out = l.line;
  *count = l.count;
  return status;
}
