/* Mazes of rooms with walls thinner than a cube, against an exact oracle.
 *
 * The cavity is made of boxes. A box above a level is convex, and so is the face between two boxes:
 * the merge tree of the boxes, each at its highest corner, joined at the highest corner of the face
 * they share, IS the merge tree of the cavity, with nothing sampled. */
#include "shapes/check.h"
#include "shapes/shapes.h"

#include <math.h>
#include <stdlib.h>

#include "ullage/ullage.h"

/* Along each axis: two layers a room, one thin layer of wall between rooms. */
enum { ROOMS = 3, LAYERS = 3 * ROOMS - 1, BOXES = LAYERS * LAYERS * LAYERS, JOINS = 3 * BOXES };
static const double cube_mm = 1.5;

typedef struct maze {
  double line[3][LAYERS + 1];
  unsigned char solid[LAYERS][LAYERS][LAYERS]; /* z, y, x */
} maze;

/* SplitMix64: the same maze everywhere. */
static double chance(uint64_t *state) {
  uint64_t z = *state += 0x9E3779B97F4A7C15u;
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  return (double)((z ^ (z >> 31)) >> 11) / 9007199254740992.0;
}

static bool is_wall(int layer) {
  return layer % 3 == 2;
}

/* The wall across `axis` in front of a room: closed, or with a door in one of its quarters, or away
 * altogether. `at` is its first quarter. */
static void make_wall(maze *m, const int at[3], int axis, uint64_t *random) {
  double kind = chance(random);
  int quarter = kind < 0.35 ? -1 : kind < 0.85 ? (int)(4 * chance(random)) : 4;
  for (int q = 0; q < 4; q++) {
    int cell[3] = {at[0], at[1], at[2]};
    cell[(axis + 1) % 3] += q & 1;
    cell[(axis + 2) % 3] += q >> 1;
    m->solid[cell[2]][cell[1]][cell[0]] = quarter == 4 || quarter == q;
  }
}

static void make_maze(maze *m, uint64_t random) {
  *m = (maze){.solid = {{{0}}}};
  for (int a = 0; a < 3; a++)
    for (int l = 0; l < LAYERS; l++)
      m->line[a][l + 1] = m->line[a][l] + cube_mm * (is_wall(l) ? 0.05 + 0.9 * chance(&random)
                                                                : 3 + 3 * chance(&random));
  int at[3];
  for (at[2] = 0; at[2] < LAYERS; at[2]++)
    for (at[1] = 0; at[1] < LAYERS; at[1]++)
      for (at[0] = 0; at[0] < LAYERS; at[0]++) {
        int walls = 0, firsts = 0, axis = 0;
        for (int a = 0; a < 3; a++) {
          walls += is_wall(at[a]);
          firsts += at[a] % 3 == 0;
          if (is_wall(at[a])) axis = a;
        }
        if (walls == 0) m->solid[at[2]][at[1]][at[0]] = 1;
        if (walls == 1 && firsts == 2) make_wall(m, at, axis, &random);
      }
}

/* -- the oracle -- */

typedef struct place {
  double height, cut_off; /* -INFINITY: its part's highest */
} place;

typedef struct join {
  double height;
  int a, b;
} join;

/* Highest corner of the box from node `lo` to node `hi`. */
static double highest(const maze *m, const int lo[3], const int hi[3], const double up[3]) {
  double height = 0;
  for (int a = 0; a < 3; a++) height += fmax(up[a] * m->line[a][lo[a]], up[a] * m->line[a][hi[a]]);
  return height;
}

static int by_height(const void *left, const void *right) {
  double a = ((const join *)left)->height, b = ((const join *)right)->height;
  return (a < b) - (a > b);
}

static int root(int *parent, int i) {
  while (parent[i] != i) i = parent[i] = parent[parent[i]];
  return i;
}

/* Every box's height, and the joins between neighbours. */
static size_t heights_and_joins(const maze *m, const double up[3], double *height, join *joins) {
  size_t count = 0;
  for (int i = 0; i < BOXES; i++) {
    const int at[3] = {i % LAYERS, i / LAYERS % LAYERS, i / LAYERS / LAYERS};
    const int step[3] = {1, LAYERS, LAYERS * LAYERS};
    const int end[3] = {at[0] + 1, at[1] + 1, at[2] + 1};
    height[i] = highest(m, at, end, up);
    for (int a = 0; a < 3; a++) {
      if (end[a] == LAYERS || !(&m->solid[0][0][0])[i] || !(&m->solid[0][0][0])[i + step[a]])
        continue;
      int lo[3] = {at[0], at[1], at[2]};
      lo[a]++;
      joins[count++] = (join){highest(m, lo, end, up), i, i + step[a]};
    }
  }
  qsort(joins, count, sizeof *joins, by_height);
  return count;
}

/* All peaks that stand above `floor`, in no order. */
static size_t exact_peaks(const maze *m, const double up[3], double floor, place *found) {
  static double height[BOXES];
  static join joins[JOINS];
  static int parent[BOXES];
  size_t joined = heights_and_joins(m, up, height, joins), count = 0;
  for (int i = 0; i < BOXES; i++) parent[i] = i;
  for (size_t j = 0; j < joined; j++) {
    int a = root(parent, joins[j].a), b = root(parent, joins[j].b);
    if (a == b) continue;
    int lower = height[a] < height[b] ? a : b, higher = a + b - lower;
    if (height[lower] - joins[j].height > floor)
      found[count++] = (place){height[lower], joins[j].height};
    parent[lower] = higher;
  }
  for (int i = 0; i < BOXES; i++)
    if ((&m->solid[0][0][0])[i] && parent[i] == i) found[count++] = (place){height[i], -INFINITY};
  return count;
}

/* -- the comparison -- */

/* A nearly level top is given by its middle, at most half a degree or 0.25 mm under its highest. */
static const double top_mm = 0.4;

/* Takes the peak nearest in height, with its cut-off within `near`, out of `list`. */
static bool take(place *list, size_t count, place want, double near) {
  double best = top_mm;
  place *nearest = NULL;
  for (size_t i = 0; i < count; i++) {
    double away = fabs(list[i].height - want.height);
    bool same_cut = list[i].cut_off == want.cut_off || fabs(list[i].cut_off - want.cut_off) <= near;
    if (away <= best && same_cut) best = away, nearest = &list[i];
  }
  if (nearest) nearest->height = NAN;
  return nearest != NULL;
}

static size_t found_peaks(const ul_heights *heights, const double up[3], place *found) {
  ul_peaks_opts opts = ul_peaks_opts_default();
  opts.void_ok_mm3 = 0;
  ul_error err = {0};
  ul_peaks *peaks = NULL;
  assert_ok(ul_peaks_find(heights, up, &opts, &peaks, &err), &err);
  size_t count = peaks->count;
  assert_true(count <= BOXES);
  for (size_t p = 0; p < count; p++) {
    double cut_off = peaks->peak[p].cut_off_mm;
    found[p] = (place){peaks->peak[p].height_mm, isnan(cut_off) ? -INFINITY : cut_off};
  }
  ul_peaks_free(peaks);
  return count;
}

/* Each peak that stands clear above its cut-off, on either side, is on the other side too. */
static size_t check_attitude(const maze *m, const ul_heights *heights, const double up[3],
                             uint64_t number, double askew) {
  static place exact[BOXES], ours[BOXES], exact_left[BOXES], ours_left[BOXES];
  double turned[3] = {up[0], up[1], up[2]};
  shape_turn(turned, 0, askew);
  shape_turn(turned, 2, askew / 2);
  double reach = cube_mm * (fabs(turned[0]) + fabs(turned[1]) + fabs(turned[2]));
  size_t all = exact_peaks(m, up, 1e-9, exact), count = found_peaks(heights, turned, ours),
         tall = 0;
  for (size_t i = 0; i < all; i++) exact_left[i] = exact[i];
  for (size_t i = 0; i < count; i++) ours_left[i] = ours[i];
  bool same = true;
  for (size_t i = 0; i < all; i++) {
    if (exact[i].height - exact[i].cut_off <= 2 * reach) continue;
    tall++;
    if (take(ours_left, count, exact[i], reach)) continue;
    print_error("maze %d: missing: %.6f cut off at %.6f\n", (int)number, exact[i].height,
                exact[i].cut_off);
    same = false;
  }
  for (size_t i = 0; i < count; i++)
    if (ours[i].height - ours[i].cut_off > 2 * reach && !take(exact_left, all, ours[i], reach)) {
      print_error("maze %d: not there: %.6f cut off at %.6f\n", (int)number, ours[i].height,
                  ours[i].cut_off);
      same = false;
    }
  if (!same) print_error("  up %.17g %.17g %.17g\n", up[0], up[1], up[2]);
  assert_true(same);
  return tall;
}

static void a_direction(uint64_t *random, double up[3]) {
  double z = 2 * chance(random) - 1, turn = 2 * M_PI * chance(random);
  up[0] = sqrt(1 - z * z) * cos(turn);
  up[1] = sqrt(1 - z * z) * sin(turn);
  up[2] = z;
}

/* The maze stands askew in the lattice by `askew` degrees about x and half that about z. */
static void check_maze(uint64_t number, int attitudes, double askew) {
  static maze m;
  uint64_t random = number;
  make_maze(&m, number);
  ul_mesh *mesh =
      shape_cells(m.line[0], LAYERS, m.line[1], LAYERS, m.line[2], LAYERS, &m.solid[0][0][0]);
  shape_rotate(mesh, 0, askew);
  shape_rotate(mesh, 2, askew / 2);
  ul_solid *solid = shape_solid(mesh);
  double box_mm[2][3];
  ul_mesh_box_mm(solid->mesh, box_mm);
  ul_lattice lattice;
  ul_columns *columns = NULL;
  ul_heights *heights = NULL;
  ul_error err = {0};
  assert_ok(ul_lattice_for_box((const double(*)[3])box_mm, cube_mm, &lattice, &err), &err);
  assert_ok(ul_columns_build(solid, NULL, 0, &lattice, NULL, &columns, &err), &err);
  assert_ok(ul_heights_new(solid, columns, NULL, &heights, &err), &err);
  size_t tall = 0;
  for (int a = 0; a < attitudes; a++) {
    double up[3];
    a_direction(&random, up);
    tall += check_attitude(&m, heights, up, number, askew);
  }
  assert_true(tall >= (size_t)attitudes);
  ul_heights_free(heights);
  ul_columns_free(columns);
  ul_solid_free(solid);
}

static void peaks_of_mazes_are_exact(void **state) {
  (void)state;
  for (uint64_t number = 1; number <= 30; number++) check_maze(number, 20, 0);
}

static void peaks_of_mazes_askew_in_the_lattice_are_exact(void **state) {
  (void)state;
  for (uint64_t number = 31; number <= 60; number++)
    check_maze(number, 20, 7.0 * (double)(number % 9));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(peaks_of_mazes_are_exact),
      cmocka_unit_test(peaks_of_mazes_askew_in_the_lattice_are_exact)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
