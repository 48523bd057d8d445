#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"
#include "cavity/pieces.h"
#include "cavity/wall.h"
#include "ullage/grid.h"

enum { TRIANGLES_PER_BLOCK = 1024, CUBES_PER_SAMPLE = 2 };

static const double FACING = 0.93969262078590838; /* cos 20 degrees */
static const double CONTACT = 1e-3;               /* of a cube */

/* A piece of wall with another close opposite. */
typedef struct {
  double middle[3]; /* between the two */
  double thick, area;
  uint64_t cell; /* of the grid by which samples are grouped */
} sample;

typedef struct {
  sample *item;
  size_t count, room;
} sample_list;

typedef struct {
  const ul_bvh *wall;
  double cube_mm, thin_mm;
  double origin[3]; /* of the grouping cells */
  sample_list *block;
} search;

typedef struct {
  const search *search;
  sample_list *list;
  uint32_t triangle;
} looker;

/* Twice the area as length, pointing out of the cavity. */
static void normal_of(const double p[3][3], double out[3]) {
  double ab[3], ac[3];
  ul_sub(p[1], p[0], ab);
  ul_sub(p[2], p[0], ac);
  ul_cross(ab, ac, out);
}

/* -- grouping cells: 21 bits a coordinate, from 1, so that each has neighbours -- */

static uint64_t cell_of(const search *s, const double at[3]) {
  uint64_t cell = 0;
  for (int c = 2; c >= 0; c--) {
    double x = floor((at[c] - s->origin[c]) / (CUBES_PER_SAMPLE * s->cube_mm)) + 1;
    cell = cell << 21 | (uint64_t)(x < 1 ? 1 : x > 2097150 ? 2097150 : x);
  }
  return cell;
}

/* -- looking -- */

static bool look(void *context, const double p[3][3]) {
  looker *l = context;
  const search *s = l->search;
  double normal[3], at[3], inward[3], facing[3], corner[3][3], t = s->thin_mm;
  normal_of(p, normal);
  double length = ul_norm(normal);
  if (length == 0) return true;
  for (int c = 0; c < 3; c++) {
    at[c] = (p[0][c] + p[1][c] + p[2][c]) / 3;
    inward[c] = -normal[c] / length;
  }
  uint32_t opposite;
  if (!ul_bvh_ray(s->wall, at, inward, CONTACT * s->cube_mm, l->triangle, &t, &opposite))
    return true;
  ul_bvh_triangle(s->wall, opposite, corner);
  normal_of((const double(*)[3])corner, facing);
  if (ul_dot(facing, inward) < FACING * ul_norm(facing)) return true;
  sample_list *list = l->list;
  if (!ul_grow((void **)&list->item, &list->room, list->count + 1, sizeof *list->item))
    return false;
  sample *found = &list->item[list->count++];
  *found = (sample){.thick = t, .area = length / 2};
  ul_add_scaled(at, t / 2, inward, found->middle);
  found->cell = cell_of(s, found->middle);
  return true;
}

static ul_status look_block(void *context, size_t block, int worker) {
  (void)worker;
  const search *s = context;
  size_t begin = block * TRIANGLES_PER_BLOCK, end = begin + TRIANGLES_PER_BLOCK;
  if (end > ul_bvh_count(s->wall)) end = ul_bvh_count(s->wall);
  for (size_t t = begin; t < end; t++) {
    looker l = {s, &s->block[block], (uint32_t)t};
    double corner[3][3];
    ul_bvh_triangle(s->wall, l.triangle, corner);
    if (!ul_cut_triangle((const double(*)[3])corner, CUBES_PER_SAMPLE * s->cube_mm, look, &l))
      return UL_E_MEMORY;
  }
  return UL_OK;
}

/* -- grouping: samples in one cell, or in cells that touch, are one place -- */

/* By cell; within one, thinnest first; the rest only so that the order never depends on qsort. */
static int compare_samples(const void *left, const void *right) {
  const sample *a = left, *b = right;
  if (a->cell != b->cell) return a->cell < b->cell ? -1 : 1;
  if (a->thick != b->thick) return a->thick < b->thick ? -1 : 1;
  for (int c = 0; c < 3; c++)
    if (a->middle[c] != b->middle[c]) return a->middle[c] < b->middle[c] ? -1 : 1;
  return (a->area > b->area) - (a->area < b->area);
}

static ul_status gather(const sample_list *block, size_t blocks, sample **out, size_t *count) {
  *count = 0;
  for (size_t k = 0; k < blocks; k++) *count += block[k].count;
  *out = ul_new_raw(*count, sizeof **out);
  if (!*out) return UL_E_MEMORY;
  size_t n = 0;
  for (size_t k = 0; k < blocks; k++)
    for (size_t i = 0; i < block[k].count; i++) (*out)[n++] = block[k].item[i];
  qsort(*out, n, sizeof **out, compare_samples);
  return UL_OK;
}

/* The first sample of a cell, or SIZE_MAX. */
static size_t find_cell(const sample *s, size_t count, uint64_t cell) {
  size_t lo = 0, hi = count;
  while (lo < hi) {
    size_t middle = lo + (hi - lo) / 2;
    if (s[middle].cell < cell)
      lo = middle + 1;
    else
      hi = middle;
  }
  return lo < count && s[lo].cell == cell ? lo : SIZE_MAX;
}

static size_t root(size_t *up, size_t i) {
  while (up[i] != i) i = up[i] = up[up[i]];
  return i;
}

/* The lower number becomes the root. */
static void join(size_t *up, size_t a, size_t b) {
  a = root(up, a), b = root(up, b);
  if (a < b)
    up[b] = a;
  else
    up[a] = b;
}

static void join_neighbours(const sample *s, size_t count, size_t *up) {
  for (size_t i = 0; i < count; i++) {
    up[i] = i;
    if (i > 0 && s[i].cell == s[i - 1].cell) {
      join(up, i, i - 1);
      continue;
    }
    for (int n = 0; n < 13; n++) { /* the 13 of 26 that come before */
      uint64_t back = (uint64_t)(n / 9) | (uint64_t)(n / 3 % 3) << 21 | (uint64_t)(n % 3) << 42;
      uint64_t one = 1 | (uint64_t)1 << 21 | (uint64_t)1 << 42;
      size_t other = find_cell(s, i, s[i].cell + back - one);
      if (other != SIZE_MAX) join(up, i, other);
    }
  }
}

static int compare_places(const void *left, const void *right) {
  const ul_thin_place *a = left, *b = right;
  if (a->thick_mm != b->thick_mm) return a->thick_mm < b->thick_mm ? -1 : 1;
  for (int c = 0; c < 3; c++)
    if (a->at_mm[c] != b->at_mm[c]) return a->at_mm[c] < b->at_mm[c] ? -1 : 1;
  return 0;
}

/* Each place is seen from both of its walls: half of each sample's area counts. */
static void add_sample(ul_thin_place *place, const sample *s) {
  place->area_mm2 += s->area / 2;
  place->volume_mm3 += s->area * s->thick / 2;
  if (place->thick_mm > 0 && place->thick_mm <= s->thick) return;
  place->thick_mm = s->thick;
  place->needs_cube_mm = s->thick / 4;
  ul_copy3(s->middle, place->at_mm);
}

static ul_status group(const sample *s, size_t samples, ul_thin_place **out, size_t *count) {
  size_t *up = ul_new_raw(samples, sizeof *up), *number = ul_new_raw(samples, sizeof *number);
  *count = 0;
  if (up && number) {
    join_neighbours(s, samples, up);
    for (size_t i = 0; i < samples; i++)
      if (root(up, i) == i) number[i] = (*count)++;
    *out = ul_new(*count, sizeof **out);
  }
  if (*out) {
    for (size_t i = 0; i < samples; i++) add_sample(&(*out)[number[root(up, i)]], &s[i]);
    qsort(*out, *count, sizeof **out, compare_places);
  }
  free(up);
  free(number);
  return *out ? UL_OK : UL_E_MEMORY;
}

static ul_status run_search(search *s, const ul_job *job, ul_thin_place **out, size_t *count) {
  size_t blocks = (ul_bvh_count(s->wall) + TRIANGLES_PER_BLOCK - 1) / TRIANGLES_PER_BLOCK;
  sample *samples = NULL;
  size_t sample_count = 0;
  s->block = ul_new(blocks, sizeof *s->block);
  ul_status status =
      s->block ? ul_parallel(job, "thin places", blocks, look_block, s) : UL_E_MEMORY;
  if (!status) status = gather(s->block, blocks, &samples, &sample_count);
  if (!status) status = group(samples, sample_count, out, count);
  for (size_t k = 0; s->block && k < blocks; k++) free(s->block[k].item);
  free(s->block);
  free(samples);
  return status;
}

ul_status ul_thin_places(const ul_solid *solid, const ul_solid *const *inserts, size_t insert_count,
                         double cube_mm, double cubes_across, const ul_job *job,
                         ul_thin_place **out, size_t *count, ul_error *err) {
  *out = NULL;
  *count = 0;
  if (!(cube_mm > 0) || !(cubes_across > 0))
    return ul_fail(err, UL_E_USAGE, "thin places: a cube of %g mm and %g across make no sense",
                   cube_mm, cubes_across);
  search s = {.cube_mm = cube_mm, .thin_mm = cubes_across * cube_mm};
  double box[2][3];
  ul_mesh_box_mm(solid->mesh, box);
  ul_copy3(box[0], s.origin);
  ul_bvh *wall;
  ul_status status = ul_wall_tree(solid, inserts, insert_count, cube_mm, job, &wall, err);
  if (status) return status;
  s.wall = wall;
  status = run_search(&s, job, out, count);
  ul_bvh_free(wall);
  if (status == UL_E_MEMORY) return ul_fail_memory(err);
  return status ? ul_fail(err, status, "thin places: %s", ul_status_text(status)) : UL_OK;
}
