#include "ullage/level.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"
#include "rise/cubes.h"
#include "rise/flood.h"
#include "rise/floor.h"

/* A pocket is decided backwards. Taken in the reverse of the filling order, cubes join into the
 * regions of air that were still empty when they filled; one that joins an unvented region to the
 * rest, or to a vent, is the one that cut it off. Leaving pockets empty changes nothing for the
 * other cubes, because a pocket touches only liquid and wall. */

enum { NOBODY = -1 };

typedef struct {
  ul_cubes *cubes;
  double *height;
  uint32_t *order; /* of all cavities, one after another */
  size_t filled_count;
  uint8_t *vent;    /* per cube: air leaves here */
  uint8_t *emptied; /* per cube: counted as still empty, in the backward pass */
  int32_t *root;    /* union-find over cubes */
  int32_t *ring;    /* the members of a region as a ring */
  uint8_t *vented;  /* per region, at its root */
  double shallow;   /* no pocket when the climb above its cut-off is less, mm */
  double *top;      /* per region, at its root: height of its highest cube */
  int32_t *cut_by;  /* per cube of a pocket: the cube that cut it off, or NOBODY when it was cut off
                       before anything filled */
  uint8_t *trapped; /* per cube */
} pass;

static void pass_free(pass *p) {
  ul_cubes_free(p->cubes);
  free(p->height);
  free(p->order);
  free(p->vent);
  free(p->emptied);
  free(p->root);
  free(p->ring);
  free(p->vented);
  free(p->top);
  free(p->cut_by);
  free(p->trapped);
}

static ul_status pass_new(pass *p, const ul_grid *grid, const ul_columns *columns,
                          const double up[3], ul_error *err) {
  *p = (pass){0};
  ul_status status = ul_cubes_new(grid, columns, &p->cubes, err);
  if (status != UL_OK) return status;
  /* A cube's extent along up, a hair less so that a layer of cubes one high is a pocket. */
  p->shallow = 0.999 * grid->lattice.cube_mm * (fabs(up[0]) + fabs(up[1]) + fabs(up[2]));
  size_t n = p->cubes->count;
  p->height = ul_cube_heights(p->cubes, up);
  p->order = ul_new_raw(n, sizeof *p->order);
  p->vent = ul_new(n, 1);
  p->emptied = ul_new(n, 1);
  p->root = ul_new_raw(n, sizeof *p->root);
  p->ring = ul_new_raw(n, sizeof *p->ring);
  p->vented = ul_new(n, 1);
  p->top = ul_new_raw(n, sizeof *p->top);
  p->cut_by = ul_new_raw(n, sizeof *p->cut_by);
  p->trapped = ul_new(n, 1);
  bool all = p->height && p->order && p->vent && p->emptied && p->root && p->ring && p->vented &&
             p->top && p->cut_by && p->trapped;
  return all ? UL_OK : ul_fail_memory(err);
}

/* ---- pour and vents ---- */

/* Per cavity the lowest (sign -1) or highest (+1) cube; the lowest number among equals. */
static void extreme_cubes(const pass *p, double sign, size_t *cube) {
  for (size_t v = 0; v < p->cubes->cavity_count; v++) cube[v] = SIZE_MAX;
  for (size_t i = 0; i < p->cubes->count; i++) {
    size_t *best = &cube[ul_cube_cavity(p->cubes, i)];
    if (*best == SIZE_MAX || sign * p->height[i] > sign * p->height[*best]) *best = i;
  }
}

static ul_status place_pours(const pass *p, const double up[3], const double (*pour_mm)[3],
                             size_t *pour, ul_error *err) {
  extreme_cubes(p, -1, pour);
  for (size_t v = 0; v < p->cubes->cavity_count; v++) {
    if (!pour_mm || isnan(pour_mm[v][0])) {
      ul_status status = ul_floor_middle(p->cubes, up, pour[v], &pour[v], err);
      if (status != UL_OK) return status;
      continue;
    }
    ul_status status = ul_cubes_find(p->cubes, pour_mm[v], "pour", &pour[v], err);
    if (status != UL_OK) return status;
    if (ul_cube_cavity(p->cubes, pour[v]) != v)
      return ul_fail_at(err, UL_E_OUTSIDE, pour_mm[v], -1,
                        "pour at %.1f, %.1f, %.1f mm is in cavity %u, not in cavity %zu: give one "
                        "pour a cavity, in order",
                        pour_mm[v][0], pour_mm[v][1], pour_mm[v][2],
                        ul_cube_cavity(p->cubes, pour[v]) + 1, v + 1);
  }
  return UL_OK;
}

/* `cube` is scratch. */
static ul_status place_vents(pass *p, const ul_vent_at *vent, size_t count, ul_unvented unvented,
                             size_t *cube, ul_error *err) {
  extreme_cubes(p, 1, cube);
  for (size_t i = 0; i < count; i++) {
    char name[40];
    size_t at;
    snprintf(name, sizeof name, "vent %zu", i + 1);
    ul_status status = ul_cubes_find(p->cubes, vent[i].at_mm, name, &at, err);
    if (status != UL_OK) return status;
    p->vent[at] = 1;
    cube[ul_cube_cavity(p->cubes, at)] = SIZE_MAX;
  }
  for (size_t v = 0; unvented == UL_UNVENTED_OPEN && v < p->cubes->cavity_count; v++)
    if (cube[v] != SIZE_MAX) p->vent[cube[v]] = 1;
  return UL_OK;
}

static ul_status flood_all(pass *p, const size_t *pour, ul_error *err) {
  for (size_t v = 0; v < p->cubes->cavity_count; v++) {
    size_t reached;
    ul_status status =
        ul_flood_order(p->cubes, p->height, pour[v], p->order + p->filled_count, &reached, err);
    if (status != UL_OK) return status;
    p->filled_count += reached;
  }
  return UL_OK;
}

/* ---- the backward pass ---- */

static int32_t find(pass *p, int32_t i) {
  while (p->root[i] != i) i = p->root[i] = p->root[p->root[i]];
  return i;
}

static void cut_off(pass *p, int32_t region, int32_t by) {
  int32_t i = region;
  do {
    p->trapped[i] = 1;
    p->cut_by[i] = by;
    i = p->ring[i];
  } while (i != region);
}

/* A region that ends here without a vent is a pocket, unless it is so shallow that it may be no
 * more than the stair steps of a slanting wall: its air leaves with the rest. */
static void settle(pass *p, int32_t region, int32_t by) {
  if (p->top[region] - p->height[by] >= p->shallow) cut_off(p, region, by);
}

/* Joins the region of `other` to that of `cube`, the one just emptied. */
static void join(pass *p, int32_t cube, int32_t other) {
  int32_t a = find(p, cube), b = find(p, other);
  if (a == b) return;
  if (p->vented[a] && !p->vented[b]) settle(p, b, cube);
  int32_t root = a < b ? a : b;
  p->root[a] = p->root[b] = root;
  p->vented[root] = p->vented[a];
  p->top[root] = fmax(p->top[a], p->top[b]);
  int32_t after = p->ring[a];
  p->ring[a] = p->ring[b];
  p->ring[b] = after;
}

/* The emptied neighbours of a cube; of one with none beside it, those across edges and corners. */
static int emptied_near(const pass *p, int32_t cube, int32_t near[UL_CORNERS]) {
  int count = 0;
  for (int s = 0; s < UL_SIDES; s++) {
    int32_t other = p->cubes->next[cube][s];
    if (other != UL_NO_CUBE && p->emptied[other]) near[count++] = other;
  }
  if (count) return count;
  int corners = ul_cube_corners(p->cubes, (size_t)cube, near);
  for (int i = 0; i < corners; i++)
    if (p->emptied[near[i]]) near[count++] = near[i];
  return count;
}

static void empty(pass *p, int32_t cube) {
  int32_t near[UL_CORNERS];
  int count = emptied_near(p, cube, near);
  p->emptied[cube] = 1;
  p->root[cube] = p->ring[cube] = cube;
  p->top[cube] = p->height[cube];
  p->vented[cube] = p->vent[cube];
  for (int i = 0; i < count; i++) p->vented[cube] |= p->vented[find(p, near[i])];
  for (int i = 0; i < count; i++) join(p, cube, near[i]);
}

static void find_pockets(pass *p) {
  for (size_t i = p->filled_count; i-- > 0;) empty(p, (int32_t)p->order[i]);
  for (size_t i = 0; i < p->cubes->count; i++) {
    if (!p->emptied[i]) { /* no way from the pour */
      p->trapped[i] = 1;
      p->cut_by[i] = NOBODY;
    } else if (!p->vented[find(p, (int32_t)i)] && !p->trapped[i]) {
      cut_off(p, (int32_t)i, NOBODY);
    }
  }
}

/* ---- results ---- */

static void fill_up(const pass *p, ul_level *out) {
  const ul_cubes *c = p->cubes;
  for (size_t i = 0; i < c->grid->cube_count; i++) out->arrival[i] = NAN;
  for (size_t i = 0; i < c->count; i++) out->arrival[c->at[i]] = 2;
  for (size_t i = 0; i < p->filled_count; i++) {
    uint32_t cube = p->order[i];
    if (p->trapped[cube]) continue;
    uint32_t v = ul_cube_cavity(c, cube);
    double share = c->volume_mm3[cube] / c->cavity_mm3[v];
    out->arrival[c->at[cube]] = (float)(out->filled[v] + share / 2);
    out->filled[v] += share;
    ul_cube_centre_mm(c, cube, out->last_mm[v]);
  }
  for (size_t v = 0; v < c->cavity_count; v++) out->filled[v] = fmin(1, out->filled[v]);
  ul_cubes_share(c, out->arrival);
}

/* Collects into `member` the pocket around `seed` and marks it taken. */
static size_t pocket_of(const pass *p, uint8_t *taken, uint32_t seed, uint32_t *member) {
  size_t count = 0;
  taken[seed] = 1;
  member[count++] = seed;
  for (size_t i = 0; i < count; i++) {
    const int32_t *next = p->cubes->next[member[i]];
    int32_t near[UL_SIDES + UL_CORNERS];
    int n = ul_cube_corners(p->cubes, member[i], near);
    for (int s = 0; s < UL_SIDES; s++)
      if (next[s] != UL_NO_CUBE) near[n++] = next[s];
    for (int k = 0; k < n; k++) {
      if (taken[near[k]] || !p->trapped[near[k]]) continue;
      taken[near[k]] = 1;
      member[count++] = (uint32_t)near[k];
    }
  }
  return count;
}

static void describe(const pass *p, const ul_level *level, const double up[3],
                     const uint32_t *member, size_t count, ul_void *out) {
  const ul_cubes *c = p->cubes;
  *out = (ul_void){.cavity = ul_cube_cavity(c, member[0])};
  for (size_t i = 0; i < count; i++) out->air_mm3 += c->volume_mm3[member[i]];
  out->void_mm3 = out->air_mm3;
  out->across_mm = ul_cubes_across_mm(c, member, count);
  ul_cubes_highest_mm(c, member, count, up, out->at_mm);
  int32_t by = p->cut_by[member[0]];
  if (by == NOBODY) return;
  double half = c->volume_mm3[by] / c->cavity_mm3[out->cavity] / 2;
  out->cut_off_fraction = (double)level->arrival[c->at[by]] + half;
}

static int larger_first(const void *a, const void *b) {
  const ul_void *x = a, *y = b;
  if (x->air_mm3 != y->air_mm3) return x->air_mm3 < y->air_mm3 ? 1 : -1;
  return memcmp(x->at_mm, y->at_mm, sizeof x->at_mm);
}

static ul_status collect_voids(const pass *p, const double up[3], ul_level *out, ul_error *err) {
  size_t room = 0;
  uint8_t *taken = ul_new(p->cubes->count, 1);
  uint32_t *member = ul_new_raw(p->cubes->count, sizeof *member);
  ul_status status = taken && member ? UL_OK : ul_fail_memory(err);
  for (uint32_t i = 0; status == UL_OK && i < p->cubes->count; i++) {
    if (!p->trapped[i] || taken[i]) continue;
    size_t count = pocket_of(p, taken, i, member);
    if (ul_grow((void **)&out->voids, &room, out->void_count + 1, sizeof *out->voids))
      describe(p, out, up, member, count, &out->voids[out->void_count++]);
    else
      status = ul_fail_memory(err);
  }
  if (out->void_count) qsort(out->voids, out->void_count, sizeof *out->voids, larger_first);
  free(taken);
  free(member);
  return status;
}

static ul_status level_new(const ul_cubes *c, ul_level **out, ul_error *err) {
  ul_level *level = *out = ul_new(1, sizeof *level);
  if (!level) return ul_fail_memory(err);
  level->arrival = ul_new_raw(c->grid->cube_count, sizeof *level->arrival);
  level->filled = ul_new(c->cavity_count, sizeof *level->filled);
  level->last_mm = ul_new(c->cavity_count, sizeof *level->last_mm);
  level->pour_mm = ul_new(c->cavity_count, sizeof *level->pour_mm);
  bool all = level->arrival && level->filled && level->last_mm && level->pour_mm;
  return all ? UL_OK : ul_fail_memory(err);
}

static void say_pours(const pass *p, const double up[3], const double (*pour_mm)[3],
                      const size_t *pour, ul_level *out) {
  const double down[3] = {-up[0], -up[1], -up[2]};
  for (size_t v = 0; v < p->cubes->cavity_count; v++) {
    if (pour_mm && !isnan(pour_mm[v][0]))
      ul_copy3(pour_mm[v], out->pour_mm[v]);
    else
      ul_cube_extreme_mm(p->cubes, pour[v], down, out->pour_mm[v]);
  }
}

static ul_status rise(pass *p, const double up[3], const double (*pour_mm)[3],
                      const ul_vent_at *vent, size_t vent_count, ul_unvented unvented,
                      const ul_job *job, ul_level **out, ul_error *err) {
  size_t *pour = ul_new(2 * p->cubes->cavity_count, sizeof *pour);
  if (!pour) return ul_fail_memory(err);
  ul_status status = place_pours(p, up, pour_mm, pour, err);
  if (status == UL_OK)
    status = place_vents(p, vent, vent_count, unvented, pour + p->cubes->cavity_count, err);
  if (status == UL_OK) status = flood_all(p, pour, err);
  if (status == UL_OK && !ul_job_tell(job, "level rise", 0.5))
    status = ul_fail(err, UL_E_STOPPED, "%s", ul_status_text(UL_E_STOPPED));
  if (status == UL_OK) status = level_new(p->cubes, out, err);
  if (status == UL_OK) {
    find_pockets(p);
    fill_up(p, *out);
    say_pours(p, up, pour_mm, pour, *out);
    status = collect_voids(p, up, *out, err);
  }
  free(pour);
  return status;
}

ul_status ul_level_rise(const ul_grid *grid, const ul_columns *columns, const double up[3],
                        const double (*pour_mm)[3], const ul_vent_at *vent, size_t vent_count,
                        ul_unvented unvented, const ul_job *job, ul_level **out, ul_error *err) {
  *out = NULL;
  double length = ul_norm(up);
  if (!(length > 0) || !isfinite(length))
    return ul_fail(err, UL_E_USAGE, "up has no length: give a direction");
  const double unit[3] = {up[0] / length, up[1] / length, up[2] / length};
  pass p;
  ul_status status = pass_new(&p, grid, columns, unit, err);
  if (status == UL_OK) status = rise(&p, unit, pour_mm, vent, vent_count, unvented, job, out, err);
  pass_free(&p);
  if (status != UL_OK) {
    ul_level_free(*out);
    *out = NULL;
  }
  return status;
}

void ul_level_free(ul_level *level) {
  if (!level) return;
  free(level->arrival);
  free(level->voids);
  free(level->filled);
  free(level->last_mm);
  free(level->pour_mm);
  free(level);
}
