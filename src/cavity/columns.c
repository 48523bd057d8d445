/* Triangles are cut in fixed blocks, each into lists of crossings, one list a band of scanlines.
 * Then each band is finished by itself: its crossings are put in order of ray and height, and the
 * winding is counted up along each ray. Last, the bands are laid end to end. */
#include "cavity/columns.h"

#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "cavity/crossing.h"

enum { TRIANGLES_PER_BLOCK = 8192, VERTICES_PER_BLOCK = 65536, SORT_BY_INSERTION = 32 };

/* A finished band: first[] counts from 0 at its first ray. */
typedef struct {
  uint32_t *first;
  ul_run *run;
  uint32_t *lo_triangle, *hi_triangle;
  size_t ray_count, run_count, odd_rays;
} band;

typedef struct {
  ul_crossing_list list[3][UL_BANDS];
} block_lists;

typedef struct {
  const ul_lattice *lattice;
  unsigned axes;
  size_t body_count;
  ul_caster *body;
  size_t *first_block; /* per body, and one more: where its blocks of triangles begin */
  block_lists *block;
  band band[3][UL_BANDS];
  ul_columns *columns;
} build;

static size_t blocks_of(size_t count, size_t size) {
  return (count + size - 1) / size;
}

/* Block `block` belongs to body *body, and to its items *begin to *end-1. */
static void locate(const size_t *first_block, size_t block, size_t size, size_t *body,
                   size_t *begin) {
  for (*body = 0; block >= first_block[*body + 1];) ++*body;
  *begin = (block - first_block[*body]) * size;
}

static ul_status place_vertices(void *context, size_t block, int worker) {
  (void)worker;
  build *b = context;
  for (size_t k = 0; k < b->body_count; k++) {
    const ul_mesh *mesh = b->body[k].mesh;
    size_t begin = block * VERTICES_PER_BLOCK, end = begin + VERTICES_PER_BLOCK;
    if (end > mesh->vertex_count) end = mesh->vertex_count;
    for (size_t i = begin; i < end; i++)
      for (int c = 0; c < 3; c++)
        b->body[k].below[i][c] = ul_centres_below(b->lattice, c, mesh->vertex_mm[i][c]);
  }
  return UL_OK;
}

static ul_status cast_block(void *context, size_t block, int worker) {
  (void)worker;
  build *b = context;
  size_t body, begin;
  locate(b->first_block, block, TRIANGLES_PER_BLOCK, &body, &begin);
  size_t count = b->body[body].mesh->triangle_count, end = begin + TRIANGLES_PER_BLOCK;
  if (end > count) end = count;
  for (int axis = 0; axis < 3; axis++)
    if (b->axes >> axis & 1)
      if (!ul_cast(&b->body[body], axis, begin, end, b->block[block].list[axis]))
        return UL_E_MEMORY;
  return UL_OK;
}

/* At one height a ray enters before it leaves, so that solids that touch are one run. */
static int compare(const void *left, const void *right) {
  const ul_crossing *a = left, *b = right;
  if (a->height != b->height) return a->height < b->height ? -1 : 1;
  if ((a->step > 0) != (b->step > 0)) return a->step > 0 ? -1 : 1;
  if (a->step != b->step) return a->step < b->step ? -1 : 1;
  return (a->triangle > b->triangle) - (a->triangle < b->triangle);
}

static void sort_ray(ul_crossing *item, size_t count) {
  if (count > SORT_BY_INSERTION) {
    qsort(item, count, sizeof *item, compare);
    return;
  }
  for (size_t i = 1; i < count; i++) {
    ul_crossing x = item[i];
    size_t k = i;
    for (; k > 0 && compare(&x, &item[k - 1]) < 0; k--) item[k] = item[k - 1];
    item[k] = x;
  }
}

static void close_run(band *out, size_t ray_begin, const ul_crossing *lo, const ul_crossing *hi) {
  if (!(hi->height > lo->height)) return;
  uint32_t hi_triangle = abs(hi->step) == 1 ? hi->triangle : UINT32_MAX;
  size_t n = out->run_count;
  if (n > ray_begin && out->run[n - 1].hi == lo->height) {
    out->run[n - 1].hi = hi->height;
    out->hi_triangle[n - 1] = hi_triangle;
    return;
  }
  out->run[n] = (ul_run){lo->height, hi->height};
  out->lo_triangle[n] = abs(lo->step) == 1 ? lo->triangle : UINT32_MAX;
  out->hi_triangle[n] = hi_triangle;
  out->run_count++;
}

/* Counts the windings up along one ray: in the cavity where the solid's is positive and no
 * insert's is. `winding`: one number a body, all 0, and left so. */
static void finish_ray(band *out, const ul_crossing *item, size_t count, int32_t *winding,
                       size_t body_count) {
  size_t ray_begin = out->run_count, inserts = 0;
  const ul_crossing *lo = NULL;
  for (size_t i = 0; i < count; i++) {
    int32_t body = abs(item[i].step) - 1;
    bool was = winding[body] > 0;
    winding[body] += item[i].step > 0 ? 1 : -1;
    bool is = winding[body] > 0;
    if (body > 0) inserts = inserts + is - was;
    bool inside = winding[0] > 0 && inserts == 0;
    if (inside && !lo) lo = &item[i];
    if (inside || !lo) continue;
    close_run(out, ray_begin, lo, &item[i]);
    lo = NULL;
  }
  bool odd = false;
  for (size_t k = 0; k < body_count; k++) {
    odd |= winding[k] != 0;
    winding[k] = 0;
  }
  out->odd_rays += odd;
}

/* The band's crossings in order of ray; within a ray, of block and triangle. start[r+1] becomes
 * the end of ray r. */
static void gather(const build *b, int axis, int number, size_t first_ray, uint32_t *start,
                   size_t rays, ul_crossing *sorted) {
  size_t blocks = b->first_block[b->body_count];
  for (size_t k = 0; k < blocks; k++) {
    const ul_crossing_list *list = &b->block[k].list[axis][number];
    for (size_t i = 0; i < list->count; i++) start[list->item[i].ray - first_ray + 2]++;
  }
  for (size_t r = 0; r < rays; r++) start[r + 2] += start[r + 1];
  for (size_t k = 0; k < blocks; k++) {
    const ul_crossing_list *list = &b->block[k].list[axis][number];
    for (size_t i = 0; i < list->count; i++)
      sorted[start[list->item[i].ray - first_ray + 1]++] = list->item[i];
  }
}

static size_t count_crossings(const build *b, int axis, int number) {
  size_t sum = 0;
  for (size_t k = 0; k < b->first_block[b->body_count]; k++)
    sum += b->block[k].list[axis][number].count;
  return sum;
}

static bool band_alloc(band *out, size_t rays, size_t most_runs) {
  out->ray_count = rays;
  out->first = ul_new_raw(rays + 1, sizeof *out->first);
  out->run = ul_new_raw(most_runs, sizeof *out->run);
  out->lo_triangle = ul_new_raw(most_runs, sizeof *out->lo_triangle);
  out->hi_triangle = ul_new_raw(most_runs, sizeof *out->hi_triangle);
  return out->first && out->run && out->lo_triangle && out->hi_triangle;
}

static void band_free(band *out) {
  free(out->first);
  free(out->run);
  free(out->lo_triangle);
  free(out->hi_triangle);
}

static ul_status finish_band(void *context, size_t block, int worker) {
  (void)worker;
  build *b = context;
  int axis = (int)(block / UL_BANDS), number = (int)(block % UL_BANDS);
  if (!(b->axes >> axis & 1)) return UL_OK;
  int32_t nu = b->lattice->n[(axis + 1) % 3], nv = b->lattice->n[(axis + 2) % 3];
  int32_t rows = ul_rows_per_band(b->lattice, axis), row = rows * number;
  size_t rays = row >= nv ? 0 : (size_t)(nv - row < rows ? nv - row : rows) * (size_t)nu;
  size_t count = count_crossings(b, axis, number);
  if (count > UINT32_MAX) return UL_E_LIMIT;
  band *out = &b->band[axis][number];
  uint32_t *start = ul_new(rays + 2, sizeof *start);
  ul_crossing *sorted = ul_new_raw(count, sizeof *sorted);
  int32_t *winding = ul_new(b->body_count, sizeof *winding);
  bool ok = band_alloc(out, rays, count / 2 + 1) && start && sorted && winding;
  if (ok) {
    gather(b, axis, number, (size_t)row * (size_t)nu, start, rays, sorted);
    for (size_t r = 0; r < rays; r++) {
      out->first[r] = (uint32_t)out->run_count;
      sort_ray(sorted + start[r], start[r + 1] - start[r]);
      finish_ray(out, sorted + start[r], start[r + 1] - start[r], winding, b->body_count);
    }
  }
  free(start);
  free(sorted);
  free(winding);
  return ok ? UL_OK : UL_E_MEMORY;
}

static ul_status bundle_alloc(ul_bundle *to, const band *from, const ul_lattice *l) {
  to->ray_count = (size_t)l->n[(to->axis + 1) % 3] * (size_t)l->n[(to->axis + 2) % 3];
  for (int i = 0; i < UL_BANDS; i++) {
    to->run_count += from[i].run_count;
    to->odd_rays += from[i].odd_rays;
  }
  if (to->run_count > UINT32_MAX) return UL_E_LIMIT;
  to->first = ul_new_raw(to->ray_count + 1, sizeof *to->first);
  to->run = ul_new_raw(to->run_count, sizeof *to->run);
  to->lo_triangle = ul_new_raw(to->run_count, sizeof *to->lo_triangle);
  to->hi_triangle = ul_new_raw(to->run_count, sizeof *to->hi_triangle);
  return to->first && to->run && to->lo_triangle && to->hi_triangle ? UL_OK : UL_E_MEMORY;
}

static ul_status lay_band(void *context, size_t block, int worker) {
  (void)worker;
  build *b = context;
  int axis = (int)(block / UL_BANDS), number = (int)(block % UL_BANDS);
  if (!(b->axes >> axis & 1)) return UL_OK;
  const band *from = &b->band[axis][number];
  ul_bundle *to = &b->columns->bundle[axis];
  size_t ray = 0, run = 0;
  for (int i = 0; i < number; i++) {
    ray += b->band[axis][i].ray_count;
    run += b->band[axis][i].run_count;
  }
  for (size_t r = 0; r < from->ray_count; r++) to->first[ray + r] = from->first[r] + (uint32_t)run;
  memcpy(to->run + run, from->run, from->run_count * sizeof *to->run);
  memcpy(to->lo_triangle + run, from->lo_triangle, from->run_count * sizeof *to->lo_triangle);
  memcpy(to->hi_triangle + run, from->hi_triangle, from->run_count * sizeof *to->hi_triangle);
  if (number == UL_BANDS - 1) to->first[to->ray_count] = (uint32_t)to->run_count;
  return UL_OK;
}

static ul_status cast_all(build *b, const ul_job *job) {
  size_t most_vertices = 0, blocks = 0;
  for (size_t k = 0; k < b->body_count; k++) {
    const ul_mesh *mesh = b->body[k].mesh;
    if (mesh->vertex_count > most_vertices) most_vertices = mesh->vertex_count;
    b->body[k].below = ul_new_raw(mesh->vertex_count, sizeof *b->body[k].below);
    if (!b->body[k].below) return UL_E_MEMORY;
    b->first_block[k] = blocks;
    blocks += blocks_of(mesh->triangle_count, TRIANGLES_PER_BLOCK);
    b->first_block[k + 1] = blocks;
  }
  b->block = ul_new(blocks, sizeof *b->block);
  if (!b->block) return UL_E_MEMORY;
  ul_status status =
      ul_parallel(job, NULL, blocks_of(most_vertices, VERTICES_PER_BLOCK), place_vertices, b);
  return status ? status : ul_parallel(job, "columns", blocks, cast_block, b);
}

/* Rays are numbered in 32 bits. */
static bool too_many_rays(const ul_lattice *l) {
  for (int axis = 0; axis < 3; axis++)
    if ((double)l->n[(axis + 1) % 3] * l->n[(axis + 2) % 3] > UINT32_MAX) return true;
  return false;
}

static ul_status run_build(build *b, const ul_job *job) {
  ul_status status = too_many_rays(b->lattice) ? UL_E_LIMIT : cast_all(b, job);
  if (!status) status = ul_parallel(job, NULL, 3 * UL_BANDS, finish_band, b);
  for (int axis = 0; axis < 3 && !status; axis++) {
    b->columns->bundle[axis].axis = axis;
    if (b->axes >> axis & 1)
      status = bundle_alloc(&b->columns->bundle[axis], b->band[axis], b->lattice);
  }
  return status ? status : ul_parallel(job, NULL, 3 * UL_BANDS, lay_band, b);
}

static void build_free(build *b) {
  size_t blocks = b->block ? b->first_block[b->body_count] : 0;
  for (size_t k = 0; k < blocks; k++)
    for (int axis = 0; axis < 3; axis++)
      for (int i = 0; i < UL_BANDS; i++) free(b->block[k].list[axis][i].item);
  free(b->block);
  for (size_t k = 0; b->body && k < b->body_count; k++) free(b->body[k].below);
  free(b->body);
  free(b->first_block);
  for (int axis = 0; axis < 3; axis++)
    for (int i = 0; i < UL_BANDS; i++) band_free(&b->band[axis][i]);
}

static ul_status explain(ul_status status, ul_error *err) {
  if (status == UL_E_MEMORY) return ul_fail_memory(err);
  if (status == UL_E_LIMIT)
    return ul_fail(err, status,
                   "over 2^32 rays, or places where they meet the surface: use a larger --cube");
  return ul_fail(err, status, "columns: %s", ul_status_text(status));
}

ul_status ul_columns_build_axes(const ul_solid *solid, const ul_solid *const *inserts,
                                size_t insert_count, const ul_lattice *lattice, unsigned axes,
                                const ul_job *job, ul_columns **out, ul_error *err) {
  *out = NULL;
  build b = {.lattice = lattice, .axes = axes, .body_count = insert_count + 1};
  b.body = ul_new(b.body_count, sizeof *b.body);
  b.first_block = ul_new(b.body_count + 1, sizeof *b.first_block);
  b.columns = ul_new(1, sizeof *b.columns);
  ul_status status = b.body && b.first_block && b.columns ? UL_OK : UL_E_MEMORY;
  if (!status) {
    for (size_t k = 0; k < b.body_count; k++)
      b.body[k] = (ul_caster){
          .mesh = k ? inserts[k - 1]->mesh : solid->mesh, .lattice = lattice, .body = (int32_t)k};
    b.columns->lattice = *lattice;
    status = run_build(&b, job);
  }
  build_free(&b);
  if (status) {
    ul_columns_free(b.columns);
    return explain(status, err);
  }
  *out = b.columns;
  return UL_OK;
}

ul_status ul_columns_build(const ul_solid *solid, const ul_solid *const *inserts,
                           size_t insert_count, const ul_lattice *lattice, const ul_job *job,
                           ul_columns **out, ul_error *err) {
  return ul_columns_build_axes(solid, inserts, insert_count, lattice, 7, job, out, err);
}

void ul_columns_free(ul_columns *columns) {
  if (!columns) return;
  for (int axis = 0; axis < 3; axis++) {
    free(columns->bundle[axis].first);
    free(columns->bundle[axis].run);
    free(columns->bundle[axis].lo_triangle);
    free(columns->bundle[axis].hi_triangle);
  }
  free(columns);
}
