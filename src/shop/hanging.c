#include "shop/hanging.h"

#include <math.h>
#include <stdlib.h>

#include "base/forest.h"
#include "base/memory.h"
#include "base/vec.h"
#include "cavity/bvh.h"

static const double touch_mm = 1e-3; /* a core so near to the wall is a part of it */

/* --- two triangles --- */

static bool is_near(const double at[3], const double triangle[3][3]) {
  double nearest[3];
  return ul_triangle_nearest(triangle, at, nearest) <= touch_mm * touch_mm;
}

/* The edge begins on the triangle, or goes through it. */
static bool edge_meets(const double a[3], const double b[3], const double triangle[3][3]) {
  if (is_near(a, triangle)) return true;
  double ab[3], ac[3], normal[3], to[3], at[3];
  ul_sub(triangle[1], triangle[0], ab);
  ul_sub(triangle[2], triangle[0], ac);
  ul_cross(ab, ac, normal);
  ul_sub(a, triangle[0], to);
  const double from = ul_dot(to, normal);
  ul_sub(b, a, to);
  const double along = ul_dot(to, normal), share = -from / along;
  if (along == 0 || !(share >= 0 && share <= 1)) return false;
  ul_add_scaled(a, share, to, at);
  return is_near(at, triangle);
}

/* Two edges that cross; of parallel ones an end lies on the other's triangle. */
static bool edges_cross(const double a[3], const double b[3], const double c[3],
                        const double d[3]) {
  double u[3], v[3], w[3], p[3], q[3];
  ul_sub(b, a, u);
  ul_sub(d, c, v);
  ul_sub(a, c, w);
  const double uu = ul_dot(u, u), uv = ul_dot(u, v), vv = ul_dot(v, v), uw = ul_dot(u, w),
               vw = ul_dot(v, w), det = uu * vv - uv * uv;
  if (!(det > 0)) return false;
  const double s = (uv * vw - vv * uw) / det, t = (uu * vw - uv * uw) / det;
  if (!(s >= 0 && s <= 1 && t >= 0 && t <= 1)) return false;
  ul_add_scaled(a, s, u, p);
  ul_add_scaled(c, t, v, q);
  return ul_distance(p, q) <= touch_mm;
}

static bool triangles_touch(const double p[3][3], const double q[3][3]) {
  for (int k = 0; k < 3; k++) {
    const int next = (k + 1) % 3;
    if (edge_meets(p[k], p[next], q) || edge_meets(q[k], q[next], p)) return true;
    for (int l = 0; l < 3; l++)
      if (edges_cross(p[k], p[next], q[l], q[(l + 1) % 3])) return true;
  }
  return false;
}

/* --- shells --- */

static bool is_core(const ul_shell *shell) {
  return shell->volume_mm3 < 0 && shell->cavity != UINT32_MAX;
}

/* A core's triangle, held against what is round it. */
typedef struct {
  const ul_solid *solid;
  const ul_bvh *bvh;
  uint32_t *joined; /* per shell: the lowest number that is known to be joined to it, by steps */
  uint32_t shell;
  double corner[3][3];
} contact;

static void see_contact(void *context, uint32_t triangle) {
  contact *c = context;
  const uint32_t a = ul_root(c->joined, c->shell),
                 b = ul_root(c->joined, c->solid->shell_of[triangle]);
  double corner[3][3];
  if (a == b) return;
  ul_bvh_triangle(c->bvh, triangle, corner);
  if (triangles_touch((const double(*)[3])c->corner, (const double(*)[3])corner))
    c->joined[a > b ? a : b] = a < b ? a : b;
}

static void join_round(contact *c, size_t triangle) {
  double low[3], high[3];
  ul_bvh_triangle(c->bvh, (uint32_t)triangle, c->corner);
  for (int a = 0; a < 3; a++) {
    low[a] = fmin(c->corner[0][a], fmin(c->corner[1][a], c->corner[2][a])) - touch_mm;
    high[a] = fmax(c->corner[0][a], fmax(c->corner[1][a], c->corner[2][a])) + touch_mm;
  }
  ul_bvh_in_box(c->bvh, low, high, see_contact, c);
}

static ul_status join_shells(const ul_solid *solid, const ul_job *job, uint32_t *joined) {
  const ul_mesh *const mesh = solid->mesh;
  ul_bvh *bvh;
  ul_status status = ul_bvh_new(&mesh, 1, job, &bvh, NULL);
  if (status != UL_OK) return status;
  contact c = {.solid = solid, .bvh = bvh, .joined = joined};
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    c.shell = solid->shell_of[t];
    if (is_core(&solid->shell[c.shell])) join_round(&c, t);
  }
  ul_bvh_free(bvh);
  return UL_OK;
}

ul_status ul_find_hanging(const ul_solid *solid, const ul_job *job, unsigned char *hanging) {
  const uint32_t count = (uint32_t)solid->shell_count;
  uint32_t cores = 0;
  for (uint32_t i = 0; i < count; i++) cores += is_core(&solid->shell[i]);
  if (!cores) return UL_OK;
  uint32_t *joined = ul_new_raw(count, sizeof *joined);
  unsigned char *held = ul_new(count, 1); /* by the first of those that are joined */
  ul_status status = joined && held ? UL_OK : UL_E_MEMORY;
  for (uint32_t i = 0; status == UL_OK && i < count; i++) joined[i] = i;
  if (status == UL_OK) status = join_shells(solid, job, joined);
  for (uint32_t i = 0; status == UL_OK && i < count; i++)
    if (!is_core(&solid->shell[i])) held[ul_root(joined, i)] = 1;
  for (uint32_t i = 0; status == UL_OK && i < count; i++)
    hanging[i] = is_core(&solid->shell[i]) && !held[ul_root(joined, i)];
  free(joined);
  free(held);
  return status;
}
