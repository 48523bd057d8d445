/* The rim of a mould parted at its open face, in cubes of any size: the face lies anywhere between
 * two layers of cubes. Reference foam: ul_foam_middling(). */
#include <math.h>

#include "rise/mesh_mould.h"
#include "shapes/check.h"

static const double X = 60, Y = 40, Z = 50, PACK = 6;

/* A box parted at the face z = Z, and laid on its long side with y up: what is poured stands PACK x
 * free rise / liquid density of its height over the rim's lowest line. */
static ul_rise *laid_on_its_side(double cube_mm, mesh_mould *m) {
  mesh_mould_make(m, shape_box(X, Y, Z), cube_mm, X / 2, Y / 4);
  m->pour_mm[2] = Z / 2;
  m->opts.up[1] = 1;
  m->opts.up[2] = 0;
  m->opts.pack = PACK;
  m->opts.open = true;
  m->opts.has_parting = true;
  m->opts.parting_mm[2] = Z;
  m->opts.parting_normal[2] = 1;
  return mesh_mould_rise(m);
}

/* Before, a last layer thinner than half a cube, whose centres lie outside, hid the rim: nothing
 * was said to run out. */
static void the_rim_is_found_wherever_the_open_face_lies_in_the_cubes(void **state) {
  (void)state;
  const double depth = PACK * 64 / 1080 * Y;
  for (double cube = 4; cube < 5.45; cube += 0.1) {
    mesh_mould m;
    ul_rise *r = laid_on_its_side(cube, &m);
    assert_near(r->cavity[0].rim_over_mm, depth, 0.05 * cube);
    assert_near(r->cavity[0].rim_at_mm[2], Z, 1e-9);
    assert_true(r->cavity[0].rim_s <= 10); /* it lies there as poured */
    ul_rise_free(r);
    mesh_mould_free(&m);
  }
}

/* In a box raised by 15 degrees the liquid is a wedge along one side, h = sqrt(2 V tan 15 / width)
 * deep there. Before, the place on the rim was in the middle of its cube, so half a millimetre was
 * none in cubes of 1.6 to 3.4 mm: "fills". */
static void a_wedge_of_liquid_stands_over_the_rim_by_arithmetic(void **state) {
  (void)state;
  const double raised = 15 * M_PI / 180, wide = 60;
  const double deep = sqrt(2 * 1.25 * 64 / 1080 * 100 * 60 * 40 / wide * tan(raised));
  for (double rim = 8; rim < 12.5; rim += 2.1)
    for (double cube = 2; cube < 3.5; cube += 0.65) {
      mesh_mould m;
      mesh_mould_make(&m, shape_box(100, wide, 40), cube, 2, wide / 2);
      m.opts.up[0] = sin(raised);
      m.opts.up[2] = cos(raised);
      m.opts.pack = 1.25;
      m.opts.open = true;
      m.opts.poured_s = -1000; /* time enough to lie level */
      m.opts.has_parting = true;
      m.opts.parting_mm[2] = rim;
      m.opts.parting_normal[2] = 1;
      ul_rise *r = mesh_mould_rise(&m);
      assert_near(r->cavity[0].rim_over_mm, (deep - rim) * cos(raised), 0.05 * cube);
      assert_near(r->cavity[0].rim_at_mm[0], 0, 1e-6);
      assert_near(r->cavity[0].rim_s, -1000, 0); /* when it is poured */
      ul_rise_free(r);
      mesh_mould_free(&m);
    }
}

/* Liquid below the rim stays there until it creams: it was said to be at the rim as poured. Later
 * foam is there when it fills what lies below, as it lies level. */
static void foam_is_at_the_rim_no_sooner_than_it_grows_there(void **state) {
  (void)state;
  const double pack = 1.25, depth = pack * 64 / 1080 * Z;
  for (double cube = 2; cube < 5.1; cube += 1) {
    for (double rim = 4; rim < 25; rim += 4) {
      mesh_mould m;
      mesh_mould_make(&m, shape_box(X, Y, Z), cube, X / 2, Y / 2);
      m.opts.pack = pack;
      m.opts.open = true;
      m.opts.has_parting = true;
      m.opts.parting_mm[2] = rim;
      m.opts.parting_normal[2] = 1;
      ul_rise *r = mesh_mould_rise(&m);
      const double cream = ul_mid(m.opts.foam.cream_s), s = r->cavity[0].rim_s;
      const double e = ul_foam_progress(&m.opts.foam, s);
      assert_true(rim > depth && s >= cream);
      /* Level foam's height at progress e, at atmospheric pressure. */
      const double stands = pack * 64 * (1 / 1080.0 + (1 / 64.0 - 1 / 1080.0) * e) * Z;
      assert_true(s == cream || fabs(stands - rim) < cube);
      ul_rise_free(r);
      mesh_mould_free(&m);
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_rim_is_found_wherever_the_open_face_lies_in_the_cubes),
      cmocka_unit_test(a_wedge_of_liquid_stands_over_the_rim_by_arithmetic),
      cmocka_unit_test(foam_is_at_the_rim_no_sooner_than_it_grows_there),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
