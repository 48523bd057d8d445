/* Random closed meshes through audit, columns, cubes and peaks. ULLAGE_STRESS=N in the environment
 * makes it N of them. */
#include "shapes/check.h"
#include "stress/bodies.h"
#include "stress/star_peaks.h"

#include "base/vec.h"
#include "cavity/fill.h"
#include "ullage/peaks.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BODIES = 2000, CUBES_ALONG = 40 };

typedef struct {
  int number;
  body b;
  ul_solid *solid;
  ul_columns *columns;
  ul_lattice lattice;
  ul_heights *heights;
} stressed;

static double total_mm3(const ul_solid *solid) {
  double sum = 0;
  for (size_t i = 0; i < solid->cavity_count; i++) sum += solid->cavity[i].volume_mm3;
  return sum;
}

/* Audit: every one bounds something; what is said to be a fault is no more than overlaps. */
static void audit(stressed *s) {
  ul_solid_opts opts = ul_solid_opts_default();
  ul_audit *made;
  ul_error err;
  opts.drawn = UL_DRAWN_PART;
  assert_ok(ul_audit_mesh(s->b.mesh, &opts, NULL, &made, &s->solid, &err), &err);
  if (!made->closed || !made->usable) fail_msg("body %d is not usable", s->number);
  for (size_t i = 0; i < made->fault_count; i++) {
    ul_fault_kind kind = made->fault[i].kind;
    bool harmless = kind == UL_FAULT_DUPLICATE || kind == UL_FAULT_DEGENERATE ||
                    kind == UL_FAULT_OVERLAPPING || kind == UL_FAULT_SAME_SENSE;
    if (!harmless || !s->b.overlaps)
      fail_msg("body %d: %s at %g %g %g", s->number, ul_fault_word(kind), made->fault[i].at_mm[0],
               made->fault[i].at_mm[1], made->fault[i].at_mm[2]);
  }
  assert_int_equal(s->solid->overlapping && !s->b.overlaps, 0);
  ul_audit_free(made);
}

/* Whole ones: centres exactly on whole numbers, so rays run along faces and through corners. */
static void place_lattice(stressed *s) {
  double box[2][3], longest = 0;
  ul_error err;
  ul_mesh_box_mm(s->solid->mesh, box);
  for (int c = 0; c < 3; c++) longest = fmax(longest, box[1][c] - box[0][c]);
  double cube = s->b.whole ? s->b.scale : longest / CUBES_ALONG;
  assert_ok(ul_lattice_for_box((const double(*)[3])box, cube, &s->lattice, &err), &err);
  if (!s->b.whole) return;
  for (int c = 0; c < 3; c++) {
    s->lattice.origin_mm[c] = box[0][c] - 1.5 * cube;
    s->lattice.n[c] = (int32_t)((box[1][c] - box[0][c]) / cube) + 3;
  }
}

static void columns(stressed *s) {
  ul_error err;
  assert_ok(ul_columns_build(s->solid, NULL, 0, &s->lattice, NULL, &s->columns, &err), &err);
  for (int axis = 0; axis < 3; axis++) {
    const ul_bundle *b = &s->columns->bundle[axis];
    if (b->odd_rays) fail_msg("body %d: %zu rays do not close", s->number, b->odd_rays);
    for (size_t r = 0; r < b->ray_count; r++)
      for (uint32_t i = b->first[r]; i < b->first[r + 1]; i++)
        if (!(b->run[i].lo < b->run[i].hi) ||
            (i > b->first[r] && !(b->run[i - 1].hi < b->run[i].lo)))
          fail_msg("body %d: ray %zu has runs out of order", s->number, r);
  }
}

/* The cubes' shares add up to what the divergence theorem gives; overlaps are sampled there. */
static void fill(stressed *s) {
  const ul_lattice *l = &s->lattice;
  double sum, cube = l->cube_mm, want = total_mm3(s->solid);
  float *share = malloc((size_t)l->n[0] * (size_t)l->n[1] * (size_t)l->n[2] * sizeof *share);
  ul_error err;
  assert_ok(ul_fill(s->solid, NULL, 0, l, NULL, share, &sum, &err), &err);
  free(share);
  double volume = sum * cube * cube * cube, allowed = s->solid->overlapping ? 0.04 : 1e-7;
  if (!(fabs(volume - want) <= allowed * want))
    fail_msg("body %d: cubes hold %.12g mm3, the surface %.12g", s->number, volume, want);
}

static ul_peaks *find_peaks(stressed *s, const double up[3]) {
  ul_peaks_opts opts = ul_peaks_opts_default();
  ul_peaks *peaks;
  ul_error err;
  opts.void_ok_mm3 = 0;
  assert_ok(ul_peaks_find(s->heights, up, &opts, &peaks, &err), &err);
  return peaks;
}

/* Every cavity has its highest place; nothing is higher than the mesh. */
static void highest_peaks(const stressed *s, const ul_peaks *peaks) {
  const ul_mesh *mesh = s->solid->mesh;
  double top = -INFINITY;
  for (size_t v = 0; v < mesh->vertex_count; v++)
    top = fmax(top, ul_dot(peaks->up, mesh->vertex_mm[v]));
  double slack = s->solid->overlapping ? 2 * s->lattice.cube_mm : 1e-9 * s->b.size + 0.26;
  if (!peaks->count || fabs(peaks->peak[0].height_mm - top) > slack)
    fail_msg("body %d: highest peak at %.9g, highest vertex %.9g", s->number,
             peaks->count ? peaks->peak[0].height_mm : NAN, top);
}

static bool counts(const star_peak *p, double cube_mm) {
  return isnan(p->cut_off_mm) || (p->height_mm - p->cut_off_mm > 1.5 &&
                                  p->pocket_mm3 > 1.001 * cube_mm * cube_mm * cube_mm);
}

static const ul_peak *peak_at(const ul_peaks *peaks, const double at[3]) {
  for (size_t i = 0; i < peaks->count; i++)
    if (ul_distance(peaks->peak[i].at_mm, at) < 1e-9) return &peaks->peak[i];
  return NULL;
}

/* Tops, cut-offs and pockets against the other method; how many were compared. */
static int star_agrees(const stressed *s, const ul_peaks *peaks) {
  size_t count;
  int compared = 0;
  star_peak *want = star_peaks(s->solid->mesh, peaks->up, &count);
  for (size_t i = 0; i < count; i++) {
    if (!counts(&want[i], s->lattice.cube_mm)) continue;
    const ul_peak *p = peak_at(peaks, want[i].at_mm);
    if (!p) fail_msg("body %d: a peak of %.3g mm3 is missing", s->number, want[i].pocket_mm3);
    assert_near(p->height_mm, want[i].height_mm, 1e-9);
    assert_int_equal(isnan(p->cut_off_mm), isnan(want[i].cut_off_mm));
    if (!isnan(p->cut_off_mm)) assert_near(p->cut_off_mm, want[i].cut_off_mm, 1e-9);
    assert_rel(p->pocket_mm3, want[i].pocket_mm3, 1e-6);
    compared++;
  }
  for (size_t i = 0; i < peaks->count; i++) {
    bool known = false;
    for (size_t k = 0; k < count && !known; k++)
      known = ul_distance(peaks->peak[i].at_mm, want[k].at_mm) < 1e-9;
    if (!known) fail_msg("body %d: a peak is invented", s->number);
  }
  free(want);
  return compared;
}

/* Overlapping boxes: a top of the union is the top of one of them; columns find its height to a
 * cube, though on a nearly level edge not its place. */
static bool as_high_as_a_vertex(const stressed *s, const ul_peaks *found, const ul_peak *p) {
  for (size_t v = 0; v < s->solid->mesh->vertex_count; v++) {
    double h = ul_dot(found->up, s->solid->mesh->vertex_mm[v]);
    if (fabs(h - p->height_mm) < 1.01 * s->lattice.cube_mm) return true;
  }
  return false;
}

static int peaks(stressed *s, uint64_t *dice) {
  ul_error err;
  int compared = 0;
  ul_status status = ul_heights_new(s->solid, s->columns, NULL, &s->heights, &err);
  if (status == UL_E_THIN && s->number % BODY_KINDS == BODY_SLIVER)
    return 0; /* no column meets it */
  if (status != UL_OK) fail_msg("body %d: %s", s->number, err.text);
  for (int i = 0; i < 2; i++) {
    double up[3] = {body_random(dice) - 0.5, body_random(dice) - 0.5, body_random(dice) - 0.5};
    if (s->b.whole && i) up[0] = up[1] = 0; /* level lids, upright walls */
    ul_peaks *found = find_peaks(s, up);
    highest_peaks(s, found);
    if (s->number % BODY_KINDS == BODY_STAR && s->b.scale == 1) compared += star_agrees(s, found);
    if (s->number % BODY_KINDS == BODY_BOXES)
      for (size_t k = 0; k < found->count; k++)
        if (!as_high_as_a_vertex(s, found, &found->peak[k]))
          fail_msg("body %d: a peak where no box has its top", s->number);
    ul_peaks_free(found);
  }
  return compared;
}

static int stress(int number) {
  stressed s = {.number = number, .b = body_make(number)};
  uint64_t dice = (uint64_t)number;
  audit(&s);
  place_lattice(&s);
  columns(&s);
  fill(&s);
  int compared = peaks(&s, &dice);
  ul_heights_free(s.heights);
  ul_columns_free(s.columns);
  ul_solid_free(s.solid);
  ul_mesh_free(s.b.mesh);
  return compared;
}

static void random_bodies_hold_together(void **state) {
  (void)state;
  const char *wanted = getenv("ULLAGE_STRESS");
  int bodies = wanted ? atoi(wanted) : BODIES, compared = 0;
  for (int i = 0; i < bodies; i++) compared += stress(i);
  print_message("# %d bodies, %d peaks compared with another method\n", bodies, compared);
  assert_true(compared > bodies / 4);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(random_bodies_hold_together)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
