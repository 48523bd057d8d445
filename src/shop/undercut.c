/* undercut.c - what part stands behind tool as the halves come off, from columns along the draw. */
#include "ullage/parting.h"

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "cavity/columns.h"
#include "shop/hanging.h"

#include <math.h>
#include <stdlib.h>

static const double least_mm = 0.01; /* a knife's edge in the way holds nothing */

/* One half of the tool seen along its draw, a ray a cell. */
typedef struct {
  const ul_columns *columns; /* in a frame whose z is the draw */
  double frame[3][3];        /* rows: that frame's axes */
  const ul_parting *parting;
  const ul_solid *solid;
  const unsigned char *hanging; /* per shell: a core that nothing holds */
  int half;                     /* 1, -1; 0: no plane is known */
  int32_t nx, ny;
  double *caught;       /* per ray: length of tool in the way, mm */
  double *catch;        /* per caught ray: where along the draw the part is met */
  unsigned char *hangs; /* per caught ray: what it is met behind is such a core */
  unsigned char *open;  /* per ray: part passes here, and nothing is in the way */
  int32_t *across;      /* per ray: cubes to the nearest open one along its row; -1: none */
  uint32_t *group;      /* per ray: 0 none, else which undercut */
  uint32_t *queue;
} shadow;

/* --- a copy of the solid that stands on its draw --- */

static void turn(const double frame[3][3], const double at[3], double out[3]) {
  double turned[3];
  for (int r = 0; r < 3; r++) turned[r] = ul_dot(frame[r], at);
  ul_copy3(turned, out);
}

static void turn_back(const double frame[3][3], const double at[3], double out[3]) {
  for (int c = 0; c < 3; c++)
    out[c] = at[0] * frame[0][c] + at[1] * frame[1][c] + at[2] * frame[2][c];
}

static ul_status columns_along(const ul_solid *solid, const double frame[3][3], double cube_mm,
                               const ul_job *job, ul_columns **out, ul_error *err) {
  ul_solid standing = *solid;
  ul_status status = ul_mesh_copy(solid->mesh, &standing.mesh, err);
  if (status != UL_OK) return status;
  for (size_t v = 0; v < standing.mesh->vertex_count; v++)
    turn(frame, standing.mesh->vertex_mm[v], standing.mesh->vertex_mm[v]);
  double box[2][3];
  ul_mesh_box_mm(standing.mesh, box);
  ul_lattice lattice;
  status = ul_lattice_for_box((const double(*)[3])box, cube_mm, &lattice, err);
  if (status == UL_OK)
    status = ul_columns_build_axes(&standing, NULL, 0, &lattice, 1 << 2, job, out, err);
  ul_mesh_free(standing.mesh);
  return status;
}

/* --- rays --- */

static void ray_place(const shadow *s, size_t ray, double along, double out[3]) {
  const ul_lattice *l = &s->columns->lattice;
  double at[3] = {l->origin_mm[0] + ((double)(ray % (size_t)s->nx) + 0.5) * l->cube_mm,
                  l->origin_mm[1] + ((double)(ray / (size_t)s->nx) + 0.5) * l->cube_mm, along};
  turn_back((const double(*)[3])s->frame, at, out);
}

/* Where the ray meets the parting plane. */
static double plane_on_ray(const shadow *s, size_t ray) {
  double foot[3];
  ray_place(s, ray, 0, foot);
  return -ul_parting_height_mm(s->parting, foot) / ul_dot(s->parting->normal, s->parting->draw);
}

/* Follows the ray outwards from the plane (or, without one, from its first run): tool that has part
 * behind it is in the way. */
static void look_along(shadow *s, size_t ray) {
  const ul_bundle *b = &s->columns->bundle[2];
  int sense = s->half < 0 ? -1 : 1;
  double at = s->half ? sense * plane_on_ray(s, ray) : INFINITY;
  uint32_t first = b->first[ray], count = b->first[ray + 1] - first;
  bool part = false;
  for (uint32_t i = 0; i < count; i++) {
    uint32_t which = sense > 0 ? first + i : first + count - 1 - i;
    const ul_run *run = &b->run[which];
    double lo = sense > 0 ? run->lo : -run->hi, hi = sense > 0 ? run->hi : -run->lo;
    if (hi <= at && s->half) continue;
    if (lo > at + least_mm) {
      if (s->caught[ray] == 0) s->catch[ray] = sense * lo;
      s->caught[ray] += lo - at;
      uint32_t met = sense > 0 ? b->lo_triangle[which] : b->hi_triangle[which];
      if (met != UINT32_MAX && s->hanging[s->solid->shell_of[met]]) s->hangs[ray] = 1;
    }
    part = true;
    at = hi;
  }
  s->open[ray] = part && s->caught[ray] == 0;
}

/* --- how far behind --- */

static void look_across(shadow *s) {
  for (int32_t y = 0; y < s->ny; y++) {
    int32_t *row = s->across + (size_t)y * (size_t)s->nx;
    const unsigned char *open = s->open + (size_t)y * (size_t)s->nx;
    for (int32_t x = 0; x < s->nx; x++)
      row[x] = open[x] ? 0 : x > 0 && row[x - 1] >= 0 ? row[x - 1] + 1 : -1;
    for (int32_t x = s->nx - 2; x >= 0; x--)
      if (row[x + 1] >= 0 && (row[x] < 0 || row[x] > row[x + 1] + 1)) row[x] = row[x + 1] + 1;
  }
}

/* Cubes to the nearest open ray, row after row outwards until none can be nearer. */
static double behind(const shadow *s, size_t ray) {
  int32_t x = (int32_t)(ray % (size_t)s->nx), y = (int32_t)(ray / (size_t)s->nx);
  double best = INFINITY;
  for (int32_t far = 0; far < s->ny && (double)far * far < best; far++)
    for (int side = -1; side <= (far ? 1 : -1); side += 2) {
      int32_t row = y + side * far;
      if (row < 0 || row >= s->ny) continue;
      int32_t across = s->across[(size_t)row * (size_t)s->nx + (size_t)x];
      if (across >= 0) best = fmin(best, (double)across * across + (double)far * far);
    }
  return isfinite(best) ? sqrt(best) : NAN;
}

/* --- undercuts --- */

/* Takes a ray into the undercut, and its caught neighbours into the queue. */
static void take_ray(shadow *s, size_t ray, uint32_t number, ul_undercut *u, size_t *queued) {
  double h = s->columns->lattice.cube_mm, depth = u->hangs ? NAN : behind(s, ray) * h;
  u->area_mm2 += h * h;
  u->volume_mm3 += s->caught[ray] * h * h;
  if (u->area_mm2 == h * h || depth > u->depth_mm) {
    u->depth_mm = depth;
    ray_place(s, ray, s->catch[ray], u -> at_mm);
  }
  int32_t x = (int32_t)(ray % (size_t)s->nx), y = (int32_t)(ray / (size_t)s->nx);
  for (int32_t v = y - 1; v <= y + 1; v++)
    for (int32_t w = x - 1; w <= x + 1; w++) {
      if (v < 0 || v >= s->ny || w < 0 || w >= s->nx) continue;
      size_t next = (size_t)v * (size_t)s->nx + (size_t)w;
      if (s->caught[next] == 0 || s->group[next] || (bool)s->hangs[next] != u->hangs) continue;
      s->group[next] = number;
      s->queue[(*queued)++] = (uint32_t)next;
    }
}

static ul_status group_rays(shadow *s, ul_undercut **list, size_t *count, size_t *room) {
  size_t rays = (size_t)s->nx * (size_t)s->ny;
  uint32_t number = 0;
  for (size_t ray = 0; ray < rays; ray++) {
    if (s->caught[ray] == 0 || s->group[ray]) continue;
    if (!ul_grow((void **)list, room, *count + 1, sizeof **list)) return UL_E_MEMORY;
    ul_undercut *u = &(*list)[(*count)++];
    *u = (ul_undercut){.half = s->half, .hangs = s->hangs[ray]};
    s->group[ray] = ++number;
    s->queue[0] = (uint32_t)ray;
    for (size_t done = 0, queued = 1; done < queued; done++)
      take_ray(s, s->queue[done], number, u, &queued);
  }
  return UL_OK;
}

static void shadow_clear(shadow *s) {
  free(s->caught);
  free(s->catch);
  free(s->hangs);
  free(s->open);
  free(s->across);
  free(s->group);
  free(s->queue);
}

static ul_status look(shadow s, int half, ul_undercut **list, size_t *count, size_t *room) {
  s.half = half;
  s.nx = s.columns->lattice.n[0];
  s.ny = s.columns->lattice.n[1];
  size_t rays = s.columns->bundle[2].ray_count;
  s.caught = ul_new(rays, sizeof *s.caught);
  s.catch = ul_new(rays, sizeof *s.catch);
  s.hangs = ul_new(rays, sizeof *s.hangs);
  s.open = ul_new(rays, sizeof *s.open);
  s.across = ul_new(rays, sizeof *s.across);
  s.group = ul_new(rays, sizeof *s.group);
  s.queue = ul_new_raw(rays, sizeof *s.queue);
  ul_status status = s.caught && s.catch && s.hangs && s.open && s.across && s.group && s.queue
                         ? UL_OK
                         : UL_E_MEMORY;
  if (status == UL_OK) {
    for (size_t ray = 0; ray < rays; ray++) look_along(&s, ray);
    look_across(&s);
    status = group_rays(&s, list, count, room);
  }
  shadow_clear(&s);
  return status;
}

/* One without a way out is deepest; of equals, the one with more in the way, then by place. */
static int deepest_first(const void *a, const void *b) {
  const ul_undercut *p = a, *q = b;
  double d = isnan(p->depth_mm) ? INFINITY : p->depth_mm;
  double e = isnan(q->depth_mm) ? INFINITY : q->depth_mm;
  if (d != e) return d > e ? -1 : 1;
  if (p->volume_mm3 != q->volume_mm3) return p->volume_mm3 > q->volume_mm3 ? -1 : 1;
  for (int c = 0; c < 3; c++)
    if (p->at_mm[c] != q->at_mm[c]) return p->at_mm[c] < q->at_mm[c] ? -1 : 1;
  return q->half - p->half;
}

ul_status ul_undercuts_find(const ul_solid *solid, const ul_parting *parting, double cube_mm,
                            const ul_job *job, ul_undercut **out, size_t *count, ul_error *err) {
  *out = NULL;
  *count = 0;
  unsigned char *hanging = ul_new(solid->shell_count, 1);
  if (!hanging) return ul_fail_memory(err);
  shadow s = {.parting = parting, .solid = solid, .hanging = hanging};
  ul_copy3(parting->draw, s.frame[2]);
  ul_across(s.frame[2], s.frame[0], s.frame[1]);
  ul_columns *columns = NULL;
  ul_status status = columns_along(solid, (const double(*)[3])s.frame, cube_mm, job, &columns, err);
  if (status != UL_OK) {
    free(hanging);
    return status;
  }
  s.columns = columns;
  size_t room = 0;
  status = ul_find_hanging(solid, job, hanging);
  for (int half = 1; half >= -1 && status == UL_OK; half--)
    if ((half != 0) == parting->has_plane) status = look(s, half, out, count, &room);
  ul_columns_free(columns);
  free(hanging);
  if (status == UL_OK && *count) qsort(*out, *count, sizeof **out, deepest_first);
  if (status == UL_OK) return UL_OK;
  free(*out);
  *out = NULL;
  *count = 0;
  return ul_fail_memory(err);
}
