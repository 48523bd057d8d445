/* Air and foam along the parting line. Reference foam: ul_foam_middling(). */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "rise/books.h"
#include "rise/mask.h"
#include "rise/vent_flow.h"
#include "shapes/check.h"
#include "ullage/rise.h"
#include "ullage/seam.h"

static const ul_job one_thread = {.threads = 1};
static const double SIZE[3] = {130, 90, 40};

/* Viscous flow of an ideal gas between plates: g^3 w (p1^2 - p2^2) / (24 mu R T L). */
static double plates_kg_s(double gap, double width, double land, double p1, double p2) {
  return gap * gap * gap * width * (p1 * p1 - p2 * p2) /
         (24 * UL_AIR_VISCOSITY * UL_AIR_J_KG_K * UL_AIR_K * land);
}

static void a_long_slot_passes_air_as_between_plates(void **state) {
  (void)state;
  const double atm = 101325;
  ul_slot slot = ul_slot_of(5e-5, 0.4, 25e-3);
  for (double drop = 0.1; drop < 3e4; drop *= 10) {
    double kg_s = ul_slot_air_kg_s(&slot, atm + drop, atm, UL_AIR_K, UL_AIR_VISCOSITY);
    assert_rel(kg_s, plates_kg_s(5e-5, 0.4, 25e-3, atm + drop, atm), 5e-3); /* and a little head */
    assert_rel(ul_slot_air_kg_s(&slot, atm, atm + drop, UL_AIR_K, UL_AIR_VISCOSITY), -kg_s, 1e-12);
  }
  /* Plane Poiseuille flow of a liquid. */
  assert_rel(ul_slot_conductance(&slot, 2), pow(5e-5, 3) * 0.4 / (12 * 2 * 25e-3), 1e-12);
  /* A wide one without a land is an orifice: at 1 kPa as the tabulated hole of its area. */
  ul_slot wide = ul_slot_of(1e-3, 0.1, 0);
  ul_bore hole = ul_bore_of(sqrt(1e-4 * 4 / M_PI), 0);
  assert_rel(ul_slot_air_kg_s(&wide, atm + 1000, atm, UL_AIR_K, UL_AIR_VISCOSITY),
             ul_bore_air_kg_s(&hole, atm + 1000, atm, UL_AIR_K, UL_AIR_VISCOSITY), 1e-9);
}

/* ---- where the seam is ---- */

static ul_mesh *box_mesh(void) {
  static const uint32_t face[12][3] = {{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6},
                                       {0, 1, 5}, {0, 5, 4}, {2, 6, 7}, {2, 7, 3},
                                       {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}};
  double corner[8][3];
  ul_mesh *mesh;
  for (int i = 0; i < 8; i++)
    for (int a = 0; a < 3; a++) corner[i][a] = i >> a & 1 ? SIZE[a] : 0;
  assert_ok(ul_mesh_from_arrays((const double(*)[3])corner, 8, face, 12, &mesh, NULL), NULL);
  return mesh;
}

static void a_seam_is_as_long_as_the_section_and_lies_along_it(void **state) {
  (void)state;
  ul_mesh *mesh = box_mesh();
  ul_grid *grid = mask_grid(SIZE, 10, mask_everything, NULL);
  float *length = malloc(grid->cube_count * sizeof *length);
  const double slant = 12 * M_PI / 180;
  const struct {
    double at[3], normal[3], want;
  } plane[] = {
      {{0, 0, 17}, {0, 0, 1}, 2 * (130 + 90)},
      {{0, 0, 40}, {0, 0, 1}, 2 * (130 + 90)}, /* a flat lid */
      {{0, 0, 0}, {0, 0, 1}, 2 * (130 + 90)},  /* a flat floor */
      {{0, 0, 20}, {0, 0, -1}, 2 * (130 + 90)},
      {{65, 45, 20}, {sin(slant), 0, cos(slant)}, 2 * (90 + 130 / cos(slant))},
      {{0, 30, 0}, {0, 1, 0}, 2 * (130 + 40)},
  };
  for (size_t i = 0; i < sizeof plane / sizeof *plane; i++) {
    double total, sum = 0;
    assert_ok(ul_seam_lengths(mesh, plane[i].at, plane[i].normal, grid, length, &total, NULL),
              NULL);
    assert_rel(total, plane[i].want, 1e-9);
    for (size_t k = 0; k < grid->cube_count; k++) {
      sum += (double)length[k];
      if (length[k] > 0) assert_true(grid->inside[k]);
      assert_true((double)length[k] < 2 * 10 * 1.5); /* a corner has two sides of it */
    }
    assert_rel(sum, total, 1e-5);
  }
  /* At mid height every cube round the edge has its own 10 mm, and the corner ones 20, to the
   * length of a piece. */
  double total;
  assert_ok(ul_seam_lengths(mesh, plane[0].at, plane[0].normal, grid, length, &total, NULL), NULL);
  assert_near((double)length[mask_cube(grid, 65, 5, 15)], 10, 5);
  assert_near((double)length[mask_cube(grid, 5, 5, 15)], 20, 5);
  assert_near((double)length[mask_cube(grid, 65, 45, 15)], 0, 0);
  double away[3] = {0, 0, 60};
  assert_ok(ul_seam_lengths(mesh, away, plane[0].normal, grid, length, &total, NULL), NULL);
  assert_near(total, 0, 0);
  free(length);
  mask_free(grid);
  ul_mesh_free(mesh);
}

/* A box 130 x 90 x 20 with one of 90 x 50 x 20 in the middle of its top: a ledge all round. */
static ul_mesh *stepped_mesh(void) {
  static const double rim[4][4] = {
      {0, 0, 130, 90}, {0, 0, 130, 90}, {20, 20, 110, 70}, {20, 20, 110, 70}};
  static const double height[4] = {0, 20, 20, 40};
  double corner[16][3];
  uint32_t face[28][3], count = 0;
  for (int ring = 0; ring < 4; ring++)
    for (int k = 0; k < 4; k++) {
      corner[4 * ring + k][0] = rim[ring][k == 1 || k == 2 ? 2 : 0];
      corner[4 * ring + k][1] = rim[ring][k >= 2 ? 3 : 1];
      corner[4 * ring + k][2] = height[ring];
    }
  const uint32_t ends[4][3] = {{0, 2, 1}, {0, 3, 2}, {12, 13, 14}, {12, 14, 15}};
  for (; count < 4; count++) memcpy(face[count], ends[count], sizeof ends[count]);
  for (uint32_t ring = 0; ring < 3; ring++)
    for (uint32_t k = 0; k < 4; k++) {
      const uint32_t a = 4 * ring + k, b = 4 * ring + (k + 1) % 4;
      const uint32_t wall[2][3] = {{a, b, b + 4}, {a, b + 4, a + 4}};
      for (int i = 0; i < 2; i++, count++) memcpy(face[count], wall[i], sizeof wall[i]);
    }
  ul_mesh *mesh;
  assert_ok(ul_mesh_from_arrays((const double(*)[3])corner, 16, (const uint32_t(*)[3])face, count,
                                &mesh, NULL),
            NULL);
  return mesh;
}

static bool is_in_step(const double at[3], const void *context) {
  (void)context;
  return at[2] < 20 || (at[0] > 20 && at[0] < 110 && at[1] > 20 && at[1] < 70);
}

/* The faces of the halves touch outside of the larger section only, whichever half that is in. */
static void on_a_ledge_a_seam_is_the_outer_edge(void **state) {
  (void)state;
  ul_mesh *mesh = stepped_mesh();
  ul_grid *grid = mask_grid(SIZE, 10, is_in_step, NULL);
  float *length = malloc(grid->cube_count * sizeof *length);
  static const struct {
    double z, way, want;
  } plane[] = {{20, 1, 2 * (130 + 90)},      {20, -1, 2 * (130 + 90)},
               {20.0004, 1, 2 * (130 + 90)}, {19.9996, 1, 2 * (130 + 90)},
               {20.002, 1, 2 * (90 + 50)},   {40, 1, 2 * (90 + 50)},
               {0, -1, 2 * (130 + 90)}};
  for (size_t i = 0; i < sizeof plane / sizeof *plane; i++) {
    const double at[3] = {7, 8, plane[i].z}, normal[3] = {0, 0, plane[i].way};
    double total;
    assert_ok(ul_seam_lengths(mesh, at, normal, grid, length, &total, NULL), NULL);
    assert_rel(total, plane[i].want, 1e-9);
    const double inner = (double)length[mask_cube(grid, 65, 25, 25)];
    const double outer = (double)length[mask_cube(grid, 65, 5, 15)];
    if (plane[i].z > 19 && plane[i].z < 20.001) assert_true(inner == 0 && outer > 0);
  }
  free(length);
  mask_free(grid);
  ul_mesh_free(mesh);
}

/* ---- a rise ---- */

typedef struct {
  ul_grid *grid;
  float *mobility, *seam;
  ul_rise_opts opts;
} mould;

/* Without vents, poured in the middle of its floor; the halves part in the plane of the lid. */
static void make_mould(mould *m, double gap_mm) {
  static const double pour[1][3] = {{65, 45, 5}}, lid[3] = {0, 0, 40}, up[3] = {0, 0, 1};
  ul_mesh *mesh = box_mesh();
  double total;
  *m = (mould){.opts = ul_rise_opts_default()};
  m->grid = mask_grid(SIZE, 10, mask_everything, NULL);
  m->mobility = mask_mobility(m->grid, 20);
  m->seam = malloc(m->grid->cube_count * sizeof *m->seam);
  assert_ok(ul_seam_lengths(mesh, lid, up, m->grid, m->seam, &total, NULL), NULL);
  ul_mesh_free(mesh);
  m->opts.mobility_mm2 = m->mobility;
  m->opts.pour_mm = pour;
  m->opts.pack = 1.25;
  m->opts.poured_s = 10;
  m->opts.seam_mm = m->seam;
  m->opts.seam_gap_mm = gap_mm;
  m->opts.seam_land_mm = 25;
}

static void free_mould(mould *m) {
  free(m->seam);
  free(m->mobility);
  mask_free(m->grid);
}

static ul_rise *rise(const mould *m) {
  ul_rise *r = NULL;
  ul_error err;
  assert_ok(ul_rise_run(m->grid, NULL, &m->opts, &one_thread, &r, &err), &err);
  books_demand(m->grid, NULL, r, &m->opts);
  return r;
}

/* The air that is pushed out follows d(p V)/dt = -R T g^3 w (p^2 - p0^2) / (24 mu R T L), with p
 * and V as the rise has them; the foam's own weight and flow are a few tens of Pa of the 5 to 30
 * kPa. */
static void air_leaves_a_rise_as_between_plates(void **state) {
  (void)state;
  mould m;
  make_mould(&m, 0.012);
  m.opts.foam.viscosity_pa_s = (ul_span){0.05, 0.05};
  m.opts.step_factor = 0.25;
  ul_rise *r = rise(&m);
  int compared = 0;
  for (size_t i = 5; i + 5 < r->sample_count; i += 5) {
    const ul_rise_sample *a = &r->sample[i - 5], *b = &r->sample[i], *c = &r->sample[i + 5];
    if (b->s < 45 || c->s > 75) continue;
    double pa = 101.325e3 + 1e3 * a->peak_kpa, pc = 101.325e3 + 1e3 * c->peak_kpa;
    double p = 101.325e3 + 1e3 * b->peak_kpa;
    double rate = (pa * a->air_mm3 - pc * c->air_mm3) * 1e-9 / (c->s - a->s);
    double law = plates_kg_s(1.2e-5, 0.44, 25e-3, p, 101325) * UL_AIR_J_KG_K * UL_AIR_K;
    assert_true(b->peak_kpa > 2);
    assert_rel(rate, law, 0.03);
    compared++;
  }
  assert_true(compared >= 5);
  ul_rise_free(r);
  free_mould(&m);
}

static void a_tight_seam_traps_what_a_gaping_one_lets_out(void **state) {
  (void)state;
  double left[2], bled[3];
  for (int i = 0; i < 3; i++) {
    mould m;
    make_mould(&m, i == 0 ? 0 : i == 1 ? 0.2 : 1);
    ul_rise *r = rise(&m);
    if (i < 2) {
      left[i] = 0;
      for (size_t v = 0; v < r->cavity[0].void_count; v++)
        left[i] += r->cavity[0].voids[v].void_mm3;
    }
    bled[i] = r->cavity[0].seam_bled_g;
    assert_rel(r->cavity[0].mass_out_g + 1, bled[i] + 1, 1e-12);
    if (i) assert_rel(r->cavity[0].seam_mm, 440, 1e-5);
    if (i) assert_true(r->cavity[0].seam_shows_s > 45);
    assert_int_equal(i > 0, !isnan(r->cavity[0].seam_shows_s));
    ul_rise_free(r);
    free_mould(&m);
  }
  assert_true(left[0] > 0.2 * 130 * 90 * 40 && left[1] < 0.01 * 130 * 90 * 40);
  assert_near(bled[0], 0, 0);
  assert_true(bled[2] > 50 * bled[1] && bled[1] > 0); /* as the cube of the gap */
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_long_slot_passes_air_as_between_plates),
      cmocka_unit_test(a_seam_is_as_long_as_the_section_and_lies_along_it),
      cmocka_unit_test(on_a_ledge_a_seam_is_the_outer_edge),
      cmocka_unit_test(air_leaves_a_rise_as_between_plates),
      cmocka_unit_test(a_tight_seam_traps_what_a_gaping_one_lets_out),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
