/* Shells that pass through one another are measured as their union. */
#include "cavity/audited.h"

#include "base/memory.h"
#include "base/vec.h"
#include "ullage/columns.h"
#include "ullage/insert.h"

#include <math.h>
#include <stdlib.h>

static ul_mesh *moved(ul_mesh *mesh, double x, double y, double z) {
  shape_move(mesh, x, y, z);
  return mesh;
}

static ul_mesh *with(ul_mesh *mesh, ul_mesh *other) {
  shape_append(mesh, other);
  return mesh;
}

static uint32_t next_random(uint32_t *state) {
  *state = *state * 1664525u + 1013904223u;
  return *state >> 8;
}

/* -- two spheres -- */

static ul_measure two_spheres(int times, double radius, double apart) {
  ul_mesh *mesh = shape_icosphere(radius, times), *other = shape_icosphere(radius, times);
  shape_rotate(other, 0, 17);
  shape_rotate(other, 2, 29);
  audited a = audit_of(with(mesh, moved(other, apart, 0, 0)));
  assert_int_equal(fault_count(&a, UL_FAULT_OVERLAPPING), 1);
  assert_int_equal(a.solid->cavity_count, 1);
  ul_measure m = a.solid->cavity[0];
  audited_free(&a);
  return m;
}

/* Two balls of radius R, their middles d apart, less the lens they share: a cap of height
 * h = R - d/2 on either side, each pi h^2 (3R - h) / 3, and 2 pi R h of either sphere buried. A
 * facetted ball falls short by the square of its facets, so two finenesses give the round one. */
static void two_spheres_lose_the_lens(void **state) {
  (void)state;
  for (double d = 4; d < 40; d += 7) {
    double R = 20, h = R - d / 2;
    double volume = 2 * (4.0 / 3 * M_PI * R * R * R - M_PI * h * h * (3 * R - h) / 3);
    double area = 2 * (4 * M_PI * R * R - 2 * M_PI * R * h);
    ul_measure coarse = two_spheres(3, R, d), fine = two_spheres(4, R, d);
    assert_rel(fine.volume_mm3, volume, 4e-3);
    assert_rel((4 * fine.volume_mm3 - coarse.volume_mm3) / 3, volume, 1e-4);
    assert_rel((4 * fine.area_mm2 - coarse.area_mm2) / 3, area, 1e-4);
    assert_near(fine.centroid_mm[0], d / 2, 1e-2);
    assert_near(fine.box_mm[1][0], R + d, 0.2);
  }
}

/* -- boxes on a lattice, counted cell by cell -- */

enum { CELLS = 8, MOST = 6 };

typedef struct {
  int lo[3], hi[3];
} cells;

static cells random_cells(uint32_t *random) {
  cells b;
  for (int c = 0; c < 3; c++) {
    b.lo[c] = (int)(next_random(random) % (CELLS - 1));
    b.hi[c] = b.lo[c] + 1 + (int)(next_random(random) % (uint32_t)(CELLS - b.lo[c]));
    if (b.hi[c] > CELLS) b.hi[c] = CELLS;
  }
  return b;
}

typedef struct {
  bool in[CELLS + 2][CELLS + 2][CELLS + 2]; /* with an empty rim */
} block;

static void mark(block *k, const cells *b) {
  for (int x = b->lo[0]; x < b->hi[0]; x++)
    for (int y = b->lo[1]; y < b->hi[1]; y++)
      for (int z = b->lo[2]; z < b->hi[2]; z++) k->in[x + 1][y + 1][z + 1] = true;
}

static void count(const block *k, double *volume, double *area) {
  *volume = *area = 0;
  for (int x = 0; x <= CELLS; x++)
    for (int y = 0; y <= CELLS; y++)
      for (int z = 0; z <= CELLS; z++) {
        bool in = k->in[x][y][z];
        *volume += in;
        *area +=
            (in != k->in[x + 1][y][z]) + (in != k->in[x][y + 1][z]) + (in != k->in[x][y][z + 1]);
      }
}

/* Whether the solid can be had with one skin; then with the same cavities. */
static bool becomes_one(const ul_solid *solid) {
  ul_solid *one;
  ul_error err;
  assert_ok(ul_solid_unite(solid, NULL, &one, &err), &err);
  if (!one) return false;
  assert_false(one->overlapping);
  assert_int_equal(one->cavity_count, solid->cavity_count);
  for (size_t i = 0; i < one->cavity_count; i++) {
    const ul_measure *m = &one->cavity[i], *want = &solid->cavity[i];
    double size = ul_distance(want->box_mm[0], want->box_mm[1]);
    assert_rel(m->volume_mm3, want->volume_mm3, 1e-5);
    assert_rel(m->area_mm2, want->area_mm2, 1e-5);
    assert_true(ul_distance(m->centroid_mm, want->centroid_mm) < 1e-5 * size);
  }
  ul_solid_free(one);
  return true;
}

/* Faces lie in one plane, corners on edges, boxes in boxes and twice in one place; at any tilt and
 * scale. The measure of the whole file is asked: boxes that only touch are cavities of their own,
 * and the wall between them is then counted from either side. */
static void boxes_on_a_lattice_are_counted_cell_by_cell(void **state) {
  (void)state;
  uint32_t random = 3;
  int overlaps = 0, compared = 0, united = 0;
  for (int round = 0; round < 600; round++) {
    block k = {0};
    ul_mesh *mesh = NULL;
    int boxes = 2 + (int)(next_random(&random) % (MOST - 1));
    for (int i = 0; i < boxes; i++) {
      cells b = random_cells(&random);
      ul_mesh *box = moved(shape_box(b.hi[0] - b.lo[0], b.hi[1] - b.lo[1], b.hi[2] - b.lo[2]),
                           b.lo[0], b.lo[1], b.lo[2]);
      mark(&k, &b);
      mesh = mesh ? with(mesh, box) : box;
    }
    double volume, area, scale = pow(10, round % 13 - 6);
    count(&k, &volume, &area);
    if (round % 2) shape_rotate(mesh, round % 3, 0.7 * round);
    shape_scale(mesh, scale);
    audited a = audit_of(mesh);
    assert_true(a.audit->usable);
    overlaps += a.solid->overlapping;
    double sum = 0;
    for (size_t i = 0; i < a.solid->cavity_count; i++) sum += a.solid->cavity[i].volume_mm3;
    assert_rel(sum, volume * scale * scale * scale, 1e-6);
    if (a.solid->cavity_count == 1) {
      assert_rel(a.solid->cavity[0].area_mm2, area * scale * scale, 1e-5);
      compared++;
    }
    united += a.solid->overlapping && becomes_one(a.solid);
    audited_free(&a);
  }
  print_message("# %d of 600 overlap, %d become one skin, %d are one cavity\n", overlaps, united,
                compared);
  assert_true(overlaps > 400 && compared > 100 && united == overlaps);
}

/* Many small triangles in general position: here and there two meet at a very flat angle. */
static void fine_shells_become_one_skin(void **state) {
  (void)state;
  for (int round = 0; round < 4; round++) {
    ul_mesh *mesh = shape_icosphere(60, 5), *other = shape_icosphere(30, 5);
    shape_rotate(other, 0, 17 + 31 * round);
    shape_rotate(other, 2, 29 + 13 * round);
    audited a = audit_of(with(mesh, moved(other, 38 + 3 * round, 5 * round - 7, 4)));
    assert_true(a.solid->overlapping);
    assert_true(becomes_one(a.solid));
    audited_free(&a);
  }
}

/* -- surfaces a few touches apart -- */

static audited a_box(double size, double by, int tilt) {
  ul_mesh *mesh = moved(shape_box(size, size, size), by, by, by);
  shape_rotate(mesh, 0, 17 * tilt);
  shape_rotate(mesh, 2, 31 * tilt);
  return audit_of(mesh);
}

/* A post from the floor of a box through to its lid, d higher than both: L^3 + a^2 d. Floor and lid
 * were counted twice over the post where d was a few times what touches (9.5e-6 mm here). */
static void a_post_as_high_as_its_box_is_measured_once(void **state) {
  (void)state;
  const double size = 40, across = 20;
  for (int tilt = 0; tilt < 3; tilt++)
    for (double d = 1e-8; d < 1e-2; d *= 1.5) {
      ul_mesh *mesh =
          with(shape_box(size, size, size), moved(shape_box(across, across, size), 10, 10, d));
      shape_rotate(mesh, 0, 17 * tilt);
      shape_rotate(mesh, 2, 31 * tilt);
      audited a = audit_of(mesh);
      assert_int_equal(a.solid->cavity_count, 1);
      assert_rel(a.solid->cavity[0].volume_mm3, pow(size, 3) + across * across * d, 1e-5);
      audited_free(&a);
    }
}

/* The insert is the cavity's own box, moved by as little. It was said to take up nothing for some
 * of these, and the cavity to be a mesh without triangles. */
static void an_insert_as_large_as_the_cavity_displaces_all_of_it(void **state) {
  (void)state;
  const double size = 40;
  for (int tilt = 0; tilt < 3; tilt++)
    for (double d = 1e-8; d < 1e-3; d *= 1.5) {
      audited cavity = a_box(size, 0, tilt), insert = a_box(size, d, tilt);
      const ul_solid *inserts[1] = {insert.solid};
      ul_solid *cut;
      ul_error err = {0};
      double mm3;
      assert_ok(ul_inserts_cut(cavity.solid, inserts, 1, NULL, &cut, &err), &err);
      assert_ok(ul_insert_displaces_mm3(cavity.solid, insert.solid, NULL, &mm3, &err), &err);
      assert_rel(mm3, pow(size - d, 3), 2e-5);
      if (cut) assert_true(cut->cavity[0].volume_mm3 < 4 * d * size * size);
      ul_solid_free(cut);
      audited_free(&cavity);
      audited_free(&insert);
    }
}

/* -- one shell through itself -- */

/* The corner at the origin pushed out through the face x = 10: the edges to it pierce that face. */
static ul_mesh *pierced_box(void) {
  ul_mesh *mesh = shape_box(10, 10, 10);
  for (size_t v = 0; v < 8; v++)
    if (ul_norm(mesh->vertex_mm[v]) == 0)
      for (int c = 0; c < 3; c++) mesh->vertex_mm[v][c] = c == 0 ? 15 : 5;
  return mesh;
}

static double along_rays(const ul_solid *solid, double cube_mm) {
  double box[2][3], sum = 0;
  ul_lattice lattice;
  ul_columns *columns;
  ul_mesh_box_mm(solid->mesh, box);
  assert_ok(ul_lattice_for_box((const double(*)[3])box, cube_mm, &lattice, NULL), NULL);
  assert_ok(ul_columns_build(solid, NULL, 0, &lattice, NULL, &columns, NULL), NULL);
  for (int axis = 0; axis < 3; axis++) {
    const ul_bundle *b = &columns->bundle[axis];
    assert_int_equal(b->odd_rays, 0);
    for (size_t i = 0; i < b->run_count; i++) sum += b->run[i].hi - b->run[i].lo;
  }
  ul_columns_free(columns);
  return sum / 3 * cube_mm * cube_mm;
}

static void a_shell_through_itself_is_what_rays_find(void **state) {
  (void)state;
  for (int turn = 0; turn < 5; turn++) {
    ul_mesh *mesh = pierced_box();
    shape_rotate(mesh, 0, 13.0 * turn);
    shape_rotate(mesh, 1, 29.0 * turn);
    audited a = audit_of(mesh);
    assert_true(fault_count(&a, UL_FAULT_SELF_INTERSECTING) > 0);
    double volume = a.solid->cavity[0].volume_mm3;
    assert_rel(along_rays(a.solid, 0.05), volume, 1e-3);
    audited_free(&a);
  }
}

/* -- flat shells -- */

/* A sheet without thickness: two squares back to back. */
static ul_mesh *flat_square(double side) {
  ul_mesh *mesh = shape_new(4, 4);
  const uint32_t triangle[4][3] = {{0, 1, 2}, {0, 2, 3}, {0, 3, 1}, {1, 3, 2}};
  for (uint32_t v = 0; v < 4; v++) {
    mesh->vertex_mm[v][0] = v == 1 || v == 2 ? side : 0;
    mesh->vertex_mm[v][1] = v >= 2 ? side : 0;
    mesh->vertex_mm[v][2] = 0;
  }
  memcpy(mesh->triangle, triangle, sizeof triangle);
  return mesh;
}

static void a_flat_shell_beside_a_good_one_is_named_and_left_out(void **state) {
  (void)state;
  const double at[3][3] = {{100, 0, 0}, {5, 5, 10}, {-5, -5, 10}}; /* beside, within, across */
  for (int i = 0; i < 3; i++) {
    ul_mesh *flat = moved(flat_square(i == 2 ? 40 : 8), at[i][0], at[i][1], at[i][2]);
    audited a = audit_of(with(shape_box(20, 20, 20), flat));
    const ul_fault *fault = fault_in(&a, UL_FAULT_FLAT_SHELL);
    assert_non_null(fault);
    assert_int_equal(fault->count, 1);
    assert_near(fault->at_mm[2], at[i][2], 1e-12);
    assert_true(fault->triangle >= 12);
    assert_true(a.audit->usable);
    assert_int_equal(a.audit->fault_count, 1);
    assert_int_equal(a.solid->cavity_count, 1);
    assert_int_equal(a.solid->mesh->triangle_count, 12);
    assert_rel(a.solid->cavity[0].volume_mm3, 8000, 1e-12);
    audited_free(&a);
  }
}

static void flat_shells_alone_are_refused(void **state) {
  (void)state;
  ul_mesh *tilted = flat_square(10);
  shape_rotate(tilted, 0, 30);
  audited a = audit_of(with(flat_square(10), tilted));
  ul_error err;
  assert_false(a.audit->usable);
  assert_int_equal(fault_count(&a, UL_FAULT_ALL_FLAT), 2);
  assert_int_equal(ul_audit_verdict(a.audit, &err), UL_E_FLAT);
  assert_non_null(strstr(err.text, "without thickness"));
  audited_free(&a);
}

static void every_allocation_may_fail(void **state) {
  (void)state;
  ul_solid_opts opts = ul_solid_opts_default();
  ul_mesh *mesh = with(shape_box(20, 20, 20), moved(shape_icosphere(10, 1), 20, 10, 10));
  ul_job job = {.threads = 1};
  ul_status status = UL_E_MEMORY;
  for (long n = 1; status != UL_OK; n++) {
    ul_audit *audit;
    ul_solid *solid;
    ul_memory_fail_at(n);
    status = ul_audit_mesh(mesh, &opts, &job, &audit, &solid, NULL);
    ul_memory_fail_at(0);
    if (status != UL_OK) assert_int_equal(status, UL_E_MEMORY);
    assert_int_equal(status == UL_OK, audit && solid);
    ul_audit_free(audit);
    ul_solid_free(solid);
  }
  ul_mesh_free(mesh);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(two_spheres_lose_the_lens),
      cmocka_unit_test(boxes_on_a_lattice_are_counted_cell_by_cell),
      cmocka_unit_test(fine_shells_become_one_skin),
      cmocka_unit_test(a_post_as_high_as_its_box_is_measured_once),
      cmocka_unit_test(an_insert_as_large_as_the_cavity_displaces_all_of_it),
      cmocka_unit_test(a_shell_through_itself_is_what_rays_find),
      cmocka_unit_test(a_flat_shell_beside_a_good_one_is_named_and_left_out),
      cmocka_unit_test(flat_shells_alone_are_refused),
      cmocka_unit_test(every_allocation_may_fail),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
