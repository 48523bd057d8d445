#include "rise/cubes.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "rise/crumbs.h"

/* ---- numbering ---- */

static size_t count_cavities(const ul_grid *grid) {
  size_t most = 0;
  for (size_t i = 0; i < grid->cube_count; i++)
    if (grid->inside[i] && grid->cavity[i] >= most) most = (size_t)grid->cavity[i] + 1;
  return most;
}

static bool allocate(ul_cubes *c) {
  c->at = ul_new_raw(c->count, sizeof *c->at);
  c->volume_mm3 = ul_new(c->count, sizeof *c->volume_mm3);
  c->next = ul_new_raw(c->count, sizeof *c->next);
  c->of_lattice = ul_new_raw(c->grid->cube_count, sizeof *c->of_lattice);
  c->cavity_mm3 = ul_new(c->cavity_count, sizeof *c->cavity_mm3);
  return c->at && c->volume_mm3 && c->next && c->of_lattice && c->cavity_mm3;
}

static void number(ul_cubes *c) {
  int32_t n = 0;
  for (size_t i = 0; i < c->grid->cube_count; i++) {
    c->of_lattice[i] = c->grid->inside[i] ? n : UL_NO_CUBE;
    if (c->grid->inside[i]) c->at[n++] = (uint32_t)i;
  }
}

/* ---- neighbours ---- */

/* Where two cavities touch, one run may go through both: the wall between them is thin as paper,
 * but it is one. */
static void join(ul_cubes *c, int axis, size_t low, size_t high) {
  int32_t a = c->of_lattice[low], b = c->of_lattice[high];
  if (a == UL_NO_CUBE || b == UL_NO_CUBE || c->grid->cavity[low] != c->grid->cavity[high]) return;
  c->next[a][2 * axis + 1] = b;
  c->next[b][2 * axis] = a;
}

/* Without columns: whatever lies side by side meets. */
static void join_all(ul_cubes *c) {
  const ul_lattice *l = &c->grid->lattice;
  const size_t stride[3] = {1, (size_t)l->n[0], (size_t)l->n[0] * (size_t)l->n[1]};
  for (size_t i = 0; i < c->count; i++) {
    int32_t ijk[3];
    ul_lattice_place(l, c->at[i], ijk);
    for (int axis = 0; axis < 3; axis++)
      if (ijk[axis] + 1 < l->n[axis]) join(c, axis, c->at[i], c->at[i] + stride[axis]);
  }
}

/* Of a cube: by so little a centre in the wall may lie beyond the end of one ray's run, while that
 * of another holds it. */
static const double IN_THE_WALL = 1e-6;

/* Two neighbours meet when one run holds both centres: a rib thinner than a cube parts them. */
static void join_run(ul_cubes *c, int axis, size_t ray, const ul_run *run) {
  const ul_lattice *l = &c->grid->lattice;
  const int u = (axis + 1) % 3, v = (axis + 2) % 3;
  int32_t ijk[3];
  ijk[u] = (int32_t)(ray % (size_t)l->n[u]);
  ijk[v] = (int32_t)(ray / (size_t)l->n[u]);
  double first = ceil((run->lo - l->origin_mm[axis]) / l->cube_mm - 0.5 - IN_THE_WALL);
  double last = floor((run->hi - l->origin_mm[axis]) / l->cube_mm - 0.5 + IN_THE_WALL);
  int32_t from = first < 0 ? 0 : (int32_t)first;
  int32_t to = last > l->n[axis] - 1 ? l->n[axis] - 1 : (int32_t)last;
  for (int32_t i = from; i < to; i++) {
    ijk[axis] = i;
    size_t low = ul_lattice_cube(l, ijk);
    ijk[axis] = i + 1;
    join(c, axis, low, ul_lattice_cube(l, ijk));
  }
}

static void join_along_runs(ul_cubes *c) {
  for (int axis = 0; axis < 3; axis++) {
    const ul_bundle *b = &c->columns->bundle[axis];
    for (size_t ray = 0; ray < b->ray_count; ray++)
      for (uint32_t r = b->first[ray]; r < b->first[ray + 1]; r++)
        join_run(c, axis, ray, &b->run[r]);
  }
}

/* ---- volumes ---- */

/* The cube that shall stand for lattice cube i: of its neighbours within `reach` steps along axes
 * that are taken care of already, the fullest; the lowest number among equals. */
static int32_t adopter(const ul_cubes *c, size_t i, int reach) {
  const ul_lattice *l = &c->grid->lattice;
  int32_t ijk[3], best = UL_NO_CUBE;
  ul_lattice_place(l, i, ijk);
  float fullest = -1;
  for (int step = 0; step < 27; step++) {
    const int d[3] = {step % 3 - 1, step / 3 % 3 - 1, step / 9 - 1};
    if (abs(d[0]) + abs(d[1]) + abs(d[2]) > reach) continue;
    int32_t to[3] = {ijk[0] + d[0], ijk[1] + d[1], ijk[2] + d[2]};
    if (to[0] < 0 || to[1] < 0 || to[2] < 0) continue;
    if (to[0] >= l->n[0] || to[1] >= l->n[1] || to[2] >= l->n[2]) continue;
    size_t n = ul_lattice_cube(l, to);
    if (c->of_lattice[n] == UL_NO_CUBE || c->grid->fill[n] <= fullest) continue;
    if (c->grid->inside[i] && c->grid->cavity[i] != ul_cube_cavity(c, (size_t)c->of_lattice[n]))
      continue;
    fullest = c->grid->fill[n];
    best = c->of_lattice[n];
  }
  return best;
}

/* Has no cube to stand for it yet, and something in it. */
static bool is_orphan(const ul_cubes *c, size_t i) {
  return c->of_lattice[i] == UL_NO_CUBE && c->grid->fill[i] > 0;
}

typedef struct {
  size_t count;
  uint32_t *lattice; /* the cubes that nobody stands for */
  int32_t *by;
} orphans;

/* One round of adoption by neighbours; true when some found a home. All look before any moves in,
 * so the outcome does not depend on their order. */
static bool adopt(ul_cubes *c, orphans *o, int reach) {
  for (size_t i = 0; i < o->count; i++) o->by[i] = adopter(c, o->lattice[i], reach);
  size_t left = 0;
  for (size_t i = 0; i < o->count; i++) {
    if (o->by[i] != UL_NO_CUBE)
      c->of_lattice[o->lattice[i]] = o->by[i];
    else
      o->lattice[left++] = o->lattice[i];
  }
  bool some = left < o->count;
  o->count = left;
  return some;
}

static ul_status adopt_partial_cubes(ul_cubes *c, ul_error *err) {
  orphans o = {0};
  for (size_t i = 0; i < c->grid->cube_count; i++) o.count += is_orphan(c, i);
  o.lattice = ul_new_raw(o.count, sizeof *o.lattice);
  o.by = ul_new_raw(o.count, sizeof *o.by);
  if (o.lattice && o.by) {
    o.count = 0;
    for (size_t i = 0; i < c->grid->cube_count; i++)
      if (is_orphan(c, i)) o.lattice[o.count++] = (uint32_t)i;
    while (o.count && (adopt(c, &o, 1) || adopt(c, &o, 3))) {
    }
  }
  bool done = o.lattice && o.by;
  free(o.lattice);
  free(o.by);
  return done ? UL_OK : ul_fail_memory(err);
}

/* ---- crumbs ---- */

/* Numbers the others anew. */
static void drop(ul_cubes *c, const uint8_t *crumb) {
  size_t kept = 0;
  for (size_t i = 0; i < c->count; i++)
    c->of_lattice[c->at[i]] = crumb[i] ? UL_NO_CUBE : (int32_t)kept++;
  for (size_t i = 0; i < c->count; i++) {
    const int32_t now = c->of_lattice[c->at[i]];
    if (now == UL_NO_CUBE) continue;
    for (int s = 0; s < UL_SIDES; s++) {
      const int32_t next = c->next[i][s];
      c->next[now][s] = next == UL_NO_CUBE ? next : c->of_lattice[c->at[next]];
    }
  }
  for (size_t i = 0; i < c->count; i++)
    if (!crumb[i]) c->at[c->of_lattice[c->at[i]]] = c->at[i];
  c->count = kept;
}

/* Others stand for them, as for what is partly filled. */
static ul_status drop_crumbs(ul_cubes *c, ul_error *err) {
  uint8_t *crumb = ul_new(c->count, 1);
  size_t count = 0;
  ul_status status = crumb ? ul_crumbs_find(c, crumb, &count, err) : ul_fail_memory(err);
  if (status == UL_OK && count) drop(c, crumb);
  free(crumb);
  return status;
}

void ul_cubes_share(const ul_cubes *c, void *per_lattice_cube) {
  uint32_t *value = per_lattice_cube; /* or what else has four bytes: they are only copied */
  for (size_t i = 0; i < c->grid->cube_count; i++) {
    if (!c->grid->inside[i] || c->of_lattice[i] == UL_NO_CUBE) continue;
    memcpy(&value[i], &value[c->at[c->of_lattice[i]]], sizeof *value);
  }
}

static ul_status measure(ul_cubes *c, ul_error *err) {
  const double cube_mm3 = pow(c->grid->lattice.cube_mm, 3);
  for (size_t i = 0; i < c->grid->cube_count; i++)
    if (c->of_lattice[i] != UL_NO_CUBE)
      c->volume_mm3[c->of_lattice[i]] += (double)c->grid->fill[i] * cube_mm3;
  for (size_t i = 0; i < c->count; i++) c->cavity_mm3[ul_cube_cavity(c, i)] += c->volume_mm3[i];
  for (size_t i = 0; i < c->cavity_count; i++) {
    char name[40] = "the cavity"; /* one taken alone has another number in its file */
    if (c->cavity_count > 1) snprintf(name, sizeof name, "cavity %zu", i + 1);
    if (c->cavity_mm3[i] <= 0)
      return ul_fail(err, UL_E_THIN, "%s holds no cube of %.3g mm: use a smaller --cube", name,
                     c->grid->lattice.cube_mm);
  }
  return UL_OK;
}

ul_status ul_cubes_new(const ul_grid *grid, const ul_columns *columns, ul_cubes **out,
                       ul_error *err) {
  *out = NULL;
  if (!grid->inside_count || grid->inside_count > INT32_MAX)
    return ul_fail(err, grid->inside_count ? UL_E_LIMIT : UL_E_THIN,
                   "the cavity holds %zu cubes of %.3g mm: use a %s --cube", grid->inside_count,
                   grid->lattice.cube_mm, grid->inside_count ? "larger" : "smaller");
  ul_cubes *c = ul_new(1, sizeof *c);
  if (!c) return ul_fail_memory(err);
  *c = (ul_cubes){.grid = grid, .columns = columns, .count = grid->inside_count};
  c->cavity_count = count_cavities(grid);
  if (!allocate(c)) {
    ul_cubes_free(c);
    return ul_fail_memory(err);
  }
  number(c);
  memset(c->next, 0xff, c->count * sizeof *c->next); /* UL_NO_CUBE on every side */
  if (columns)
    join_along_runs(c);
  else
    join_all(c);
  ul_status status = drop_crumbs(c, err);
  if (status == UL_OK) status = adopt_partial_cubes(c, err);
  if (status == UL_OK) status = measure(c, err);
  if (status == UL_OK)
    *out = c;
  else
    ul_cubes_free(c);
  return status;
}

static void copy_picked(const ul_cubes *all, uint32_t cavity, ul_cubes *c) {
  int32_t n = 0;
  for (size_t i = 0; i < all->count; i++)
    if (ul_cube_cavity(all, i) == cavity) c->at[n++] = all->at[i];
  for (size_t i = 0; i < c->grid->cube_count; i++) c->of_lattice[i] = UL_NO_CUBE;
  for (size_t i = 0; i < c->count; i++) c->of_lattice[c->at[i]] = (int32_t)i;
  for (size_t i = 0; i < c->count; i++) {
    int32_t old = all->of_lattice[c->at[i]];
    c->volume_mm3[i] = all->volume_mm3[old];
    for (int s = 0; s < UL_SIDES; s++) {
      int32_t next = all->next[old][s];
      c->next[i][s] = next == UL_NO_CUBE ? next : c->of_lattice[all->at[next]];
    }
  }
  for (size_t i = 0; i < c->grid->cube_count; i++) { /* the partly filled ones go along */
    int32_t by = all->of_lattice[i];
    if (by != UL_NO_CUBE) c->of_lattice[i] = c->of_lattice[all->at[by]];
  }
}

ul_status ul_cubes_pick(const ul_cubes *all, uint32_t cavity, ul_cubes **out, ul_error *err) {
  ul_cubes *c = *out = ul_new(1, sizeof *c);
  if (!c) return ul_fail_memory(err);
  *c = (ul_cubes){.grid = all->grid, .columns = all->columns, .cavity_count = all->cavity_count};
  for (size_t i = 0; i < all->count; i++) c->count += ul_cube_cavity(all, i) == cavity;
  if (!allocate(c)) {
    ul_cubes_free(c);
    *out = NULL;
    return ul_fail_memory(err);
  }
  copy_picked(all, cavity, c);
  memcpy(c->cavity_mm3, all->cavity_mm3, c->cavity_count * sizeof *c->cavity_mm3);
  return UL_OK;
}

void ul_cubes_free(ul_cubes *c) {
  if (!c) return;
  free(c->at);
  free(c->volume_mm3);
  free(c->next);
  free(c->of_lattice);
  free(c->cavity_mm3);
  free(c);
}

/* ---- places ---- */

bool ul_lattice_cut(const ul_grid *g, const int32_t ijk[3]) {
  static const float rounding = 1e-3F;
  for (int a = 0; a < 3; a++)
    if (ijk[a] < 0 || ijk[a] >= g->lattice.n[a]) return false;
  const size_t i = ul_lattice_cube(&g->lattice, ijk);
  return !g->inside[i] && g->fill[i] > rounding;
}

void ul_cube_centre_mm(const ul_cubes *c, size_t cube, double out[3]) {
  const ul_lattice *l = &c->grid->lattice;
  int32_t ijk[3];
  ul_lattice_place(l, c->at[cube], ijk);
  for (int a = 0; a < 3; a++) out[a] = l->origin_mm[a] + (ijk[a] + 0.5) * l->cube_mm;
}

/* The run along `axis` through the cube's centre; NULL if its bundle sees none there. */
static const ul_run *run_through(const ul_cubes *c, int axis, const int32_t ijk[3], double centre) {
  const ul_bundle *b = &c->columns->bundle[axis];
  size_t ray = ul_ray(&c->grid->lattice, axis, ijk[(axis + 1) % 3], ijk[(axis + 2) % 3]);
  for (uint32_t r = b->first[ray]; r < b->first[ray + 1]; r++)
    if (b->run[r].lo <= centre && centre <= b->run[r].hi) return &b->run[r];
  return NULL;
}

/* How far the cavity goes from the centre along `axis` in the sense of `sense`: to the wall if one
 * is within a cube, else to the cube's face. */
static double reach_along(const ul_cubes *c, int axis, const int32_t ijk[3], double centre,
                          double sense) {
  const double h = c->grid->lattice.cube_mm;
  const ul_run *run = c->columns ? run_through(c, axis, ijk, centre) : NULL;
  double wall = run ? (sense > 0 ? run->hi : run->lo) - centre : INFINITY;
  return fabs(wall) < h ? wall : copysign(h / 2, sense);
}

void ul_cube_box_mm(const ul_cubes *c, size_t cube, double low[3], double high[3]) {
  double centre[3];
  int32_t ijk[3];
  ul_cube_centre_mm(c, cube, centre);
  ul_lattice_place(&c->grid->lattice, c->at[cube], ijk);
  for (int a = 0; a < 3; a++) {
    low[a] = reach_along(c, a, ijk, centre[a], -1);
    high[a] = reach_along(c, a, ijk, centre[a], 1);
  }
}

void ul_cube_extreme_mm(const ul_cubes *c, size_t cube, const double direction[3], double out[3]) {
  double low[3], high[3], centre[3], best = 0;
  ul_cube_box_mm(c, cube, low, high);
  ul_cube_centre_mm(c, cube, centre);
  ul_copy3(centre, out);
  for (int a = 0; a < 3; a++) {
    const double reach = direction[a] > 0 ? high[a] : low[a];
    if (direction[a] * reach <= best) continue;
    best = direction[a] * reach;
    ul_copy3(centre, out);
    out[a] += reach;
  }
}

void ul_cube_corner_mm(const ul_cubes *c, size_t cube, const double direction[3], double out[3]) {
  static const double rounding = 0.02;
  double low[3], high[3], corner[3], room = 1;
  ul_cube_extreme_mm(c, cube, direction, out);
  ul_cube_box_mm(c, cube, low, high);
  ul_cube_centre_mm(c, cube, corner);
  for (int a = 0; a < 3; a++) {
    room *= high[a] - low[a];
    corner[a] += direction[a] > 0 ? high[a] : direction[a] < 0 ? low[a] : 0;
  }
  if (c->volume_mm3[cube] >= (1 - rounding) * room) ul_copy3(corner, out);
}

double ul_cube_reach_mm(const ul_cubes *c, size_t cube, const double direction[3]) {
  double low[3], high[3], reach = 0;
  ul_cube_box_mm(c, cube, low, high);
  for (int a = 0; a < 3; a++) reach += direction[a] * (direction[a] > 0 ? high[a] : low[a]);
  return reach;
}

void ul_cubes_highest_mm(const ul_cubes *c, const uint32_t *member, size_t count,
                         const double up[3], double out[3]) {
  double highest = -INFINITY;
  for (size_t i = 0; i < count; i++) {
    double top[3];
    ul_cube_extreme_mm(c, member[i], up, top);
    if (ul_dot(up, top) <= highest) continue;
    highest = ul_dot(up, top);
    ul_copy3(top, out);
  }
}

static uint32_t farthest(const ul_cubes *c, const uint32_t *member, size_t count, uint32_t from,
                         double *distance) {
  double a[3], b[3];
  uint32_t best = from;
  *distance = 0;
  ul_cube_centre_mm(c, from, a);
  for (size_t i = 0; i < count; i++) {
    ul_cube_centre_mm(c, member[i], b);
    if (ul_distance(a, b) <= *distance) continue;
    *distance = ul_distance(a, b);
    best = member[i];
  }
  return best;
}

/* From the first to the farthest, and from there to the farthest again: exact for what is long. */
double ul_cubes_across_mm(const ul_cubes *c, const uint32_t *member, size_t count) {
  double across;
  uint32_t end = farthest(c, member, count, member[0], &across);
  farthest(c, member, count, end, &across);
  return across + c->grid->lattice.cube_mm;
}

/* Nearest point of the box of half-width h/2 about `centre`. */
static void clamp_to_box(const double at[3], const double centre[3], double h, double out[3]) {
  for (int a = 0; a < 3; a++) out[a] = fmin(fmax(at[a], centre[a] - h / 2), centre[a] + h / 2);
}

/* How far `at` lies beyond the walls that the rays through the cube's centre meet, as the sum over
 * the axes: behind a rib thinner than a cube its far side is as near as this one. */
static double beyond_walls(const ul_cubes *c, const double at[3], size_t cube) {
  double sum = 0, centre[3];
  int32_t ijk[3];
  ul_cube_centre_mm(c, cube, centre);
  ul_lattice_place(&c->grid->lattice, c->at[cube], ijk);
  for (int a = 0; a < 3; a++) {
    const ul_run *run = run_through(c, a, ijk, centre[a]);
    if (run) sum += fmax(0, fmax(run->lo - at[a], at[a] - run->hi));
  }
  return sum;
}

static void nearest_in_cubes(const ul_cubes *c, const double at[3], size_t *cube, double out[3]) {
  const double h = c->grid->lattice.cube_mm;
  double best = INFINITY;
  for (size_t i = 0; i < c->count; i++) {
    double centre[3], there[3];
    ul_cube_centre_mm(c, i, centre);
    clamp_to_box(at, centre, h, there);
    double d = ul_distance(at, there);
    if (d >= best) continue;
    if (c->columns && d < 2 * h) d += beyond_walls(c, at, i);
    if (d >= best) continue;
    best = d;
    *cube = i;
    ul_copy3(there, out);
  }
}

/* Nearest point of all runs: far closer to the real wall than the cubes' faces. */
static void nearest_on_runs(const ul_cubes *c, const double at[3], double out[3]) {
  const ul_lattice *l = &c->grid->lattice;
  double best = INFINITY;
  for (int a = 0; a < 3; a++) {
    const ul_bundle *b = &c->columns->bundle[a];
    const int u = (a + 1) % 3, v = (a + 2) % 3;
    for (size_t ray = 0; ray < b->ray_count; ray++) {
      double there[3];
      there[u] = l->origin_mm[u] + ((double)(ray % (size_t)l->n[u]) + 0.5) * l->cube_mm;
      there[v] = l->origin_mm[v] + ((double)(ray / (size_t)l->n[u]) + 0.5) * l->cube_mm;
      for (uint32_t r = b->first[ray]; r < b->first[ray + 1]; r++) {
        there[a] = fmin(fmax(at[a], b->run[r].lo), b->run[r].hi);
        if (ul_distance(at, there) >= best) continue;
        best = ul_distance(at, there);
        ul_copy3(there, out);
      }
    }
  }
}

/* The cube of the lattice that holds the point; false outside the lattice. */
static bool lattice_holding(const ul_lattice *l, const double at[3], size_t *held) {
  int32_t ijk[3];
  for (int a = 0; a < 3; a++) {
    double x = floor((at[a] - l->origin_mm[a]) / l->cube_mm);
    if (!(x >= 0 && x < l->n[a])) return false;
    ijk[a] = (int32_t)x;
  }
  *held = ul_lattice_cube(l, ijk);
  return true;
}

/* In the lattice cube of a tip, or just beside it: no ray need come by there. */
static bool in_a_tip(const ul_cubes *c, const double at[3]) {
  static const double rounding = 1e-3;
  const ul_lattice *l = &c->grid->lattice;
  for (int corner = 0; corner < 8; corner++) {
    double near[3];
    size_t held;
    for (int a = 0; a < 3; a++)
      near[a] = at[a] + (corner >> a & 1 ? 1 : -1) * rounding * l->cube_mm;
    if (lattice_holding(l, near, &held) && c->of_lattice[held] != UL_NO_CUBE) return true;
  }
  return false;
}

ul_status ul_cubes_find(const ul_cubes *c, const double at[3], const char *what, size_t *cube,
                        ul_error *err) {
  size_t held;
  const bool holds = lattice_holding(&c->grid->lattice, at, &held) && c->of_lattice[held] >= 0;
  if (holds && c->grid->inside[held]) {
    *cube = (size_t)c->of_lattice[held];
    if (!c->columns || beyond_walls(c, at, *cube) <= 1e-6 * c->grid->lattice.cube_mm) return UL_OK;
  }
  double near[3] = {0};
  nearest_in_cubes(c, at, cube, near);
  if (holds || in_a_tip(c, at)) return UL_OK;
  if (c->columns) nearest_on_runs(c, at, near);
  double d = ul_distance(at, near);
  if (d <= c->grid->lattice.cube_mm) return UL_OK;
  return ul_fail_at(err, UL_E_OUTSIDE, at, -1,
                    "%s at %.1f, %.1f, %.1f mm is outside the cavity, %.1f mm from its nearest "
                    "point %.1f, %.1f, %.1f mm: move it there",
                    what, at[0], at[1], at[2], d, near[0], near[1], near[2]);
}

bool ul_cubes_own(const ul_cubes *c, const double at[3], size_t cube) {
  enum { ROUND = 2 }; /* as far as a point outside may lie from the cubes it belongs to */
  const ul_grid *g = c->grid;
  const ul_lattice *l = &g->lattice;
  const uint32_t cavity = ul_cube_cavity(c, cube);
  double own[3];
  ul_cube_centre_mm(c, cube, own);
  const double far = ul_distance(own, at);
  int32_t lo[3], hi[3];
  for (int a = 0; a < 3; a++) {
    int32_t in = (int32_t)floor((at[a] - l->origin_mm[a]) / l->cube_mm);
    lo[a] = in > ROUND ? in - ROUND : 0;
    hi[a] = in + ROUND < l->n[a] ? in + ROUND : l->n[a] - 1;
  }
  for (int32_t z = lo[2]; z <= hi[2]; z++)
    for (int32_t y = lo[1]; y <= hi[1]; y++)
      for (int32_t x = lo[0]; x <= hi[0]; x++) {
        size_t i = ((size_t)z * (size_t)l->n[1] + (size_t)y) * (size_t)l->n[0] + (size_t)x;
        if (!g->inside[i] || g->cavity[i] == cavity) continue;
        const int32_t k[3] = {x, y, z};
        double centre[3];
        for (int a = 0; a < 3; a++) centre[a] = l->origin_mm[a] + (k[a] + 0.5) * l->cube_mm;
        if (ul_distance(centre, at) < far) return false;
      }
  return true;
}
