#include "air/line.h"

#include "base/vec.h"

#include <math.h>

enum { MOST_STRETCHES = 16 };

const double ul_least_facing = 0.2;
static const double skin_mm =
    0.05; /* a tool's void, an insert's seat and the cavity agree to this */

ul_status ul_lines_open(const ul_bore_site *site, const double axis[3], double reach_mm,
                        double seen_mm, ul_lines *out, ul_error *err) {
  *out = (ul_lines){.site = site, .reach = reach_mm};
  ul_copy3(axis, out->axis);
  const ul_mesh *const mesh[4] = {site->cavity, site->tool->mesh, site->inserts, site->keep_off};
  ul_sight **const sight[4] = {&out->cavity, &out->tool, &out->inserts, &out->keep_off};
  ul_status status = UL_OK;
  for (int i = 0; status == UL_OK && i < 4; i++)
    if (mesh[i]) status = ul_sight_new(mesh[i], site->at_mm, axis, seen_mm, sight[i], err);
  return status;
}

void ul_lines_close(ul_lines *lines) {
  ul_sight_free(lines->cavity);
  ul_sight_free(lines->tool);
  ul_sight_free(lines->inserts);
  ul_sight_free(lines->keep_off);
}

static double box_exit(const ul_lines *s, double x, double y) {
  double from[3], depth = INFINITY;
  ul_sight_place(s->cavity, x, y, 0, from);
  for (int c = 0; c < 3; c++)
    if (s->axis[c] != 0)
      depth = fmin(depth, (s->site->tool->box_mm[s->axis[c] > 0][c] - from[c]) / s->axis[c]);
  return depth;
}

/* The tool's mesh may hold the cavity as a void, so the material may begin right at `from`. */
static double mesh_exit(const ul_lines *s, double x, double y, double from, double *again) {
  ul_stretch material[MOST_STRETCHES];
  size_t n = ul_sight_stretches(s->tool, x, y, MOST_STRETCHES, material);
  double out = -INFINITY;
  for (size_t i = 0; i < n && i < MOST_STRETCHES; i++) {
    if (material[i].hi <= from + skin_mm) continue;
    if (material[i].lo <= fmax(from, out) + skin_mm)
      out = material[i].hi;
    else
      *again = fmin(*again, material[i].lo);
  }
  return out;
}

double ul_line_out(const ul_lines *s, double x, double y, double from, double *again) {
  *again = INFINITY;
  return s->tool ? mesh_exit(s, x, y, from, again) : box_exit(s, x, y);
}

/* How far past `from` the line meets an insert; INFINITY: it does not. */
static double insert_on(const ul_lines *s, double x, double y, double from) {
  ul_stretch held[MOST_STRETCHES];
  size_t n = s->inserts ? ul_sight_stretches(s->inserts, x, y, MOST_STRETCHES, held) : 0;
  for (size_t i = 0; i < n && i < MOST_STRETCHES; i++)
    if (held[i].hi > from + skin_mm) return fmax(held[i].lo - from, 0);
  return INFINITY;
}

bool ul_line_leaves(ul_lines *s, double x, double y, double near, ul_line *out) {
  ul_stretch air[MOST_STRETCHES];
  size_t n = ul_sight_stretches(s->cavity, x, y, MOST_STRETCHES, air), best = 0;
  if (n == 0 || n > MOST_STRETCHES) return false;
  for (size_t i = 1; i < n; i++)
    if (fabs(air[i].hi - near) < fabs(air[best].hi - near)) best = i;
  out->air = air[best];
  if (air[best].facing < ul_least_facing || fabs(air[best].hi - near) > s->reach) return false;
  double insert = insert_on(s, x, y, air[best].hi);
  if (insert < INFINITY) {
    if (!s->met_insert) s->again = insert;
    s->met_insert = true;
    return false;
  }
  if (best + 1 < n) {
    if (!s->met_again) s->again = air[best + 1].lo - air[best].hi;
    s->met_again = true;
    return false;
  }
  double more;
  out->out = ul_line_out(s, x, y, air[best].hi, &more);
  if (!(out->out > air[best].hi)) {
    s->no_outside = true;
    return false;
  }
  if (more == INFINITY) return true;
  if (!s->met_hollow) s->hollow = out->out - air[best].hi;
  s->met_hollow = true;
  return false;
}

double ul_line_entry_deg(const ul_lines *s, double x, double y, double out) {
  double facing = 0;
  ul_stretch material[MOST_STRETCHES];
  size_t n = s->tool ? ul_sight_stretches(s->tool, x, y, MOST_STRETCHES, material) : 0;
  for (size_t i = 0; i < n && i < MOST_STRETCHES; i++)
    if (material[i].hi == out) facing = material[i].facing;
  double through[3];
  ul_sight_place(s->cavity, x, y, out, through);
  for (int c = 0; !s->tool && c < 3; c++)
    if (fabs(through[c] - s->site->tool->box_mm[s->axis[c] > 0][c]) < 1e-6)
      facing = fmax(facing, fabs(s->axis[c]));
  return acos(fmin(facing, 1)) * 180 / M_PI;
}

/* The line clipped by the six faces (Liang & Barsky 1984, ACM Trans. Graphics 3(1)), each moved out
 * by the radius. */
static bool meets_one(const ul_lines *s, const double box[2][3], const double from[3],
                      double radius, double length) {
  double lo = 0, hi = length;
  for (int c = 0; c < 3; c++) {
    double near = box[0][c] - radius - from[c], far = box[1][c] + radius - from[c];
    if (s->axis[c] == 0) {
      if (near > 0 || far < 0) return false;
      continue;
    }
    near /= s->axis[c];
    far /= s->axis[c];
    lo = fmax(lo, fmin(near, far));
    hi = fmin(hi, fmax(near, far));
  }
  return lo <= hi;
}

bool ul_line_meets_box(const ul_lines *s, double x, double y, double radius, double from,
                       double to) {
  double at[3];
  ul_sight_place(s->cavity, x, y, from, at);
  for (size_t i = 0; i < s->site->keep_box_count; i++)
    if (meets_one(s, s->site->keep_box[i], at, radius, to - from)) return true;
  return false;
}
