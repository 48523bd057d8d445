#include "air/groove.h"

#include "air/line.h"
#include "air/normal.h"
#include "base/vec.h"

#include <math.h>

/* A groove is judged by lines along it: so many side by side, on three levels. */
enum { ASIDE = 13, LEVELS = 3, SHIFTS = 32, MOST_DIRECTIONS = 8 };

static const double depth_mm = 1;    /* what a scraper takes in a few strokes: common practice, no
                                        source */
static const double spare_mm = 0.05; /* a hand wanders: the width tried is larger on either side */
static const double least_air_mm = 0.05;
static const double inside_mm = 1.0;
static const double least_climb = -0.5;
static const double reach_widths = 1.5;
static const double level[LEVELS] = {0.02, 0.5, 0.98}; /* of the depth */

typedef struct {
  ul_lines lines;
  double aside[2], into[2]; /* unit, in the sight's frame: along the parting face; into the half */
  double width;
} search;

typedef struct {
  double shift;       /* of its middle along the parting face */
  double leaves, out; /* of the middle line at the parting face */
  double first_leaves, last_leaves, last_enters, last_out;
} spot;

static void across(const search *s, double aside, double into, double at[2]) {
  for (int c = 0; c < 2; c++) at[c] = aside * s->aside[c] + into * s->into[c];
}

static bool take_line(search *s, double aside, double into, spot *b, ul_line *line) {
  double at[2];
  across(s, aside, into, at);
  if (!ul_line_leaves(&s->lines, at[0], at[1], 0, line)) return false;
  b->first_leaves = fmin(b->first_leaves, line->air.hi);
  b->last_leaves = fmax(b->last_leaves, line->air.hi);
  b->last_enters = fmax(b->last_enters, line->air.lo);
  b->last_out = fmax(b->last_out, line->out);
  return true;
}

static double start_inside(const spot *b) {
  return fmin(inside_mm, (b->first_leaves - b->last_enters) / 2);
}

/* No step in the wall between the lines, and nothing that vents keep off. */
static bool is_free(const search *s, const spot *b) {
  double at[2], half = s->width / 2, round = 0.48 * depth_mm;
  double from = b->first_leaves - start_inside(b);
  for (int i = 0; i < ASIDE; i++) {
    across(s, b->shift + (half - round) * (2 * i / (ASIDE - 1.0) - 1), depth_mm / 2, at);
    if (ul_sight_meets_wall(s->lines.cavity, at[0], at[1], round, from, b->last_leaves,
                            ul_least_facing))
      return false;
  }
  across(s, b->shift, depth_mm / 2, at);
  return !(s->lines.keep_off && ul_sight_meets_wall(s->lines.keep_off, at[0], at[1], half,
                                                    b->first_leaves, b->last_leaves, INFINITY)) &&
         !ul_line_meets_box(&s->lines, at[0], at[1], half, b->first_leaves, b->out);
}

static bool spot_at(search *s, double shift, spot *b) {
  *b = (spot){.shift = shift,
              .first_leaves = INFINITY,
              .last_leaves = -INFINITY,
              .last_enters = -INFINITY,
              .last_out = -INFINITY};
  double half = s->width / 2 + spare_mm;
  ul_line line;
  for (int l = 0; l < LEVELS; l++)
    for (int i = 0; i < ASIDE; i++) {
      double aside = shift + half * (2 * i / (ASIDE - 1.0) - 1);
      if (!take_line(s, aside, level[l] * depth_mm, b, &line)) return false;
    }
  if (!take_line(s, shift, level[0] * depth_mm, b, &line)) return false;
  b->leaves = line.air.hi;
  b->out = line.out;
  return b->first_leaves - b->last_enters >= least_air_mm && is_free(s, b);
}

/* The nearest to the place, shifted to either side along the parting face. */
static bool nearest_spot(search *s, spot *b) {
  double step = reach_widths * s->width / SHIFTS;
  for (int i = 0; i <= SHIFTS; i++)
    if (spot_at(s, i * step, b) || spot_at(s, -i * step, b)) return true;
  return false;
}

static void describe(const search *s, const spot *b, int half, const double face[3],
                     ul_groove *out) {
  double at[2];
  across(s, b->shift, 0, at);
  out->bore = (ul_bore){.length_mm = b->out - b->leaves,
                        .back_mm = b->leaves - b->first_leaves + start_inside(b),
                        .past_mm = b->last_out - b->out,
                        .entry_deg = ul_line_entry_deg(&s->lines, at[0], at[1], b->out)};
  ul_copy3(s->lines.axis, out->bore.axis);
  ul_sight_place(s->lines.cavity, at[0], at[1], b->leaves, out->bore.mouth_mm);
  ul_sight_place(s->lines.cavity, at[0], at[1], b->out, out->bore.through_mm);
  ul_copy3(face, out->face);
  out->half = half;
  out->width_mm = s->width;
  out->depth_mm = depth_mm;
}

/* Where its opening lets air out: in its middle, at the parting face or, where it is scraped
 * upwards, at its bottom. */
static bool outlet_of(search *s, const spot *b, const double face[3], double at[3]) {
  bool climbs = ul_dot(face, s->lines.site->up) > 0;
  double where[2];
  ul_line line = {.air.hi = b->leaves};
  across(s, b->shift, climbs ? level[LEVELS - 1] * depth_mm : 0, where);
  if (climbs && !ul_line_leaves(&s->lines, where[0], where[1], 0, &line)) return false;
  ul_sight_place(s->lines.cavity, where[0], where[1], line.air.hi, at);
  return true;
}

static ul_status fit(const ul_bore_site *base, const ul_parting *parting, const double axis[3],
                     int half, double width, ul_groove *out, double outlet[3], bool *fits,
                     ul_error *err) {
  search s = {.width = width};
  double x[3], y[3], face[3], aside[3];
  ul_across(axis, x, y);
  for (int c = 0; c < 3; c++) face[c] = half * parting->normal[c];
  ul_cross(axis, face, aside);
  s.aside[0] = ul_dot(aside, x), s.aside[1] = ul_dot(aside, y);
  s.into[0] = ul_dot(face, x), s.into[1] = ul_dot(face, y);
  double reach = reach_widths * width;
  ul_status status = ul_lines_open(base, axis, reach, reach + width + depth_mm, &s.lines, err);
  spot b;
  *fits = status == UL_OK && nearest_spot(&s, &b) && outlet_of(&s, &b, face, outlet);
  if (*fits) describe(&s, &b, half, face, out);
  ul_lines_close(&s.lines);
  return status;
}

/* In the parting face: the surface's normal at the place, by area and, as does at the middle of an
 * edge between a wide face and a narrow one, by angle; then the main axes. */
static int list_directions(const ul_bore_site *site, const ul_parting *p,
                           double list[MOST_DIRECTIONS][3]) {
  int count = 0;
  for (int i = 0; i < MOST_DIRECTIONS; i++) {
    double d[3] = {0};
    if (i < 2)
      ul_surface_normal(site->cavity, site->at_mm, i == 1, d);
    else
      d[(i - 2) / 2] = i % 2 ? -1 : 1;
    ul_add_scaled(d, -ul_dot(d, p->normal), p->normal, d);
    double length = ul_norm(d);
    if (length < 0.3) continue;
    for (int c = 0; c < 3; c++) list[count][c] = fabs(d[c]) < 1e-12 ? 0 : d[c] / length;
    count += ul_dot(list[count], site->up) >= least_climb;
  }
  return count;
}

ul_status ul_groove_find(const ul_bore_site *site, const ul_place_rules *rules,
                         const ul_outlet *place, double allowed, ul_groove *out, bool *found,
                         ul_error *err) {
  *found = false;
  const ul_parting *p = rules->parting;
  ul_bore_site base = *site;
  ul_add_scaled(site->at_mm, -ul_parting_height_mm(p, site->at_mm), p->normal, base.at_mm);
  double area = M_PI * site->radius_mm * site->radius_mm;
  double width = ceil(2 * area / depth_mm) / 2; /* to the half millimetre */
  double list[MOST_DIRECTIONS][3];
  int count = list_directions(site, p, list), upper = ul_dot(p->normal, site->up) >= 0 ? 1 : -1;
  for (int i = 0; i < 2 * count; i++) {
    ul_groove here;
    double outlet[3];
    bool fits;
    ul_status status =
        fit(&base, p, list[i / 2], i % 2 ? -upper : upper, width, &here, outlet, &fits, err);
    if (status == UL_OK && fits)
      status =
          ul_place_leaves(rules->skin, place, site->at_mm, site->up, outlet, &here.left_mm3, err);
    if (status != UL_OK) return status;
    if (!fits || here.left_mm3 > allowed) continue;
    if (*found && here.bore.length_mm > out->bore.length_mm - 1e-6) continue;
    *out = here;
    *found = true;
  }
  return UL_OK;
}
