#include "main/shown.h"

#include "air/heights.h"
#include "air/keep_off.h"
#include "base/vec.h"

static const double NEAR_CUBES = 1.5; /* a void's place is known to a cube */

static bool is_on_a_face_that_shows(const cavity_case *c, const double at[3], double cube_mm) {
  const ul_mesh *mesh = c->solid->mesh;
  double near[3];
  const uint32_t t = ul_nearest_triangle(c->heights->surface, at, near);
  return ul_distance(near, at) <= NEAR_CUBES * cube_mm && ul_shows(mesh, t, c->opts->show_sides);
}

static void take_larger(const cavity_case *c, const double at[3], double mm3, double cube_mm,
                        double *most, double at_mm[3]) {
  if (mm3 <= *most || !is_on_a_face_that_shows(c, at, cube_mm)) return;
  *most = mm3;
  ul_copy3(at, at_mm);
}

double shown_void_mm3(const cavity_case *c, const plan *p, double at_mm[3]) {
  const double least = SHOWN_SHARE * c->opts->void_ok_cm3 * 1000;
  const ul_rise *rise = p->foam.rise;
  double most = least;
  if (!c->opts->show_sides) return 0;
  for (size_t i = 0; rise && i < rise->cavity_count; i++)
    for (size_t k = 0; k < rise->cavity[i].void_count; k++) {
      const ul_rise_void *v = &rise->cavity[i].voids[k];
      take_larger(c, v->at_mm, v->void_mm3, p->foam.cube_mm, &most, at_mm);
    }
  for (size_t k = 0; !rise && k < p->level->void_count; k++) {
    const ul_void *v = &p->level->voids[k];
    take_larger(c, v->at_mm, v->void_mm3, c->grid->lattice.cube_mm, &most, at_mm);
  }
  return most > least ? most : 0;
}
