/* page_sketch.c - outlines and sharp edges of a mesh, those hidden behind it left out by a depth
 * buffer (Catmull 1974). */
#include "report/page_sketch.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/vec.h"

/* A buffer cell is this many units across; an edge is looked at once in so many. */
static const double CELL = 3, LOOK_EVERY = 4;
/* Edges that turn by more are drawn. */
static const double SHARP_COS = 0.87;

typedef struct ul_page_buffer {
  int n[2];
  float *depth; /* of the foremost wall, in units; -INFINITY where there is none */
} ul_page_buffer;

bool ul_page_sketch_make(const ul_mesh *mesh, ul_page_sketch *sketch) {
  memset(sketch, 0, sizeof *sketch);
  sketch->mesh = mesh;
  if (ul_edges_make(mesh, NULL, &sketch->edges) != UL_OK) return false;
  sketch->normal = ul_new_raw(mesh->triangle_count, sizeof *sketch->normal);
  if (!sketch->normal) return false;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    const uint32_t *v = mesh->triangle[t];
    double a[3], b[3];
    ul_sub(mesh->vertex_mm[v[1]], mesh->vertex_mm[v[0]], a);
    ul_sub(mesh->vertex_mm[v[2]], mesh->vertex_mm[v[0]], b);
    ul_cross(a, b, sketch->normal[t]);
    double length = ul_norm(sketch->normal[t]);
    for (int c = 0; c < 3; c++) sketch->normal[t][c] /= length > 0 ? length : 1;
  }
  return true;
}

void ul_page_sketch_free(ul_page_sketch *sketch) {
  ul_edges_free(&sketch->edges);
  free(sketch->normal);
}

/* x, y and depth of a vertex in buffer cells; depth grows towards the eye. */
static void to_cells(const ul_page_view *view, const double at_mm[3], double out[3]) {
  ul_page_project(view, at_mm, out);
  out[0] /= CELL;
  out[1] /= CELL;
  out[2] = view->scale * ul_dot(view->toward, at_mm) / CELL;
}

static void paint(ul_page_buffer *buffer, double p[3][3]) {
  double area =
      (p[1][0] - p[0][0]) * (p[2][1] - p[0][1]) - (p[1][1] - p[0][1]) * (p[2][0] - p[0][0]);
  if (fabs(area) < 1e-12) return;
  int from[2], to[2];
  for (int c = 0; c < 2; c++) {
    double low = fmin(p[0][c], fmin(p[1][c], p[2][c])),
           high = fmax(p[0][c], fmax(p[1][c], p[2][c]));
    from[c] = (int)fmax(0, ceil(low - 0.5));
    to[c] = (int)fmin(buffer->n[c] - 1, floor(high - 0.5));
  }
  for (int y = from[1]; y <= to[1]; y++)
    for (int x = from[0]; x <= to[0]; x++) {
      double w[3], cx = x + 0.5, cy = y + 0.5;
      for (int k = 0; k < 3; k++) {
        const double *a = p[(k + 1) % 3], *b = p[(k + 2) % 3];
        w[k] = ((b[0] - a[0]) * (cy - a[1]) - (b[1] - a[1]) * (cx - a[0])) / area;
      }
      if (w[0] < 0 || w[1] < 0 || w[2] < 0) continue;
      float depth = (float)(w[0] * p[0][2] + w[1] * p[1][2] + w[2] * p[2][2]);
      float *there = &buffer->depth[(size_t)y * (size_t)buffer->n[0] + (size_t)x];
      if (depth > *there) *there = depth;
    }
}

/* Not hidden by a wall more than a cell and a half nearer, on every cell around. */
static bool visible(const ul_page_buffer *buffer, const double at[3]) {
  for (int y = (int)floor(at[1]) - 1; y <= (int)floor(at[1]) + 1; y++)
    for (int x = (int)floor(at[0]) - 1; x <= (int)floor(at[0]) + 1; x++) {
      if (x < 0 || y < 0 || x >= buffer->n[0] || y >= buffer->n[1]) return true;
      if (buffer->depth[(size_t)y * (size_t)buffer->n[0] + (size_t)x] <= (float)at[2] + 1.5f)
        return true;
    }
  return false;
}

/* Those parts of an edge that can be seen, in steps. */
static void put_edge(FILE *file, const ul_page_buffer *buffer, double a[3], double b[3]) {
  int steps = 1 + (int)(CELL * hypot(b[0] - a[0], b[1] - a[1]) / LOOK_EVERY);
  long from[2] = {0, 0}, to[2] = {0, 0};
  bool drawing = false;
  for (int i = 0; i <= steps; i++) {
    double middle[3], at[2];
    for (int c = 0; c < 3; c++) middle[c] = a[c] + (b[c] - a[c]) * fmin(1, (i + 0.5) / steps);
    for (int c = 0; c < 2; c++) at[c] = CELL * (a[c] + (b[c] - a[c]) * i / steps);
    bool seen = i < steps && visible(buffer, middle);
    to[0] = lround(at[0]);
    to[1] = lround(at[1]);
    if (seen && !drawing) memcpy(from, to, sizeof from);
    if (!seen && drawing && (from[0] != to[0] || from[1] != to[1]))
      fprintf(file, "M%ld %ldL%ld %ld", from[0], from[1], to[0], to[1]);
    drawing = seen;
  }
}

/* Outline edges part what faces the eye from what does not; edges without a twin are drawn. */
static bool is_line(const ul_page_sketch *s, const ul_page_view *view, uint32_t half) {
  uint32_t twin = s->edges.twin[half];
  if (twin == UL_NONE) return true;
  if (twin < half) return false; /* drawn from the other side */
  const double *n = s->normal[half / 3], *m = s->normal[twin / 3];
  return (ul_dot(n, view->toward) > 0) != (ul_dot(m, view->toward) > 0) || ul_dot(n, m) < SHARP_COS;
}

bool ul_page_sketch_lines(FILE *file, const ul_page_sketch *s, const ul_page_view *view, int width,
                          int height) {
  const ul_mesh *mesh = s->mesh;
  ul_page_buffer buffer = {.n = {(int)(width / CELL) + 1, (int)(height / CELL) + 1}};
  size_t cells = (size_t)buffer.n[0] * (size_t)buffer.n[1];
  buffer.depth = ul_new_raw(cells, sizeof *buffer.depth);
  double(*at)[3] = ul_new_raw(mesh->vertex_count, sizeof *at);
  bool good = buffer.depth && at;
  for (size_t i = 0; good && i < cells; i++) buffer.depth[i] = -INFINITY;
  for (size_t i = 0; good && i < mesh->vertex_count; i++) to_cells(view, mesh->vertex_mm[i], at[i]);
  for (size_t t = 0; good && t < mesh->triangle_count; t++) {
    double corner[3][3];
    for (int k = 0; k < 3; k++) ul_copy3(at[mesh->triangle[t][k]], corner[k]);
    paint(&buffer, corner);
  }
  for (uint32_t half = 0; good && half < 3 * mesh->triangle_count; half++)
    if (is_line(s, view, half))
      put_edge(file, &buffer, at[ul_half_from(mesh, half)], at[ul_half_to(mesh, half)]);
  free(buffer.depth);
  free(at);
  return good;
}
