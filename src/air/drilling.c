#include "air/drilling.h"

#include "air/nearest.h"
#include "air/walls_round.h"
#include "base/fail.h"
#include "base/vec.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static void note(ul_vent *vent, const char *format, ...) UL_PRINTF(2, 3);
static void note(ul_vent *vent, const char *format, ...) {
  size_t used = strlen(vent->note);
  va_list args;
  va_start(args, format);
  vsnprintf(vent->note + used, sizeof vent->note - used, format, args);
  va_end(args);
}

/* The vent whose mouth would run into this one, if any. */
static ul_vent *same_hole(ul_vents *vents, const ul_vent *vent) {
  for (size_t i = 0; vent->ok && i < vents->count; i++) {
    ul_vent *other = &vents->vent[i];
    double apart = fmax(vent->diameter_mm, other->diameter_mm);
    if (other->ok && !other->closed && ul_distance(other->at_mm, vent->at_mm) < apart) return other;
  }
  return NULL;
}

/* In a pour hole, or breaking into its rim: there is no wall to drill, and air leaves by the hole.
 */
static bool is_in_a_pour_hole(const ul_drilling *d, const ul_vent *vent) {
  for (size_t i = 0; vent->ok && i < d->opts->hole_count; i++) {
    const ul_vent_at *hole = &d->opts->hole[i];
    if (ul_distance(hole->at_mm, vent->at_mm) < (hole->diameter_mm + vent->diameter_mm) / 2)
      return true;
  }
  return false;
}

static void serve(ul_vent *vent, uint32_t peak) {
  for (size_t i = 0; i < vent->serves_count; i++)
    if (vent->serves[i] == peak) return;
  if (peak && vent->serves_count < sizeof vent->serves / sizeof *vent->serves)
    vent->serves[vent->serves_count++] = peak;
}

/* Through rubber the hole is a vent's size all the way; the case behind it gets a wide one. */
static void through_the_case(const ul_drilling *d, ul_vent *vent) {
  ul_drill drill;
  vent->land_mm = vent->length_mm;
  vent->relief_mm = 0;
  vent->case_mm = vent->diameter_mm + 3;
  if (ul_drill_at_least(d->opts->drills, vent->case_mm, &drill)) vent->case_mm = drill.diameter_mm;
  note(vent, "; the rigid case gets a hole of %.3g mm in line with it", vent->case_mm);
}

static void say_how(const ul_drilling *d, ul_vent *vent) {
  bool groove = vent->kind == UL_VENT_GROOVE;
  vent->made = groove ? d->opts->groove_made : d->opts->hole_made;
  if (vent->made == UL_MADE_CAST_IN)
    note(vent, groove ? "; cast in: a strip of that size, laid on the parting face"
                      : "; cast in: a greased rod of that size, set before the tool is poured");
  if (vent->made == UL_MADE_PUNCHED) note(vent, "; punched with a sharp tube");
  if (vent->made == UL_MADE_PRINTED) note(vent, "; printed in, then cleared to size by hand");
  if (d->opts->has_case && !groove) through_the_case(d, vent);
}

static void take(ul_drilling *d, ul_vent *vent) {
  vent->plug = d->opts->plug;
  if (vent->ok) say_how(d, vent);
  d->vents->vent[d->vents->count++] = *vent;
}

void ul_drill_kept(ul_drilling *d, const ul_vent *keep, size_t count) {
  for (size_t i = 0; i < count; i++) {
    ul_vent *vent = &d->vents->vent[d->vents->count++];
    *vent = keep[i];
    vent->id = (uint32_t)d->vents->count;
    vent->exists = true;
    vent->serves_count = 0; /* its peaks were another attitude's, and so was what is noted */
    vent->air_mm3 = vent->stays_mm3 = 0;
    if (vent->ok)
      snprintf(vent->note, sizeof vent->note, "is there already%s",
               vent->closed ? ", plugged for good" : "");
  }
}

static ul_vent vent_for(ul_drilling *d, const ul_drill_spot_of *spot) {
  ul_vent vent = {
      .id = (uint32_t)d->vents->count + 1, .cavity = spot->cavity, .air_mm3 = spot->air_mm3};
  ul_copy3(spot->at_mm, d->site->at_mm);
  ul_copy3(spot->at_mm, vent.for_mm);
  d->site->pocket_mm3 = spot->pocket_mm3;
  d->site->shared = spot->holes > 1;
  return vent;
}

static void take_for_peak(ul_drilling *d, ul_vent *vent, uint32_t peak) {
  if (is_in_a_pour_hole(d, vent)) return;
  ul_vent *same = same_hole(d->vents, vent);
  if (same) same->air_mm3 += vent->air_mm3;
  serve(same ? same : vent, peak);
  if (!same) take(d, vent);
}

ul_status ul_drill_spot(ul_drilling *d, const ul_drill_spot_of *spot, ul_error *err) {
  ul_vent vent = vent_for(d, spot);
  ul_status status = ul_place_vent(d->site, d->rules, &vent, err);
  if (status != UL_OK) return status;
  const bool at_end = vent.moved_mm <= ul_distance(vent.at_mm, spot->top_mm);
  if (spot->holes < spot->ends && at_end)
    note(&vent, "; %zu of the %zu ends of a level top", spot->holes, spot->ends);
  take_for_peak(d, &vent, spot->peak);
  return UL_OK;
}

ul_status ul_drill_top(ul_drilling *d, const ul_drill_spot_of *spot, const double (*end_mm)[3],
                       bool *done, ul_error *err) {
  ul_vent vent = vent_for(d, spot);
  ul_status status =
      ul_place_groove_for_top(d->site, d->rules, end_mm, spot->ends, &vent, done, err);
  if (status == UL_OK && *done) take_for_peak(d, &vent, spot->peak);
  return status;
}

static void nearest_on_cavity(const ul_solid *solid, uint32_t cavity, const double at[3],
                              double out[3]) {
  const ul_mesh *mesh = solid->mesh;
  double least = INFINITY;
  ul_copy3(at, out);
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    if (solid->cavity_of[t] != cavity) continue;
    const uint32_t *v = mesh->triangle[t];
    double near[3];
    ul_nearest_on_triangle(at, mesh->vertex_mm[v[0]], mesh->vertex_mm[v[1]], mesh->vertex_mm[v[2]],
                           near);
    double far = ul_distance(near, at);
    if (far >= least) continue;
    least = far;
    ul_copy3(near, out);
  }
}

/* Where no hole can be made at the top of the air, as in the roof of a rib with another part of the
 * cavity above it, one through another of the walls round it: the nearest of them that does. Its
 * mouth is a diameter under the top, not in the middle of a thick place: what is above it stays. */
static ul_status through_a_wall_round(ul_drilling *d, ul_vent *vent, ul_error *err) {
  double place[UL_WALLS_ROUND][3];
  size_t count;
  ul_status status =
      ul_walls_round(d->site->cavity, d->site->at_mm, 2 * d->site->radius_mm, place, &count, err);
  for (size_t i = 0; i < count && status == UL_OK; i++) {
    ul_vent there = *vent;
    ul_copy3(place[i], d->site->at_mm);
    status = ul_place_vent(d->site, d->rules, &there, err);
    if (status != UL_OK || !there.ok) continue;
    *vent = there;
    note(vent, "; at the top of the air, %.3g mm away, no hole can be made",
         ul_distance(place[i], vent->for_mm));
    return UL_OK;
  }
  return status;
}

ul_status ul_drill_wish(ul_drilling *d, const ul_vent_wish *wish, ul_error *err) {
  ul_vents *vents = d->vents;
  ul_vent vent = {
      .id = (uint32_t)vents->count + 1, .cavity = wish->cavity, .air_mm3 = wish->air_mm3};
  nearest_on_cavity(d->solid, wish->cavity, wish->at_mm, d->site->at_mm);
  ul_copy3(d->site->at_mm, vent.for_mm);
  d->site->pocket_mm3 = 0;
  d->site->shared = false;
  ul_status status = ul_place_vent(d->site, d->rules, &vent, err);
  if (status == UL_OK && !vent.ok) status = through_a_wall_round(d, &vent, err);
  if (status != UL_OK || is_in_a_pour_hole(d, &vent)) return status;
  ul_vent *same = same_hole(vents, &vent);
  if (same) same->air_mm3 += vent.air_mm3;
  serve(same ? same : &vent, wish->peak);
  if (!same && (vent.ok || wish->peak)) take(d, &vent);
  return UL_OK;
}
