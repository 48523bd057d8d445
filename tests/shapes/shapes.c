#include "shapes/shapes.h"

#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A test that cannot be set up is not a test. */
static void demand(bool holds, const char *what) {
  if (holds) return;
  fprintf(stderr, "shapes: %s\n", what);
  abort();
}

static void *need(size_t count, size_t size) {
  void *block = ul_new(count, size);
  demand(block != NULL, "no memory");
  return block;
}

ul_mesh *shape_new(size_t vertices, size_t triangles) {
  ul_mesh *mesh = NULL;
  demand(ul_mesh_new(vertices, triangles, &mesh, NULL) == UL_OK, "no memory");
  return mesh;
}

static void set_triangle(ul_mesh *mesh, size_t t, size_t a, size_t b, size_t c) {
  mesh->triangle[t][0] = (uint32_t)a;
  mesh->triangle[t][1] = (uint32_t)b;
  mesh->triangle[t][2] = (uint32_t)c;
}

static void set_vertex(ul_mesh *mesh, size_t v, double x, double y, double z) {
  mesh->vertex_mm[v][0] = x;
  mesh->vertex_mm[v][1] = y;
  mesh->vertex_mm[v][2] = z;
}

/* -- prism: ear clipping of one ring into which the holes were bridged -- */

static double turn(const double a[2], const double b[2], const double c[2]) {
  return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
}

static double loop_area(const shape_loop *loop) {
  double twice = 0;
  for (size_t i = 0; i < loop->count; i++) {
    const double *a = loop->at[i], *b = loop->at[(i + 1) % loop->count];
    twice += a[0] * b[1] - b[0] * a[1];
  }
  return twice / 2;
}

/* Outline counter-clockwise, holes clockwise, one after the other. */
static void gather(const shape_loop *loop, size_t loops, double (*at)[2]) {
  size_t n = 0;
  for (size_t l = 0; l < loops; l++) {
    bool forward = (loop_area(&loop[l]) > 0) == (l == 0);
    for (size_t i = 0; i < loop[l].count; i++, n++)
      memcpy(at[n], loop[l].at[forward ? i : loop[l].count - 1 - i], sizeof at[n]);
  }
}

static bool crosses(const double a[2], const double b[2], const double c[2], const double d[2]) {
  return turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
}

/* Whether the segment a-b meets no edge of the ring and of the holes not yet bridged. */
static bool sees(const double (*at)[2], const shape_loop *loop, size_t loops, size_t a, size_t b) {
  size_t first = 0;
  for (size_t l = 0; l < loops; first += loop[l++].count)
    for (size_t i = 0; i < loop[l].count; i++)
      if (crosses(at[a], at[b], at[first + i], at[first + (i + 1) % loop[l].count])) return false;
  return true;
}

/* Opens the ring at its nearest vertex that sees `hole` and runs it round the hole and back. */
static size_t bridge(size_t *ring, size_t n, const double (*at)[2], const shape_loop *loop,
                     size_t loops, size_t hole, size_t count) {
  size_t from = SIZE_MAX, to = 0;
  double nearest = INFINITY;
  for (size_t r = 0; r < n; r++)
    for (size_t h = 0; h < count; h++) {
      double away = hypot(at[ring[r]][0] - at[hole + h][0], at[ring[r]][1] - at[hole + h][1]);
      if (away < nearest && sees(at, loop, loops, ring[r], hole + h))
        nearest = away, from = r, to = h;
    }
  demand(from != SIZE_MAX, "a hole that the outline does not see");
  memmove(ring + from + count + 3, ring + from + 1, (n - from - 1) * sizeof *ring);
  for (size_t h = 0; h <= count; h++) ring[from + 1 + h] = hole + (to + h) % count;
  ring[from + count + 2] = ring[from];
  return n + count + 2;
}

static bool is_ear(const size_t *ring, size_t n, size_t i, const double (*at)[2]) {
  const double *a = at[ring[(i + n - 1) % n]], *b = at[ring[i]], *c = at[ring[(i + 1) % n]];
  if (turn(a, b, c) <= 0) return false;
  for (size_t k = 0; k < n; k++) {
    const double *p = at[ring[k]];
    if (p == a || p == b || p == c) continue;
    if (turn(a, b, p) >= 0 && turn(b, c, p) >= 0 && turn(c, a, p) >= 0) return false;
  }
  return true;
}

/* Fills triangle[] and returns how many. */
static size_t clip_ears(size_t *ring, size_t n, const double (*at)[2], size_t (*triangle)[3]) {
  size_t made = 0;
  while (n > 2) {
    size_t i = 0;
    while (i < n && !is_ear(ring, n, i, at)) i++;
    demand(i < n, "an outline that crosses itself");
    triangle[made][0] = ring[(i + n - 1) % n];
    triangle[made][1] = ring[i];
    triangle[made++][2] = ring[(i + 1) % n];
    memmove(ring + i, ring + i + 1, (n - i - 1) * sizeof *ring);
    n--;
  }
  return made;
}

static size_t triangulate(const shape_loop *loop, size_t loops, const double (*at)[2],
                          size_t points, size_t (*triangle)[3]) {
  size_t *ring = need(points + 2 * loops, sizeof *ring), n = loop[0].count;
  for (size_t i = 0; i < n; i++) ring[i] = i;
  for (size_t l = 1, hole = n; l < loops; hole += loop[l++].count)
    n = bridge(ring, n, at, loop, loops, hole, loop[l].count);
  size_t made = clip_ears(ring, n, at, triangle);
  free(ring);
  return made;
}

/* Both ends of a prism, then its sides; +axis is z here. */
static void prism_faces(ul_mesh *mesh, const shape_loop *loop, size_t loops, size_t points,
                        const size_t (*cap)[3], size_t caps) {
  size_t t = 0;
  for (size_t c = 0; c < caps; c++) {
    set_triangle(mesh, t++, cap[c][0], cap[c][2], cap[c][1]);
    set_triangle(mesh, t++, points + cap[c][0], points + cap[c][1], points + cap[c][2]);
  }
  for (size_t l = 0, first = 0; l < loops; first += loop[l++].count)
    for (size_t i = 0; i < loop[l].count; i++) {
      size_t a = first + i, b = first + (i + 1) % loop[l].count;
      set_triangle(mesh, t++, a, b, points + b);
      set_triangle(mesh, t++, a, points + b, points + a);
    }
}

ul_mesh *shape_prism(const shape_loop *loop, size_t loops, int axis, double lo, double hi) {
  size_t points = 0;
  for (size_t l = 0; l < loops; l++) points += loop[l].count;
  double(*at)[2] = need(points, sizeof *at);
  size_t(*cap)[3] = need(points + 2 * loops, sizeof *cap);
  gather(loop, loops, at);
  size_t caps = triangulate(loop, loops, (const double(*)[2])at, points, cap);
  ul_mesh *mesh = shape_new(2 * points, 2 * caps + 2 * points);
  int u = axis == 0 ? 1 : 0, v = axis == 2 ? 1 : 2;
  for (size_t p = 0; p < 2 * points; p++) {
    mesh->vertex_mm[p][u] = at[p % points][0];
    mesh->vertex_mm[p][v] = at[p % points][1];
    mesh->vertex_mm[p][axis] = p < points ? lo : hi;
  }
  prism_faces(mesh, loop, loops, points, (const size_t(*)[3])cap, caps);
  if (axis == 1) shape_reverse(mesh); /* x, z, y is left-handed */
  free(at);
  free(cap);
  return mesh;
}

/* -- revolve -- */

/* Quads between rings a and b of `segments` vertices each; a is the lower of two going up. */
static size_t band(ul_mesh *mesh, size_t t, size_t a, size_t b, size_t segments) {
  for (size_t s = 0; s < segments; s++) {
    size_t next = (s + 1) % segments;
    set_triangle(mesh, t++, a + s, a + next, b + next);
    set_triangle(mesh, t++, a + s, b + next, b + s);
  }
  return t;
}

static void set_ring(ul_mesh *mesh, size_t first, const double rz[2], size_t segments) {
  for (size_t s = 0; s < segments; s++) {
    double angle = 2 * M_PI * (double)s / (double)segments;
    set_vertex(mesh, first + s, rz[0] * cos(angle), rz[0] * sin(angle), rz[1]);
  }
}

static ul_mesh *revolve_ring(const double (*rz)[2], size_t count, size_t segments) {
  ul_mesh *mesh = shape_new(count * segments, 2 * count * segments);
  for (size_t p = 0, t = 0; p < count; p++) {
    set_ring(mesh, p * segments, rz[p], segments);
    t = band(mesh, t, p * segments, (p + 1) % count * segments, segments);
  }
  return mesh;
}

static ul_mesh *revolve_between_poles(const double (*rz)[2], size_t count, size_t segments) {
  size_t rings = count - 2, south = rings * segments, north = south + 1, t = 0;
  ul_mesh *mesh = shape_new(north + 1, 2 * rings * segments);
  for (size_t p = 0; p < rings; p++) {
    set_ring(mesh, p * segments, rz[p + 1], segments);
    if (p > 0) t = band(mesh, t, (p - 1) * segments, p * segments, segments);
  }
  set_vertex(mesh, south, 0, 0, rz[0][1]);
  set_vertex(mesh, north, 0, 0, rz[count - 1][1]);
  for (size_t s = 0, last = (rings - 1) * segments; s < segments; s++) {
    size_t next = (s + 1) % segments;
    set_triangle(mesh, t++, south, next, s);
    set_triangle(mesh, t++, north, last + s, last + next);
  }
  return mesh;
}

ul_mesh *shape_revolve(const double (*rz)[2], size_t count, bool closed, int segments) {
  demand(segments >= 3 && count >= 3, "too few points to revolve");
  demand(closed || (rz[0][0] == 0 && rz[count - 1][0] == 0), "an open profile off the axis");
  ul_mesh *mesh = closed ? revolve_ring(rz, count, (size_t)segments)
                         : revolve_between_poles(rz, count, (size_t)segments);
  double area = 0; /* left of the profile is inside when it runs up on the outer side */
  for (size_t p = 0; p < count; p++) {
    const double *a = rz[p], *b = rz[(p + 1) % count];
    area += a[0] * b[1] - b[0] * a[1];
  }
  if (area < 0) shape_reverse(mesh);
  return mesh;
}

/* -- cells -- */

typedef struct cells {
  int n[3];
  const double *line[3];
  const unsigned char *solid;
  size_t *number; /* per grid node: vertex number + 1, 0 if not used */
  ul_mesh *mesh;
  size_t vertices, triangles;
} cells;

static bool cell_solid(const cells *c, const int at[3]) {
  for (int a = 0; a < 3; a++)
    if (at[a] < 0 || at[a] >= c->n[a]) return false;
  return c
      ->solid[((size_t)at[2] * (size_t)c->n[1] + (size_t)at[1]) * (size_t)c->n[0] + (size_t)at[0]];
}

static size_t cell_vertex(cells *c, const int at[3]) {
  size_t node = ((size_t)at[2] * (size_t)(c->n[1] + 1) + (size_t)at[1]) * (size_t)(c->n[0] + 1) +
                (size_t)at[0];
  if (!c->number[node]) {
    for (int a = 0; a < 3; a++) c->mesh->vertex_mm[c->vertices][a] = c->line[a][at[a]];
    c->number[node] = ++c->vertices;
  }
  return c->number[node] - 1;
}

/* The face of cell `at` across `axis`, on its low or high side, when nothing solid lies beyond. */
static void cell_face(cells *c, const int at[3], int axis, int side) {
  int beyond[3] = {at[0], at[1], at[2]}, corner[4][3];
  beyond[axis] += side ? 1 : -1;
  if (cell_solid(c, beyond)) return;
  int u = (axis + 1) % 3, v = (axis + 2) % 3;
  size_t id[4];
  for (int k = 0; k < 4; k++) {
    memcpy(corner[k], at, sizeof corner[k]);
    corner[k][axis] += side;
    corner[k][u] += k == 1 || k == 2;
    corner[k][v] += k >= 2;
    id[k] = cell_vertex(c, corner[k]);
  }
  set_triangle(c->mesh, c->triangles++, id[0], id[side ? 1 : 2], id[side ? 2 : 1]);
  set_triangle(c->mesh, c->triangles++, id[0], id[side ? 2 : 3], id[side ? 3 : 2]);
}

ul_mesh *shape_cells(const double *x, int nx, const double *y, int ny, const double *z, int nz,
                     const unsigned char *solid) {
  cells c = {.n = {nx, ny, nz}, .line = {x, y, z}, .solid = solid};
  size_t nodes = (size_t)(nx + 1) * (size_t)(ny + 1) * (size_t)(nz + 1);
  c.number = need(nodes, sizeof *c.number);
  c.mesh = shape_new(nodes, (size_t)nx * (size_t)ny * (size_t)nz * 12);
  int at[3];
  for (at[2] = 0; at[2] < nz; at[2]++)
    for (at[1] = 0; at[1] < ny; at[1]++)
      for (at[0] = 0; at[0] < nx; at[0]++)
        for (int face = 0; face < 6 && cell_solid(&c, at); face++)
          cell_face(&c, at, face / 2, face % 2);
  c.mesh->vertex_count = c.vertices;
  c.mesh->triangle_count = c.triangles;
  free(c.number);
  return c.mesh;
}
