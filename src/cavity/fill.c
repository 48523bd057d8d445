#include "cavity/fill.h"

#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "cavity/columns.h"
#include "cavity/polygon.h"

enum { SUB = 4 }; /* rays a side in a cube that is sampled */

static const uint32_t NOBODY = UINT32_MAX, SEVERAL = UINT32_MAX - 1;
static const float SAMPLE_ME = -1;
/* Cutting leaves shares of about 1e-15 in cubes that a surface only touches. */
static const double NOTHING = 1e-10;

/* One body's triangles, listed by the row of cubes, j, they reach into. */
typedef struct {
  const ul_mesh *mesh;
  const uint32_t *shell_of; /* NULL: all one owner */
  uint32_t first_owner;
  size_t *first; /* per row, and one more */
  uint32_t *triangle;
} body_rows;

/* What one row of cubes gathers, per cube (k, i); solid [0] and inserts [1] apart. A piece of
 * surface in cube k adds what lies under it in k to `part` and its shadow to `shade`, which fills
 * the cubes below. */
typedef struct {
  double *part[2], *shade[2];
  uint32_t *owner; /* whose surface is in the cube: a shell's or insert's, NOBODY, SEVERAL */
} row_sums;

typedef struct {
  const ul_lattice *lattice;
  size_t body_count;
  body_rows *body;
  row_sums *scratch; /* per worker */
  float *fill;
  double *row_sum;
  const ul_bundle *fine; /* the bundle sampled */
} filler;

static double in_cubes(const ul_lattice *l, int c, double x) {
  return (x - l->origin_mm[c]) / l->cube_mm;
}

static int32_t cube_at(const ul_lattice *l, int c, double x) {
  double i = floor(x);
  return i <= 0 ? 0 : i >= l->n[c] - 1 ? l->n[c] - 1 : (int32_t)i;
}

static void triangle_rows(const ul_lattice *l, const ul_mesh *mesh, size_t t, int32_t rows[2]) {
  double lo = INFINITY, hi = -INFINITY;
  for (int c = 0; c < 3; c++) {
    double y = in_cubes(l, 1, mesh->vertex_mm[mesh->triangle[t][c]][1]);
    lo = fmin(lo, y);
    hi = fmax(hi, y);
  }
  rows[0] = cube_at(l, 1, lo);
  rows[1] = cube_at(l, 1, hi);
}

static ul_status list_rows(const ul_lattice *l, body_rows *b) {
  size_t rows = (size_t)l->n[1];
  b->first = ul_new(rows + 2, sizeof *b->first);
  if (!b->first) return UL_E_MEMORY;
  int32_t range[2];
  for (size_t t = 0; t < b->mesh->triangle_count; t++) {
    triangle_rows(l, b->mesh, t, range);
    for (int32_t j = range[0]; j <= range[1]; j++) b->first[j + 2]++;
  }
  for (size_t j = 0; j < rows; j++) b->first[j + 2] += b->first[j + 1];
  b->triangle = ul_new_raw(b->first[rows + 1], sizeof *b->triangle);
  if (!b->triangle) return UL_E_MEMORY;
  for (size_t t = 0; t < b->mesh->triangle_count; t++) {
    triangle_rows(l, b->mesh, t, range);
    for (int32_t j = range[0]; j <= range[1]; j++) b->triangle[b->first[j + 1]++] = (uint32_t)t;
  }
  return UL_OK;
}

/* Adds the piece, which lies in column i of the row, cube by cube from below. */
static void add_column(const ul_lattice *l, row_sums *s, int kind, uint32_t owner, int32_t i,
                       const ul_polygon *piece) {
  double lo, hi;
  ul_polygon_range(piece, 2, &lo, &hi);
  ul_polygon pair[2], below;
  const ul_polygon *rest = piece;
  int32_t last = cube_at(l, 2, hi);
  for (int32_t k = cube_at(l, 2, lo), turn = 0; k <= last; k++, turn ^= 1) {
    const ul_polygon *here = rest;
    if (k < last) {
      ul_polygon_split(rest, 2, k + 1, &below, &pair[turn]);
      here = &below;
      rest = &pair[turn];
    }
    if (here->count < 3) continue;
    double area, volume;
    ul_polygon_shadow(here, k, &area, &volume);
    size_t cube = (size_t)k * (size_t)l->n[0] + (size_t)i;
    s->part[kind][cube] += volume;
    s->shade[kind][cube] += area;
    s->owner[cube] = s->owner[cube] == NOBODY || s->owner[cube] == owner ? owner : SEVERAL;
  }
}

/* Cuts the triangle to the row and along x. */
static void add_triangle(const ul_lattice *l, row_sums *s, int kind, uint32_t owner, int32_t j,
                         const ul_mesh *mesh, uint32_t t) {
  ul_polygon whole = {.count = 3}, pair[2], other;
  for (int v = 0; v < 3; v++)
    for (int c = 0; c < 3; c++)
      whole.at[v][c] = in_cubes(l, c, mesh->vertex_mm[mesh->triangle[t][v]][c]);
  double lo, hi;
  ul_polygon_range(&whole, 1, &lo, &hi);
  if (j > 0 && lo < j) {
    ul_polygon_split(&whole, 1, j, &other, &pair[0]);
    whole = pair[0];
  }
  if (j + 1 < l->n[1] && hi > j + 1) {
    ul_polygon_split(&whole, 1, j + 1, &pair[0], &other);
    whole = pair[0];
  }
  if (whole.count < 3) return;
  ul_polygon_range(&whole, 0, &lo, &hi);
  const ul_polygon *rest = &whole;
  int32_t last = cube_at(l, 0, hi);
  for (int32_t i = cube_at(l, 0, lo), turn = 0; i < last; i++, turn ^= 1) {
    ul_polygon_split(rest, 0, i + 1, &other, &pair[turn]);
    if (other.count >= 3) add_column(l, s, kind, owner, i, &other);
    rest = &pair[turn];
  }
  if (rest->count >= 3) add_column(l, s, kind, owner, last, rest);
}

static double clamp01(double x) {
  return x < 0 ? 0 : x > 1 ? 1 : x;
}

/* What a cube no surface passes through holds is a whole number, up to rounding. Elsewhere, with
 * one owner's surface in it, the windings of all others are whole numbers there too, and clamping
 * the sum is the same as asking where the winding is positive. Cubes with several are sampled
 * later. */
static double share(const double holds[2], uint32_t owner) {
  if (owner == NOBODY) return holds[0] > 0.5 && holds[1] < 0.5;
  if (owner == SEVERAL) return 0;
  double f = clamp01(holds[0]) * (1 - clamp01(holds[1]));
  return f < NOTHING ? 0 : f;
}

/* Columns are summed from the top. Returns the row's sum. */
static double finish_row(const ul_lattice *l, row_sums *s, int kinds, float *fill) {
  size_t nx = (size_t)l->n[0], nz = (size_t)l->n[2], plane = nx * (size_t)l->n[1];
  double sum = 0;
  for (size_t k = nz; k-- > 0;)
    for (size_t i = 0; i < nx; i++) {
      size_t cube = k * nx + i;
      double holds[2] = {0, 0};
      for (int kind = 0; kind < kinds; kind++) {
        double above = k + 1 < nz ? s->shade[kind][cube + nx] : 0;
        holds[kind] = s->part[kind][cube] + above;
        s->shade[kind][cube] += above;
      }
      double f = share(holds, s->owner[cube]);
      sum += f;
      fill[k * plane + i] = s->owner[cube] == SEVERAL ? SAMPLE_ME : (float)f;
    }
  return sum;
}

static ul_status fill_row(void *context, size_t row, int worker) {
  filler *f = context;
  const ul_lattice *l = f->lattice;
  row_sums *s = &f->scratch[worker];
  size_t cubes = (size_t)l->n[0] * (size_t)l->n[2];
  int kinds = f->body_count > 1 ? 2 : 1;
  for (int kind = 0; kind < kinds; kind++) {
    memset(s->part[kind], 0, cubes * sizeof(double));
    memset(s->shade[kind], 0, cubes * sizeof(double));
  }
  memset(s->owner, 0xff, cubes * sizeof *s->owner);
  for (size_t k = 0; k < f->body_count; k++) {
    const body_rows *b = &f->body[k];
    for (size_t i = b->first[row]; i < b->first[row + 1]; i++) {
      uint32_t t = b->triangle[i], owner = b->first_owner + (b->shell_of ? b->shell_of[t] : 0);
      add_triangle(l, s, k > 0, owner, (int32_t)row, b->mesh, t);
    }
  }
  f->row_sum[row] = finish_row(l, s, kinds, f->fill + row * (size_t)l->n[0]);
  return UL_OK;
}

/* -- cubes in which two owners meet -- */

static double overlap(const ul_bundle *b, size_t ray, double lo, double hi) {
  double sum = 0;
  for (uint32_t i = b->first[ray]; i < b->first[ray + 1]; i++)
    sum += fmax(0, fmin(hi, b->run[i].hi) - fmax(lo, b->run[i].lo));
  return sum;
}

static double sample(const ul_lattice *l, const ul_bundle *fine, const int32_t cube[3]) {
  int axis = fine->axis, u = (axis + 1) % 3, v = (axis + 2) % 3;
  double lo = l->origin_mm[axis] + cube[axis] * l->cube_mm, sum = 0;
  for (int b = 0; b < SUB; b++)
    for (int a = 0; a < SUB; a++) {
      size_t row = (size_t)cube[v] * SUB + (size_t)b, across = (size_t)l->n[u] * SUB;
      sum += overlap(fine, row * across + (size_t)cube[u] * SUB + (size_t)a, lo, lo + l->cube_mm);
    }
  return sum / (SUB * SUB * l->cube_mm);
}

/* SAMPLE_ME minus a third of each bundle's sample, until the last turns the sum over. */
static ul_status sample_row(void *context, size_t row, int worker) {
  (void)worker;
  filler *f = context;
  const ul_lattice *l = f->lattice;
  double sum = 0;
  for (int32_t k = 0; k < l->n[2]; k++) {
    float *fill = f->fill + ((size_t)k * (size_t)l->n[1] + row) * (size_t)l->n[0];
    for (int32_t i = 0; i < l->n[0]; i++) {
      if (fill[i] > SAMPLE_ME) continue;
      double part = sample(l, f->fine, (const int32_t[3]){i, (int32_t)row, k}) / 3;
      fill[i] -= (float)part;
      if (f->fine->axis == 2) fill[i] = (float)clamp01(SAMPLE_ME - fill[i]);
      sum += part;
    }
  }
  f->row_sum[row] += sum;
  return UL_OK;
}

static ul_status sample_all(filler *f, const ul_solid *solid, const ul_solid *const *inserts,
                            size_t insert_count, const ul_job *job, ul_error *err) {
  ul_lattice fine = *f->lattice;
  fine.cube_mm /= SUB;
  for (int c = 0; c < 3; c++) {
    if (fine.n[c] > INT32_MAX / SUB)
      return ul_fail(err, UL_E_LIMIT, "a row of %d cubes: use a larger --cube", fine.n[c]);
    fine.n[c] *= SUB;
  }
  for (int axis = 0; axis < 3; axis++) {
    ul_columns *columns;
    ul_status status =
        ul_columns_build_axes(solid, inserts, insert_count, &fine, 1u << axis, job, &columns, err);
    if (status) return status;
    f->fine = &columns->bundle[axis];
    status = ul_parallel(job, NULL, (size_t)f->lattice->n[1], sample_row, f);
    ul_columns_free(columns);
    if (status) return ul_fail(err, status, "fill: %s", ul_status_text(status));
  }
  return UL_OK;
}

/* -- the whole -- */

static bool scratch_new(filler *f, int workers) {
  size_t cubes = (size_t)f->lattice->n[0] * (size_t)f->lattice->n[2];
  f->scratch = ul_new((size_t)workers, sizeof *f->scratch);
  for (int w = 0; f->scratch && w < workers; w++) {
    row_sums *s = &f->scratch[w];
    s->owner = ul_new_raw(cubes, sizeof *s->owner);
    if (!s->owner) return false;
    for (int kind = 0; kind < (f->body_count > 1 ? 2 : 1); kind++) {
      s->part[kind] = ul_new_raw(cubes, sizeof(double));
      s->shade[kind] = ul_new_raw(cubes, sizeof(double));
      if (!s->part[kind] || !s->shade[kind]) return false;
    }
  }
  return f->scratch != NULL;
}

static void filler_free(filler *f, int workers) {
  for (int w = 0; f->scratch && w < workers; w++) {
    free(f->scratch[w].owner);
    for (int kind = 0; kind < 2; kind++) {
      free(f->scratch[w].part[kind]);
      free(f->scratch[w].shade[kind]);
    }
  }
  free(f->scratch);
  for (size_t k = 0; f->body && k < f->body_count; k++) {
    free(f->body[k].first);
    free(f->body[k].triangle);
  }
  free(f->body);
  free(f->row_sum);
}

static ul_status list_bodies(filler *f, const ul_solid *solid, const ul_solid *const *inserts) {
  f->body = ul_new(f->body_count, sizeof *f->body);
  f->row_sum = ul_new((size_t)f->lattice->n[1], sizeof *f->row_sum);
  ul_status status = f->body && f->row_sum ? UL_OK : UL_E_MEMORY;
  for (size_t k = 0; k < f->body_count && !status; k++) {
    f->body[k].mesh = k ? inserts[k - 1]->mesh : solid->mesh;
    if (!k && solid->overlapping) f->body[k].shell_of = solid->shell_of;
    f->body[k].first_owner = k ? (uint32_t)(solid->shell_count + k) : 0;
    status = list_rows(f->lattice, &f->body[k]);
  }
  return status;
}

ul_status ul_fill(const ul_solid *solid, const ul_solid *const *inserts, size_t insert_count,
                  const ul_lattice *lattice, const ul_job *job, float *fill, double *sum,
                  ul_error *err) {
  filler f = {.lattice = lattice, .body_count = insert_count + 1, .fill = fill};
  int workers = ul_job_threads(job);
  ul_status status = list_bodies(&f, solid, inserts);
  if (!status && !scratch_new(&f, workers)) status = UL_E_MEMORY;
  if (!status) status = ul_parallel(job, "fill", (size_t)lattice->n[1], fill_row, &f);
  if (status == UL_E_MEMORY)
    ul_fail_memory(err);
  else if (status)
    ul_fail(err, status, "fill: %s", ul_status_text(status));
  if (!status && (solid->overlapping || insert_count))
    status = sample_all(&f, solid, inserts, insert_count, job, err);
  *sum = 0;
  for (int32_t j = 0; j < lattice->n[1] && !status; j++) *sum += f.row_sum[j];
  filler_free(&f, workers);
  return status;
}
