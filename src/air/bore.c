#include "air/bore.h"

#include "air/sight.h"
#include "base/vec.h"

#include <math.h>

/* The hole is judged by lines along it: one in the middle and two rings round it. */
enum { INNER = 8, OUTER = 32, MOST_STRETCHES = 16, DIRECTIONS = 32, RINGS = 16 };

static const double spare_mm = 0.05;    /* a drill wanders: the circle tried is larger by this */
static const double reach_radii = 4;    /* a hole farther off is not at the peak any more */
static const double least_facing = 0.2; /* cosine of 78 degrees: a drill skids off steeper walls */
static const double same_height_mm = 0.01;
static const double skin_mm = 0.05; /* a tool's void and the cavity agree to this */
static const double least_air_mm = 0.05;
static const double inside_mm = 1.0; /* how far a cutter goes into the cavity where it can */

typedef struct {
  const ul_bore_site *site;
  ul_sight *cavity, *tool; /* tool NULL: a box */
  double axis[3];
  double circle; /* radius with what is spared */
  double reach;
  double
      top; /* height of the place: its pocket has nothing above it, so a higher mouth is in another
            */
  bool met_again, no_outside;
  double again;
} search;

/* One line of the hole. */
typedef struct {
  ul_stretch air; /* the stretch of cavity it leaves for good */
  double out;     /* depth at which it leaves the tool */
} ray;

typedef struct {
  double x, y;
  double leaves; /* depth at which the middle line leaves the cavity */
  double first_leaves, last_leaves, last_enters;
  double out, last_out;
} spot;

static double box_exit(const search *s, double x, double y) {
  double from[3], depth = INFINITY;
  ul_sight_place(s->cavity, x, y, 0, from);
  for (int c = 0; c < 3; c++)
    if (s->axis[c] != 0)
      depth = fmin(depth, (s->site->tool->box_mm[s->axis[c] > 0][c] - from[c]) / s->axis[c]);
  return depth;
}

/* Where the line, having left the cavity at `from`, leaves the tool's material. The tool's mesh may
 * hold the cavity as a void, so the material may begin right there. */
static double mesh_exit(const search *s, double x, double y, double from) {
  ul_stretch material[MOST_STRETCHES];
  size_t n = ul_sight_stretches(s->tool, x, y, MOST_STRETCHES, material);
  for (size_t i = 0; i < n && i < MOST_STRETCHES; i++)
    if (material[i].hi > from + skin_mm)
      return material[i].lo <= from + skin_mm ? material[i].hi : -INFINITY;
  return -INFINITY;
}

/* Of the stretches on a line, the one that ends nearest to `near`; it must be the last. */
static bool cast(search *s, double x, double y, double near, ray *out) {
  ul_stretch air[MOST_STRETCHES];
  size_t n = ul_sight_stretches(s->cavity, x, y, MOST_STRETCHES, air), best = 0;
  if (n == 0 || n > MOST_STRETCHES) return false;
  for (size_t i = 1; i < n; i++)
    if (fabs(air[i].hi - near) < fabs(air[best].hi - near)) best = i;
  out->air = air[best];
  if (air[best].facing < least_facing || fabs(air[best].hi - near) > s->reach) return false;
  if (best + 1 < n) {
    if (!s->met_again) s->again = air[best + 1].lo - air[best].hi;
    s->met_again = true;
    return false;
  }
  out->out = s->tool ? mesh_exit(s, x, y, air[best].hi) : box_exit(s, x, y);
  if (out->out > air[best].hi) return true;
  s->no_outside = true;
  return false;
}

static void take_in(spot *b, const ray *r) {
  b->first_leaves = fmin(b->first_leaves, r->air.hi);
  b->last_leaves = fmax(b->last_leaves, r->air.hi);
  b->last_enters = fmax(b->last_enters, r->air.lo);
  b->last_out = fmax(b->last_out, r->out);
}

static bool cast_ring(search *s, double radius, int count, spot *b) {
  for (int k = 0; k < count; k++) {
    double a = 2 * M_PI * k / count;
    ray line;
    if (!cast(s, b->x + radius * cos(a), b->y + radius * sin(a), b->leaves, &line)) return false;
    take_in(b, &line);
  }
  return true;
}

static double mouth_height(const search *s, double x, double y, double depth) {
  double mouth[3];
  ul_sight_place(s->cavity, x, y, depth, mouth);
  return ul_dot(mouth, s->site->up);
}

/* How far inside its whole rim a cutter starts: no farther than half way to the wall opposite. */
static double start_inside(const spot *b) {
  return fmin(inside_mm, (b->first_leaves - b->last_enters) / 2);
}

/* Whether the hole can be made at (x, y): the mouth is not above the place; somewhere inside, the
 * whole cross section is air; from there every line leaves the cavity once and for good, and no
 * wall or step is in the way. */
static bool spot_at(search *s, double x, double y, spot *b) {
  ray middle;
  if (!cast(s, x, y, 0, &middle)) return false;
  if (mouth_height(s, x, y, middle.air.hi) > s->top) return false;
  *b = (spot){x, y, middle.air.hi, INFINITY, -INFINITY, -INFINITY, middle.out, -INFINITY};
  take_in(b, &middle);
  return cast_ring(s, s->circle, OUTER, b) && cast_ring(s, s->circle / 2, INNER, b) &&
         b->first_leaves - b->last_enters >= least_air_mm &&
         !ul_sight_meets_wall(s->cavity, x, y, s->circle, b->first_leaves - start_inside(b),
                              b->last_leaves, least_facing);
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
    double radius = ring * s->reach / RINGS, height = -INFINITY;
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
  ul_copy3(s->axis, out->axis);
  ul_sight_place(s->cavity, b->x, b->y, b->leaves, out->mouth_mm);
  ul_sight_place(s->cavity, b->x, b->y, b->out, out->through_mm);
  out->length_mm = b->out - b->leaves;
  out->past_mm = b->last_out - b->out;
  out->back_mm = b->leaves - b->first_leaves + start_inside(b);
}

ul_status ul_bore_fit(const ul_bore_site *site, const double axis[3], ul_bore *out,
                      ul_bore_end *end, double *again_mm, ul_error *err) {
  search s = {.site = site,
              .circle = site->radius_mm + spare_mm,
              .reach = reach_radii * site->radius_mm,
              .top = ul_dot(site->up, site->at_mm) + same_height_mm};
  ul_copy3(axis, s.axis);
  double seen = s.reach + s.circle;
  ul_status status = ul_sight_new(site->cavity, site->at_mm, axis, seen, &s.cavity, err);
  if (status == UL_OK && site->tool->mesh)
    status = ul_sight_new(site->tool->mesh, site->at_mm, axis, seen, &s.tool, err);
  if (status == UL_OK) {
    spot best;
    if (nearest_spot(&s, &best)) {
      describe(&s, &best, out);
      *end = UL_BORE_FITS;
    } else {
      *end = s.met_again    ? UL_BORE_MEETS_AGAIN
             : s.no_outside ? UL_BORE_NO_OUTSIDE
                            : UL_BORE_NO_ROOM;
    }
    *again_mm = s.again;
  }
  ul_sight_free(s.cavity);
  ul_sight_free(s.tool);
  return status;
}
