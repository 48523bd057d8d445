#include "air/bore.h"

#include "air/edge.h"
#include "air/line.h"
#include "air/web.h"
#include "base/vec.h"

#include <math.h>

/* The hole is judged by lines along it: one in the middle and two rings round it. */
enum { INNER = 8, OUTER = 32, DIRECTIONS = 32, RINGS = 16 };

static const double spare_mm = 0.05; /* a drill wanders: the circle tried is larger by this */
static const double reach_radii = 4; /* a hole farther off is not at the peak any more */
static const double same_height_mm = 0.01;
static const double skin_mm = 0.05;
static const double least_air_mm = 0.05;
static const double inside_mm = 1.0; /* how far a cutter goes into the cavity where it can */

typedef struct {
  ul_lines lines;
  double circle; /* radius with what is spared */
  double top;    /* height of the place: its pocket has nothing above it, so a higher mouth is in
                    another */
  double edge;   /* no nearer to an edge of the tool */
  bool kept_off, at_edge, at_parting;
} search;

typedef struct {
  double x, y;
  double leaves; /* depth at which the middle line leaves the cavity */
  double first_leaves, last_leaves, last_enters;
  double out, last_out;
  double lean[2]; /* of the wall at the mouth: how depth grows along x and y */
} spot;

static void take_in(spot *b, const ul_line *r) {
  b->first_leaves = fmin(b->first_leaves, r->air.hi);
  b->last_leaves = fmax(b->last_leaves, r->air.hi);
  b->last_enters = fmax(b->last_enters, r->air.lo);
  b->last_out = fmax(b->last_out, r->out);
}

static bool cast_ring(search *s, double radius, int count, spot *b) {
  for (int k = 0; k < count; k++) {
    double a = 2 * M_PI * k / count;
    ul_line line;
    if (!ul_line_leaves(&s->lines, b->x + radius * cos(a), b->y + radius * sin(a), b->leaves,
                        &line))
      return false;
    take_in(b, &line);
    /* the mean of cos^2 is a half, and there are two rings */
    b->lean[0] += line.air.hi * cos(a) / count / radius;
    b->lean[1] += line.air.hi * sin(a) / count / radius;
  }
  return true;
}

static double mouth_height(const search *s, double x, double y, double depth) {
  double mouth[3];
  ul_sight_place(s->lines.cavity, x, y, depth, mouth);
  return ul_dot(mouth, s->lines.site->up);
}

/* How far inside its whole rim a cutter starts: no farther than half way to the wall opposite. */
static double start_inside(const spot *b) {
  return fmin(inside_mm, (b->first_leaves - b->last_enters) / 2);
}

static bool is_kept_off(search *s, const spot *b) {
  bool kept = s->lines.keep_off &&
              ul_sight_meets_wall(s->lines.keep_off, b->x, b->y, s->circle,
                                  b->first_leaves - skin_mm, b->last_leaves + skin_mm, INFINITY);
  kept = kept || ul_line_meets_box(&s->lines, b->x, b->y, s->circle, b->first_leaves, b->out);
  if (kept) s->kept_off = true;
  return kept;
}

/* By the box; a mesh is asked once, about the place that was found. */
static bool is_at_edge(search *s, const spot *b) {
  if (s->lines.tool) return false;
  double through[3];
  ul_sight_place(s->lines.cavity, b->x, b->y, b->out, through);
  bool near = ul_box_edge_mm(s->lines.site->tool, through) < s->edge;
  if (near) s->at_edge = true;
  return near;
}

static bool is_at_parting(search *s, const spot *b) {
  const ul_bore_site *site = s->lines.site;
  double from[3], to[3];
  if (!site->parting) return false;
  ul_sight_place(s->lines.cavity, b->x, b->y, b->first_leaves, from);
  ul_sight_place(s->lines.cavity, b->x, b->y, b->last_out, to);
  bool near = ul_web_to_parting_mm(site->parting, s->lines.axis, from, to, s->circle) <
              ul_web_mm(site->radius_mm);
  if (near) s->at_parting = true;
  return near;
}

/* Whether the hole can be made at (x, y): the mouth is not above the place; somewhere inside, the
 * whole cross section is air; from there every line leaves the cavity once and for good, and no
 * wall or step is in the way. */
static bool spot_at(search *s, double x, double y, spot *b) {
  ul_line middle;
  if (!ul_line_leaves(&s->lines, x, y, 0, &middle)) return false;
  if (mouth_height(s, x, y, middle.air.hi) > s->top) return false;
  *b = (spot){x, y, middle.air.hi, INFINITY, -INFINITY, -INFINITY, middle.out, -INFINITY, {0, 0}};
  take_in(b, &middle);
  return cast_ring(s, s->circle, OUTER, b) && cast_ring(s, s->circle / 2, INNER, b) &&
         b->first_leaves - b->last_enters >= least_air_mm &&
         !ul_sight_meets_wall(s->lines.cavity, x, y, s->circle, b->first_leaves - start_inside(b),
                              b->last_leaves, ul_least_facing) &&
         !is_kept_off(s, b) && !is_at_parting(s, b) && !is_at_edge(s, b);
}

/* Closes in on the place looked at, never leaving where the hole can be made. */
static void come_nearer(search *s, spot *b) {
  for (double step = s->circle / 4; step > s->circle / 5000; step /= 2)
    for (bool moved = true; moved;) {
      moved = false;
      for (int k = 0; k < DIRECTIONS; k++) {
        double a = 2 * M_PI * k / DIRECTIONS;
        double x = b->x + step * cos(a), y = b->y + step * sin(a);
        spot there;
        if (hypot(x, y) > hypot(b->x, b->y) - step / 1000 || !spot_at(s, x, y, &there)) continue;
        *b = there;
        moved = true;
      }
    }
}

/* Ring by ring outwards; on the first ring with a place, the highest one, drawn nearer. */
static bool nearest_spot(search *s, spot *best) {
  if (spot_at(s, 0, 0, best)) return true;
  for (int ring = 1; ring <= RINGS; ring++) {
    double radius = ring * s->lines.reach / RINGS, height = -INFINITY;
    for (int k = 0; k < DIRECTIONS; k++) {
      double a = 2 * M_PI * k / DIRECTIONS;
      spot there;
      if (!spot_at(s, radius * cos(a), radius * sin(a), &there)) continue;
      double here = mouth_height(s, there.x, there.y, there.leaves);
      if (here <= height + 1e-9) continue;
      height = here;
      *best = there;
    }
    if (height > -INFINITY) {
      come_nearer(s, best);
      return true;
    }
  }
  return false;
}

static void describe(const search *s, const spot *b, ul_bore *out) {
  ul_copy3(s->lines.axis, out->axis);
  ul_sight_place(s->lines.cavity, b->x, b->y, b->leaves, out->mouth_mm);
  ul_sight_place(s->lines.cavity, b->x, b->y, b->out, out->through_mm);
  out->length_mm = b->out - b->leaves;
  out->past_mm = b->last_out - b->out;
  out->entry_deg = ul_line_entry_deg(&s->lines, b->x, b->y, b->out);
  out->mouth_deg = atan(hypot(b->lean[0], b->lean[1])) * 180 / M_PI;
  out->back_mm = b->leaves - b->first_leaves + start_inside(b);
}

ul_status ul_bore_fit(const ul_bore_site *site, const double axis[3], ul_bore *out,
                      ul_bore_end *end, double *again_mm, ul_error *err) {
  search s = {.circle = site->radius_mm + spare_mm,
              .edge = UL_EDGE_DIAMETERS * 2 * site->radius_mm,
              .top = ul_dot(site->up, site->at_mm) + same_height_mm};
  double reach = reach_radii * site->radius_mm;
  ul_status status = ul_lines_open(site, axis, reach, reach + s.circle, &s.lines, err);
  if (status == UL_OK) {
    spot best;
    bool fits = nearest_spot(&s, &best);
    if (fits) describe(&s, &best, out);
    if (fits && ul_tool_edge_mm(site->tool, out->through_mm, out->axis) < s.edge) {
      fits = false;
      s.at_edge = true;
    }
    if (fits) {
      *end = UL_BORE_FITS;
    } else {
      *end = s.at_edge            ? UL_BORE_AT_EDGE
             : s.at_parting       ? UL_BORE_AT_PARTING
             : s.kept_off         ? UL_BORE_KEPT_OFF
             : s.lines.met_insert ? UL_BORE_MEETS_INSERT
             : s.lines.met_again  ? UL_BORE_MEETS_AGAIN
             : s.lines.met_hollow ? UL_BORE_IN_HOLLOW
             : s.lines.no_outside ? UL_BORE_NO_OUTSIDE
                                  : UL_BORE_NO_ROOM;
    }
    *again_mm = *end == UL_BORE_IN_HOLLOW ? s.lines.hollow : s.lines.again;
  }
  ul_lines_close(&s.lines);
  return status;
}

/* How far the circle is in the tool, its middle being at the mouth; INFINITY where it comes out of
 * it, but not for good. */
static double ring_out(const ul_lines *lines, double radius, double from) {
  double last = -INFINITY;
  for (int k = 0; k < OUTER; k++) {
    double a = 2 * M_PI * k / OUTER, again;
    double out = ul_line_out(lines, radius * cos(a), radius * sin(a), from, &again);
    if (again < INFINITY) return INFINITY;
    last = fmax(last, out);
  }
  return last;
}

ul_status ul_bore_widen(const ul_bore_site *site, const ul_bore *bore, double radius_mm,
                        double from_mm, bool *clear, double *past_mm, ul_error *err) {
  ul_bore_site at_mouth = *site;
  ul_copy3(bore->mouth_mm, at_mouth.at_mm);
  double radius = radius_mm + spare_mm;
  ul_lines lines;
  ul_status status = ul_lines_open(&at_mouth, bore->axis, radius, radius, &lines, err);
  if (status == UL_OK) {
    /* Its centre line is clear already: what no wall comes near is clear all round. A face that
     * vents keep off is a part of the cavity's. */
    bool meets = ul_sight_meets_wall(lines.cavity, 0, 0, radius_mm, from_mm, INFINITY, INFINITY) ||
                 (lines.inserts &&
                  ul_sight_meets_wall(lines.inserts, 0, 0, radius_mm, from_mm, INFINITY, INFINITY));
    double out = ring_out(&lines, radius, from_mm);
    double past = out - bore->length_mm;
    *past_mm = past > bore->past_mm + 1e-9 ? past : bore->past_mm;
    *clear = !meets && out < INFINITY &&
             !ul_line_meets_box(&lines, 0, 0, radius, from_mm, bore->length_mm + *past_mm);
  }
  ul_lines_close(&lines);
  return status;
}
