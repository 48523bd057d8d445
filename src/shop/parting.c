/* parting.c - the parting plane and the draw as the user gives them. */
#include "ullage/parting.h"

#include "base/fail.h"
#include "base/vec.h"
#include "ullage/attitude.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double least_opening = 0.0872; /* sine of 5 degrees */

/* How far the corners of one cavity lie above the plane: the least and the most. */
static void span(const ul_solid *solid, uint32_t cavity, const ul_parting *p, double *lo,
                 double *hi) {
  *lo = INFINITY;
  *hi = -INFINITY;
  for (size_t t = 0; t < solid->mesh->triangle_count; t++) {
    if (solid->cavity_of[t] != cavity) continue;
    for (int k = 0; k < 3; k++) {
      double h = ul_parting_height_mm(p, solid->mesh->vertex_mm[solid->mesh->triangle[t][k]]);
      *lo = fmin(*lo, h);
      *hi = fmax(*hi, h);
    }
  }
}

static ul_status meets_every_cavity(const ul_solid *solid, const ul_parting *p, ul_error *err) {
  for (size_t i = 0; i < solid->cavity_count; i++) {
    double lo, hi;
    span(solid, (uint32_t)i, p, &lo, &hi);
    double touch = 1e-6 * (hi - lo), here = ul_dot(p->normal, p->at_mm);
    char name[40] = "the cavity"; /* one taken alone has another number in its file */
    if (solid->cavity_count > 1) snprintf(name, sizeof name, "cavity %zu", i + 1);
    if (lo > touch || hi < -touch)
      return ul_fail(err, UL_E_OUTSIDE,
                     "the parting plane misses %s: it lies at %.2f mm along its normal "
                     "%.3g,%.3g,%.3g and the cavity from %.2f to %.2f mm: give a height between",
                     name, here, p->normal[0] + 0.0, p->normal[1] + 0.0, p->normal[2] + 0.0,
                     here + lo, here + hi);
  }
  return UL_OK;
}

ul_status ul_parting_make(const ul_solid *solid, const double *at_mm, const double *normal,
                          const double *draw, ul_parting *out, ul_error *err) {
  memset(out, 0, sizeof *out);
  if (!normal && !draw) return UL_OK;
  ul_status status = ul_up_normalise(draw ? draw : normal, out->draw, err);
  if (status != UL_OK || !normal) return status;
  status = ul_up_normalise(normal, out->normal, err);
  if (status != UL_OK) return status;
  double opening = ul_dot(out->normal, out->draw);
  if (fabs(opening) < least_opening)
    return ul_fail(err, UL_E_USAGE,
                   "the draw runs %.2g degrees from the parting plane: halves that slide along it "
                   "do not open; give a --draw that leaves it by 5 degrees or more",
                   asin(fabs(opening)) * 180 / M_PI);
  for (int c = 0; opening < 0 && c < 3; c++) out->normal[c] = -out->normal[c];
  ul_copy3(at_mm, out->at_mm);
  out->has_plane = true;
  return meets_every_cavity(solid, out, err);
}

double ul_parting_height_mm(const ul_parting *parting, const double at_mm[3]) {
  if (!parting->has_plane) return 0;
  double d[3];
  ul_sub(at_mm, parting->at_mm, d);
  return ul_dot(parting->normal, d);
}
