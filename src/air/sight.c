#include "air/sight.h"

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { BUCKETS = 24 }; /* a side, over the square that is looked at */

typedef struct {
  uint32_t vertex[3];
  double corner[3][3]; /* x, y, depth */
  double facing;
} facet;

typedef struct {
  double depth, facing;
  int sense; /* 1 where the line leaves, -1 where it enters */
} crossing;

struct ul_sight {
  double at[3], frame[3][3]; /* rows: x, y, axis */
  double reach;
  size_t count, room;
  facet *facet;
  uint32_t first[BUCKETS * BUCKETS + 1];
  uint32_t *in_bucket; /* facets of bucket b: in_bucket[first[b] .. first[b+1]) */
  crossing *crossing;  /* scratch, one a facet */
};

static void see_corner(const ul_sight *s, const double place[3], double out[3]) {
  double d[3];
  ul_sub(place, s->at, d);
  for (int r = 0; r < 3; r++) out[r] = ul_dot(s->frame[r], d);
}

static void bounds(const facet *f, int c, double *lo, double *hi) {
  *lo = fmin(f->corner[0][c], fmin(f->corner[1][c], f->corner[2][c]));
  *hi = fmax(f->corner[0][c], fmax(f->corner[1][c], f->corner[2][c]));
}

/* On which sides of the square looked at a vertex lies, one bit a side. */
static unsigned char outside(const ul_sight *s, const double place[3]) {
  double d[3];
  ul_sub(place, s->at, d);
  double x = ul_dot(s->frame[0], d), y = ul_dot(s->frame[1], d);
  return (unsigned char)((x < -s->reach) | (x > s->reach) << 1 | (y < -s->reach) << 2 |
                         (y > s->reach) << 3);
}

static double facing(const facet *f) {
  double a[3], b[3], n[3];
  ul_sub(f->corner[1], f->corner[0], a);
  ul_sub(f->corner[2], f->corner[0], b);
  ul_cross(a, b, n);
  double length = ul_norm(n);
  return length > 0 ? n[2] / length : 0;
}

static bool keep(ul_sight *s, const ul_mesh *mesh, const uint32_t vertex[3]) {
  if (!ul_grow((void **)&s->facet, &s->room, s->count + 1, sizeof *s->facet)) return false;
  facet *f = &s->facet[s->count++];
  memcpy(f->vertex, vertex, sizeof f->vertex);
  for (int k = 0; k < 3; k++) see_corner(s, mesh->vertex_mm[vertex[k]], f->corner[k]);
  f->facing = facing(f);
  return true;
}

/* Triangles with all three corners beyond one side are out of sight; most of a fine mesh are. */
static bool gather(ul_sight *s, const ul_mesh *mesh) {
  unsigned char *out = ul_new_raw(mesh->vertex_count, 1);
  bool good = out != NULL;
  for (size_t v = 0; good && v < mesh->vertex_count; v++) out[v] = outside(s, mesh->vertex_mm[v]);
  for (size_t t = 0; good && t < mesh->triangle_count; t++) {
    const uint32_t *v = mesh->triangle[t];
    if (!(out[v[0]] & out[v[1]] & out[v[2]])) good = keep(s, mesh, v);
  }
  free(out);
  return good;
}

static int bucket_of(const ul_sight *s, double x) {
  double b = floor((x + s->reach) / (2 * s->reach) * BUCKETS);
  return b < 0 ? 0 : b > BUCKETS - 1 ? BUCKETS - 1 : (int)b;
}

/* Buckets that a facet's box touches, as [lo, hi] in x and y. */
static void buckets_of(const ul_sight *s, const facet *f, int range[2][2]) {
  for (int c = 0; c < 2; c++) {
    double lo, hi;
    bounds(f, c, &lo, &hi);
    range[c][0] = bucket_of(s, lo);
    range[c][1] = bucket_of(s, hi);
  }
}

static bool sort_into_buckets(ul_sight *s) {
  int range[2][2];
  for (size_t i = 0; i < s->count; i++) {
    buckets_of(s, &s->facet[i], range);
    for (int y = range[1][0]; y <= range[1][1]; y++)
      for (int x = range[0][0]; x <= range[0][1]; x++) s->first[y * BUCKETS + x + 1]++;
  }
  for (int b = 0; b < BUCKETS * BUCKETS; b++) s->first[b + 1] += s->first[b];
  s->in_bucket = ul_new_raw(s->first[BUCKETS * BUCKETS], sizeof *s->in_bucket);
  s->crossing = ul_new_raw(s->count, sizeof *s->crossing);
  if (!s->in_bucket || !s->crossing) return false;
  uint32_t next[BUCKETS * BUCKETS];
  memcpy(next, s->first, sizeof next);
  for (size_t i = 0; i < s->count; i++) {
    buckets_of(s, &s->facet[i], range);
    for (int y = range[1][0]; y <= range[1][1]; y++)
      for (int x = range[0][0]; x <= range[0][1]; x++)
        s->in_bucket[next[y * BUCKETS + x]++] = (uint32_t)i;
  }
  return true;
}

ul_status ul_sight_new(const ul_mesh *mesh, const double at[3], const double axis[3],
                       double reach_mm, ul_sight **out, ul_error *err) {
  *out = NULL;
  ul_sight *s = ul_new(1, sizeof *s);
  if (!s) return ul_fail_memory(err);
  ul_copy3(at, s->at);
  ul_across(axis, s->frame[0], s->frame[1]);
  ul_copy3(axis, s->frame[2]);
  s->reach = reach_mm;
  if (!gather(s, mesh) || !sort_into_buckets(s)) {
    ul_sight_free(s);
    return ul_fail_memory(err);
  }
  *out = s;
  return UL_OK;
}

void ul_sight_free(ul_sight *sight) {
  if (!sight) return;
  free(sight->facet);
  free(sight->in_bucket);
  free(sight->crossing);
  free(sight);
}

void ul_sight_place(const ul_sight *sight, double x, double y, double depth, double out[3]) {
  ul_add_scaled(sight->at, x, sight->frame[0], out);
  ul_add_scaled(out, y, sight->frame[1], out);
  ul_add_scaled(out, depth, sight->frame[2], out);
}

/* On which side of the edge from corner a to corner b the line lies: 1 left, -1 right. Two facets
 * that share the edge compute the same number, because the lower vertex always comes first. On the
 * edge itself the line counts as moved by (e, e^2), e infinitesimal (simulation of simplicity,
 * Edelsbrunner & Muecke 1990). *twice_area is what the edge and the line span. */
static int side(const facet *f, int a, int b, double x, double y, double *twice_area) {
  bool turned = f->vertex[a] > f->vertex[b];
  const double *from = f->corner[turned ? b : a], *to = f->corner[turned ? a : b];
  double ex = to[0] - from[0], ey = to[1] - from[1];
  double area = ex * (y - from[1]) - ey * (x - from[0]);
  double sign = area != 0 ? area : ey != 0 ? -ey : ex;
  *twice_area = turned ? -area : area;
  if (turned) sign = -sign;
  return (sign > 0) - (sign < 0);
}

static bool crosses(const facet *f, double x, double y, crossing *out) {
  double w[3]; /* what lies opposite each corner */
  int s = side(f, 1, 2, x, y, &w[0]);
  if (s == 0 || side(f, 2, 0, x, y, &w[1]) != s || side(f, 0, 1, x, y, &w[2]) != s) return false;
  double sum = w[0] + w[1] + w[2], lo, hi;
  bounds(f, 2, &lo, &hi);
  double depth = 0;
  for (int k = 0; k < 3; k++) depth += f->corner[k][2] * (sum != 0 ? w[k] / sum : 1.0 / 3);
  *out = (crossing){fmin(fmax(depth, lo), hi), f->facing, s};
  return true;
}

/* At one depth a line enters before it leaves: what only touches is one. */
static int compare_crossings(const void *a, const void *b) {
  const crossing *p = a, *q = b;
  if (p->depth != q->depth) return p->depth < q->depth ? -1 : 1;
  if (p->sense != q->sense) return p->sense - q->sense;
  return (p->facing > q->facing) - (p->facing < q->facing);
}

size_t ul_sight_stretches(ul_sight *s, double x, double y, size_t most, ul_stretch *stretch) {
  int b = bucket_of(s, y) * BUCKETS + bucket_of(s, x);
  size_t met = 0, count = 0;
  for (uint32_t i = s->first[b]; i < s->first[b + 1]; i++)
    met += crosses(&s->facet[s->in_bucket[i]], x, y, &s->crossing[met]);
  qsort(s->crossing, met, sizeof *s->crossing, compare_crossings);
  long winding = 0;
  double lo = 0;
  for (size_t i = 0; i < met; i++) {
    const crossing *c = &s->crossing[i];
    if (c->sense < 0 && winding == 0) lo = c->depth;
    winding -= c->sense;
    if (c->sense < 0 || winding != 0 || c->depth <= lo) continue;
    if (count < most) stretch[count] = (ul_stretch){lo, c->depth, c->facing};
    count++;
  }
  return winding == 0 ? count : 0;
}

/* The part of a polygon on one side of a depth: deeper (sense 1) or less deep (-1). */
static int cut(const double (*in)[3], int count, double depth, int sense, double (*out)[3]) {
  int n = 0;
  for (int i = 0; i < count; i++) {
    const double *p = in[i], *q = in[(i + 1) % count];
    double a = sense * (p[2] - depth), b = sense * (q[2] - depth);
    if (a >= 0) ul_copy3(p, out[n++]);
    if ((a < 0) == (b < 0)) continue;
    for (int c = 0; c < 3; c++) out[n][c] = p[c] + (q[c] - p[c]) * (a / (a - b));
    n++;
  }
  return n;
}

/* Whether a polygon, seen along the axis, comes nearer to (x, y) than `radius`. */
static bool comes_near(const double (*p)[3], int count, double x, double y, double radius) {
  int left = 0, right = 0;
  for (int i = 0; i < count; i++) {
    const double *a = p[i], *b = p[(i + 1) % count];
    double ex = b[0] - a[0], ey = b[1] - a[1], dx = x - a[0], dy = y - a[1];
    double length2 = ex * ex + ey * ey;
    double t = length2 > 0 ? fmin(fmax((dx * ex + dy * ey) / length2, 0), 1) : 0;
    if (hypot(dx - t * ex, dy - t * ey) < radius) return true;
    left += ex * dy - ey * dx > 0;
    right += ex * dy - ey * dx < 0;
  }
  return count > 2 && (left == count || right == count);
}

static bool is_wall_near(const facet *f, double x, double y, double radius, double from,
                         double to) {
  double lo, hi, deeper[4][3], between[5][3]; /* each cut adds a corner at most */
  bounds(f, 2, &lo, &hi);
  if (lo > to || hi < from) return false;
  int n = cut(f->corner, 3, from, 1, deeper);
  n = cut((const double(*)[3])deeper, n, to, -1, between);
  return comes_near((const double(*)[3])between, n, x, y, radius);
}

bool ul_sight_meets_wall(const ul_sight *s, double x, double y, double radius, double from,
                         double to, double facing) {
  for (int by = bucket_of(s, y - radius); by <= bucket_of(s, y + radius); by++)
    for (int bx = bucket_of(s, x - radius); bx <= bucket_of(s, x + radius); bx++) {
      int b = by * BUCKETS + bx;
      for (uint32_t i = s->first[b]; i < s->first[b + 1]; i++) {
        const facet *f = &s->facet[s->in_bucket[i]];
        if (f->facing < facing && is_wall_near(f, x, y, radius, from, to)) return true;
      }
    }
  return false;
}
