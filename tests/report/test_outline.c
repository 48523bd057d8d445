/* Line drawings whose lines are known: how long they are in all, and what hides what. */
#include "base/memory.h"
#include "report/outline.h"
#include "shapes/check.h"
#include "shapes/shapes.h"
#include "ullage/markers.h"

#include <math.h>
#include <stdlib.h>

static const ul_view from_front = {{1, 0, 0}, {0, 0, 1}, {0, -1, 0}};

static double length_of(const ul_outline_line *line, size_t count) {
  double sum = 0;
  for (size_t i = 0; i < count; i++)
    sum += hypot(line[i].to[0] - line[i].from[0], line[i].to[1] - line[i].from[1]);
  return sum;
}

static double drawn(const ul_mesh *mesh, const ul_view *view) {
  ul_outline_line *line;
  size_t count;
  ul_error err;
  assert_ok(ul_outline(mesh, view, &line, &count, &err), &err);
  double length = length_of(line, count);
  free(line);
  return length;
}

/* The front's four edges; the sides' lie behind them, and are as good as seen: each drawn twice. */
static void a_box_from_the_front_is_its_rectangle(void **state) {
  (void)state;
  ul_mesh *box = shape_box(30, 20, 10);
  ul_outline_line *line;
  size_t count;
  assert_ok(ul_outline(box, &from_front, &line, &count, NULL), NULL);
  for (size_t i = 0; i < count; i++) {
    const ul_outline_line *l = &line[i];
    bool upright = l->from[0] == l->to[0] && (l->from[0] == 0 || l->from[0] == 30);
    bool level = l->from[1] == l->to[1] && (l->from[1] == 0 || l->from[1] == 10);
    assert_true(upright || level);
  }
  double length = length_of(line, count);
  assert_true(length >= 80 - 1e-9 && length <= 160 + 1e-9);
  free(line);
  ul_mesh_free(box);
}

/* Seen along a corner's diagonal a cube is a hexagon with three edges in it: nine of twelve, each
 * shortened by sqrt(2/3). */
static void a_cube_from_a_corner_hides_three_of_its_edges(void **state) {
  (void)state;
  const double r = 1 / sqrt(2), t = 1 / sqrt(3), s = 1 / sqrt(6);
  const ul_view corner = {{-r, r, 0}, {-s, -s, 2 * s}, {t, t, t}};
  ul_mesh *cube = shape_box(10, 10, 10);
  assert_rel(drawn(cube, &corner), 9 * 10 * sqrt(2.0 / 3), 0.02);
  ul_mesh_free(cube);
}

static void a_ball_is_one_circle(void **state) {
  (void)state;
  ul_mesh *ball = shape_icosphere(10, 5);
  assert_rel(drawn(ball, &from_front), 2 * M_PI * 10, 0.12); /* zigzags along its triangles */
  ul_mesh_free(ball);
}

static void what_is_behind_is_left_out(void **state) {
  (void)state;
  ul_mesh *front = shape_box(30, 20, 10), *behind = shape_box(10, 5, 4), *both;
  for (size_t v = 0; v < behind->vertex_count; v++) {
    behind->vertex_mm[v][0] += 10;
    behind->vertex_mm[v][1] += 50;
    behind->vertex_mm[v][2] += 3;
  }
  ul_error err;
  assert_ok(ul_mesh_join(front, behind, &both, &err), &err);
  assert_near(drawn(both, &from_front), drawn(front, &from_front), 1e-9);
  const ul_view from_back = {{-1, 0, 0}, {0, 0, 1}, {0, 1, 0}};
  assert_true(drawn(both, &from_back) > drawn(front, &from_back) + 28 - 1e-9);
  ul_mesh_free(front);
  ul_mesh_free(behind);
  ul_mesh_free(both);
}

static void every_allocation_may_fail(void **state) {
  (void)state;
  ul_mesh *box = shape_box(30, 20, 10);
  int failed = 0;
  for (long nth = 1;; nth++, failed++) {
    ul_outline_line *line;
    size_t count;
    ul_memory_fail_at(nth);
    ul_status status = ul_outline(box, &from_front, &line, &count, NULL);
    ul_memory_fail_at(0);
    free(line);
    if (status == UL_OK) break;
    assert_int_equal(status, UL_E_MEMORY);
    assert_null(line);
  }
  assert_true(failed >= 4);
  ul_mesh_free(box);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_box_from_the_front_is_its_rectangle),
      cmocka_unit_test(a_cube_from_a_corner_hides_three_of_its_edges),
      cmocka_unit_test(a_ball_is_one_circle),
      cmocka_unit_test(what_is_behind_is_left_out),
      cmocka_unit_test(every_allocation_may_fail),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
