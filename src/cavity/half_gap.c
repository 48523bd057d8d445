/* The distance to the wall, d, is exact: from the cube's centre to the nearest point of the mesh.
 * The half-gap is d where climbing it ends. The climb has two legs. On the first, from cube to
 * cube, as long as a neighbour is higher by half the path or more. That leg stops up to a cube
 * short of the crest, so the second goes on between cubes: the ball that touches the wall at the
 * nearest point is grown to the largest that fits (Ma, Bae & Choi 2012, The Visual Computer 28,
 * "shrinking ball"), which puts its centre on the crest, and is then pushed along the crest, away
 * from the points it touches, by the slope of d there (Lieutier 2004, Computer-Aided Design 36:
 * centre minus the middle of the smallest ball round the touching points, over d). In a slot the
 * touching points are opposite, the slope is 0, and the climb ends at half the slot, however large
 * the chamber it opens on. */
#include "cavity/half_gap.h"

#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"

static const double LEAST_GAIN = 0.5; /* of d over the path: below it, the climb has ended */

static const double SHORTEST_STEP = 1.0 / 64; /* of a cube: what the half-gap can fall short by */

enum { MOST_PUSHES = 200, MOST_SHRINKS = 30 };

typedef struct {
  const ul_bvh *wall;
  ul_grid *grid;
  uint32_t *towards; /* per cube: the one the first leg goes to next; itself at the leg's end */
} climb;

static void centre_of(const ul_lattice *l, int32_t i, int32_t j, int32_t k, double at[3]) {
  at[0] = l->origin_mm[0] + (i + 0.5) * l->cube_mm;
  at[1] = l->origin_mm[1] + (j + 0.5) * l->cube_mm;
  at[2] = l->origin_mm[2] + (k + 0.5) * l->cube_mm;
}

static ul_nearest nearest_wall(const ul_bvh *wall, const double at[3], double within) {
  ul_nearest near = {.square = within * within};
  if (!ul_bvh_nearest(wall, at, &near)) {
    near.square = INFINITY;
    ul_bvh_nearest(wall, at, &near);
  }
  return near;
}

/* The neighbour's nearest point is near this cube's: a search that need only beat the distance to
 * it leaves most of the tree alone. */
static ul_status measure_row(void *context, size_t row, int worker) {
  (void)worker;
  climb *c = context;
  const ul_lattice *l = &c->grid->lattice;
  size_t first = row * (size_t)l->n[0];
  int32_t j = (int32_t)(row % (size_t)l->n[1]), k = (int32_t)(row / (size_t)l->n[1]);
  ul_nearest near = {.square = INFINITY};
  for (int32_t i = 0; i < l->n[0]; i++) {
    if (!c->grid->inside[first + (size_t)i]) continue;
    double at[3], moved[3];
    centre_of(l, i, j, k, at);
    ul_sub(at, near.at, moved);
    if (near.square < INFINITY) near.square = ul_dot(moved, moved);
    ul_bvh_nearest(c->wall, at, &near);
    c->grid->wall_mm[first + (size_t)i] = (float)sqrt(near.square);
  }
  return UL_OK;
}

/* The best of the 26 neighbours, ties to the lowest number. */
static uint32_t steepest(const ul_grid *g, int32_t i, int32_t j, int32_t k) {
  static const double path[4] = {0, 1, 1.4142135623730951, 1.7320508075688772};
  const ul_lattice *l = &g->lattice;
  uint32_t here =
      (uint32_t)(((size_t)k * (size_t)l->n[1] + (size_t)j) * (size_t)l->n[0]) + (uint32_t)i;
  uint32_t best = here;
  double most = LEAST_GAIN;
  for (int32_t c = -1; c <= 1; c++)
    for (int32_t b = -1; b <= 1; b++)
      for (int32_t a = -1; a <= 1; a++) {
        int32_t x = i + a, y = j + b, z = k + c;
        if (x < 0 || y < 0 || z < 0 || x >= l->n[0] || y >= l->n[1] || z >= l->n[2]) continue;
        uint32_t to =
            (uint32_t)(((size_t)z * (size_t)l->n[1] + (size_t)y) * (size_t)l->n[0]) + (uint32_t)x;
        double length = path[abs(a) + abs(b) + abs(c)] * l->cube_mm;
        double gain = to == here ? 0 : (g->wall_mm[to] - g->wall_mm[here]) / length;
        if (!g->inside[to] || !(gain > most)) continue;
        most = gain;
        best = to;
      }
  return best;
}

static ul_status point_row(void *context, size_t row, int worker) {
  (void)worker;
  climb *c = context;
  const ul_lattice *l = &c->grid->lattice;
  size_t first = row * (size_t)l->n[0];
  int32_t j = (int32_t)(row % (size_t)l->n[1]), k = (int32_t)(row / (size_t)l->n[1]);
  for (int32_t i = 0; i < l->n[0]; i++)
    if (c->grid->inside[first + (size_t)i])
      c->towards[first + (size_t)i] = steepest(c->grid, i, j, k);
  return UL_OK;
}

/* A ball in the cavity that touches the wall at touch[0], and where else it does. */
typedef struct {
  double centre[3], radius;
  double touch[3][3];
  int touches;
} ball;

/* The largest ball that touches the wall at `foot` and has its centre from there through `at`. */
static ball grow_ball(const ul_bvh *wall, const double foot[3], const double at[3]) {
  ball b = {.touches = 1};
  double inward[3], away = ul_distance(at, foot), t = INFINITY;
  uint32_t triangle;
  for (int c = 0; c < 3; c++) inward[c] = (at[c] - foot[c]) / away;
  ul_copy3(foot, b.touch[0]);
  b.radius = away;
  double far = ul_bvh_ray(wall, at, inward, 0, UINT32_MAX, &t, &triangle) ? (away + t) / 2 : away;
  for (int shrink = 0; shrink < MOST_SHRINKS; shrink++) {
    ul_add_scaled(foot, far, inward, b.centre);
    ul_nearest near = {.square = far * far * (1 - 1e-9)};
    if (!ul_bvh_nearest(wall, b.centre, &near)) break;
    double chord[3];
    ul_sub(near.at, foot, chord);
    double along = ul_dot(chord, inward);
    ul_copy3(near.at, b.touch[1]);
    b.touches = 2;
    if (!(along > 0)) break;
    far = fmax(away, ul_dot(chord, chord) / (2 * along));
    if (far == away) break;
  }
  if (b.touches == 1) { /* the ray's end is opposite */
    ul_add_scaled(foot, 2 * far, inward, b.touch[1]);
    b.touches = 2;
  }
  b.radius = far;
  ul_add_scaled(foot, far, inward, b.centre);
  return b;
}

/* Middle of the smallest ball round two or three points. */
static void middle_of(const double p[3][3], int count, double out[3]) {
  double best = 0;
  ul_copy3(p[0], out);
  for (int i = 0; i < count; i++)
    for (int j = i + 1; j < count; j++) {
      double d = ul_distance(p[i], p[j]);
      if (d <= best) continue;
      best = d;
      for (int c = 0; c < 3; c++) out[c] = (p[i][c] + p[j][c]) / 2;
    }
  for (int i = 0; i < count; i++) {
    if (ul_distance(p[i], out) <= best / 2 * (1 + 1e-9)) continue;
    double ab[3], ac[3], n[3], u[3], v[3]; /* acute: the circle through all three */
    ul_sub(p[1], p[0], ab);
    ul_sub(p[2], p[0], ac);
    ul_cross(ab, ac, n);
    ul_cross(n, ab, u);
    ul_cross(ac, n, v);
    double below = 2 * ul_dot(n, n);
    for (int c = 0; c < 3; c++)
      out[c] = p[0][c] + (u[c] * ul_dot(ac, ac) + v[c] * ul_dot(ab, ab)) / below;
    return;
  }
}

/* Which way d grows, a unit vector; false where it grows by less than half the path. */
static bool uphill(const ball *b, double way[3]) {
  double middle[3];
  middle_of((const double(*)[3])b->touch, b->touches, middle);
  ul_sub(b->centre, middle, way);
  double length = ul_norm(way);
  if (length < LEAST_GAIN * b->radius) return false;
  for (int c = 0; c < 3; c++) way[c] /= length;
  return true;
}

/* Pushes the ball by `step`. If that does not gain half of the path, *b stays as it was and
 * `block` is the point of the wall that stood against it. */
static bool push(const ul_bvh *wall, ball *b, const double way[3], double step, double block[3]) {
  double at[3];
  ul_add_scaled(b->centre, step, way, at);
  ul_nearest near = nearest_wall(wall, at, (b->radius + step) * (1 + 1e-9));
  ul_copy3(near.at, block);
  if (!(near.square > 0)) return false;
  ball next = grow_ball(wall, near.at, at);
  double gain = next.radius - b->radius;
  if (!(gain > 0) || gain < LEAST_GAIN * ul_distance(next.centre, b->centre)) return false;
  *b = next;
  return true;
}

/* Longer steps as long as they gain, shorter ones when they do not. A ball that touches only two
 * points for all it knows, and is stopped by the shortest step, has learnt the third. */
static double crest(const ul_bvh *wall, const double at[3], double cube_mm) {
  ul_nearest near = nearest_wall(wall, at, INFINITY);
  if (!(near.square > 0)) return 0;
  ball b = grow_ball(wall, near.at, at);
  double step = cube_mm, way[3], block[3];
  for (int pushes = 0; pushes < MOST_PUSHES && uphill(&b, way); pushes++) {
    if (push(wall, &b, way, step, block)) {
      step = fmin(2 * step, b.radius);
    } else if (step > cube_mm * SHORTEST_STEP) {
      step /= 2;
    } else if (b.touches == 2) {
      ul_copy3(block, b.touch[b.touches++]);
      step = cube_mm;
    } else {
      break;
    }
  }
  return b.radius;
}

static ul_status crest_row(void *context, size_t row, int worker) {
  (void)worker;
  climb *c = context;
  const ul_lattice *l = &c->grid->lattice;
  size_t first = row * (size_t)l->n[0];
  int32_t j = (int32_t)(row % (size_t)l->n[1]), k = (int32_t)(row / (size_t)l->n[1]);
  for (int32_t i = 0; i < l->n[0]; i++) {
    size_t cube = first + (size_t)i;
    if (!c->grid->inside[cube] || c->towards[cube] != cube) continue;
    double at[3];
    centre_of(l, i, j, k, at);
    c->grid->half_gap_mm[cube] = (float)crest(c->wall, at, l->cube_mm);
  }
  return UL_OK;
}

/* Each cube takes the half-gap of the end of its first leg. */
static ul_status follow_row(void *context, size_t row, int worker) {
  (void)worker;
  climb *c = context;
  size_t n = (size_t)c->grid->lattice.n[0];
  for (size_t cube = row * n; cube < (row + 1) * n; cube++) {
    if (!c->grid->inside[cube] || c->towards[cube] == cube) continue;
    uint32_t end = c->towards[cube];
    while (c->towards[end] != end) end = c->towards[end];
    c->grid->half_gap_mm[cube] = c->grid->half_gap_mm[end];
  }
  return UL_OK;
}

ul_status ul_half_gap(const ul_bvh *wall, ul_grid *grid, const ul_job *job, ul_error *err) {
  climb c = {.wall = wall, .grid = grid};
  c.towards = ul_new_raw(grid->cube_count, sizeof *c.towards);
  if (!c.towards) return ul_fail_memory(err);
  size_t rows = (size_t)grid->lattice.n[1] * (size_t)grid->lattice.n[2];
  ul_status status = ul_parallel(job, "wall", rows, measure_row, &c);
  if (!status) status = ul_parallel(job, NULL, rows, point_row, &c);
  if (!status) status = ul_parallel(job, "half-gap", rows, crest_row, &c);
  if (!status) status = ul_parallel(job, NULL, rows, follow_row, &c);
  free(c.towards);
  return status ? ul_fail(err, status, "half-gap: %s", ul_status_text(status)) : UL_OK;
}
