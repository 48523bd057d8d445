#include "shapes/drill.h"

#include "shapes/check.h"

#include "base/vec.h"

#include <math.h>

enum { LINES = 48 };

typedef struct {
  double at[3], x[3], y[3], axis[3]; /* a frame on the hole's mouth */
} stand;

static stand stand_on(const ul_vent *vent) {
  stand s;
  ul_copy3(vent->at_mm, s.at);
  ul_copy3(vent->axis, s.axis);
  const double other[3] = {0.31, -0.52, 0.79}, another[3] = {-0.77, 0.21, 0.6};
  ul_cross(s.axis, fabs(ul_dot(s.axis, other)) < 0.9 ? other : another, s.x);
  double length = ul_norm(s.x);
  for (int c = 0; c < 3; c++) s.x[c] /= length;
  ul_cross(s.axis, s.x, s.y);
  return s;
}

static void corners(const ul_mesh *mesh, size_t t, const stand *s, double out[3][3]) {
  for (int k = 0; k < 3; k++) {
    double d[3];
    ul_sub(mesh->vertex_mm[mesh->triangle[t][k]], s->at, d);
    out[k][0] = ul_dot(d, s->x);
    out[k][1] = ul_dot(d, s->y);
    out[k][2] = ul_dot(d, s->axis);
  }
}

static double turn(const double a[3], const double b[3], double x, double y) {
  return (b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0]);
}

/* 1: the line at (x, y) leaves through the triangle; -1: enters; 0: misses it. */
static int crossing(double c[3][3], double x, double y, double *depth) {
  double a = turn(c[1], c[2], x, y), b = turn(c[2], c[0], x, y), d = turn(c[0], c[1], x, y);
  if (!((a > 0 && b > 0 && d > 0) || (a < 0 && b < 0 && d < 0))) return 0;
  *depth = (a * c[0][2] + b * c[1][2] + d * c[2][2]) / (a + b + d);
  return a > 0 ? 1 : -1;
}

/* Beyond `from`, how often the line leaves, and how often it meets the surface at all; the last
 * depth at which it does. */
static void follow(const ul_mesh *mesh, const stand *s, double x, double y, double from,
                   int *winding, int *met, double *last) {
  *winding = *met = 0;
  *last = -INFINITY;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    double c[3][3], depth;
    corners(mesh, t, s, c);
    int sense = crossing(c, x, y, &depth);
    if (sense == 0 || depth <= from) continue;
    *winding += sense;
    (*met)++;
    *last = fmax(*last, depth);
  }
}

/* The part of a polygon above (sense 1) or below (-1) a depth. */
static int clip(double in[][3], int count, double depth, int sense, double out[][3]) {
  int n = 0;
  for (int i = 0; i < count; i++) {
    const double *p = in[i], *q = in[(i + 1) % count];
    double a = sense * (p[2] - depth), b = sense * (q[2] - depth);
    if (a >= 0) ul_copy3(p, out[n++]);
    if ((a < 0) == (b < 0)) continue;
    for (int c = 0; c < 3; c++) out[n][c] = p[c] + (q[c] - p[c]) * a / (a - b);
    n++;
  }
  return n;
}

/* Least distance of a flat polygon from the hole's axis. */
static double from_axis(double p[][3], int count) {
  double least = INFINITY;
  int left = 0, right = 0;
  for (int i = 0; i < count; i++) {
    const double *a = p[i], *b = p[(i + 1) % count];
    double ex = b[0] - a[0], ey = b[1] - a[1], length2 = ex * ex + ey * ey;
    double t = length2 > 0 ? -(a[0] * ex + a[1] * ey) / length2 : 0;
    t = fmin(fmax(t, 0), 1);
    least = fmin(least, hypot(a[0] + t * ex, a[1] + t * ey));
    double side = turn(a, b, 0, 0);
    left += side > 0;
    right += side < 0;
  }
  return count > 2 && (left == count || right == count) ? 0 : least;
}

static bool steep(double c[3][3]) {
  double a[3], b[3], n[3];
  ul_sub(c[1], c[0], a);
  ul_sub(c[2], c[0], b);
  ul_cross(a, b, n);
  return n[2] < ul_norm(n) * cos(79 * M_PI / 180);
}

static int walls_cut(const ul_mesh *mesh, const stand *s, double radius, double from, double to) {
  int walls = 0;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    double c[3][3], above[6][3], between[8][3];
    corners(mesh, t, s, c);
    if (!steep(c)) continue;
    int n = clip(c, 3, from, 1, above);
    n = clip(above, n, to, -1, between);
    walls += n > 0 && from_axis(between, n) < radius;
  }
  return walls;
}

static bool in_box(const ul_tool *tool, const double at[3]) {
  for (int c = 0; c < 3; c++)
    if (at[c] < tool->box_mm[0][c] + 1e-9 || at[c] > tool->box_mm[1][c] - 1e-9) return false;
  return true;
}

drilled drill_by_force(const ul_mesh *cavity, const ul_tool *tool, const ul_vent *vent) {
  drilled wrong = {0};
  stand s = stand_on(vent);
  double deepest = 0;
  for (int k = 0; k < LINES; k++) {
    double a = 2 * M_PI * (k + 0.37) / LINES, r = vent->diameter_mm / 2 * (k % 3 ? 1 : 0.5);
    double x = r * cos(a), y = r * sin(a), leaves, end[3];
    int winding, met;
    follow(cavity, &s, x, y, -vent->back_mm, &winding, &met, &leaves);
    wrong.not_in_air += winding != 1;
    wrong.not_out_once += met != 1;
    deepest = fmax(deepest, leaves);
    ul_add_scaled(s.at, x, s.x, end);
    ul_add_scaled(end, y, s.y, end);
    ul_add_scaled(end, vent->length_mm + vent->past_mm, s.axis, end);
    wrong.not_outside += in_box(tool, end);
    if (!(vent->relief_mm > 0)) continue;
    double wide = vent->relief_mm / vent->diameter_mm;
    follow(cavity, &s, x * wide, y * wide, vent->land_mm, &winding, &met, &leaves);
    wrong.relief_meets += met != 0;
  }
  wrong.walls = walls_cut(cavity, &s, vent->diameter_mm / 2, -vent->back_mm, deepest);
  return wrong;
}

void assert_good_hole(const ul_mesh *cavity, const ul_tool *tool, const ul_vent *vent) {
  if (!vent->ok) print_error("vent %u: %s\n", vent->id, vent->note);
  assert_true(vent->ok);
  assert_near(ul_norm(vent->axis), 1, 1e-12);
  drilled wrong = drill_by_force(cavity, tool, vent);
  int all =
      wrong.not_in_air + wrong.not_out_once + wrong.not_outside + wrong.walls + wrong.relief_meets;
  if (all > 0)
    print_error("vent %u at %g %g %g along %g %g %g (%s): %d lines not in air, %d not out once, %d "
                "not outside the tool, %d walls cut, %d lines of the relief meet the cavity\n",
                vent->id, vent->at_mm[0], vent->at_mm[1], vent->at_mm[2], vent->axis[0],
                vent->axis[1], vent->axis[2], vent->note, wrong.not_in_air, wrong.not_out_once,
                wrong.not_outside, wrong.walls, wrong.relief_meets);
  assert_int_equal(all, 0);
  stand s = stand_on(vent);
  double least = INFINITY;
  for (size_t t = 0; t < cavity->triangle_count; t++) {
    double c[3][3], depth;
    corners(cavity, t, &s, c);
    if (crossing(c, 1e-9, 2e-9, &depth)) least = fmin(least, fabs(depth));
  }
  assert_near(least, 0, 1e-6);
}

double web_by_force(const ul_parting *parting, const ul_vent *vent) {
  stand s = stand_on(vent);
  double lowest = INFINITY, highest = -INFINITY;
  for (int i = 0; i <= 100; i++)
    for (int k = 0; k < 360; k++) {
      double along = vent->length_mm * i / 100, a = M_PI * k / 180, at[3];
      bool wide = vent->relief_mm > 0 && along >= vent->land_mm;
      double r = (wide ? vent->relief_mm : vent->diameter_mm) / 2;
      ul_add_scaled(s.at, r * cos(a), s.x, at);
      ul_add_scaled(at, r * sin(a), s.y, at);
      ul_add_scaled(at, along, s.axis, at);
      lowest = fmin(lowest, ul_parting_height_mm(parting, at));
      highest = fmax(highest, ul_parting_height_mm(parting, at));
    }
  return fmax(lowest, -highest);
}

void assert_good_groove(const ul_mesh *cavity, const ul_tool *tool, const ul_parting *parting,
                        const ul_vent *vent) {
  assert_true(vent->ok && vent->kind == UL_VENT_GROOVE);
  assert_near(ul_norm(vent->axis), 1, 1e-12);
  assert_near(ul_dot(vent->axis, parting->normal), 0, 1e-9);
  assert_near(ul_dot(vent->face, parting->normal), vent->half, 1e-12);
  assert_near(ul_parting_height_mm(parting, vent->at_mm), 0, 1e-9);
  stand s;
  ul_copy3(vent->at_mm, s.at);
  ul_copy3(vent->axis, s.axis);
  ul_copy3(vent->face, s.y);
  ul_cross(s.y, s.axis, s.x);
  int wrong = 0;
  for (int i = 0; i < 24; i++)
    for (int k = 0; k < 7; k++) {
      double x = vent->width_mm * ((i + 0.5) / 24 - 0.5), y = vent->depth_mm * (k + 0.5) / 7;
      double last, end[3];
      int winding, met;
      follow(cavity, &s, x, y, -vent->back_mm, &winding, &met, &last);
      ul_add_scaled(s.at, x, s.x, end);
      ul_add_scaled(end, y, s.y, end);
      ul_add_scaled(end, vent->length_mm + vent->past_mm, s.axis, end);
      wrong += winding != 1 || met != 1 || in_box(tool, end);
    }
  if (wrong) print_error("vent %u (%s): %d of 168 lines are wrong\n", vent->id, vent->note, wrong);
  assert_int_equal(wrong, 0);
}
