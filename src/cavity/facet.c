#include "cavity/facet.h"

#include "base/memory.h"
#include "base/vec.h"

#include <stdlib.h>
#include <string.h>

bool ul_facet_corner(ul_facet *facet, uint32_t vertex) {
  void *block = facet->corner;
  bool ok = ul_grow(&block, &facet->room, facet->count + 1, sizeof *facet->corner);
  facet->corner = block;
  if (ok) facet->corner[facet->count++] = vertex;
  return ok;
}

void ul_facet_release(ul_facet *facet) {
  free(facet->corner);
  *facet = (ul_facet){0};
}

static const double *at(const ul_facet *p, const ul_draft *d, size_t i) {
  return d->mesh->vertex_mm[p->corner[i % p->count]];
}

static void cross_at(const double *a, const double *b, const double *c, double out[3]) {
  double u[3], v[3];
  ul_sub(b, a, u);
  ul_sub(c, a, v);
  ul_cross(u, v, out);
}

/* Twice the area vector (M. E. Newell's sum, about the first corner). */
static void area_vector(const ul_facet *p, const ul_draft *d, double out[3]) {
  out[0] = out[1] = out[2] = 0;
  for (size_t i = 1; i + 1 < p->count; i++) {
    double one[3];
    cross_at(at(p, d, 0), at(p, d, i), at(p, d, i + 1), one);
    ul_add_scaled(out, 1, one, out);
  }
}

static bool is_inside(const double *q, const double *a, const double *b, const double *c,
                      const double normal[3]) {
  double ab[3], bc[3], ca[3];
  cross_at(a, b, q, ab);
  cross_at(b, c, q, bc);
  cross_at(c, a, q, ca);
  return ul_dot(ab, normal) >= 0 && ul_dot(bc, normal) >= 0 && ul_dot(ca, normal) >= 0;
}

/* Whether the triangle at corner i + 1 can be cut off: it turns the polygon's way and holds no
 * other corner. */
static bool is_ear(const ul_facet *p, const ul_draft *d, size_t i, const double normal[3]) {
  const double *a = at(p, d, i), *b = at(p, d, i + 1), *c = at(p, d, i + 2);
  double turn[3];
  cross_at(a, b, c, turn);
  if (!(ul_dot(turn, normal) > 0)) return false;
  for (size_t k = i + 3; k < i + p->count; k++) {
    const double *q = at(p, d, k);
    if (memcmp(q, a, 24) == 0 || memcmp(q, b, 24) == 0 || memcmp(q, c, 24) == 0) continue;
    if (is_inside(q, a, b, c, normal)) return false;
  }
  return true;
}

/* The next ear from corner 0 on; corner 0 if there is none (a polygon that crosses itself). */
static size_t find_ear(const ul_facet *p, const ul_draft *d, const double normal[3]) {
  for (size_t i = 0; i < p->count; i++)
    if (is_ear(p, d, i, normal)) return i;
  return 0;
}

void ul_facet_triangles(ul_facet *p, ul_draft *d, uint32_t part, bool *ok) {
  double normal[3];
  area_vector(p, d, normal);
  while (p->count >= 3 && *ok) {
    size_t i = p->count > 3 ? find_ear(p, d, normal) : 0, ear = (i + 1) % p->count;
    ul_draft_triangle(d, p->corner[i], p->corner[ear], p->corner[(i + 2) % p->count], part, ok);
    memmove(p->corner + ear, p->corner + ear + 1, (p->count - ear - 1) * sizeof *p->corner);
    p->count--;
  }
  p->count = 0;
}
