#include "air/surface.h"

#include "air/nearest.h"
#include "base/forest.h"
#include "base/memory.h"
#include "base/vec.h"

#include <stdbool.h>
#include <stdlib.h>

#define NONE UINT32_MAX

/* One side of one triangle, filed under the lower of its two vertices. */
typedef struct {
  uint32_t far;    /* the higher vertex */
  uint32_t corner; /* 3 * triangle + i: from corner i to i+1 */
  bool rising;     /* runs from the lower vertex to the higher */
  double angle;    /* round the edge; only where more than two sides meet */
} side;

static int by_far_then_corner(const void *a, const void *b) {
  const side *x = a, *y = b;
  if (x->far != y->far) return x->far < y->far ? -1 : 1;
  return (x->corner > y->corner) - (x->corner < y->corner);
}

static int by_angle(const void *a, const void *b) {
  const side *x = a, *y = b;
  if (x->angle != y->angle) return x->angle < y->angle ? -1 : 1;
  return (x->corner > y->corner) - (x->corner < y->corner);
}

static uint32_t corner_vertex(const ul_mesh *mesh, uint32_t corner) {
  return mesh->triangle[corner / 3][corner % 3];
}

static uint32_t next_corner(uint32_t corner) {
  return corner % 3 == 2 ? corner - 2 : corner + 1;
}

/* --- who is whose neighbour --- */

static void marry(ul_surface *s, const side *a, const side *b) {
  s->across[a->corner / 3][a->corner % 3] = b->corner / 3;
  s->across[b->corner / 3][b->corner % 3] = a->corner / 3;
}

/* The directions of the sides' third vertices, as angles about the edge from low to high. */
static void measure_angles(const ul_mesh *mesh, side *group, size_t count) {
  uint32_t first = group[0].corner;
  const double *a = mesh->vertex_mm[corner_vertex(mesh, first)];
  const double *b = mesh->vertex_mm[corner_vertex(mesh, next_corner(first))];
  double e[3], x[3], y[3];
  ul_sub(group[0].rising ? b : a, group[0].rising ? a : b, e);
  double length2 = ul_dot(e, e);
  for (size_t i = 0; i < count; i++) {
    uint32_t third = next_corner(next_corner(group[i].corner));
    double w[3];
    ul_sub(mesh->vertex_mm[corner_vertex(mesh, third)], a, w);
    ul_add_scaled(w, -ul_dot(w, e) / length2, e, w);
    if (i == 0) {
      ul_copy3(w, x);
      ul_cross(e, x, y);
    }
    group[i].angle = atan2(ul_dot(w, y) / sqrt(length2), ul_dot(w, x));
  }
}

/* From a falling side the solid lies towards rising angles, up to the next rising side. */
static void marry_round_edge(ul_surface *s, side *group, size_t count) {
  measure_angles(s->mesh, group, count);
  qsort(group, count, sizeof *group, by_angle);
  for (size_t i = 0; i < count; i++) {
    if (group[i].rising) continue;
    for (size_t step = 1; step < count; step++) {
      const side *other = &group[(i + step) % count];
      if (!other->rising || s->across[other->corner / 3][other->corner % 3] != NONE) continue;
      marry(s, &group[i], other);
      break;
    }
  }
}

static void marry_sides(ul_surface *s, side *sides, size_t count) {
  qsort(sides, count, sizeof *sides, by_far_then_corner);
  for (size_t i = 0, end; i < count; i = end) {
    for (end = i + 1; end < count && sides[end].far == sides[i].far;) end++;
    if (end - i == 2)
      marry(s, &sides[i], &sides[i + 1]);
    else if (end - i > 2)
      marry_round_edge(s, sides + i, end - i);
  }
}

/* Files the sides under their lower vertex, then pairs them vertex by vertex. */
static ul_status find_neighbours(ul_surface *s) {
  const ul_mesh *mesh = s->mesh;
  size_t sides = 3 * mesh->triangle_count;
  side *filed = ul_new_raw(sides, sizeof *filed);
  uint32_t *end = ul_new(mesh->vertex_count + 1, sizeof *end);
  if (filed && end) {
    for (int pass = 0; pass < 2; pass++) {
      for (uint32_t c = 0; c < sides; c++) {
        uint32_t a = corner_vertex(mesh, c), b = corner_vertex(mesh, next_corner(c));
        uint32_t low = a < b ? a : b;
        if (pass == 0)
          end[low + 1]++;
        else
          filed[end[low]++] = (side){.far = a < b ? b : a, .corner = c, .rising = a < b};
      }
      if (pass == 0)
        for (size_t v = 0; v < mesh->vertex_count; v++) end[v + 1] += end[v];
    }
    for (size_t t = 0; t < mesh->triangle_count; t++)
      s->across[t][0] = s->across[t][1] = s->across[t][2] = NONE;
    for (size_t v = 0, begin = 0; v < mesh->vertex_count; begin = end[v++])
      marry_sides(s, filed + begin, end[v] - begin);
  }
  ul_status status = filed && end ? UL_OK : UL_E_MEMORY;
  free(filed);
  free(end);
  return status;
}

/* --- corners to nodes --- */

static void unite(uint32_t *up, uint32_t a, uint32_t b) {
  uint32_t ra = ul_root(up, a), rb = ul_root(up, b);
  if (ra < rb)
    up[rb] = ra;
  else
    up[ra] = rb;
}

/* The corner of triangle t at `vertex`. */
static uint32_t corner_at(const ul_mesh *mesh, uint32_t t, uint32_t vertex) {
  uint32_t c = 3 * t;
  while (corner_vertex(mesh, c) != vertex) c++;
  return c;
}

/* Corners on both ends of a shared edge are one; numbered in the order of their first corner. */
static ul_status find_nodes(ul_surface *s) {
  const ul_mesh *mesh = s->mesh;
  uint32_t corners = (uint32_t)(3 * mesh->triangle_count);
  uint32_t *up = ul_new_raw(corners, sizeof *up);
  if (!up) return UL_E_MEMORY;
  for (uint32_t c = 0; c < corners; c++) up[c] = c;
  for (uint32_t c = 0; c < corners; c++) {
    uint32_t other = s->across[c / 3][c % 3], next = next_corner(c);
    if (other == NONE) continue;
    unite(up, c, corner_at(mesh, other, corner_vertex(mesh, c)));
    unite(up, next, corner_at(mesh, other, corner_vertex(mesh, next)));
  }
  for (uint32_t c = 0; c < corners; c++) {
    uint32_t root = ul_root(up, c); /* the lowest corner of the fan: numbered before this one */
    if (root == c) s->vertex[s->node_count] = corner_vertex(mesh, c);
    s->node[c / 3][c % 3] = root == c ? (uint32_t)s->node_count++ : s->node[root / 3][root % 3];
  }
  free(up);
  return UL_OK;
}

static void list_fans(ul_surface *s) {
  uint32_t corners = (uint32_t)(3 * s->mesh->triangle_count);
  uint32_t *first = s->fan_first; /* zeroed */
  for (uint32_t c = 0; c < corners; c++) first[s->node[c / 3][c % 3] + 1]++;
  for (size_t n = 0; n < s->node_count; n++) first[n + 1] += first[n];
  for (uint32_t c = corners; c-- > 0;) s->fan[--first[s->node[c / 3][c % 3] + 1]] = c;
  for (size_t n = 0; n < s->node_count; n++) first[n] = first[n + 1];
  first[s->node_count] = corners;
  for (uint32_t f = 0; f < corners; f++)
    s->neighbour[f] = s->node[s->fan[f] / 3][next_corner(s->fan[f]) % 3];
}

static void list_edges(ul_surface *s) {
  uint32_t corners = (uint32_t)(3 * s->mesh->triangle_count);
  for (uint32_t c = 0; c < corners; c++) {
    uint32_t t = c / 3, other = s->across[t][c % 3], next = next_corner(c);
    if (other != NONE && other < t) continue;
    s->edge[s->edge_count][0] = s->node[t][c % 3];
    s->edge[s->edge_count++][1] = s->node[t][next % 3];
  }
}

static void wrap_in_balls(ul_surface *s) {
  for (size_t t = 0; t < s->mesh->triangle_count; t++) {
    const uint32_t *v = s->mesh->triangle[t];
    double *ball = s->ball[t];
    for (int c = 0; c < 3; c++)
      ball[c] = (s->mesh->vertex_mm[v[0]][c] + s->mesh->vertex_mm[v[1]][c] +
                 s->mesh->vertex_mm[v[2]][c]) /
                3;
    ball[3] = 0;
    for (int i = 0; i < 3; i++)
      ball[3] = fmax(ball[3], ul_distance(ball, s->mesh->vertex_mm[v[i]]));
  }
}

uint32_t ul_nearest_triangle(const ul_surface *s, const double at[3], double near[3]) {
  uint32_t nearest = 0;
  double best = INFINITY;
  for (uint32_t t = 0; t < s->mesh->triangle_count; t++) {
    const double *ball = s->ball[t];
    double d[3], reach = best + ball[3], on[3];
    ul_sub(ball, at, d);
    if (ul_dot(d, d) > reach * reach) continue;
    const uint32_t *v = s->mesh->triangle[t];
    ul_nearest_on_triangle(at, s->mesh->vertex_mm[v[0]], s->mesh->vertex_mm[v[1]],
                           s->mesh->vertex_mm[v[2]], on);
    double away = ul_distance(on, at);
    if (away >= best) continue;
    best = away;
    nearest = t;
    ul_copy3(on, near);
  }
  return nearest;
}

ul_status ul_surface_new(const ul_mesh *mesh, ul_surface **out) {
  size_t triangles = mesh->triangle_count, corners = 3 * triangles;
  *out = NULL;
  if (corners >= NONE) return UL_E_LIMIT;
  ul_surface *s = ul_new(1, sizeof *s);
  if (!s) return UL_E_MEMORY;
  s->mesh = mesh;
  s->across = ul_new_raw(triangles, sizeof *s->across);
  s->node = ul_new_raw(triangles, sizeof *s->node);
  s->vertex = ul_new_raw(corners, sizeof *s->vertex);
  s->fan_first = ul_new(corners + 1, sizeof *s->fan_first);
  s->fan = ul_new_raw(corners, sizeof *s->fan);
  s->neighbour = ul_new_raw(corners, sizeof *s->neighbour);
  s->edge = ul_new_raw(corners, sizeof *s->edge);
  s->ball = ul_new_raw(triangles, sizeof *s->ball);
  bool room = s->across && s->node && s->vertex && s->fan_first && s->fan && s->neighbour &&
              s->edge && s->ball;
  ul_status status = room ? find_neighbours(s) : UL_E_MEMORY;
  if (status == UL_OK) status = find_nodes(s);
  if (status == UL_OK) {
    list_fans(s);
    list_edges(s);
    wrap_in_balls(s);
    *out = s;
  } else {
    ul_surface_free(s);
  }
  return status;
}

void ul_surface_free(ul_surface *s) {
  if (!s) return;
  free(s->across);
  free(s->node);
  free(s->vertex);
  free(s->fan_first);
  free(s->fan);
  free(s->neighbour);
  free(s->edge);
  free(s->ball);
  free(s);
}
