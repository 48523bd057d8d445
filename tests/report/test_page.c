/* Parts of report.html against what is known beforehand. */
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/vec.h"
#include "report/page_parts.h"
#include "report/page_sketch.h"
#include "shapes/check.h"
#include "shapes/shapes.h"

/* --- text --- */

static void assert_text(const char *given, const char *want) {
  char got[256] = {0};
  FILE *file = fmemopen(got, sizeof got, "w");
  ul_page_text(file, given);
  fclose(file);
  assert_string_equal(got, want);
}

static void text_is_never_markup_and_always_utf8(void **state) {
  (void)state;
  assert_text("a<b>&\"'", "a&lt;b&gt;&amp;&quot;&#39;");
  assert_text("Bug \xC3\xBC \xF0\x9F\x9A\xA3", "Bug \xC3\xBC \xF0\x9F\x9A\xA3");
  /* overlong, surrogate, above U+10FFFF, cut short, control: RFC 3629 */
  assert_text("\xC0\x80", "\xEF\xBF\xBD\xEF\xBF\xBD");
  assert_text("\xED\xA0\x80", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
  assert_text("\xF4\x90\x80\x80", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
  assert_text("\xE6\xBC", "\xEF\xBF\xBD\xEF\xBF\xBD");
  assert_text("a\x01z", "a\xEF\xBF\xBDz");
  assert_text("on its -y side, y -5.0 mm", "on its \xE2\x88\x92y side, y -5.0 mm");
}

/* --- outlines --- */

/* The distance from the middle of a grid: its level r is a circle of area pi r^2. */
static void contour_encloses_the_area_below_its_level(void **state) {
  (void)state;
  enum { N = 101 };
  static float far[N * N];
  const int n[2] = {N, N};
  const double from[2] = {-50, -50};
  for (int i = 0; i < N * N; i++) far[i] = (float)hypot(i % N - 50, i / N - 50);
  for (double r = 8.3; r < 45; r += 7.1) {
    ul_page_pieces edge = {0};
    assert_true(ul_page_contour(far, n, from, 1, r, &edge));
    assert_rel(ul_page_area(&edge), M_PI * r * r, 0.005);
    free(edge.piece);
  }
}

static void contour_closes_at_the_rim_and_at_what_is_unknown(void **state) {
  (void)state;
  float value[6 * 5];
  const int n[2] = {6, 5};
  const double from[2] = {0, 0};
  for (int i = 0; i < 30; i++) value[i] = 0;
  value[2 * 6 + 2] = NAN;
  ul_page_pieces edge = {0};
  assert_true(ul_page_contour(value, n, from, 1, 0.5, &edge));
  /* every piece's end is another's beginning */
  for (size_t i = 0; i < edge.count; i++) {
    size_t next = 0;
    for (size_t k = 0; k < edge.count; k++) next += edge.piece[k].from == edge.piece[i].to;
    assert_int_equal(next, 1);
  }
  /* 3 x 2 squares between the 4 x 3 inner nodes; the four around the hole lose it and a rim */
  assert_true(ul_page_area(&edge) > 0 && ul_page_area(&edge) < 6);
  free(edge.piece);
}

/* --- the plane of the stills --- */

typedef struct boxed {
  ul_mesh *mesh;
  ul_audit *audit;
  ul_solid *solid;
  ul_columns *columns;
  ul_grid *grid;
  float *arrival;
  ul_tool tool;
  ul_props props;
  ul_vents vents;
  ul_page_event event;
  ul_page page;
} boxed;

/* A 60 x 40 x 20 mm box that fills along z: arrival is the height's share. */
static void make_boxed(boxed *b) {
  ul_error err;
  memset(b, 0, sizeof *b);
  b->mesh = shape_box(60, 40, 20);
  ul_solid_opts opts = ul_solid_opts_default();
  assert_ok(ul_audit_mesh(b->mesh, &opts, NULL, &b->audit, &b->solid, &err), &err);
  double box[2][3];
  ul_lattice lattice;
  ul_mesh_box_mm(b->mesh, box);
  assert_ok(ul_lattice_for_box((const double(*)[3])box, 1, &lattice, &err), &err);
  assert_ok(ul_columns_build(b->solid, NULL, 0, &lattice, NULL, &b->columns, &err), &err);
  assert_ok(ul_grid_build(b->solid, NULL, 0, b->columns, NULL, &b->grid, &err), &err);
  b->arrival = malloc(b->grid->cube_count * sizeof *b->arrival);
  size_t layer = (size_t)lattice.n[0] * (size_t)lattice.n[1];
  for (size_t i = 0; i < b->grid->cube_count; i++)
    b->arrival[i] = (float)((lattice.origin_mm[2] + (double)(i / layer) + 0.5) / 20);
  const double up[3] = {0, 0, 1};
  b->tool = ul_tool_wall(b->solid, 10, false);
  ul_props_for(&b->tool, up, &b->props);
  b->event = (ul_page_event){.reached = 0.5, .mark = "50 %", .text = "half"};
  b->page = (ul_page){.name = "box",
                      .verdict = "fills",
                      .mesh = b->solid->mesh,
                      .grid = b->grid,
                      .arrival = b->arrival,
                      .arrival_end = 1,
                      .up = {0, 0, 1},
                      .tool = &b->tool,
                      .props = &b->props,
                      .vents = &b->vents,
                      .event_count = 1,
                      .event = &b->event};
}

static void free_boxed(boxed *b) {
  free(b->arrival);
  ul_grid_free(b->grid);
  ul_columns_free(b->columns);
  ul_solid_free(b->solid);
  ul_audit_free(b->audit);
  ul_mesh_free(b->mesh);
}

static void the_cut_is_the_largest_upright_one_and_exact(void **state) {
  (void)state;
  boxed b;
  make_boxed(&b);
  ul_page_cut cut;
  ul_error err;
  assert_ok(ul_page_cut_make(&b.page, &cut, &err), &err);
  assert_rel(ul_page_area(&cut.wall), 60 * 20, 1e-12);
  ul_page_cut_free(&cut);
  free_boxed(&b);
}

/* Below half of a level arrival lies half of the section, and a cube and a half of rim that was
 * grown beyond the wall on three sides. */
static void foam_in_the_cut_stands_where_the_arrival_says(void **state) {
  (void)state;
  boxed b;
  make_boxed(&b);
  ul_page_cut cut;
  ul_error err;
  assert_ok(ul_page_cut_make(&b.page, &cut, &err), &err);
  ul_page_pieces edge = {0};
  assert_true(ul_page_contour(cut.arrival, cut.n, cut.from, cut.step, 0.5, &edge));
  double top = -INFINITY;
  for (size_t i = 0; i < edge.count; i++) top = fmax(top, edge.piece[i].a[1]);
  assert_near(top, 10, 0.01);
  free(edge.piece);
  ul_page_cut_free(&cut);
  free_boxed(&b);
}

static void views_are_right_handed_and_plumb(void **state) {
  (void)state;
  boxed b;
  make_boxed(&b);
  const double up[3] = {0.36, 0.48, 0.8};
  double along[3], cross[3];
  ul_page_along(&b.tool, up, along);
  assert_near(ul_dot(along, up), 0, 1e-12);
  ul_page_view view;
  ul_page_look(up, along, 28, 16, &view);
  ul_cross(view.right, view.up, cross);
  assert_near(ul_distance(cross, view.toward), 0, 1e-12);
  assert_near(ul_dot(view.right, up), 0, 1e-12);
  assert_near(ul_dot(view.up, up), cos(16 * M_PI / 180), 1e-12);
  free_boxed(&b);
}

/* A box seen from a corner has nine visible edges; the three at the far corner are hidden but for
 * the few units in which they come up to the outline. */
static void hidden_edges_are_left_out(void **state) {
  (void)state;
  ul_mesh *box = shape_box(60, 40, 20);
  ul_page_sketch sketch;
  assert_true(ul_page_sketch_make(box, &sketch));
  const double up[3] = {0, 0, 1}, along[3] = {1, 0, 0};
  ul_page_view view;
  ul_page_look(up, along, 30, 20, &view);
  view.scale = 6;
  view.x0 = view.y0 = 300;
  char lines[4096] = {0};
  FILE *file = fmemopen(lines, sizeof lines, "w");
  assert_true(ul_page_sketch_lines(file, &sketch, &view, 900, 600));
  fclose(file);
  int count = 0;
  double drawn = 0, whole = 0;
  for (const char *p = lines; (p = strchr(p, 'M')); p++) {
    long x[4];
    assert_int_equal(sscanf(p, "M%ld %ldL%ld %ld", &x[0], &x[1], &x[2], &x[3]), 4);
    double length = hypot((double)(x[2] - x[0]), (double)(x[3] - x[1]));
    count += length > 20;
    drawn += length > 20 ? length : 0;
  }
  const double size[3] = {60, 40, 20};
  for (int a = 0; a < 3; a++) {
    double edge[3] = {0}, p[2];
    edge[a] = size[a];
    ul_page_project(&view, edge, p);
    whole += 3 * hypot(p[0] - view.x0, p[1] - view.y0);
  }
  assert_int_equal(count, 9);
  assert_rel(drawn, whole, 0.02);
  ul_page_sketch_free(&sketch);
  ul_mesh_free(box);
}

/* --- the whole page --- */

static void without_memory_no_page_is_written(void **state) {
  (void)state;
  boxed b;
  make_boxed(&b);
  char path[] = "/tmp/ullage-page-XXXXXX";
  close(mkstemp(path));
  unlink(path);
  ul_status status = UL_E_MEMORY;
  long nth = 1;
  for (; status == UL_E_MEMORY && nth < 1000; nth++) {
    ul_memory_fail_at(nth);
    status = ul_write_page(&b.page, path, NULL);
    ul_memory_fail_at(0);
    assert_int_equal(access(path, F_OK) == 0, status == UL_OK);
  }
  assert_int_equal(status, UL_OK);
  assert_true(nth > 10);
  unlink(path);
  free_boxed(&b);
}

static void a_rise_in_seconds_has_its_curves(void **state) {
  (void)state;
  boxed b;
  make_boxed(&b);
  const ul_page_sample sample[] = {{20, 0.1, 0}, {60, 0.8, 4}, {110, 1, 24.8}};
  for (int with = 0; with < 2; with++) {
    b.page.seconds = true;
    b.page.sample = sample;
    b.page.sample_count = with ? 3 : 0;
    b.event.reached = 60;
    b.page.arrival_end = 110;
    char *text = NULL;
    size_t size = 0;
    FILE *file = open_memstream(&text, &size);
    assert_true(ul_page_curves(file, &b.page));
    fclose(file);
    assert_int_equal(strstr(text, "the most is 24.8 kPa") != NULL, with);
    /* 60 s is 40 of the 90 s that the paper's 790 units span, from 90 */
    assert_int_equal(strstr(text, "class=\"moment-line\" d=\"M441 ") != NULL, with);
    free(text);
  }
  free_boxed(&b);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(text_is_never_markup_and_always_utf8),
      cmocka_unit_test(contour_encloses_the_area_below_its_level),
      cmocka_unit_test(contour_closes_at_the_rim_and_at_what_is_unknown),
      cmocka_unit_test(the_cut_is_the_largest_upright_one_and_exact),
      cmocka_unit_test(foam_in_the_cut_stands_where_the_arrival_says),
      cmocka_unit_test(views_are_right_handed_and_plumb),
      cmocka_unit_test(hidden_edges_are_left_out),
      cmocka_unit_test(without_memory_no_page_is_written),
      cmocka_unit_test(a_rise_in_seconds_has_its_curves),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
